"""Intraclass correlation: published and simulated check values, identities, what does not exist."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.icc import TEN_FORMS, icc, sem, ten_forms
from assess.agreement.mean_squares import FORMS, correlations, two_way, unit_sums
from assess.agreement.reml import fit, model_of
from assess.agreement.results import Estimate
from assess.agreement.scores import Scores, scores_of
from tests.agreement.designs import crossed
from tests.agreement.score_tables import columns_of, random_table, reference, scores_of_table

SETS = ["icc__shrout_fleiss1979", "icc__sim10"]
SEEDS = st.integers(0, 10_000)


def estimates(scores: Scores) -> list[float | None]:
    return [value.estimate for _, value in icc(scores)]


def checked(name: str) -> tuple[Scores, dict[str, dict[str, Any]], dict[str, float], float]:
    check = reference(name)
    units, assessors, values = columns_of(check)
    forms = {**check["expected"]["one_way"], **check["expected"]["two_way_random"]}
    return scores_of(units, assessors, values), forms, check["expected"]["sem"], check["tolerance"]


@pytest.mark.parametrize("name", SETS)
def test_all_forms_with_their_intervals_are_those_of_the_check_sets(name: str) -> None:
    scores, forms, _, tolerance = checked(name)
    found = icc(scores)
    assert [form for form, _ in found] == list(FORMS)
    for form, value in found:
        assert value.estimate == pytest.approx(forms[form]["value"], abs=tolerance)
        assert value.ci95 == pytest.approx(tuple(forms[form]["ci95"]), abs=tolerance)
        assert value.interval == ("Satterthwaite F" if "A" in form else "exact F")


@pytest.mark.parametrize("name", SETS)
def test_the_error_of_a_score_is_that_of_the_check_sets(name: str) -> None:
    scores, _, errors, tolerance = checked(name)
    found = sem(scores)
    assert found.consistency == pytest.approx(errors["sem_consistency"], abs=tolerance)
    assert found.absolute == pytest.approx(errors["sem_agreement"], abs=tolerance)
    assert found.mdc95_consistency == pytest.approx(errors["mdc95_consistency"], abs=tolerance)
    assert found.mdc95_absolute == pytest.approx(errors["mdc95_agreement"], abs=tolerance)


def test_the_published_values_of_shrout_and_fleiss_come_out() -> None:
    scores, _, _, _ = checked("icc__shrout_fleiss1979")
    assert [round(value or 0, 2) for value in estimates(scores)] == [0.17, 0.29, 0.71, 0.44, 0.62, 0.91]


def test_the_ten_forms_are_six_estimators_and_the_mixed_model_warns_of_interaction_in_means() -> None:
    scores, _, _, _ = checked("icc__shrout_fleiss1979")
    six, ten = dict(icc(scores)), ten_forms(scores)
    assert len(set(TEN_FORMS)) == 10
    assert all(value.estimate == six[form].estimate for _, form, value in ten)
    warned = {(model, form) for model, form, value in ten if value.warnings}
    assert warned == {("two-way mixed", "ICC(C,k)"), ("two-way mixed", "ICC(A,k)")}


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_assessors_may_change_places_and_the_scale_its_origin_and_unit(seed: int) -> None:
    rng = np.random.default_rng(seed)
    table = random_table(rng, missing=0.0)
    here = estimates(scores_of_table(table))
    moved = table[rng.permutation(len(table))][:, rng.permutation(table.shape[1])]
    for other in (moved, table + 7, 2.5 * table):
        assert estimates(scores_of_table(other)) == pytest.approx(here, abs=1e-9)


@settings(max_examples=20, deadline=None)
@given(SEEDS, st.sampled_from([0.0, 0.25]))
def test_the_order_of_rows_changes_no_bit(seed: int, missing: float) -> None:
    rng = np.random.default_rng(seed)
    table = random_table(rng, missing=missing)
    unit, assessor = np.nonzero(~np.isnan(table))
    rows = [(f"c{u:02d}", f"a{a}", table[u, a]) for u, a in zip(unit, assessor, strict=True)]
    mixed = [rows[i] for i in rng.permutation(len(rows))]
    assert repr(icc(scores_of(*zip(*rows, strict=True)))) == repr(icc(scores_of(*zip(*mixed, strict=True))))


@settings(max_examples=30, deadline=None)
@given(SEEDS)
def test_a_mean_of_k_follows_from_a_single_score_by_spearman_and_brown(seed: int) -> None:
    table = random_table(np.random.default_rng(seed), missing=0.0)
    found, k = dict(icc(scores_of_table(table))), table.shape[1]
    for single, mean in (("ICC(1)", "ICC(k)"), ("ICC(A,1)", "ICC(A,k)"), ("ICC(C,1)", "ICC(C,k)")):
        one, many = found[single].estimate, found[mean].estimate
        if one is not None and many is not None:
            assert many * (1 + (k - 1) * one) == pytest.approx(k * one, abs=1e-8)


def test_values_below_zero_are_shown_as_they_are() -> None:
    table = np.array([[float((p + r) * 7 % 5) for r in range(4)] for p in range(6)])
    assert all(value is not None and value < 0 for value in estimates(scores_of_table(table)))


@pytest.mark.parametrize("shape", [(8, 3), (30, 5)])
def test_the_interval_for_absolute_agreement_holds_about_95_times_in_100(shape: tuple[int, int]) -> None:
    rng = np.random.default_rng(5)
    variances = np.array([1.0, 0.3, 0.6])
    true, held, times = variances[0] / variances.sum(), 0, 300
    for _ in range(times):
        value = dict(icc(crossed(rng, *shape, shape[1], variances.tolist())))["ICC(A,1)"]
        assert value.ci95 is not None
        held += value.ci95[0] <= true <= value.ci95[1]
    # 300 tries: 95 % less four standard errors, Satterthwaite being approximate.
    assert held >= 0.90 * times


def test_with_several_criteria_for_a_candidate_the_interval_resamples_candidates() -> None:
    rng = np.random.default_rng(1)
    table = np.repeat(rng.normal(size=(25, 1)), 4, axis=0) + 0.5 * rng.normal(size=(100, 3))
    alike, apart = dict(icc(scores_of_table(table, units_each=4))), dict(icc(scores_of_table(table)))
    for form in FORMS:
        assert alike[form].estimate == apart[form].estimate
        assert "bootstrap over 25 candidates" in alike[form].interval
    longer, shorter = (length(found["ICC(C,1)"]) for found in (alike, apart))
    assert longer > 1.2 * shorter


def length(value: Estimate) -> float:
    assert value.ci95 is not None
    return value.ci95[1] - value.ci95[0]


def test_no_interval_of_clustered_units_goes_above_one() -> None:
    for seed in range(20):
        table = random_table(np.random.default_rng(seed), missing=0.0)
        for _, value in icc(scores_of_table(table[: len(table) // 2 * 2], units_each=2)):
            assert value.ci95 is None or value.ci95[0] <= value.ci95[1] <= 1


def test_with_scores_missing_the_variances_are_those_of_restricted_likelihood_and_it_says_so() -> None:
    scores = crossed(np.random.default_rng(2), 30, 6, 3)
    found = dict(icc(scores))
    unit, assessor = scores.unit, scores.assessor
    v = fit(model_of([unit, assessor], [frozenset({0}), frozenset({1})], scores.value)).variances
    w = fit(model_of([unit], [frozenset({0})], scores.value)).variances
    assert found["ICC(A,1)"].estimate == pytest.approx(v[0] / v.sum(), rel=1e-9)
    assert found["ICC(C,k)"].estimate == pytest.approx(v[0] / (v[0] + v[2] / 3), rel=1e-9)
    assert found["ICC(1)"].estimate == pytest.approx(w[0] / w.sum(), rel=1e-9)
    assert sem(scores).absolute == pytest.approx(np.sqrt(v[1] + v[2]), rel=1e-9)
    for value in found.values():
        assert value.interval == "profile likelihood" and value.ci95 is not None and value.estimate is not None
        assert value.ci95[0] < value.estimate < value.ci95[1]
        assert any("restricted maximum likelihood" in warning for warning in value.warnings)


def test_one_missing_score_of_many_hardly_moves_anything() -> None:
    rng = np.random.default_rng(11)
    whole = rng.normal(size=(60, 1)) + 0.3 * rng.normal(size=(1, 4)) + 0.5 * rng.normal(size=(60, 4))
    holed = whole.copy()
    holed[0, 0] = np.nan
    assert estimates(scores_of_table(holed)) == pytest.approx(estimates(scores_of_table(whole)), abs=0.03)


def test_missing_scores_with_several_criteria_go_by_the_jackknife_over_candidates() -> None:
    rng = np.random.default_rng(4)
    table = np.repeat(rng.normal(size=(12, 1)), 3, axis=0) + 0.5 * rng.normal(size=(36, 4))
    table[rng.random(table.shape) < 0.2] = np.nan
    for _, value in icc(scores_of_table(table, units_each=3)):
        assert value.interval == "jackknife over candidates"
        assert value.ci95 is not None and value.estimate is not None
        assert 0 <= value.ci95[0] < value.estimate < value.ci95[1] < 1


NOTHING = {
    "all equal": [[3, 3, 3]] * 5,
    "one unit": [[1, 2, 3]],
    "one assessor": [[1], [2], [3]],
    "never sharing": [[1, None], [2, None], [None, 3], [None, 4]],
    "a single score each": [[1, None, None], [None, 2, None], [None, None, 3]],
    "empty": [[None, None]],
}


@pytest.mark.parametrize("name", NOTHING)
def test_what_does_not_exist_is_none_with_a_sentence(name: str) -> None:
    scores = scores_of_table(np.array(NOTHING[name], dtype=np.float64))
    for _, value in icc(scores):
        assert value.estimate is None and value.ci95 is None
        assert value.undefined and value.sentence == value.undefined
    assert sem(scores).consistency is None and sem(scores).undefined


def test_groups_of_assessors_without_a_common_candidate_are_named() -> None:
    nan = np.nan
    table = np.array([[1, 2, nan, nan], [3, 5, nan, nan], [nan, nan, 2, 3], [nan, nan, 4, 1]])
    found = dict(icc(scores_of_table(table)))
    assert found["ICC(1)"].estimate is not None
    assert found["ICC(A,1)"].estimate is None
    assert "a00, a01; a02, a03" in (found["ICC(A,1)"].undefined or "")


def test_assessors_who_always_agree_have_one_and_no_interval() -> None:
    scores = scores_of_table(np.repeat(np.arange(5.0)[:, None], 3, axis=1))
    for _, value in icc(scores):
        assert value.estimate == 1 and value.ci95 is None and value.interval.startswith("none")


def test_an_assessor_who_gives_everyone_the_same_is_no_trouble() -> None:
    table = random_table(np.random.default_rng(8), missing=0.0)
    table[:, 0] = 3
    assert all(value is not None for value in estimates(scores_of_table(table)))


def test_mean_squares_from_sums_of_candidates_are_those_of_the_whole_table() -> None:
    table = random_table(np.random.default_rng(9), missing=0.0)
    table -= table.mean()
    group = np.arange(len(table)) % 3
    parts = unit_sums(table, group.astype(np.float64), 3).sum(axis=0, keepdims=True)
    assert correlations(two_way(parts)) == pytest.approx(correlations(two_way(unit_sums(table))), abs=1e-12)
