"""Kendall's W."""

from __future__ import annotations

from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from scipy import stats

from assess.agreement.bootstrap import Bootstrap
from assess.agreement.kendall import concordance, kendall_w
from assess.agreement.scores import scores_of
from tests.agreement.score_tables import Table, alike_table, columns_of, reference, scores_of_table, tables, value


def rounding() -> Table:
    table = np.zeros((3, 22))
    for unit, assessor, time in reference("kendall_w__rounding_times")["data"]:
        table[unit - 1, int(assessor[1:]) - 1] = time
    return table


def test_the_rounding_times_of_hollander_and_wolfe_are_reproduced() -> None:
    want, got = reference("kendall_w__rounding_times")["expected"], concordance(rounding())
    for have, wanted in (
        (got.w, "W"), (got.w_uncorrected, "W_uncorrected"), (got.chi2, "chi2"), (got.df, "df"), (got.chi2_p, "p"),
        (got.f, "F"), (got.f_p, "p_F"), (got.mean_spearman, "mean_spearman"),
    ):  # fmt: skip
        assert have == pytest.approx(want[wanted], rel=1e-9)
    assert got.f_df == pytest.approx(want["F_df"], rel=1e-9)
    assert got.method == "9,999 random orders"
    assert got.p == pytest.approx(0.0033, abs=0.002)


def test_the_estimate_is_that_of_the_values_and_says_how_few_it_rests_on() -> None:
    got = kendall_w(scores_of(*columns_of(reference("kendall_w__rounding_times"))), Bootstrap(50))
    assert got.estimate == pytest.approx(concordance(rounding()).w, abs=1e-12)
    assert (got.n, got.n_assessors, got.n_scores) == (3, 22, 66)
    assert "only 3 candidates: the interval is rough" in got.warnings


@settings(max_examples=60, deadline=None)
@given(tables(missing=False))
def test_w_is_the_mean_rank_correlation_in_another_dress_where_nobody_has_equal_values(table: Table) -> None:
    table = table + np.arange(len(table))[:, None] * 0.01  # no equal values within an assessor
    got = concordance(table)
    rho = [stats.spearmanr(a, b).statistic for a, b in combinations(table.T, 2)]
    m = table.shape[1]
    assert got.w == pytest.approx((1 + (m - 1) * np.mean(rho)) / m, abs=1e-9)
    assert got.mean_spearman == pytest.approx(np.mean(rho), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(tables(missing=False))
def test_order_of_assessors_and_units_and_the_direction_of_the_scale_do_not_matter(table: Table) -> None:
    got = kendall_w(scores_of_table(table, [1, 2, 3, 4]), Bootstrap(0))
    assume(got.estimate is not None)
    for other in (table[::-1], table[:, ::-1], 5 - table, table**3):
        again = kendall_w(scores_of_table(other), Bootstrap(0))
        assert again.estimate == pytest.approx(value(got.estimate), abs=1e-9)


def test_few_units_are_compared_with_every_order_there_could_be() -> None:
    table = np.array([[1, 1, 2], [2, 3, 1], [3, 2, 3.0]])
    orders = list(permutations(range(3)))
    all_w = [
        value(concordance(np.column_stack([table[:, 0], table[list(p), 1], table[list(q), 2]])).w)
        for p in orders
        for q in orders
    ]
    got = concordance(table)
    assert got.method == "all orders"
    assert got.p == pytest.approx(np.mean(np.array(all_w) >= value(got.w) - 1e-9))


def test_more_than_seven_units_go_by_chi_squared() -> None:
    table = np.random.default_rng(1).normal(size=(9, 3))
    got = concordance(table)
    want = stats.friedmanchisquare(*table)
    assert got.method == "chi-squared"
    assert got.chi2 == pytest.approx(float(want.statistic))
    assert got.p == pytest.approx(float(want.pvalue))


@pytest.mark.parametrize("units_each", [1, 2])
def test_the_interval_is_by_candidate_and_ranks_anew(units_each: int) -> None:
    rng = np.random.default_rng(3)
    table = alike_table(rng, 40, 3)
    got = kendall_w(scores_of_table(table, range(1, 6), units_each=units_each), Bootstrap(400))
    n = 40 // units_each
    assert got.interval == f"BCa bootstrap over {n} candidates, 400 resamples"
    drawn = []
    for _ in range(400):
        chosen = rng.integers(0, n, n)
        drawn.append(value(concordance(table[(chosen[:, None] * units_each + np.arange(units_each)).ravel()]).w))
    assert got.se == pytest.approx(np.std(drawn, ddof=1), rel=0.2)


def test_units_not_scored_by_all_are_left_out_and_counted() -> None:
    table = np.array([[1, 2, 1], [2, 3, 3], [3, 3, 4], [4, np.nan, 2]])
    got = kendall_w(scores_of_table(table, [1, 2, 3, 4]), Bootstrap(50))
    assert got.n == 3
    assert got.estimate == pytest.approx(value(concordance(table[:3]).w), abs=1e-12)
    assert "1 of 4 units were not scored by all and are left out" in got.warnings


@pytest.mark.parametrize(
    ("table", "why"),
    [
        (np.zeros((0, 2)), "there are no scores"),
        (np.array([[1.0], [2]]), "only one assessor"),
        (np.array([[1, 2.0], [2, np.nan]]), "and there is one"),
        (np.array([[1, np.nan], [np.nan, 2.0]]), "at least two units"),
        (np.full((4, 2), 2.0), "fewer than two assessors told units apart"),
        (np.array([[1, 2], [2, 2], [3, 2.0]]), "fewer than two assessors told units apart"),
    ],
)
def test_what_cannot_be_ranked_is_a_sentence(table: Table, why: str) -> None:
    got = kendall_w(scores_of_table(table, [1, 2, 3]), Bootstrap(50))
    assert got.estimate is None
    assert why in (got.undefined or "")
