"""Rounding at output: halves away from zero, every finite number."""

from __future__ import annotations

from fractions import Fraction
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.lesson.rounding import rounded, rounded_or_none


@pytest.mark.parametrize(
    ("value", "digits", "wanted"),
    [
        (0.9925, 3, 0.993), (0.8175, 3, 0.818), (-0.0005, 3, -0.001), (0.0005, 3, 0.001), (2.675, 2, 2.68),
        (1e30, 2, 1e30), (-1e300, 3, -1e300), (1e-300, 3, 0.0), (5.0, 0, 5.0), (2.5, 0, 3.0),
    ],
)  # fmt: skip
def test_halves_go_away_from_zero_and_no_size_is_too_large(value: float, digits: int, wanted: float) -> None:
    assert rounded(value, digits) == wanted


def test_a_half_that_a_sum_of_floats_misses_by_a_hair_is_still_a_half() -> None:
    assert rounded(0.9924999999999999) == 0.993 == rounded(0.9925000000000001)


def test_no_minus_zero_is_ever_shown() -> None:
    assert str(rounded(-0.0001, 3)) == "0.0"


def test_nothing_stays_nothing() -> None:
    assert rounded_or_none(None) is None and rounded_or_none(0.12345, 2) == 0.12


@given(st.floats(allow_nan=False, allow_infinity=False), st.integers(0, 9))
def test_what_is_shown_is_never_further_off_than_half_of_the_last_place(value: float, digits: int) -> None:
    shown = rounded(value, digits)
    assert abs(shown) < inf
    off = abs(Fraction(shown) - Fraction(value))
    assert off <= Fraction(1, 2 * 10**digits) + Fraction(1, 10**9) + abs(Fraction(value)) / 2**50
