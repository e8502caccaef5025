"""Comparisons of numbers with decimals that the last bit of a float must not decide.

8.3 - 7.3 is a hair more than 1 in floats, and 8.2 - 1 a hair less than 7.2; where a reading steps from one value to
another at a whole number, people who wrote 8.3 and 7.3 mean exactly one degree apart.
"""

from __future__ import annotations

__all__ = ["above", "below", "gap"]

BIT = 1e-9


def above(value: float, limit: float) -> bool:
    """True when `value` is larger than `limit` by more than the noise of floats (1e-9, or that share of the limit)."""
    return value - limit > BIT * max(1.0, abs(limit))


def below(value: float, limit: float) -> bool:
    """True when `value` is smaller than `limit` by more than the noise of floats."""
    return limit - value > BIT * max(1.0, abs(limit))


def gap(value: float, other: float) -> float:
    """`value` less `other`, and 0 where only the noise of floats is between them."""
    return value - other if above(value, other) or below(value, other) else 0.0
