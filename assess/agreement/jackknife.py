"""Standard errors by leaving out one candidate at a time; no random numbers, so nothing to seed.

Source: Efron & Tibshirani (1993), An Introduction to the Bootstrap, eq. 11.5 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from math import fsum, sqrt

import numpy as np
from scipy.special import stdtrit

from assess.agreement.results import Interval
from assess.agreement.scores import Floats

__all__ = ["around", "leave_one_out"]

Statistic = Callable[[Floats], tuple[float, ...] | None]


def leave_one_out(values: Floats, statistic: Statistic) -> tuple[float, ...] | None:
    """Standard error of each number `statistic` gives, each value of `values` (n,) being one candidate.

    Equal values are worked out once. None for fewer than three candidates, and when the statistic does not exist
    without one of them, for then its uncertainty is not known.
    """
    n = len(values)
    if n < 3:
        return None
    distinct, first, counts = np.unique(values, return_index=True, return_counts=True)
    without = [statistic(np.delete(values, index)) for index in first]
    known = [row for row in without if row is not None]
    if len(known) < len(distinct):
        return None
    errors = []
    for column in zip(*known, strict=True):
        mean = fsum(count * value for count, value in zip(counts, column, strict=True)) / n
        squares = fsum(count * (value - mean) ** 2 for count, value in zip(counts, column, strict=True))
        errors.append(sqrt((n - 1) / n * squares))
    return tuple(errors)


def around(estimate: float, se: float, degrees: int, *, low: float, high: float) -> Interval:
    """95 % interval by Student's t with so many degrees of freedom, cut at what the statistic can be."""
    reach = float(stdtrit(degrees, 0.975)) * se
    return max(low, estimate - reach), min(high, estimate + reach)
