"""Bland-Altman limits and rank correlations of two assessors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assess.agreement.bootstrap import Bootstrap
from assess.agreement.paired import bland_altman, rank_correlation
from tests.agreement.score_tables import reference, value


def meters() -> tuple[list[float], list[float]]:
    rows = reference("bland_altman__pefr1986")["data"]
    first, second = ([float(row[2]) for row in rows if row[1] == name] for name in ("wright1", "mini1"))
    return first, second


def test_the_meters_of_1986_are_reproduced() -> None:
    want = reference("bland_altman__pefr1986")["expected"]
    got = bland_altman(*meters())
    assert got.n == 17
    assert got.bias == pytest.approx(want["bias"], abs=1e-6)
    assert got.sd == pytest.approx(want["sd"], abs=1e-6)
    assert got.limits == pytest.approx(want["loa"], abs=1e-6)
    assert got.bias_ci95 == pytest.approx(want["ci_bias"], abs=1e-6)
    exact, older = got.limits_ci95, got.limits_ci95_1986
    assert exact is not None
    assert older is not None
    assert exact[0] == pytest.approx(want["ci_lower_exact"], abs=1e-6)
    assert exact[1] == pytest.approx(want["ci_upper_exact"], abs=1e-6)
    assert older[0] == pytest.approx(want["ci_lower_1986"], abs=1e-6)
    assert older[1] == pytest.approx(want["ci_upper_1986"], abs=1e-6)
    assert got.slope == pytest.approx(want["slope_test"]["slope"], abs=1e-9)
    assert got.slope_p == pytest.approx(want["slope_test"]["p"], abs=1e-9)


@pytest.mark.parametrize("n", [2, 6, 40])
def test_the_exact_interval_holds_the_true_limit_in_95_of_100(n: int) -> None:
    # Carkeet (2015): exact for normal differences, as bias + factor x sd; 40,000 samples have an error of .1 %.
    pattern = np.arange(n, dtype=float)
    got = bland_altman(pattern, np.zeros(n))
    assert got.limits_ci95 is not None
    near, far = ((end - value(got.bias)) / value(got.sd) for end in got.limits_ci95[1])
    drawn = np.random.default_rng(5).normal(size=(40_000, n))
    middle, sd = drawn.mean(axis=1), drawn.std(axis=1, ddof=1)
    hits = (middle + near * sd <= 1.959964) & (middle + far * sd >= 1.959964)
    assert hits.mean() == pytest.approx(0.95, abs=0.005)


def test_several_differences_of_one_candidate_are_not_independent() -> None:
    rng = np.random.default_rng(2)
    own = rng.normal(size=15)
    gap = np.repeat(own, 4)
    owner = np.repeat(np.arange(15), 4)
    got = bland_altman(gap, np.zeros(60), owner, Bootstrap(800))
    single = bland_altman(own, np.zeros(15))
    assert got.bias == pytest.approx(single.bias)
    assert "over 15 candidates" in got.interval
    widths = [value(e.bias_ci95 and e.bias_ci95[1] - e.bias_ci95[0]) for e in (got, single)]
    assert widths[0] == pytest.approx(widths[1], rel=0.25)
    assert got.limits_ci95 is not None
    assert got.limits is not None
    for limit, (low, high) in zip(got.limits, got.limits_ci95, strict=True):
        assert low < limit < high
    assert got.limits_ci95_1986 is None
    assert got.slope_p is None


def test_without_a_bootstrap_clustered_differences_have_limits_and_no_intervals() -> None:
    got = bland_altman([1, 2, 3, 4], [1, 1, 2, 5], np.array([0, 0, 1, 1]))
    assert got.limits is not None
    assert (got.limits_ci95, got.bias_ci95) == (None, None)


@pytest.mark.parametrize(
    ("a", "b", "bias", "undefined"),
    [([], [], None, "they scored nothing in common"), ([3], [1], 2.0, "they have one score in common")],
)
def test_too_few_scores_are_a_sentence(a: list[float], b: list[float], bias: float | None, undefined: str) -> None:
    got = bland_altman(a, b)
    assert (got.bias, got.sd, got.limits, got.undefined) == (bias, None, None, undefined)


def test_differences_that_are_all_equal_have_no_interval() -> None:
    got = bland_altman([2, 3, 4], [1, 2, 3])
    assert (got.bias, got.sd, got.limits, got.limits_ci95) == (1.0, 0.0, (1.0, 1.0), None)
    assert got.interval == "none: all differences are equal"


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 6), st.integers(1, 6)), min_size=3, max_size=12), st.integers(-20, 20))
def test_a_constant_moves_nothing_but_itself(pairs: list[tuple[int, int]], shift: int) -> None:
    a, b = (np.array(side, dtype=float) for side in zip(*pairs, strict=True))
    first, both, one = bland_altman(a, b), bland_altman(a + shift, b + shift), bland_altman(a + shift, b)
    assert both.bias == pytest.approx(value(first.bias), abs=1e-9)
    assert one.bias == pytest.approx(value(first.bias) + shift, abs=1e-9)
    assert one.sd == pytest.approx(value(first.sd), abs=1e-9)
    turned = bland_altman(b, a).limits
    assert turned is not None
    assert first.limits is not None
    assert (-turned[1], -turned[0]) == pytest.approx(first.limits, abs=1e-9)


def test_the_tuna_of_hollander_and_wolfe_are_reproduced() -> None:
    # Hollander & Wolfe (1973), p. 187: tau .4444, exact p .1194.
    check = reference("rank_correlation__tuna")
    x, y = ([row[2] for row in check["data"] if row[1] == name] for name in ("x", "y"))
    got, want = rank_correlation(x, y), check["expected"]
    assert got.spearman == pytest.approx(want["spearman"], abs=1e-9)
    assert got.spearman_p == pytest.approx(want["spearman_p_t"], abs=1e-9)
    assert got.tau_b == pytest.approx(want["kendall_tau_b"], abs=1e-9)
    assert got.tau_p == pytest.approx(want["kendall_p"], abs=1e-9)
    assert got.tau_method == "exact"


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 5), st.integers(1, 5)), min_size=2, max_size=12))
def test_ranks_go_by_order_alone_and_turn_with_the_scale(pairs: list[tuple[int, int]]) -> None:
    a, b = (np.array(side, dtype=float) for side in zip(*pairs, strict=True))
    got = rank_correlation(a, b)
    assume(got.tau_b is not None)
    stretched, turned, changed = rank_correlation(np.exp(a), b), rank_correlation(-a, b), rank_correlation(b, a)
    assert stretched == got
    assert turned.spearman == pytest.approx(-value(got.spearman), abs=1e-9)
    assert turned.tau_b == pytest.approx(-value(got.tau_b), abs=1e-9)
    assert changed.tau_b == pytest.approx(value(got.tau_b), abs=1e-9)
    # Second answer: every pair of cases, concordant less discordant, over the root of the untied (Kendall 1945).
    i, j = np.triu_indices(len(a), 1)
    x, y = np.sign(a[i] - a[j]), np.sign(b[i] - b[j])
    assert got.tau_b == pytest.approx((x * y).sum() / (abs(x).sum() * abs(y).sum()) ** 0.5, abs=1e-9)


@pytest.mark.parametrize(("a", "b"), [([1], [2]), ([], []), ([2, 2, 2], [1, 2, 3])])
def test_nothing_to_rank_is_none(a: list[float], b: list[float]) -> None:
    got = rank_correlation(a, b)
    assert (got.spearman, got.tau_b, got.tau_p) == (None, None, None)
