"""Dependability as a whole: results, intervals that hold, identities, refusals, sentences, JSON."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.bootstrap import Cancelled
from assess.agreement.dependability import dependability
from assess.agreement.dependability_json import dependability_json
from assess.agreement.facets import design_of
from assess.agreement.icc import icc
from assess.agreement.results import Dependability
from assess.agreement.scores import Floats, Ints, Scores, scores_of
from tests.agreement.designs import check_set, crossed, drawn_crossed, named, three_way

Drawn = tuple[Ints, Ints, Floats, Ints | None]


def variances(found: Dependability) -> list[float]:
    return [component.variance for component in found.components]


def test_complete_scores_give_the_g_and_phi_of_the_intraclass_correlation() -> None:
    scores, _ = check_set("gtheory_pxr__shrout_fleiss")
    forms = dict(icc(scores))
    for method in ("reml", "anova"):
        found = dependability(scores, method=method)
        assert found.g.estimate == pytest.approx(forms["ICC(C,k)"].estimate, rel=1e-6)
        assert found.phi.estimate == pytest.approx(forms["ICC(A,k)"].estimate, rel=1e-6)
        # The redraws give the exact F interval of g, but for their own roughness in the tail.
        assert found.g.ci95 == pytest.approx(forms["ICC(C,k)"].ci95, abs=0.01)


def test_both_methods_draw_the_same_interval_for_complete_scores() -> None:
    scores = three_way(np.random.default_rng(6), (12, 3, 4))
    reml, anova = (dependability(scores, method=method) for method in ("reml", "anova"))
    if min(variances(anova)) > 0:
        assert reml.phi.ci95 == pytest.approx(anova.phi.ci95, abs=1e-5)
    assert anova.minus_two_restricted_log_likelihood is None
    assert reml.minus_two_restricted_log_likelihood is not None


def test_negative_variances_of_anova_are_shown_and_count_as_zero() -> None:
    scores, check = check_set("gtheory_pxrxt__sim400")
    found = dependability(scores, method="anova", assessors=[2], tasks=[3])
    task = next(component for component in found.components if component.source == "task")
    assert task.variance == pytest.approx(-0.03388888889, abs=1e-8)
    assert found.d_study[0].phi == pytest.approx(check["expected"]["anova"]["dstudy"]["n_r=2,n_t=3"]["phi"], abs=1e-8)
    assert any("negative variance of task" in warning for warning in found.warnings)


def test_phi_at_the_line_is_there_with_a_line_alone() -> None:
    plain, _ = check_set("gtheory_pxr__shrout_fleiss")
    scores, _ = check_set("gtheory_pxr__shrout_fleiss", line=7.0)
    assert dependability(plain).phi_at_line is None
    found = dependability(scores).phi_at_line
    # Brennan & Kane (1977) with four assessors, line 7: check set phi_lambda__shrout_fleiss.
    assert found is not None and found.estimate is not None and found.ci95 is not None
    assert found.estimate == pytest.approx(0.7023102311, abs=1e-6)
    assert found.ci95[0] < found.estimate < found.ci95[1]


def test_anova_of_incomplete_scores_is_refused_and_says_what_to_use() -> None:
    scores, _ = check_set("gtheory_pxr__sim404_unbalanced")
    found = dependability(scores, method="anova")
    assert found.phi.estimate is None and "reml" in (found.undefined or "")


@pytest.mark.parametrize(
    ("candidates", "assessors", "each"), [(10, 3, 3), (12, 4, 2), (30, 6, 3)]
)  # fmt: skip
def test_intervals_of_g_and_phi_hold_about_95_times_in_100(candidates: int, assessors: int, each: int) -> None:
    rng = np.random.default_rng(candidates)
    true, held, times = {"g": 1 / (1 + 0.6 / each), "phi": 1 / (1 + 0.9 / each)}, {"g": 0, "phi": 0}, 0
    for seed in range(120):
        scores = crossed(rng, candidates, assessors, each)
        if design_of(scores).undefined is not None:
            continue
        times += 1
        found = _quick(scores, seed)
        for name, limits in (("g", found[0]), ("phi", found[1])):
            held[name] += limits[0] <= true[name] <= limits[1]
    # 95 % less three standard errors of about 110 tries.
    assert min(held.values()) >= 0.885 * times


def _quick(scores: Scores, seed: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """The intervals of g and phi without those of the components, which take longest."""
    from assess.agreement.d_study import as_seen
    from assess.agreement.redraw import of_model
    from assess.agreement.reml import fit, model_of

    design = design_of(scores)
    sources = design.sources[:-1]
    model = model_of([s.index for s in sources], [s.facets for s in sources], design.value)
    drawn, weights = of_model(model, fit(model), 1000, seed), as_seen(design)
    g, phi = drawn.share(weights, absolute=False), drawn.share(weights, absolute=True)
    assert g is not None and phi is not None
    return g, phi


@settings(max_examples=6, deadline=None)
@given(drawn_crossed())
def test_names_and_order_do_not_matter(drawn: Drawn) -> None:
    p, r, value, t = drawn
    rng = np.random.default_rng(int(value.sum() * 10) % 1000)
    here = dependability(named(p, r, value, t), replicates=100)
    order = rng.permutation(len(value))
    mixed = dependability(named(p[order], r[order], value[order], None if t is None else t[order]), replicates=100)
    assert repr(mixed) == repr(here)
    other = dependability(named(p, rng.permutation(r.max() + 1)[r], value, t), replicates=100)
    assert variances(other) == pytest.approx(variances(here), rel=1e-5, abs=1e-7)
    assert other.undefined == here.undefined or "groups" in (here.undefined or "")


@settings(max_examples=8, deadline=None)
@given(drawn_crossed(), st.sampled_from([0.1, 4.0]), st.sampled_from([-20.0, 0.0, 100.0]))
def test_another_scale_multiplies_variances_by_its_square(drawn: Drawn, unit: float, origin: float) -> None:
    p, r, value, t = drawn
    here = dependability(named(p, r, value, t), replicates=100)
    there = dependability(named(p, r, origin + unit * value, t), replicates=100)
    assert variances(there) == pytest.approx([unit**2 * v for v in variances(here)], rel=1e-5, abs=1e-7 * unit**2)
    if here.phi.estimate is not None:
        assert there.phi.estimate == pytest.approx(here.phi.estimate, abs=1e-5)


def test_every_candidate_twice_keeps_severity_and_sharpens_the_rest() -> None:
    scores = crossed(np.random.default_rng(2), 15, 4, 4)
    twice = named(
        np.concatenate([scores.candidate, scores.candidate + 15]), np.concatenate([scores.assessor] * 2),
        np.concatenate([scores.value] * 2),
    )  # fmt: skip
    one, two = dependability(scores, method="anova"), dependability(twice, method="anova")
    # Expected mean squares: means of assessors stay, sums of squares of candidates and error double.
    ms = {key: dict(zip(("p", "r", "e"), variances(found), strict=True)) for key, found in (("1", one), ("2", two))}
    assert ms["2"]["e"] == pytest.approx(ms["1"]["e"] * 2 * 14 / 29, rel=1e-9)
    assert ms["2"]["r"] + ms["2"]["e"] / 30 == pytest.approx(ms["1"]["r"] + ms["1"]["e"] / 15, rel=1e-9)
    assert length(two) < length(one)


def length(found: Dependability) -> float:
    assert found.g.ci95 is not None
    return found.g.ci95[1] - found.g.ci95[0]


@settings(max_examples=25, deadline=None)
@given(drawn_crossed(), st.sampled_from(["reml", "anova"]), st.sampled_from([None, 3.0]))
def test_every_number_is_a_number_or_none_with_a_reason(drawn: Drawn, method: str, line: float | None) -> None:
    p, r, value, t = drawn
    scores = replace(named(p, r, np.round(value), t), line=line)
    found = dependability(scores, method=method, replicates=50)
    text = json.dumps(dependability_json(found), allow_nan=False)
    assert (found.phi.estimate is None) == (found.phi.undefined is not None)
    if found.undefined is None:
        assert all(component.source for component in found.components)
        assert all(plan.phi is None or 0 <= plan.phi <= 1 for plan in found.d_study)
        for component in found.components:
            assert component.ci95 is None or 0 <= component.ci95[0] <= component.ci95[1] < math.inf
    else:
        assert found.components == () and found.d_study == () and found.undefined in text
    assert all(sentence[0].isupper() and sentence.endswith(".") for sentence in found.sentences)


NOTHING = {
    "all equal": ([0, 0, 1, 1, 2, 2], [0, 1] * 3, [3.0] * 6),
    "one candidate": ([0, 0, 0], [0, 1, 2], [1.0, 2.0, 3.0]),
    "one assessor": ([0, 1, 2], [0, 0, 0], [1.0, 2.0, 3.0]),
    "never sharing": ([0, 1, 2, 3], [0, 0, 1, 1], [1.0, 2.0, 3.0, 5.0]),
    "a single score each": ([0, 1, 2], [0, 1, 2], [1.0, 2.0, 3.0]),
    "no error left": ([0, 0, 1, 1, 2, 2], [0, 1] * 3, [1.0, 2.0, 2.0, 3.0, 4.0, 5.0]),
    "empty": ([], [], []),
}


@pytest.mark.parametrize("name", NOTHING)
def test_what_cannot_be_estimated_is_none_with_a_sentence(name: str) -> None:
    p, r, value = NOTHING[name]
    found = dependability(scores_of([f"C{i}" for i in p], [f"A{i}" for i in r], value, line=3.5))
    assert found.undefined and found.sentences == (found.undefined,)
    assert found.phi_at_line is not None
    for estimate in (found.g, found.phi, found.phi_at_line):
        assert estimate.estimate is None and estimate.undefined == found.undefined
    assert dependability_json(found)["phi"] is None


def test_an_assessor_who_gives_everyone_the_same_is_no_trouble() -> None:
    scores = crossed(np.random.default_rng(1), 10, 3, 3)
    found = dependability(replace(scores, value=np.where(scores.assessor == 0, 3.0, scores.value)))
    assert found.undefined is None and found.phi.estimate is not None


def test_scores_without_error_have_a_g_of_one_in_analysis_of_variance_and_no_interval_for_it() -> None:
    p, r, value = NOTHING["no error left"]
    found = dependability(scores_of([f"C{i}" for i in p], [f"A{i}" for i in r], value), method="anova")
    assert found.g.estimate == 1 and found.g.ci95 is None
    assert any("no error" in warning for warning in found.warnings)


def test_the_sentences_say_little_data_first_then_shares_then_what_it_would_take() -> None:
    scores, _ = check_set("gtheory_pxr__shrout_fleiss", line=5.0)
    told = dependability(scores).sentences
    assert told[0].startswith("This rests on 6 candidates and 4 assessors")
    assert "29 % come from candidates" in told[1] and "59 % from assessors being stricter or milder" in told[1]
    assert any(sentence.startswith("With 2 assessors about 45 % would repeat") for sentence in told)
    assert any("reaches .80" in sentence and "6 assessors" in sentence for sentence in told)
    assert "line 5" in told[-1]


def test_with_tasks_the_sentences_plan_with_both_numbers() -> None:
    scores, _ = check_set("gtheory_pxrxt__sim400")
    told = dependability(scores).sentences
    assert any(sentence.startswith("With 2 assessors and 3 tasks about 81 %") for sentence in told)
    assert any("2 assessors and 3 tasks" in sentence and "fewest scores" in sentence for sentence in told)
    nested, _ = check_set("gtheory_px_r_in_t__brennan2001")
    assert any("assessors for each task and" in sentence for sentence in dependability(nested).sentences)


def test_with_much_data_nothing_is_said_of_too_few_and_a_sure_plan_is_named() -> None:
    told = dependability(crossed(np.random.default_rng(3), 300, 30, 4, (1.0, 0.1, 0.6))).sentences
    assert told[0].startswith("Of the differences")
    assert any("To be sure of it" in sentence for sentence in told)


def test_the_json_has_the_keys_other_programs_rely_on() -> None:
    scores, _ = check_set("gtheory_pxrxt__sim400")
    found = dependability_json(dependability(scores, assessors=[1, 2], tasks=[3], replicates=100))
    assert {
        "design", "method", "minus_two_restricted_log_likelihood", "components", "g", "phi", "phi_at_line",
        "sem_relative", "sem_absolute", "d_study", "warnings",
    } <= set(found)  # fmt: skip
    assert found["phi_at_line"] is None
    assert {"source", "variance", "ci95"} <= set(found["components"][0])
    assert [(plan["assessors"], plan["tasks"]) for plan in found["d_study"]] == [(1, 3), (2, 3)]
    assert {"assessors", "tasks", "g", "phi", "sem_absolute"} <= set(found["d_study"][0])


def test_the_seed_alone_decides_what_is_drawn() -> None:
    scores = crossed(np.random.default_rng(7), 12, 4, 3)
    one, again, other = (dependability(scores, replicates=200, seed=seed) for seed in (1, 1, 2))
    assert repr(one) == repr(again)
    assert one.phi.ci95 != other.phi.ci95 and one.phi.estimate == other.phi.estimate


def test_progress_is_told_and_may_stop() -> None:
    scores = crossed(np.random.default_rng(7), 12, 4, 3)
    shares: list[float] = []

    def told(share: float) -> bool:
        shares.append(share)
        return True

    dependability(scores, replicates=50, progress=told)
    assert shares[0] == 0 and shares[-1] == 1 and shares == sorted(shares)
    with pytest.raises(Cancelled):
        dependability(scores, progress=lambda share: share < 0.3)


@pytest.mark.parametrize("wrong", [{"method": "magic"}, {"assessors": [0]}, {"tasks": [-1]}])
def test_a_wrong_method_or_number_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"method|start at 1"):
        dependability(crossed(np.random.default_rng(7), 12, 4, 3), **wrong)  # type: ignore[arg-type]
