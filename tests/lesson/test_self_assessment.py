"""Own scores beside a reference: the worked example, published limits, and what always holds."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.lesson.self_assessment import gap_trend, self_assessment, tau_b, tau_needed

NAMES = tuple("abcdefgh")
# The worked example of trade/lesson-formulas.md E7: invented scores, its figures computed there.
OWN = dict(zip(NAMES, (5, 4, 5, 4, 5, 3, 4, 5), strict=True))
REFERENCE = dict(zip(NAMES, (4, 3, 4, 4, 3, 3, 4, 3), strict=True))
scores = st.lists(st.tuples(st.integers(1, 6), st.integers(1, 6)), min_size=1, max_size=9)


def two(pairs: list[tuple[int, int]]) -> tuple[dict[str, float], dict[str, float]]:
    own = {NAMES[i % 8] + str(i): float(a) for i, (a, _) in enumerate(pairs)}
    return own, {name: float(b) for name, (_, b) in zip(own, pairs, strict=True)}


def test_the_worked_example() -> None:
    found = self_assessment(OWN, REFERENCE)
    assert found.bias == pytest.approx(0.875)
    assert found.mean_distance == pytest.approx(0.875)
    assert found.distance_without_bias == pytest.approx(0.65625)  # printed there as .66
    assert found.limits == pytest.approx((-0.8, 2.5), abs=0.06)
    assert found.tau == pytest.approx(0.11, abs=0.005)
    assert found.n == 8
    assert found.sentence.startswith("you are about one level too kind to yourself, and it is not shown")
    assert "n too small: 8 criteria need 0.64" in found.sentence


def test_bland_and_altman_1986_mini_wright_against_wright() -> None:
    """Lancet 327, 307-310: first readings of 17 people, mean difference -2.1, SD 38.8, limits -78.1 to 73.9."""
    wright = (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
    mini = (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)
    found = self_assessment(
        {str(i): value for i, value in enumerate(wright)}, {str(i): value for i, value in enumerate(mini)}
    )
    assert found.bias == pytest.approx(-2.1, abs=0.05)
    assert found.spread == pytest.approx(38.8, abs=0.05)
    assert found.limits == pytest.approx((-78.1, 73.9), abs=0.1)


@pytest.mark.parametrize(
    ("n", "least"),
    # Two-sided 5 % critical values of Kendall's tau (Kendall's tables, from memory): 8 criteria 18/28.
    [(4, None), (5, 1.0), (6, 13 / 15), (7, 15 / 21), (8, 18 / 28), (9, 20 / 36), (10, 23 / 45)],
)
def test_how_much_rank_agreement_is_more_than_luck(n: int, least: float | None) -> None:
    found = tau_needed(n)
    assert found == (least if least is None else pytest.approx(least))


@given(scores)
def test_it_is_symmetric_but_for_the_sign(pairs: list[tuple[int, int]]) -> None:
    own, reference = two(pairs)
    one, other = self_assessment(own, reference), self_assessment(reference, own)
    assert one.bias == pytest.approx(-(other.bias or 0.0))
    assert one.mean_distance == pytest.approx(other.mean_distance)
    assert one.tau == (None if other.tau is None else pytest.approx(other.tau))
    assert (one.distance_without_bias or 0) <= 2 * (one.mean_distance or 0) + 1e-9


@given(scores, st.integers(-3, 3))
def test_being_kinder_by_so_much_moves_the_bias_and_nothing_about_the_order(
    pairs: list[tuple[int, int]], more: int
) -> None:
    own, reference = two(pairs)
    plain, moved = self_assessment(own, reference), self_assessment({k: v + more for k, v in own.items()}, reference)
    assert moved.bias == pytest.approx((plain.bias or 0) + more)
    assert moved.tau == plain.tau
    assert moved.distance_without_bias == pytest.approx(plain.distance_without_bias)
    assert moved.own_weakest == plain.own_weakest


@given(st.lists(st.tuples(st.floats(-5, 5), st.floats(-5, 5)), min_size=2, max_size=8))
def test_tau_is_between_minus_one_and_one_or_is_none(pairs: list[tuple[float, float]]) -> None:
    found = tau_b([a for a, _ in pairs], [b for _, b in pairs])
    assert found is None or -1 - 1e-9 <= found <= 1 + 1e-9


def test_what_one_side_lacks_is_counted_and_not_guessed() -> None:
    found = self_assessment({"a": 4, "b": 3}, {"b": 3, "c": 2}, {"a": True, "b": False})
    assert (found.n, found.only_own, found.only_reference, found.timed_share) == (1, ("a",), ("c",), 0.5)
    assert (found.spread, found.limits, found.tau) == (None, None, None)
    empty = self_assessment({"a": 4}, {"b": 4})
    assert (empty.n, empty.bias, empty.sentence) == (0, None, "there is no criterion that both have scored")


def test_the_two_weakest_and_their_ties() -> None:
    found = self_assessment(OWN, REFERENCE)
    # Reference: b, e, f, h at 3; own: f at 3, then b, d, g at 4.
    assert found.weakest == ("b", "e", "f", "h")
    assert found.own_weakest == ("b", "d", "f", "g")
    assert found.weakest_found == 2
    assert self_assessment(dict.fromkeys("abc", 4.0), dict.fromkeys("abc", 3.0)).weakest == ()


def test_a_season_closes_opens_or_shows_nothing() -> None:
    days = (0, 30, 60, 90)
    assert gap_trend(days, (1.2, 0.9, 0.6, 0.3)).sentence == "the gaps are closing (4 films)"
    assert gap_trend(days, (0.3, 0.6, 0.9, 1.2)).sentence == "the gaps are opening (4 films)"
    steady = gap_trend(days, (0.9, 0.5, 0.8, 0.7))
    assert steady.ci95 is not None and steady.ci95[0] < 0 < steady.ci95[1]
    assert "not shown yet" in steady.sentence
    assert gap_trend((0, 30), (1, 0.5)).per_month is None
    assert gap_trend((5, 5, 5), (1, 0.5, 0.2)).per_month is None


def test_a_straight_season_has_its_slope_exactly() -> None:
    found = gap_trend((0, 10, 20, 35), (1.0, 0.9, 0.8, 0.65))
    assert found.per_month == pytest.approx(-0.3)
    assert found.ci95 is not None
    assert math.isclose(*found.ci95, rel_tol=1e-6)


@pytest.mark.parametrize(
    ("own", "reference", "words"),
    [
        ((6, 6, 6, 5), (3, 3, 3, 2), "about three levels too kind"),
        ((1, 2, 1), (3, 3, 3), "about two levels too hard"),
        ((4, 4), (3, 3), "about one level too kind"),
        ((5, 2), (3, 4), "far off in single criteria"),
        ((3, 4), (3, 4), "as the other does"),
    ],
)
def test_how_kind_is_said_as_large_as_it_is(own: tuple[int, ...], reference: tuple[int, ...], words: str) -> None:
    names = "abcd"
    found = self_assessment(dict(zip(names, own, strict=False)), dict(zip(names, reference, strict=False)))
    assert words in found.sentence
