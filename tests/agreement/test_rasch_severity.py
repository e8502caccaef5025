"""Severity as a whole: what must not matter, what cannot be estimated, warnings, sentences, JSON."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.bootstrap import Cancelled
from assess.agreement.rasch import severity
from assess.agreement.rasch_json import severity_json
from assess.agreement.rasch_words import in_levels
from assess.agreement.results import Measure
from assess.agreement.scores import Scores, scores_of
from tests.agreement.rasch_tables import facets_set, simulated

METHODS: tuple[Literal["marginal", "joint"], ...] = ("marginal", "joint")
MODELS: tuple[Literal["rating_scale", "partial_credit"], ...] = ("rating_scale", "partial_credit")
Rows = list[tuple[str, str, str, float]]


def rows_of(scores: Scores) -> Rows:
    return [
        (scores.candidates[c], scores.assessors[a], scores.criteria[k], float(v))
        for c, a, k, v in zip(scores.candidate, scores.assessor, scores.criterion, scores.value, strict=True)
    ]


def from_rows(rows: Rows, levels: Sequence[float] | None = (1, 2, 3, 4, 5)) -> Scores:
    candidate, assessor, criterion, value = zip(*rows, strict=True)
    return scores_of(candidate, assessor, value, criterion=criterion, levels=levels)


def values(measures: Sequence[Measure]) -> dict[str, float | None]:
    return {measure.id: measure.value for measure in measures}


def test_the_order_of_rows_does_not_matter() -> None:
    rows = rows_of(simulated(1, each=3))
    order = np.random.default_rng(1).permutation(len(rows))
    for method in METHODS:
        assert repr(severity(from_rows([rows[i] for i in order]), method=method)) == repr(
            severity(from_rows(rows), method=method)
        )


@pytest.mark.parametrize("method", METHODS)
def test_other_names_move_nothing_but_names(method: Literal["marginal", "joint"]) -> None:
    rows = rows_of(simulated(2, each=3))
    rename = {"A0": "Z", "A1": "Y", "A2": "A", "A3": "M"}
    here, there = (
        severity(from_rows(rows), method=method),
        severity(from_rows([(f"q{c[::-1]}", rename[a], k[::-1], v) for c, a, k, v in rows]), method=method),
    )
    want = {rename[name]: value for name, value in values(here.assessors).items()}
    assert values(there.assessors) == pytest.approx(want, abs=1e-5)
    errors = {rename[m.id]: m.se for m in here.assessors}
    assert {m.id: m.se for m in there.assessors} == pytest.approx(errors, abs=1e-5)
    assert there.log_likelihood == pytest.approx(here.log_likelihood, abs=1e-6)


def test_a_constant_added_to_every_level_moves_levels_alone() -> None:
    rows = rows_of(simulated(3))
    here = severity(from_rows(rows))
    there = severity(from_rows([(c, a, k, v + 7) for c, a, k, v in rows], (8, 9, 10, 11, 12)))
    assert values(there.assessors) == pytest.approx(values(here.assessors), abs=1e-9)
    assert [step.level for step in there.steps] == [step.level + 7 for step in here.steps]
    for one, other in zip(here.candidates, there.candidates, strict=True):
        assert one.at_average_assessor is not None
        assert other.at_average_assessor == pytest.approx(one.at_average_assessor + 7)


def test_the_scale_turned_round_turns_every_sign() -> None:
    rows = rows_of(simulated(4))
    here = severity(from_rows(rows))
    there = severity(from_rows([(c, a, k, 6 - v) for c, a, k, v in rows]))
    turned = {name: -(value or 0.0) for name, value in values(here.assessors).items()}
    assert values(there.assessors) == pytest.approx(turned, abs=1e-5)
    assert there.log_likelihood == pytest.approx(here.log_likelihood, abs=1e-6)


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(METHODS), st.sampled_from(MODELS))
def test_facets_and_steps_sum_to_zero(
    seed: int, method: Literal["marginal", "joint"], model: Literal["rating_scale", "partial_credit"]
) -> None:
    found = severity(simulated(seed), method=method, model=model)
    if found.undefined is None and all(m.value is not None for m in (*found.assessors, *found.criteria)):
        assert sum(m.value or 0.0 for m in found.assessors) == pytest.approx(0, abs=1e-9)
        assert sum(m.value or 0.0 for m in found.criteria) == pytest.approx(0, abs=1e-9)
        if not any("used level" in warning for warning in found.warnings):
            for criteria in {step.criteria for step in found.steps}:
                own = [step.threshold for step in found.steps if step.criteria == criteria]
                assert sum(own) == pytest.approx(0, abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 4), st.integers(0, 2), st.integers(0, 1), st.integers(1, 4)), min_size=1, max_size=30
    ),
    st.sampled_from(METHODS),
    st.sampled_from(MODELS),
)
def test_whatever_the_scores_there_is_a_number_or_a_reason(
    drawn: list[tuple[int, int, int, int]],
    method: Literal["marginal", "joint"],
    model: Literal["rating_scale", "partial_credit"],
) -> None:
    once = {(p, a, k): v for p, a, k, v in drawn}
    rows = [(f"C{p}", f"A{a}", f"k{k}", float(v)) for (p, a, k), v in once.items()]
    found = severity(from_rows(rows, (1, 2, 3, 4)), method=method, model=model)
    document = severity_json(found)
    json.dumps(document, allow_nan=False)
    assert (found.undefined is None) == (found.log_likelihood is not None) == bool(found.assessors)
    assert found.linked == (len(found.groups) < 2)
    for measure in (*found.assessors, *found.criteria):
        assert (measure.value is None) == (measure.undefined is not None)
        assert measure.ci95 is None or measure.value is None or measure.ci95[0] < measure.value < measure.ci95[1]
    assert all(sentence.endswith(".") for sentence in found.sentences)


DIGITS = {
    "all equal": (["333", "333", "333"], "All scores are equal"),
    "one assessor": (["12345"], "one assessor only"),
    "two candidates": (["12", "23"], "fewer than 3 candidates"),
    "in pieces": (["123..", "213..", "...12", "...21"], "2 groups"),
    "only ends": (["555", "111"], "nobody is left"),
}


def grid(columns: Sequence[str]) -> Scores:
    """One column of digits for each assessor, one digit for each candidate; `.` is missing."""
    rows = [
        (f"C{p}", f"A{a}", float(digit))
        for a, column in enumerate(columns)
        for p, digit in enumerate(column)
        if digit != "."
    ]
    candidate, assessor, value = zip(*rows, strict=True)
    return scores_of(candidate, assessor, value, levels=(1, 2, 3, 4, 5))


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("name", DIGITS)
def test_what_cannot_be_estimated_has_a_sentence(name: str, method: Literal["marginal", "joint"]) -> None:
    columns, reason = DIGITS[name]
    found = severity(grid(columns), method=method)
    assert found.undefined is not None and reason in found.undefined
    assert found.sentences == (found.undefined,) and found.assessors == () and found.log_likelihood is None


def test_no_scores_at_all_have_a_sentence() -> None:
    assert severity(scores_of([], [], [])).undefined == "There are no scores."


def test_pieces_are_named_with_the_cheapest_sheet_that_joins_them() -> None:
    found = severity(grid(["1234...", "2143...", "....123", "....21."]))
    assert not found.linked and found.groups == (("A0", "A1"), ("A2", "A3"))
    assert found.undefined is not None and "A3 marks C0" in found.undefined and "one sheet more" in found.undefined


def test_assessors_with_criteria_of_their_own_are_not_comparable() -> None:
    """Every candidate is shared, yet k0 is scored by A0 and A1 alone and k1 by A2 and A3."""
    rng = np.random.default_rng(1)
    rows = [(f"C{p}", f"A{a}", f"k{a // 2}", float(rng.integers(1, 6))) for p in range(12) for a in range(4)]
    found = severity(from_rows(rows))
    assert not found.linked and found.groups == (("A0", "A1"), ("A2", "A3"))
    assert found.undefined is not None and "same criterion or task" in found.undefined
    assert severity(from_rows([*rows, ("C0", "A0", "k1", 3.0)])).linked


def test_a_candidate_who_gets_the_top_alone_has_an_ability_with_an_error() -> None:
    rows = [(c, a, k, 5.0 if c == "C003" else v) for c, a, k, v in rows_of(simulated(6))]
    found = severity(from_rows(rows))
    top = next(person for person in found.candidates if person.id == "C003")
    assert top.extreme and top.value is not None and top.se is not None and top.mean_as_given == 5
    assert top.value == max(person.value or 0.0 for person in found.candidates)
    assert sum(person.extreme for person in found.candidates) == 1


def test_joint_leaves_such_a_candidate_out_and_says_so() -> None:
    rows = [(c, a, k, 5.0 if c == "C003" else v) for c, a, k, v in rows_of(simulated(6))]
    found = severity(from_rows(rows), method="joint")
    top = next(person for person in found.candidates if person.id == "C003")
    assert top.extreme and top.value is None and top.at_average_assessor is None
    assert any("candidate C003: only the highest level" in warning for warning in found.warnings)
    assert any("joint maximum likelihood makes differences larger" in warning for warning in found.warnings)
    without = severity(from_rows([row for row in rows if row[0] != "C003"]), method="joint")
    assert values(found.assessors) == pytest.approx(values(without.assessors), abs=1e-9)


def test_an_assessor_who_gives_one_end_alone_is_named_and_the_others_stay() -> None:
    rows = [(c, a, k, 5.0 if a == "A2" else v) for c, a, k, v in rows_of(simulated(7))]
    found = severity(from_rows(rows))
    mildest = next(measure for measure in found.assessors if measure.id == "A2")
    assert mildest.value is None and mildest.undefined is not None and "highest level" in mildest.undefined
    assert mildest.n == 36 and any(warning.startswith("A2: only the highest") for warning in found.warnings)
    rest = severity(from_rows([row for row in rows if row[1] != "A2"]))
    assert [m.value for m in found.assessors if m.id != "A2"] == pytest.approx([m.value for m in rest.assessors])


def test_a_level_nobody_used_is_named_and_the_others_keep_their_distance() -> None:
    rows = [(c, a, k, 4.0 if v == 3 else v) for c, a, k, v in rows_of(simulated(8))]
    found = severity(from_rows(rows))
    assert any("nobody used level 3" in warning and "from 2 to 4" in warning for warning in found.warnings)
    assert [step.level for step in found.steps] == [2, 4, 5]
    # Levels that keep their distance: the step from 2 to 4 counts twice.
    assert found.steps[0].threshold + 2 * found.steps[1].threshold + found.steps[2].threshold == pytest.approx(0)


def test_an_end_of_the_scale_nobody_used_is_named() -> None:
    rows = [(c, a, k, max(v, 2.0)) for c, a, k, v in rows_of(simulated(9))]
    found = severity(from_rows(rows))
    assert any("nobody used level 1: the scale ends at 2" in warning for warning in found.warnings)
    assert found.undefined is None and found.levels == (1, 2, 3, 4, 5)


def test_criteria_that_lack_a_level_share_their_steps_in_partial_credit() -> None:
    rows = [(c, a, k, 4.0 if (k, v) == ("k1", 5.0) else v) for c, a, k, v in rows_of(simulated(10, candidates=40))]
    found = severity(from_rows(rows), model="partial_credit")
    assert found.undefined is None and all(math.isfinite(step.threshold) for step in found.steps)
    assert any("not every level was given on k1" in warning for warning in found.warnings)
    assert any(len(step.criteria) > 1 and "k1" in step.criteria for step in found.steps)


def test_tasks_and_criteria_are_additive_and_each_sums_to_zero() -> None:
    rng, rows = np.random.default_rng(5), rows_of(simulated(11, candidates=30))
    shift = {"t1": 0.0, "t2": -1.0}
    long = [
        (c, a, k, t, float(np.clip(v + shift[t] + rng.integers(-1, 2), 1, 5))) for c, a, k, v in rows for t in shift
    ]
    candidate, assessor, criterion, task, value = zip(*long, strict=True)
    found = severity(scores_of(candidate, assessor, value, task=task, criterion=criterion, levels=range(1, 6)))
    easy, hard = (measure.value for measure in found.tasks)
    assert easy is not None and hard is not None and easy == pytest.approx(-hard) and hard > 0.3
    assert sum(measure.value or 0.0 for measure in found.criteria) == pytest.approx(0, abs=1e-9)


def test_tasks_with_criteria_of_their_own_are_said_to_be_against_their_group() -> None:
    rows = [(c, a, f"{t}-{k}", t, v) for c, a, k, v in rows_of(simulated(12)) for t in ("t1", "t2")]
    candidate, assessor, criterion, task, value = zip(*rows, strict=True)
    found = severity(scores_of(candidate, assessor, value, task=task, criterion=criterion, levels=range(1, 6)))
    assert found.undefined is None and [m.ci95 for m in found.tasks] == [None, None]
    assert any("cannot be told from their criteria (t1; t2)" in warning for warning in found.warnings)


def test_groups_joined_by_few_candidates_are_said_to_be_loose_and_a_single_one_is_named() -> None:
    rows = rows_of(simulated(13, candidates=24))
    first = {f"C{i:03d}" for i in range(12)}
    split = [row for row in rows if (row[0] in first) == (row[1] in ("A0", "A1")) or row[0] == "C004"]
    found = severity(from_rows(split))
    assert found.linked
    assert any("A0, A1; A2, A3" in warning and "fewer than 5 candidates" in warning for warning in found.warnings)
    assert any("one candidate alone: C004" in warning for warning in found.warnings)
    assert not any("fewer than 5" in warning for warning in severity(from_rows(rows)).warnings)


def test_a_small_course_with_two_of_four_assessors_is_warned_of() -> None:
    found = severity(simulated(14, candidates=10, each=2))
    assert any("too large" in warning and "13 %" in warning for warning in found.warnings)
    assert not any("too large" in warning for warning in severity(simulated(14, candidates=10)).warnings)


def test_a_halo_widens_the_interval_and_is_named() -> None:
    """Every sheet is one impression: all of its criteria get the level of the first."""
    rows = rows_of(simulated(15, candidates=24, criteria=5))
    one = {(c, a): v for c, a, k, v in rows if k == "k0"}
    found = severity(from_rows([(c, a, k, one[c, a]) for c, a, k, _ in rows]))
    plain = severity(from_rows(rows))
    for measure, other in zip(found.assessors, plain.assessors, strict=True):
        assert measure.within_sheet is not None and measure.within_sheet.seen == 0
        assert other.within_sheet is not None
        assert other.within_sheet.seen == pytest.approx(other.within_sheet.foreseen, rel=0.25)
        assert measure.se is not None and (measure.se_clustered or 0.0) > 1.3 * measure.se
        assert "clusters" in measure.interval
    assert any("halo" in sentence and "A0, A1, A2, A3" in sentence for sentence in found.sentences)
    assert not any("halo" in sentence for sentence in plain.sentences)


def test_an_assessor_far_stricter_on_one_criterion_is_named() -> None:
    rows = rows_of(simulated(19, candidates=40, criteria=4))
    found = severity(from_rows([(c, a, k, max(1.0, v - 2 * ((a, k) == ("A1", "k2")))) for c, a, k, v in rows]))
    strict = [pair for pair in found.interactions if pair.flagged and (pair.value or 0.0) > 0]
    assert ("A1", "k2") in {(pair.assessor, pair.other) for pair in strict}
    assert any("A1 on k2 (harder)" in sentence for sentence in found.sentences)
    plain = severity(from_rows(rows))
    assert len(plain.interactions) == 16 and not any(pair.flagged for pair in plain.interactions)


def test_one_score_a_sheet_keeps_the_errors_of_the_model() -> None:
    found = severity(simulated(16, candidates=30, criteria=1))
    for measure in found.assessors:
        assert measure.interval == "full inverse information" and measure.within_sheet is None
        assert measure.ci95 is not None and measure.se is not None
        assert measure.ci95[1] - measure.ci95[0] == pytest.approx(2 * 1.959964 * measure.se, rel=1e-6)


def test_every_assessor_has_one_sentence_in_levels_and_no_verdict_on_chance() -> None:
    scores, _ = facets_set("mfrm_rsm__sim500")
    found = severity(scores)
    assert [m.sentence.split()[0] for m in found.assessors] == ["R01", "R02", "R03", "R04"]
    harder = next(m.sentence for m in found.assessors if m.id == "R04")
    assert re.search(r"about .* of a level harder than the group", harder)
    assert "sanction" in found.sentences[-1]
    small = severity(simulated(17, candidates=6, criteria=1))
    assert small.sentences[0].startswith("This rests on 6 candidates and 4 assessors: too few")
    assert all("more than chance" not in m.sentence or "too few shared" in m.sentence for m in small.assessors)


@pytest.mark.parametrize(
    ("size", "words"),
    [(0.01, "less than a tenth of a level"), (-0.32, "about a third of a level"), (0.5, "about half a level"),
     (1.0, "about a level"), (1.74, "about 1.7 levels")],
)  # fmt: skip
def test_levels_are_told_in_words(size: float, words: str) -> None:
    assert in_levels(size) == words


def test_severity_in_levels_is_how_much_lower_the_scores_of_an_average_candidate_are() -> None:
    scores, _ = facets_set("mfrm_rsm__sim500")
    found = severity(scores)
    given_by = {name: float(scores.value[scores.assessor == i].mean()) for i, name in enumerate(scores.assessors)}
    mean = float(np.mean(list(given_by.values())))
    for measure in found.assessors:
        # Everybody scored everything here, so that plain means say the same, up to how far the scale bends.
        assert measure.levels == pytest.approx(mean - given_by[measure.id], abs=0.05)


def test_the_json_has_the_keys_other_programs_rely_on() -> None:
    document = severity_json(severity(simulated(18)))
    assert {
        "model", "method", "levels", "linked", "groups", "deviance", "log_likelihood", "converged", "assessors",
        "criteria", "tasks", "steps", "candidates", "population", "told_apart", "equal_scores", "warnings",
    } <= set(document)  # fmt: skip
    assert document["deviance"] == -2 * document["log_likelihood"] and document["groups"] == [["A0", "A1", "A2", "A3"]]
    assert {"id", "severity", "se", "infit", "outfit", "infit_z", "outfit_z", "n", "sentence"} <= set(
        document["assessors"][0]
    )
    assert {"id", "difficulty", "se", "infit", "outfit"} <= set(document["criteria"][0]) and document["tasks"] == []
    assert {"level", "threshold", "se"} <= set(document["steps"][0])
    assert {"id", "ability", "se", "at_average_assessor", "mean_as_given", "extreme"} <= set(document["candidates"][0])
    assert set(document["population"]) == {"mean", "sd"} and set(document["equal_scores"]) == {"seen", "foreseen"}
    assert set(document["told_apart"]) >= {"assessors", "candidates"}
    joint = severity_json(severity(simulated(18), method="joint"))
    assert joint["population"] is None and joint["method"] == "joint"


def test_a_wrong_method_is_refused() -> None:
    with pytest.raises(ValueError, match="method"):
        severity(simulated(1), method="magic")  # type: ignore[arg-type]


@pytest.mark.parametrize("method", METHODS)
def test_how_far_it_is_is_told_rising_to_the_end_and_no_stops_it(method: Literal["marginal", "joint"]) -> None:
    told: list[float] = []

    def tell(share: float) -> bool:
        told.append(share)
        return True

    severity(simulated(18), method=method, progress=tell)
    assert told == sorted(told) and told[-1] == 1.0 and len(told) > 3
    with pytest.raises(Cancelled):
        severity(simulated(18), method=method, progress=lambda share: share < 0.3)
