"""Pass rates of groups: exact ratios, scipy's tests and intervals, every flip by trial, and nothing of small groups."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from assess.agreement.fisher import fisher_exact, persons_to_flip_test
from assess.agreement.group_differences import GroupDifferences, group_differences, persons_to_flip_ratio
from assess.agreement.scores import ScoreError
from assess.agreement.share_intervals import wilson

SIDE = st.integers(1, 30).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


def of(*groups: tuple[str, int, int], courses: int = 2) -> GroupDifferences:
    """(name, passed, persons) of each group, its persons spread over the courses."""
    rows = [(f"{name}{i}", name, i < passed, f"K{i % courses}") for name, passed, n in groups for i in range(n)]
    candidates, names, outcomes, where = zip(*rows, strict=True) if rows else ((), (), (), ())
    return group_differences(candidates, names, outcomes, where)


def value(number: float | None) -> float:
    assert number is not None
    return number


def test_the_ratio_of_the_pass_rates_is_exact() -> None:
    (one,) = of(("north", 12, 20), ("south", 17, 20)).differences
    assert (one.lower, one.higher) == ("north", "south")
    assert one.ratio == Fraction(12, 17)
    assert one.difference == Fraction(1, 4)
    assert one.under_four_fifths


def test_exactly_four_fifths_is_not_under_it() -> None:
    (one,) = of(("a", 8, 20), ("b", 10, 20)).differences
    assert one.ratio == Fraction(4, 5)
    assert not one.under_four_fifths
    assert one.persons_to_flip_ratio == 1


def test_the_screen_is_named_as_what_it_is_and_the_sentence_decides_nothing() -> None:
    got = of(("a", 8, 20), ("b", 19, 20))
    text = " ".join([got.differences[0].sentence, *got.warnings])
    assert "US employment" in text
    assert "29 CFR 1607.4" in text
    assert "not a finding" in text


# Fisher (1935), the tea taster: 3 of 4 right twice; p two-sided 34/70 (and one-sided 17/70).
def test_the_tea_taster_has_34_in_70() -> None:
    assert fisher_exact(3, 4, 1, 4) == Fraction(34, 70)


@given(SIDE, SIDE)
@settings(deadline=None)
def test_fishers_test_is_that_of_scipy(first, second) -> None:
    (a, n), (b, m) = first, second
    want = stats.fisher_exact(np.array([[a, n - a], [b, m - b]])).pvalue
    assert float(fisher_exact(a, n, b, m)) == pytest.approx(want, abs=1e-12)
    assert fisher_exact(a, n, b, m) == fisher_exact(b, m, a, n) == fisher_exact(n - a, n, m - b, m)


@given(SIDE)
@settings(deadline=None)
def test_the_wilson_interval_is_that_of_scipy(side) -> None:
    passed, n = side
    want = stats.binomtest(passed, n).proportion_ci(method="wilson")
    assert wilson(passed, n) == pytest.approx((want.low, want.high), abs=1e-12)
    assert 0 <= wilson(passed, n)[0] <= passed / n <= wilson(passed, n)[1] <= 1


def test_the_interval_of_the_difference_is_newcombes() -> None:
    # Newcombe (1998) Stat. Med. 17, 873-890, table II (a), method 10: 56/70 - 48/80 is .2 (.0524 to .3339).
    (one,) = of(("a", 48, 80), ("b", 56, 70)).differences
    assert one.difference == Fraction(1, 5)
    assert one.difference_ci95 == pytest.approx((0.0524, 0.3339), abs=5e-5)


SMALL = st.integers(2, 9).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


def fewest(first, second, holds) -> int | None:
    (a, n), (b, m) = first, second
    start = holds(a, b)
    steps = [abs(i - a) + abs(j - b) for i, j in product(range(n + 1), range(m + 1)) if holds(i, j) != start]
    return min(steps, default=None)


@given(SMALL, SMALL)
@settings(deadline=None, max_examples=60)
def test_so_many_persons_and_no_fewer_flip_the_test(first, second) -> None:
    (a, n), (b, m) = first, second
    want = fewest(first, second, lambda i, j: fisher_exact(i, n, j, m) < Fraction(1, 20))
    assert persons_to_flip_test(a, n, b, m) == want


@given(SMALL, SMALL)
@settings(deadline=None, max_examples=60)
def test_so_many_persons_and_no_fewer_flip_the_ratio(first, second) -> None:
    (a, n), (b, m) = first, second

    def under(i: int, j: int) -> bool:
        low, high = sorted((Fraction(i, n), Fraction(j, m)))
        return high > 0 and low / high < Fraction(4, 5)

    assert persons_to_flip_ratio(a, n, b, m) == fewest(first, second, under)


def test_flips_are_found_in_large_groups_too() -> None:
    flips = value(persons_to_flip_test(300, 600, 240, 600))
    assert fisher_exact(300, 600, 240, 600) < Fraction(1, 20)
    assert fisher_exact(300 - int(flips), 600, 240, 600) >= Fraction(1, 20)


def test_a_group_of_nine_is_not_shown_in_any_way() -> None:
    got = of(("large", 10, 20), ("other", 15, 20), ("secret", 8, 9))
    assert [rate.group for rate in got.rates] == ["large", "other"]
    assert got.n_hidden == 1
    assert len(got.differences) == 1
    assert "secret" not in repr(got)
    without = of(("large", 10, 20), ("other", 15, 20))
    assert without.rates == got.rates
    assert without.differences == got.differences


@pytest.mark.parametrize("groups", [(), (("a", 5, 10),), (("a", 5, 10), ("b", 5, 9)), (("a", 1, 3), ("b", 2, 4))])
def test_with_fewer_than_two_groups_of_ten_there_is_nothing_but_a_reason(groups) -> None:
    got = of(*groups)
    assert got.undefined
    assert got.rates == ()
    assert got.differences == ()
    assert "10" in got.undefined or "two courses" in got.undefined


def test_one_course_is_never_enough() -> None:
    got = of(("a", 5, 30), ("b", 25, 30), courses=1)
    assert got.undefined
    assert "two courses" in got.undefined
    assert got.rates == ()


def test_nobody_passing_has_no_ratio_but_a_reason() -> None:
    (one,) = of(("a", 0, 12), ("b", 0, 15)).differences
    assert one.ratio is None
    assert one.undefined
    assert one.p == 1.0
    assert one.under_four_fifths is None


def test_a_person_without_group_or_outcome_is_left_out_and_counted() -> None:
    people = [f"c{i}" for i in range(42)]
    groups = ["a", "b"] * 20 + [None, "a"]
    outcomes = [True] * 41 + [None]
    got = group_differences(people, groups, outcomes, ["K1", "K2", "K2"] * 14)
    assert got.n_left_out == 2
    assert [rate.n for rate in got.rates] == [20, 20]


def test_a_person_counted_twice_and_columns_of_unequal_length_are_refused() -> None:
    with pytest.raises(ScoreError, match="c1") as caught:
        group_differences(["c1", "c2", "c1"], ["a", "b", "a"], [True, True, False], ["K1", "K1", "K2"])
    assert caught.value.row == 2
    with pytest.raises(ScoreError, match="equally long"):
        group_differences(["c1"], ["a", "b"], [True], ["K1"])


def test_of_many_pairs_the_chances_are_adjusted_as_one_family() -> None:
    got = of(("a", 5, 20), ("b", 12, 20), ("c", 15, 20))
    chances = [value(one.p) for one in got.differences]
    adjusted = [value(one.adjusted) for one in got.differences]
    assert len(chances) == 3
    assert adjusted == pytest.approx(stats.false_discovery_control(chances))


@given(st.lists(st.tuples(st.sampled_from("abc"), st.booleans()), min_size=20, max_size=60), st.randoms())
@settings(deadline=None, max_examples=40)
def test_row_order_does_not_matter_and_every_number_is_finite(people, random) -> None:
    rows = [(f"c{i}", group, passed, f"K{i % 3}") for i, (group, passed) in enumerate(people)]
    mixed = list(rows)
    random.shuffle(mixed)
    got = group_differences(*zip(*rows, strict=True))
    assert group_differences(*zip(*mixed, strict=True)) == got
    for one in got.differences:
        assert one.ratio is None or 0 <= one.ratio <= 1
        assert 0 < value(one.p) <= value(one.adjusted) <= 1
        assert all(math.isfinite(end) for end in one.difference_ci95)
        assert one.difference_ci95[0] <= one.difference <= one.difference_ci95[1]
