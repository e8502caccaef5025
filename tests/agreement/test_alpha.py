"""Krippendorff's alpha: check sets, sums over pairs, and what must not change it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assess.agreement.alpha import Alpha, effective_criteria, krippendorff_alpha
from assess.agreement.bootstrap import Bootstrap
from assess.agreement.results import Estimate
from assess.agreement.scores import Scores, scores_of
from assess.agreement.tally import tally_of
from tests.agreement.plain_sums import alpha_by_pairs
from tests.agreement.score_tables import (
    Table,
    alike_table,
    columns_of,
    random_table,
    reference,
    scores_of_table,
    tables,
    value,
)

METRICS = ("nominal", "ordinal", "interval", "ratio")


def alpha(scores: Scores, metric: str, replicates: int = 0, seed: int = 0) -> Estimate:
    return krippendorff_alpha(scores, tally_of(scores), metric, Bootstrap(replicates, seed))


@pytest.mark.parametrize(
    "name", ["krippendorff_alpha__krippendorff2011", "multi__sim_public3x8", "fleiss_kappa__fleiss1971"]
)
@pytest.mark.parametrize("metric", METRICS)
def test_check_sets_are_reproduced(name: str, metric: str) -> None:
    check = reference(name)
    got = alpha(scores_of(*columns_of(check), levels=range(1, 6)), metric)
    assert got.estimate == pytest.approx(check["expected"]["krippendorff_alpha"][metric], abs=1e-9)


def test_krippendorffs_own_numbers_are_reproduced() -> None:
    # Krippendorff (2011), Computing Krippendorff's Alpha-Reliability, sections A (binary) and C to E.
    check = reference("krippendorff_alpha__krippendorff2011")
    scores = scores_of(*columns_of(check), levels=range(1, 6))
    assert [round(value(alpha(scores, metric).estimate), 3) for metric in METRICS] == [0.743, 0.815, 0.849, 0.797]
    binary = reference("krippendorff_alpha__k2011_A")
    got = alpha(scores_of(*columns_of(binary)), "nominal").estimate
    assert got == pytest.approx(binary["expected"]["alpha_nominal"], abs=1e-9)
    assert round(value(got), 3) == 0.095


@pytest.mark.parametrize("metric", METRICS)
def test_sums_over_all_pairs_give_the_same(metric: str) -> None:
    rng = np.random.default_rng(11)
    for _ in range(40):
        table = random_table(rng)
        got = alpha(scores_of_table(table, range(1, 6), units_each=int(rng.integers(1, 4))), metric)
        if got.estimate is not None:
            assert got.estimate == pytest.approx(alpha_by_pairs(table, metric), abs=1e-9)


def defined(table: Table, metric: str) -> float:
    got = alpha(scores_of_table(table, [1, 2, 3, 4]), metric).estimate
    assume(got is not None)
    return value(got)


@settings(max_examples=60, deadline=None)
@given(tables(), st.sampled_from(METRICS), st.randoms(use_true_random=False))
def test_the_order_of_assessors_and_units_does_not_matter(table: Table, metric: str, random: object) -> None:
    rng = np.random.default_rng(random.randrange(1000))  # type: ignore[attr-defined]
    mixed = np.stack([row[rng.permutation(table.shape[1])] for row in rng.permutation(table)])
    assert defined(mixed, metric) == pytest.approx(defined(table, metric), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(tables(), st.permutations([1.0, 2.0, 3.0, 4.0]))
def test_names_of_levels_do_not_matter_to_the_nominal_distance(table: Table, names: list[float]) -> None:
    renamed = np.where(np.isnan(table), np.nan, np.array(names)[np.nan_to_num(table, nan=1).astype(int) - 1])
    assert defined(renamed, "nominal") == pytest.approx(defined(table, "nominal"), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(tables(), st.sampled_from(["nominal", "ordinal", "interval"]))
def test_turning_the_scale_round_does_not_matter(table: Table, metric: str) -> None:
    assert defined(5 - table, metric) == pytest.approx(defined(table, metric), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(tables(), st.floats(-50, 50), st.floats(0.1, 9))
def test_interval_alpha_has_no_zero_and_no_unit(table: Table, shift: float, stretch: float) -> None:
    got = alpha(scores_of_table(table * stretch + shift), "interval").estimate
    assume(got is not None)
    assert got == pytest.approx(defined(table, "interval"), abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(tables())
def test_twice_the_same_units_bring_alpha_nearer_to_its_form_without_n_minus_1(table: Table) -> None:
    # 1 - alpha = (n - 1) D: with the same D in every copy, n copies of N values give (nN - 1) / (nN) of the limit.
    once = defined(table, "nominal")
    twice = defined(np.vstack([table, table]), "nominal")
    n = sum(int((~np.isnan(row)).sum()) for row in table if (~np.isnan(row)).sum() > 1)
    assert (1 - twice) / (1 - 1 / (2 * n)) == pytest.approx((1 - once) / (1 - 1 / n), abs=1e-9)


def test_a_unit_with_one_score_says_nothing() -> None:
    table = np.array([[1, 1, 2], [2, 2, 2], [3, 1, 3], [2, 3, 3.0]])
    more = np.vstack([table, [[np.nan, 3, np.nan], [1, np.nan, np.nan]]])
    a, b = (alpha(scores_of_table(t, [1, 2, 3]), "ordinal") for t in (table, more))
    assert a.estimate == pytest.approx(b.estimate, abs=1e-12)
    assert (b.n, b.n_candidates, b.n_scores) == (4, 4, 12)


@pytest.mark.parametrize("metric", METRICS)
@pytest.mark.parametrize("units_each", [1, 2])
def test_every_resample_is_alpha_of_the_candidates_drawn_with_its_own_ordinal_distance(
    metric: str, units_each: int
) -> None:
    rng = np.random.default_rng(4)
    table = alike_table(rng, 12, 4, 1.0)
    scores = scores_of_table(table, range(1, 6), units_each=units_each)
    tally = tally_of(scores)
    made = Alpha(tally, scores.levels, metric)
    of_candidates = tally.per_candidate(made.columns)
    assert isinstance(of_candidates.rows, np.ndarray)
    rows = of_candidates.rows if units_each > 1 else of_candidates.rows[tally.pattern]
    for _ in range(10):
        chosen = rng.integers(0, len(rows), len(rows))
        units = (chosen[:, None] * units_each + np.arange(units_each)).ravel()
        sums = rows[chosen].sum(axis=0, keepdims=True)
        assert made.statistics(sums)[0, 0] == pytest.approx(alpha_by_pairs(table[units], metric), abs=1e-9)


def test_candidates_are_the_cases_so_alike_criteria_widen_the_interval() -> None:
    table = random_table(np.random.default_rng(8), missing=0.0)
    while len(table) < 12:
        table = np.vstack([table, table])
    table = table[:12]
    alone = alpha(scores_of_table(np.repeat(table, 4, axis=0), range(1, 6)), "ordinal", 500)
    together = alpha(scores_of_table(np.repeat(table, 4, axis=0), range(1, 6), units_each=4), "ordinal", 500)
    assert alone.estimate == pytest.approx(together.estimate, abs=1e-12)
    assert value(together.se) > 1.5 * value(alone.se)
    assert (together.n, together.n_candidates) == (48, 12)


def test_copied_criteria_are_worth_one_and_unconnected_ones_all() -> None:
    rng = np.random.default_rng(2)
    table = alike_table(rng, 40, 3)
    copied = scores_of_table(np.repeat(table, 4, axis=0), range(1, 6), units_each=4)
    assert effective_criteria(copied, tally_of(copied), "ordinal") == pytest.approx(1.0, abs=0.02)
    free = alike_table(rng, 400, 3)
    apart = scores_of_table(free, range(1, 6), units_each=4)
    assert value(effective_criteria(apart, tally_of(apart), "ordinal")) > 3
    single = scores_of_table(table, range(1, 6))
    assert effective_criteria(single, tally_of(single), "ordinal") is None


def test_one_level_throughout_is_a_sentence_and_no_number() -> None:
    for metric in METRICS:
        got = alpha(scores_of_table(np.full((3, 2), 3.0), [1, 2, 3]), metric, 50)
        assert got.estimate is None
        assert got.undefined == "every score is 3: they agree in 100 %, and so would scores given by chance"


def test_a_ratio_of_negative_scores_is_refused_in_words() -> None:
    got = alpha(scores_of_table(np.array([[-1.0, 1], [2, 2]])), "ratio")
    assert got.estimate is None
    assert "below 0" in (got.undefined or "")


def test_many_levels_and_many_candidates_take_the_sparse_road_to_the_same_number() -> None:
    rng = np.random.default_rng(6)
    table = np.round(rng.normal(size=(600, 1)) * 300 + rng.normal(size=(600, 3)) * 90).astype(np.float64)
    scores = scores_of_table(table)
    assert len(scores.levels) * 600 * 4 > 1_000_000
    got = alpha(scores, "interval", 20)
    x = table - table.mean()
    seen = ((x[:, :, None] - x[:, None, :]) ** 2).sum() / 2
    foreseen = ((x.ravel()[:, None] - x.ravel()) ** 2).sum() / (x.size - 1)
    assert got.estimate == pytest.approx(1 - seen / foreseen, abs=1e-9)
    assert got.ci95 is not None
