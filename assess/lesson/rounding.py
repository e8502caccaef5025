"""Rounding, at output only: halves go away from zero."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Context, Decimal

__all__ = ["rounded", "rounded_or_none"]

# Room for every digit of the largest float and the decimals kept.
ROOM = Context(prec=400)


def rounded(value: float, digits: int = 3) -> float:
    """`value` with so many decimals, halves away from zero.

    A float a hair below a half (0.9924999999999999 for 0.9925) is taken as the half it stands for: ten
    decimals are kept before rounding.
    """
    exact = Decimal(f"{value:.10f}").quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP, ROOM)
    return float(exact) + 0.0  # + 0.0 turns -0.0 into 0.0


def rounded_or_none(value: float | None, digits: int = 3) -> float | None:
    """The same; None stays None."""
    return None if value is None else rounded(value, digits)
