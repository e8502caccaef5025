"""The arithmetic of a demonstration: evenness, slopes, spreads. Shares are fractions of 1, not percent."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import sqrt
from statistics import fmean, median, stdev

__all__ = [
    "coefficient_of_variation", "least_squares_slope", "noise_cv", "symmetry_index", "theil_sen", "within_side_cv",
]  # fmt: skip

Point = tuple[float, float]


def symmetry_index(left: Sequence[float], right: Sequence[float]) -> float:
    """|L - R| over the mean of the two means; 0 is even. Both sides hold values, not all 0."""
    mean_left, mean_right = fmean(left), fmean(right)
    return abs(mean_left - mean_right) / (0.5 * (mean_left + mean_right))


def coefficient_of_variation(values: Sequence[float]) -> float:
    """Standard deviation over mean; at least two values."""
    return stdev(values) / fmean(values)


def within_side_cv(left: Sequence[float], right: Sequence[float]) -> float:
    """Spread of the values around their own side's mean, over the mean of all; so unevenness does not count twice.

    At least three values, so that one side has a spread.
    """
    squares = sum((value - fmean(side)) ** 2 for side in (left, right) for value in side)
    free = len(left) + len(right) - (1 if left else 0) - (1 if right else 0)
    return sqrt(squares / free) / fmean([*left, *right])


def noise_cv(switch_s: float, mean_s: float) -> float:
    """The spread that imprecise switch times alone would show: sqrt 2 sigma / mean turn time."""
    return sqrt(2) * switch_s / mean_s


def least_squares_slope(points: Sequence[Point]) -> float:
    """Rise per step of the straight line nearest in y; at least two different x."""
    x0, y0 = fmean(x for x, _ in points), fmean(y for _, y in points)
    return sum((x - x0) * (y - y0) for x, y in points) / sum((x - x0) ** 2 for x, _ in points)


def theil_sen(groups: Sequence[Sequence[Point]]) -> float:
    """Median of the slopes of all pairs of points with different x, taken within each group.

    Source: Theil (1950) and Sen (1968), J Am Stat Assoc 63, 1379-1389 (from memory). At least one such pair.
    """
    return median(
        (yb - ya) / (xb - xa) for points in groups for (xa, ya), (xb, yb) in combinations(points, 2) if xa != xb
    )
