"""Retest error: how much a measure moves without any teaching, and what follows for a before and an after.

Sources: Weir (2005), J Strength Cond Res 19(1), 231-240 (SEM, smallest real difference); Barnett, van der Pols &
Dobson (2005), Int J Epidemiol 34, 215-220 (regression to the mean); Hopkins (2000), Sports Med 30, 1-15 (typical
error).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import erfc, exp, pi, sqrt
from statistics import fmean, stdev

from assess.lesson.distributions import chi_square_quantile
from assess.lesson.results import Retest

__all__ = [
    "Z90", "Z95", "regression_to_mean", "retest_error", "sem_from_reliability", "smallest_difference",
    "smallest_worthwhile",
]  # fmt: skip

Z95 = 1.96
Z90 = 1.645
FAR_OUT = -30.0


def sem_from_reliability(sd: float, reliability: float) -> float:
    """Standard error of measurement SD sqrt(1 - r). Raises ValueError unless sd >= 0 and 0 <= reliability <= 1."""
    if sd < 0 or not 0 <= reliability <= 1:
        raise ValueError(f"`sd` must be 0 or more and `reliability` between 0 and 1, got {sd} and {reliability}")
    return sd * sqrt(1 - reliability)


def smallest_difference(sem: float, z: float = Z95) -> float:
    """The smallest difference of two values of one person beyond retest error: z sqrt(2) SEM."""
    return z * sqrt(2) * sem


def smallest_worthwhile(sd_between: float) -> float:
    """0.2 of the spread between people (Hopkins 2000): a change worth having. Noise should first be taken out of it."""
    return 0.2 * sd_between


def retest_error(pairs: Sequence[tuple[float, float]]) -> Retest:
    """Retest error from pairs (first, second) of people who were not taught in between.

    The interval of MDC95 is that of a standard deviation of normal differences (chi square).
    Raises ValueError with fewer than two pairs.
    """
    if len(pairs) < 2:
        raise ValueError(f"`pairs` must hold at least two retest pairs, got {len(pairs)}")
    gains = [second - first for first, second in pairs]
    sem, df = stdev(gains) / sqrt(2), len(pairs) - 1
    mdc95 = smallest_difference(sem)
    low, high = (mdc95 * sqrt(df / chi_square_quantile(share, df)) for share in (0.975, 0.025))
    why = (
        f"from {len(pairs)} people measured twice without teaching in between;"
        f" a difference beyond {mdc95:.3g} is rarely retest error (95 % interval {low:.3g} to {high:.3g})",
    )
    return Retest(len(pairs), sem, mdc95, smallest_difference(sem, Z90), (low, high), fmean(gains), why)


def regression_to_mean(sd: float, reliability: float, mean: float, cut: float) -> float:
    """Mean gain without any teaching of people picked because their first value was below `cut`.

    (1 - r) SD phi(z) / Phi(z) with z = (cut - mean)/SD. Raises ValueError unless sd > 0 and 0 <= reliability <= 1.
    """
    if sd <= 0 or not 0 <= reliability <= 1:
        raise ValueError(f"`sd` must be above 0 and `reliability` between 0 and 1, got {sd} and {reliability}")
    return (1 - reliability) * sd * _tail_mean((cut - mean) / sd)


def _tail_mean(z: float) -> float:
    """phi(z)/Phi(z): how far below the mean people below z are on average, in SD."""
    if z < FAR_OUT:
        # Both are too small for a float: the first terms of their ratio (Abramowitz & Stegun 26.2.12).
        return -z - 1 / z
    return exp(-z * z / 2) / sqrt(2 * pi) / (0.5 * erfc(-z / sqrt(2)))
