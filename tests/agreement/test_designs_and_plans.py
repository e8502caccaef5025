"""What design the data show, mean squares of complete ones, and what other numbers would give."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.anova import expected, mean_squares, variances_of
from assess.agreement.d_study import as_seen, phi_at, planned, ratios, weights_for
from assess.agreement.facets import TASK, Design, design_of
from assess.agreement.scores import Floats, Scores, scores_of
from tests.agreement.designs import check_set, crossed, three_way
from tests.agreement.score_tables import reference

COMPLETE = [
    "reml_oneway__dyestuff",
    "gtheory_pxr__shrout_fleiss",
    "gtheory_pxrxt__sim400",
    "gtheory_px_r_in_t__brennan2001",
]
# Sources in the order of the design, by the names of the check sets.
KEYS = {
    "reml_oneway__dyestuff": ["p", "r_p_e"],
    "gtheory_pxr__shrout_fleiss": ["p", "r", "pr_e"],
    "gtheory_pxrxt__sim400": ["p", "t", "r", "pt", "pr", "rt", "prt_e"],
    "gtheory_px_r_in_t__brennan2001": ["p", "t", "pt", "r_t", "pr_t_e"],
}


def analysed(scores: Scores) -> tuple[Design, Floats, Floats]:
    design = design_of(scores)
    assert design.complete
    ms = mean_squares(design)
    return design, ms.values, variances_of(ms, ms.values)


@pytest.mark.parametrize("name", COMPLETE)
def test_mean_squares_and_their_variances_are_those_of_the_check_sets(name: str) -> None:
    scores, check = check_set(name)
    design, squares, variances = analysed(scores)
    want, tolerance = check["expected"]["anova"], check["tolerance"]["anova"]
    assert len(design.sources) == len(KEYS[name])
    # The files carry ten digits.
    assert squares == pytest.approx([want["MS"][key] for key in KEYS[name]], abs=tolerance, rel=1e-9)
    assert variances == pytest.approx([want["anova_vc"][key] for key in KEYS[name]], abs=tolerance, rel=1e-9)


def plans_of(check: dict[str, Any]) -> dict[tuple[int, int], dict[str, float]]:
    anova = check["expected"]["anova"]
    if "dstudy_n_r" in anova:
        return {(int(n), 1): plan for n, plan in anova["dstudy_n_r"].items()}
    numbers = {key: [int(part.split("=")[1]) for part in key.split(",")] for key in anova["dstudy"]}
    return {(numbers[key][0], numbers[key][1]): plan for key, plan in anova["dstudy"].items()}


@pytest.mark.parametrize("name", COMPLETE[1:])
def test_every_plan_is_that_of_the_check_sets_with_tasks_chosen_or_fixed(name: str) -> None:
    scores, check = check_set(name)
    design, _, variances = analysed(scores)
    for (assessors, tasks), want in plans_of(check).items():
        plan = planned(variances, design.sources, assessors, tasks)
        assert plan.g == pytest.approx(want["g"], abs=1e-8)
        assert plan.phi == pytest.approx(want["phi"], abs=1e-8)
        assert plan.sem_relative == pytest.approx(np.sqrt(want["rel_error"]), abs=1e-8)
        assert plan.sem_absolute == pytest.approx(np.sqrt(want["abs_error"]), abs=1e-8)
        if "g_t_fixed" in want:
            weights = weights_for(design.sources, assessors, tasks, frozenset({TASK}))
            assert ratios(variances, weights)[:2] == pytest.approx((want["g_t_fixed"], want["phi_t_fixed"]), abs=1e-8)


def test_phi_at_a_line_is_that_of_the_check_set_with_and_without_the_correction() -> None:
    scores, _ = check_set("gtheory_pxr__shrout_fleiss")
    check = reference("phi_lambda__shrout_fleiss")
    design, _, v = analysed(scores)
    ms = mean_squares(design)
    spread = float(ms.mean_weights @ v)
    assert spread == pytest.approx(check["expected"]["var_of_mean_gstudy"], abs=1e-8)
    for key, want in check["expected"]["phi"].items():
        n, line = (int(part.split("=")[1]) for part in key.split(","))
        weights = weights_for(design.sources, n, 1)
        signal, absolute = float(weights.signal @ v), float(weights.absolute @ v)
        got = phi_at(signal, absolute, ms.mean, spread, line)
        assert got == pytest.approx(want["phi_lambda_unbiased"], abs=check["tolerance"])
        assert phi_at(signal, absolute, ms.mean, 0, line) == pytest.approx(
            want["phi_lambda_naive"], abs=check["tolerance"]
        )


def test_phi_at_a_line_rises_with_the_distance_of_the_line_and_is_phi_at_the_mean() -> None:
    values = [phi_at(1.0, 0.5, 3.0, 0.0, line) for line in (3.0, 3.5, 4.0, 5.0)]
    assert values == sorted(values)  # type: ignore[type-var]
    assert values[0] == pytest.approx(1 / 1.5)
    assert phi_at(0.0, 0.0, 3.0, 0.0, 3.0) is None


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_mean_squares_add_up_and_variances_give_them_back(seed: int) -> None:
    design = design_of(three_way(np.random.default_rng(seed), (5, 3, 4)))
    ms = mean_squares(design)
    centred = design.value - design.value.mean()
    assert ms.values @ ms.df == pytest.approx(centred @ centred, rel=1e-10)
    assert ms.df.sum() == len(design.value) - 1
    assert expected(ms, variances_of(ms, ms.values)) == pytest.approx(ms.values, rel=1e-9)


def test_what_is_seen_weighs_like_the_plan_when_everything_is_complete() -> None:
    for shape in ((6, 3, 4), (6, 1, 4)):
        design = design_of(three_way(np.random.default_rng(0), shape))
        seen, plan = as_seen(design), weights_for(design.sources, shape[2], shape[1])
        assert seen.relative == pytest.approx(plan.relative)
        assert seen.absolute == pytest.approx(plan.absolute)


def test_with_two_of_four_assessors_for_each_candidate_a_mean_rests_on_two() -> None:
    design = design_of(crossed(np.random.default_rng(0), 20, 4, 2))
    assert as_seen(design).absolute == pytest.approx([0.0, 0.5, 0.5])


def rows(*given: tuple[str, str, str, float]) -> Scores:
    candidate, task, assessor, value = zip(*given, strict=True)
    return scores_of(candidate, assessor, value, task=task)


PEOPLE, VALUES = ("C1", "C2", "C3"), (1.0, 2.0, 4.0, 3.0, 2.0, 5.0, 1.0, 3.0, 2.0, 4.0, 5.0, 1.0)


@pytest.mark.parametrize(
    ("text", "given_rows"),
    [
        ("candidate x task x assessor", [(c, t, a) for c in PEOPLE for t in "ST" for a in "AB"]),
        ("candidate x (assessor in task)", [(c, t, t + a) for c in PEOPLE for t in "ST" for a in "AB"]),
        ("task x (assessor in candidate)", [(c, t, c + a) for c in PEOPLE for t in "ST" for a in "AB"]),
        ("assessor in candidate x task", [(c, t, c + t + a) for c in PEOPLE for t in "ST" for a in "AB"]),
        ("(task in candidate) x assessor", [(c, c + t, a) for c in PEOPLE for t in "ST" for a in "AB"]),
    ],
)  # fmt: skip
def test_crossed_or_nested_is_read_from_the_data_and_named(text: str, given_rows: list[tuple[str, str, str]]) -> None:
    design = design_of(rows(*[(*row, VALUES[i]) for i, row in enumerate(given_rows)]))
    assert design.undefined is None and design.complete
    assert design.text == text
    assert design.sources[-1].name == f"{text}, with error"
    assert mean_squares(design).df.min() >= 1


def test_the_sources_of_crossed_designs_have_their_names() -> None:
    two = design_of(three_way(np.random.default_rng(0), (4, 3, 3)))
    assert [source.name for source in two.sources] == [
        "candidate", "task", "assessor", "candidate x task", "candidate x assessor", "task x assessor",
        "candidate x task x assessor, with error",
    ]  # fmt: skip
    one = design_of(crossed(np.random.default_rng(0), 5, 3, 3))
    assert [source.name for source in one.sources] == ["candidate", "assessor", "candidate x assessor, with error"]


def test_criteria_take_the_place_of_tasks_or_are_averaged_within_them() -> None:
    scores = three_way(np.random.default_rng(0), (4, 3, 3))
    names = [scores.tasks[i] for i in scores.task]
    candidate, assessor = (
        [scores.candidates[i] for i in scores.candidate],
        [scores.assessors[i] for i in scores.assessor],
    )
    alone = design_of(scores_of(candidate, assessor, scores.value, criterion=names))
    assert alone.facet == "criterion" and alone.text == "candidate x criterion x assessor"
    doubled = scores_of(
        candidate * 2, assessor * 2, np.concatenate([scores.value - 0.5, scores.value + 0.5]),
        task=names * 2, criterion=["k"] * len(names) + ["l"] * len(names),
    )  # fmt: skip
    both, plain = design_of(doubled), design_of(scores)
    assert both.facet == "task"
    assert analysed(doubled)[2] == pytest.approx(analysed(scores)[2], abs=1e-12)
    assert len(both.value) == len(plain.value)


def test_unequal_numbers_of_criteria_are_said() -> None:
    scores = scores_of(
        ["C1", "C1", "C1", "C2", "C2"] * 2, ["A"] * 5 + ["B"] * 5, [1, 2, 3, 4, 5, 2, 2, 4, 4, 3],
        task=["S", "S", "T", "S", "T"] * 2, criterion=["k", "l", "k", "k", "k"] * 2,
    )  # fmt: skip
    assert "1 to 2" in design_of(scores).warnings[0]


def test_a_source_with_one_score_for_each_level_counts_as_error_and_it_says_so() -> None:
    # A Latin square: every pair of a candidate, a task and an assessor meets once.
    cells = [(c, t, "ABC"[(i + j) % 3]) for i, c in enumerate(PEOPLE) for j, t in enumerate("STU")]
    design = design_of(rows(*[(*cell, VALUES[i]) for i, cell in enumerate(cells)]))
    assert [source.name for source in design.sources[:-1]] == ["candidate", "task", "assessor"]
    assert len([warning for warning in design.warnings if "cannot be told from error" in warning]) == 3
    assert not design.complete


REFUSED = {
    "only one assessor (A)": [(c, "", "A") for c in PEOPLE],
    "only one candidate (C1)": [("C1", "", a) for a in "ABC"],
    "only one task (S)": [(c, "S", a) for c in PEOPLE for a in "AB"],
    "one task only": [(c, t, a) for c, t in zip(PEOPLE, "STS", strict=True) for a in "AB"],
    "its own single assessor": [(c, t, a) for c in PEOPLE for t, a in (("S", "A"), ("T", "B"))],
    "(A, B; C, D)": [(c, "", a) for c, pair in (("C1", "AB"), ("C2", "AB"), ("C3", "CD"), ("C4", "CD")) for a in pair],
    "with nobody else": [("C1", "", "A"), ("C2", "", "B"), ("C3", "", "C")],
}


@pytest.mark.parametrize("reason", REFUSED)
def test_what_cannot_be_told_apart_is_refused_with_the_reason(reason: str) -> None:
    design = design_of(rows(*[(*row, VALUES[i]) for i, row in enumerate(REFUSED[reason])]))
    assert reason in (design.undefined or "")
    assert design.sources == ()
