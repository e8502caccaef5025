"""Numbers as they are printed: never on another side of a line than the exact value."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor, isqrt

__all__ = ["fair", "root_text"]

HUNDRED = 100


def fair(value: Fraction, *edges: Fraction) -> str:
    """Two decimals, half away from zero, unless that stands on or across an edge: then cut towards the value.

    3.4999 with the edge 3.5 is "3.49"; 3.5 itself is "3.50"; 3.5001 is "3.51".
    """
    scaled = value * HUNDRED
    cents = floor(abs(scaled) + Fraction(1, 2)) * (-1 if value < 0 else 1)
    for edge in edges:
        if value < edge <= Fraction(cents, HUNDRED):
            cents = floor(scaled)
        elif value > edge >= Fraction(cents, HUNDRED):
            cents = ceil(scaled)
    sign = "-" if cents < 0 else ""
    return f"{sign}{abs(cents) // HUNDRED}.{abs(cents) % HUNDRED:02d}"


def root_text(square: Fraction) -> str:
    """The square root of a fraction >= 0 to three decimals, half up, by whole-number arithmetic only."""
    doubled = isqrt(4_000_000 * square.numerator // square.denominator)
    thousandths = (doubled + 1) // 2
    return f"{thousandths // 1000}.{thousandths % 1000:03d}"
