"""Printed numbers never contradict the decision; the band is rounded by whole-number arithmetic."""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.marking.rounding import fair, root_text

LINE = Fraction(7, 2)
VALUES = st.fractions(min_value=0, max_value=10, max_denominator=10_000)


@pytest.mark.parametrize(
    ("value", "printed"),
    [
        ("3.4999", "3.49"),
        ("3.495", "3.49"),
        ("3.4949", "3.49"),
        ("3.5", "3.50"),
        ("3.5001", "3.51"),
        ("3.505", "3.51"),
        ("4.375", "4.38"),
        ("2.965", "2.97"),
        ("0", "0.00"),
        ("-1.005", "-1.01"),
    ],
)
def test_a_value_is_printed_half_away_from_zero_but_never_on_or_across_the_line(value: str, printed: str) -> None:
    assert fair(Fraction(value), LINE) == printed


@given(VALUES, st.sampled_from([LINE, Fraction(10, 3), Fraction("2.495"), Fraction(4)]))
def test_the_printed_value_is_on_the_side_of_the_exact_one(value: Fraction, line: Fraction) -> None:
    printed = Fraction(fair(value, line))
    assert (printed < line) == (value < line)
    if value != line:
        assert printed != line
    assert abs(printed - value) < Fraction(1, 100)


@given(VALUES)
def test_away_from_every_edge_it_is_the_usual_rounding(value: Fraction) -> None:
    assert abs(Fraction(fair(value)) - value) <= Fraction(1, 200)


# h = z * sheet_error / root n for the sample's 0.46, 0.55 and 0.47: .188 .275 .332 .389 .230
@pytest.mark.parametrize(
    ("error", "n", "printed"),
    [("0.46", 6, "0.188"), ("0.55", 4, "0.275"), ("0.47", 2, "0.332"), ("0.55", 2, "0.389"), ("0.46", 4, "0.230")],
)
def test_the_bands_of_the_sample_rubric(error: str, n: int, printed: str) -> None:
    assert root_text(Fraction(error) ** 2 / n) == printed


@given(st.fractions(min_value=0, max_value=100, max_denominator=10_000))
def test_a_root_is_rounded_as_forty_digits_say(square: Fraction) -> None:
    with localcontext(prec=40):
        root = (Decimal(square.numerator) / Decimal(square.denominator)).sqrt()
        if (root * 2000) % 1 == 0:  # the decimal may have been rounded onto a half
            return
        expected = root.quantize(Decimal("0.001"))
    assert root_text(square) == str(expected)


def test_a_root_that_is_a_half_thousandth_goes_up() -> None:
    assert root_text(Fraction("0.0005") ** 2) == "0.001"
    assert root_text(Fraction("0.1234999") ** 2) == "0.123"
