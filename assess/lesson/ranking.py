"""The order of a list: discounted gain, and its share of the best there could be.

Source: Järvelin & Kekäläinen (2002), Cumulated gain-based evaluation of IR techniques, ACM TOIS 20(4), 422-446.
With base 2 their discount, log2 of the place from place 2 on, is here the variant log2(place + 1) from place 1 on.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, log2

__all__ = ["discounted_gain", "normalised_gain"]


def discounted_gain(gains: Sequence[float]) -> float:
    """Sum of gain / log2(place + 1), places counted from 1."""
    return fsum(gain / log2(place + 1) for place, gain in enumerate(gains, start=1))


def normalised_gain(gains: Sequence[float], weights: Sequence[float]) -> float:
    """`discounted_gain` of `gains` divided by that of all `weights`, largest first; 0 when there is no weight."""
    ideal = discounted_gain(sorted(weights, reverse=True))
    return discounted_gain(gains) / ideal if ideal > 0 else 0.0
