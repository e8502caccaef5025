"""Sizes of a difference, likeness of neighbours, and chance by exact permutation, against formulas written out."""

from __future__ import annotations

from itertools import combinations
from math import sqrt

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st
from scipy import stats

from assess.lesson.effect import cliff_delta, hedges_g, lag_one, n_effective, permutation_p, smallest_p

SIDE = st.lists(st.integers(-30, 30).map(float), min_size=2, max_size=5)


def plain_hedges(before: list[float], after: list[float]) -> float:
    """g = J (mean difference) / pooled SD, J = 1 - 3/(4 df - 1), df = n + m - 2 (Hedges 1981, from memory)."""
    n, m = len(before), len(after)
    pooled = sqrt(((n - 1) * np.var(before, ddof=1) + (m - 1) * np.var(after, ddof=1)) / (n + m - 2))
    return float((1 - 3 / (4 * (n + m - 2) - 1)) * (np.mean(after) - np.mean(before)) / pooled)


@drawn(SIDE, SIDE)
@settings(deadline=None)
def test_g_is_the_published_formula_and_none_without_spread(before: list[float], after: list[float]) -> None:
    found = hedges_g(before, after)
    if len(set(before)) == 1 and len(set(after)) == 1:
        assert found is None
    else:
        assert found == pytest.approx(plain_hedges(before, after))


def test_g_needs_three_values_and_one_on_each_side() -> None:
    assert hedges_g([1], [2]) is None and hedges_g([], [1, 2, 3]) is None
    assert hedges_g([1], [2, 4]) is not None


@drawn(SIDE, SIDE)
@settings(deadline=None)
def test_delta_is_the_share_of_pairs_won_less_the_share_lost(before: list[float], after: list[float]) -> None:
    won = sum(later > earlier for later in after for earlier in before)
    lost = sum(later < earlier for later in after for earlier in before)
    found = cliff_delta(before, after)
    assert found == (won - lost) / (len(before) * len(after))
    assert cliff_delta(after, before) == -found
    # Mann-Whitney U counts the same pairs, ties as halves: delta = 2 U/(n m) - 1.
    u = float(stats.mannwhitneyu(after, before, method="asymptotic").statistic) if {*before, *after} else 0.0
    assert found == pytest.approx(2 * u / (len(before) * len(after)) - 1)


def test_neighbours_of_ten_equal_steps_are_alike_by_seven_tenths() -> None:
    r1 = lag_one([[float(step) for step in range(10)]])
    assert r1 == pytest.approx(0.70)
    assert n_effective(10, 0.70) == pytest.approx(1.8, abs=0.05)
    assert n_effective(10, 0.63) == pytest.approx(2.3, abs=0.05)


def test_lag_one_is_the_plain_formula_and_never_crosses_from_one_run_to_the_next() -> None:
    run = [3.0, 5.0, 4.0, 6.0, 9.0]
    away = [value - sum(run) / 5 for value in run]
    wanted = sum(away[at] * away[at + 1] for at in range(4)) / sum(value * value for value in away)
    assert lag_one([run]) == pytest.approx(wanted)
    assert lag_one([run, [value + 100 for value in run]]) == pytest.approx(wanted)
    assert lag_one([[1, 1, 1], [5]]) is None and lag_one([]) is None


def test_three_runs_against_three_give_one_in_twenty_at_the_least_and_two_against_two_one_in_six() -> None:
    assert permutation_p([1, 2, 3], [4, 5, 6]) == pytest.approx(1 / 20) == smallest_p(3, 3)
    assert permutation_p([1, 2], [3, 4]) == pytest.approx(1 / 6) == smallest_p(2, 2)
    assert permutation_p([4, 5, 6], [1, 2, 3]) == 1


@drawn(
    st.lists(st.integers(-9, 9).map(lambda value: value / 10), min_size=1, max_size=4),
    st.lists(st.integers(-9, 9).map(lambda value: value / 10), min_size=1, max_size=4),
)
@settings(deadline=None)
def test_p_is_the_share_of_all_splits_at_least_as_large(before: list[float], after: list[float]) -> None:
    tenths = [round(10 * value) for value in [*before, *after]]  # whole numbers, so that ties are ties
    seen = sum(tenths[len(before) :])
    sides = list(combinations(tenths, len(after)))
    assert permutation_p(before, after) == pytest.approx(sum(sum(one) >= seen for one in sides) / len(sides))


@pytest.mark.parametrize(
    ("before", "after"),
    [([68.0, 69.5, 67.0], [52.0, 51.1, 66.0]), ([1.0, 2.0, 3.0, 4.0], [2.5, 3.5, 9.0]), ([5.0, 5.0], [5.0, 6.0, 7.0])],
)  # fmt: skip
def test_p_is_that_of_a_library(before: list[float], after: list[float]) -> None:
    found = stats.permutation_test(
        (after, before), lambda a, b: np.mean(a) - np.mean(b), alternative="greater", n_resamples=10_000
    )
    assert permutation_p(before, after) == pytest.approx(float(found.pvalue))


def test_too_many_ways_or_an_empty_side_give_no_p() -> None:
    assert permutation_p([0.0] * 20, [1.0] * 20) is None
    assert permutation_p([], [1.0]) is None
