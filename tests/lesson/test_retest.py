"""Retest error, regression to the mean, pairs: the project's worked numbers, and a library's tails and tests."""

from __future__ import annotations

import random
from math import inf, sqrt
from statistics import NormalDist, fmean, stdev

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st
from scipy import stats

from assess.lesson.distributions import chi_square_below, chi_square_quantile, t_below, t_quantile
from assess.lesson.paired import from_differences, paired_change, signed_rank_p, unpaired_p
from assess.lesson.retest import (
    regression_to_mean,
    retest_error,
    sem_from_reliability,
    smallest_difference,
    smallest_worthwhile,
)

FOUR = [(67.5, 68.9), (70.0, 67.2), (66.0, 68.4), (69.0, 66.1)]
BEFORE = [52.0, 55, 58, 60, 61, 57, 63, 54]
AFTER = [56.0, 58, 59, 66, 63, 60, 64, 59]


def test_four_retest_pairs_give_a_limit_that_could_be_almost_anything() -> None:
    """SEM = sd(test - retest)/sqrt 2, MDC95 = 1.96 sqrt 2 SEM (Weir 2005, J Strength Cond Res 19, 231-240)."""
    found = retest_error(FOUR)
    gains = [second - first for first, second in FOUR]
    assert found.sem == pytest.approx(stdev(gains) / sqrt(2)) and found.drift == pytest.approx(fmean(gains))
    assert round(found.sem, 2) == 1.96 and round(found.mdc95, 1) == 5.4
    assert [round(end, 1) for end in found.ci95] == [3.1, 20.3]
    assert found.n_pairs == 4


def test_a_form_whose_smallest_shown_change_is_larger_than_one_worth_having() -> None:
    sem = sem_from_reliability(6.0, 0.84)
    assert sem == pytest.approx(2.400)
    assert smallest_difference(sem) == pytest.approx(6.652, abs=0.0005)
    assert smallest_difference(sem, 1.645) == pytest.approx(5.583, abs=0.0005)
    assert smallest_worthwhile(6.0) == pytest.approx(1.2)


def test_people_picked_for_low_values_gain_without_teaching() -> None:
    """(1 - r) SD phi(z)/Phi(z); mean 64, SD 6, r .84, picked below 58 (formula: Barnett et al. 2005, from memory)."""
    assert regression_to_mean(6, 0.84, 64, 58) == pytest.approx(1.464, abs=0.0005)
    assert regression_to_mean(6, 1.0, 64, 58) == 0


def test_a_seeded_simulation_of_people_picked_gains_as_much() -> None:
    chance = random.Random(20261)
    gains = []
    for _ in range(60_000):
        true = chance.gauss(64, 6 * sqrt(0.84))
        first, second = (chance.gauss(true, 6 * sqrt(0.16)) for _ in range(2))
        if first < 58:
            gains.append(second - first)
    error = stdev(gains) / sqrt(len(gains))
    assert abs(fmean(gains) - regression_to_mean(6, 0.84, 64, 58)) < 4 * error


@pytest.mark.parametrize("away", [3, 8, 20, 37, 60, 1e6])
def test_a_cut_far_below_everybody_still_gives_a_number(away: float) -> None:
    # phi(z)/Phi(z) is between -z and -z + 1/(-z) for z below 0 (Mills' ratio).
    found = regression_to_mean(1, 0, 0, -away)
    assert away <= found <= away + 1 / away + 1e-9


def test_nonsense_is_refused_in_words() -> None:
    for call in (
        lambda: sem_from_reliability(-1, 0.5), lambda: sem_from_reliability(1, 1.2), lambda: retest_error(FOUR[:1]),
        lambda: regression_to_mean(0, 0.5, 1, 1), lambda: regression_to_mean(1, -0.1, 1, 1),
        lambda: paired_change([1.0], [2.0]), lambda: paired_change([1.0, 2.0], [2.0]),
        lambda: unpaired_p([1.0], [2.0, 3.0]), lambda: unpaired_p([1.0, 1.0], [2.0, 2.0]),
        lambda: t_quantile(1, 3), lambda: chi_square_below(1, 0), lambda: t_below(1, inf),
    ):  # fmt: skip
        with pytest.raises(ValueError, match=r"must|have"):
            call()


def test_eight_pairs_and_what_forgetting_who_is_who_costs() -> None:
    found = paired_change(BEFORE, AFTER)
    assert (found.n, found.mean) == (8, 3.125)
    assert found.sd == pytest.approx(1.808, abs=0.0005)
    assert found.ci95 == pytest.approx((1.614, 4.636), abs=0.0005)
    assert found.t == pytest.approx(4.889, abs=0.0005) and found.p_t == pytest.approx(0.00177, abs=5e-6)
    assert found.p_signed_rank == pytest.approx(0.0078, abs=5e-5)
    assert found.typical_error == pytest.approx(found.sd / sqrt(2))
    assert unpaired_p(BEFORE, AFTER) == pytest.approx(0.101, abs=0.0005)


def test_four_marked_places_with_a_steady_gain() -> None:
    # Differences with mean 16.7 and sd 1.17.
    away = 1.17 * sqrt(3) / 2
    found = from_differences([16.7 - away, 16.7 - away, 16.7 + away, 16.7 + away])
    assert (found.mean, found.sd) == pytest.approx((16.7, 1.17))
    assert [round(end, 1) for end in found.ci95] == [14.8, 18.6]


def test_pairs_that_all_moved_alike_or_not_at_all() -> None:
    alike = from_differences([2.0, 2.0, 2.0])
    assert (alike.t, alike.p_t, alike.ci95, alike.p_sign) == (None, None, (2.0, 2.0), 0.25)
    still = from_differences([0.0, 0.0])
    assert (still.p_signed_rank, still.p_sign) == (None, None)


@drawn(
    st.lists(st.integers(1, 30), min_size=3, max_size=9, unique=True), st.lists(st.booleans(), min_size=9, max_size=9)
)
@settings(deadline=None, max_examples=40)
def test_exact_tests_of_pairs_are_a_librarys(sizes: list[int], signs: list[bool]) -> None:
    gains = [float(size if up else -size) for size, up in zip(sizes, signs, strict=False)]
    library = stats.wilcoxon(gains, method="exact")
    assert signed_rank_p(gains) == pytest.approx(float(library.pvalue))
    positive = sum(gain > 0 for gain in gains)
    assert from_differences(gains).p_sign == pytest.approx(float(stats.binomtest(positive, len(gains)).pvalue))


@pytest.mark.parametrize("df", [1, 2, 3, 7, 30, 250])
def test_tails_are_a_librarys(df: int) -> None:
    for t in (-6.0, -0.3, 0.0, 1.2, 4.889):
        assert t_below(t, df) == pytest.approx(float(stats.t.cdf(t, df)), abs=1e-12)
    for share in (0.025, 0.3, 0.975):
        assert t_quantile(share, df) == pytest.approx(float(stats.t.ppf(share, df)), rel=1e-8)
        assert chi_square_quantile(share, df) == pytest.approx(float(stats.chi2.ppf(share, df)), rel=1e-9)
    for x in (0.0, 0.4, 3.0, 60.0, 400.0):
        assert chi_square_below(x, df) == pytest.approx(float(stats.chi2.cdf(x, df)), abs=1e-12)


def test_the_limit_is_beyond_retest_error_nineteen_times_in_twenty() -> None:
    # The difference of two values without change has SD sqrt 2 SEM.
    assert 2 * NormalDist(0, sqrt(2) * 2.4).cdf(-smallest_difference(2.4)) == pytest.approx(0.05, abs=0.0001)
