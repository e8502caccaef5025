"""Sizes of a difference between two sets of values, and chance by exact permutation; pure arithmetic.

Sources: Hedges (1981), J Educ Stat 6, 107-128 (g and its correction, from memory); Cliff (1993), Psychol Bull 114,
494-509 (delta, from memory); Fisher (1935), The Design of Experiments (permutation).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise
from math import comb, fsum, sqrt
from statistics import fmean, variance

__all__ = ["cliff_delta", "hedges_g", "lag_one", "n_effective", "permutation_p", "smallest_p"]

MOST_SPLITS = 200_000
SAME = 1e-9


def hedges_g(before: Sequence[float], after: Sequence[float]) -> float | None:
    """Difference of the means (after - before) over the pooled SD, corrected for small numbers.

    J = 1 - 3/(4(n + m - 2) - 1). None without spread or with fewer than three values altogether.
    """
    n, m = len(before), len(after)
    if min(n, m) < 1 or n + m < 3:
        return None
    squares = sum((len(side) - 1) * variance(side) for side in (before, after) if len(side) > 1)
    pooled = sqrt(squares / (n + m - 2))
    if pooled == 0:
        return None
    return (1 - 3 / (4 * (n + m - 2) - 1)) * (fmean(after) - fmean(before)) / pooled


def cliff_delta(before: Sequence[float], after: Sequence[float]) -> float:
    """(# pairs where after is higher - # where it is lower) / # pairs, from -1 to 1. Both sides hold values."""
    higher = sum((later > earlier) - (later < earlier) for later in after for earlier in before)
    return higher / (len(before) * len(after))


def lag_one(runs: Sequence[Sequence[float]]) -> float | None:
    """Correlation of each value with the next of its run, around the run's own mean; None without spread."""
    products, squares = [], []
    for run in runs:
        away = [value - fmean(run) for value in run]
        products += [one * following for one, following in pairwise(away)]
        squares += [one * one for one in away]
    total = fsum(squares)
    return fsum(products) / total if total > 0 else None


def n_effective(n: int, r1: float) -> float:
    """How many independent values n values are worth whose neighbours are alike by r1: n (1 - r1)/(1 + r1)."""
    return n * (1 - r1) / (1 + r1)


def permutation_p(before: Sequence[float], after: Sequence[float]) -> float | None:
    """Share of all ways to split the values in which after - before (means) is at least as large as it was.

    Exact and one-sided. None when there are more than 200,000 ways, or a side is empty.
    """
    n, m = len(before), len(after)
    if min(n, m) < 1 or comb(n + m, n) > MOST_SPLITS:
        return None
    values = [*after, *before]
    seen = fsum(after)
    close = SAME * max(1.0, *(abs(value) for value in values))
    # The mean difference rises with the sum of the after side, so sums are compared.
    return sum(fsum(side) >= seen - close for side in combinations(values, m)) / comb(n + m, m)


def smallest_p(n: int, m: int) -> float:
    """The smallest one-sided p an exact permutation of n against m values can give: 1/C(n + m, n)."""
    return 1 / comb(n + m, n)
