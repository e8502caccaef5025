"""The order of a list: discounted gain, against the published definition written out."""

from __future__ import annotations

from math import log2

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from assess.lesson.ranking import discounted_gain, normalised_gain

GAINS = st.lists(st.floats(0, 1), min_size=1, max_size=6)


def published(gains: list[float], base: float = 2) -> float:
    """Järvelin & Kekäläinen (2002), ACM TOIS 20(4), from memory: DCG[1] = G[1]; DCG[i] = DCG[i - 1] + G[i], divided
    by log_b(i) from place b on."""
    total = 0.0
    for place, gain in enumerate(gains, start=1):
        total += gain if place < base else gain / log2(place)
    return total


@drawn(GAINS)
def test_the_gain_is_the_published_one_moved_by_a_place(gains: list[float]) -> None:
    # Their place i + 1 is discounted by log2(i + 1): an empty first place moves every gain one further down.
    assert discounted_gain(gains) == pytest.approx(published([0.0, *gains]))


def test_worked_by_hand() -> None:
    assert discounted_gain([0.6, 0.4]) == pytest.approx(0.6 + 0.4 / log2(3))
    assert normalised_gain([0.4, 0.6], [0.6, 0.4]) == pytest.approx((0.4 + 0.6 / log2(3)) / (0.6 + 0.4 / log2(3)))
    assert normalised_gain([0.0, 0.6], [0.4, 0.6]) == pytest.approx(0.6 / log2(3) / (0.6 + 0.4 / log2(3)))


@drawn(GAINS, st.randoms(use_true_random=False))
def test_the_share_of_the_best_order_is_one_for_the_best_and_never_more(gains: list[float], chance) -> None:
    best = sorted(gains, reverse=True)
    shuffled = list(gains)
    chance.shuffle(shuffled)
    if sum(gains) > 0:
        assert normalised_gain(best, gains) == pytest.approx(1)
        assert normalised_gain(shuffled, gains) <= 1 + 1e-12


def test_nothing_to_find_or_nothing_found_is_nothing() -> None:
    assert normalised_gain([0.5], []) == 0 and normalised_gain([], [1.0]) == 0
