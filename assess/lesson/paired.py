"""The same marked places (or people) before and after: differences in pairs, with interval and exact tests.

The p-values are told beside the differences and their interval, never alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from math import comb, sqrt
from statistics import fmean, stdev

from assess.lesson.distributions import t_below, t_quantile

__all__ = ["Paired", "paired_change", "signed_rank_p", "unpaired_p"]


@dataclass(frozen=True, slots=True)
class Paired:
    """Differences after - before of pairs: mean, SD, 95 % interval of the mean, t, and two-sided p-values.

    typical_error: SD / sqrt 2. t, p_t are None without spread; p_signed_rank (exact Wilcoxon) and p_sign leave
    pairs without a difference out and are None when none is left.
    """

    n: int
    mean: float
    sd: float
    ci95: tuple[float, float]
    typical_error: float
    t: float | None
    p_t: float | None
    p_signed_rank: float | None
    p_sign: float | None


def paired_change(before: Sequence[float], after: Sequence[float]) -> Paired:
    """The change of each pair. Raises ValueError unless both sides have the same length, at least two."""
    if len(before) != len(after) or len(before) < 2:
        raise ValueError(
            f"`before` and `after` must hold the same pairs, at least two; got {len(before)} and {len(after)}"
        )
    gains = [later - earlier for earlier, later in zip(before, after, strict=True)]
    return from_differences(gains)


def from_differences(gains: Sequence[float]) -> Paired:
    """The same from the differences themselves, at least two."""
    n, mean, sd = len(gains), fmean(gains), stdev(gains)
    half = t_quantile(0.975, n - 1) * sd / sqrt(n)
    t = mean / (sd / sqrt(n)) if sd > 0 else None
    moved = [gain for gain in gains if gain != 0]
    return Paired(
        n=n,
        mean=mean,
        sd=sd,
        ci95=(mean - half, mean + half),
        typical_error=sd / sqrt(2),
        t=t,
        p_t=None if t is None else 2 * (1 - t_below(abs(t), n - 1)),
        p_signed_rank=signed_rank_p(moved),
        p_sign=_sign_p(moved),
    )


def signed_rank_p(gains: Sequence[float]) -> float | None:
    """Two-sided exact p of the signed-rank test over differences other than 0; equal sizes share their mean rank."""
    if not gains:
        return None
    ranks: dict[float, int] = {}
    place = 0
    for size, alike in groupby(sorted(abs(gain) for gain in gains)):
        count = len(list(alike))
        ranks[size] = 2 * place + count + 1  # twice the mean rank, so that it is whole
        place += count
    twice = [ranks[abs(gain)] for gain in gains]
    ways = [1]
    for rank in twice:
        grown = [0] * (len(ways) + rank)
        for total, count in enumerate(ways):
            grown[total] += count
            grown[total + rank] += count
        ways = grown
    seen = sum(rank for rank, gain in zip(twice, gains, strict=True) if gain > 0)
    low = min(seen, sum(twice) - seen)
    return min(1.0, 2 * sum(ways[: low + 1]) / sum(ways))


def _sign_p(gains: Sequence[float]) -> float | None:
    n = len(gains)
    if not n:
        return None
    fewer = min(sum(gain > 0 for gain in gains), sum(gain < 0 for gain in gains))
    return min(1.0, 2 * sum(comb(n, k) for k in range(fewer + 1)) / (1 << n))


def unpaired_p(before: Sequence[float], after: Sequence[float]) -> float:
    """Two-sided p of the t test that forgets who belongs to whom; for showing what pairing is worth.

    Raises ValueError with fewer than two values on a side or without spread.
    """
    n, m = len(before), len(after)
    if min(n, m) < 2:
        raise ValueError("`before` and `after` must hold at least two values each")
    pooled = ((n - 1) * stdev(before) ** 2 + (m - 1) * stdev(after) ** 2) / (n + m - 2)
    if pooled == 0:
        raise ValueError("`before` and `after` have no spread, so a t test does not exist")
    t = (fmean(after) - fmean(before)) / sqrt(pooled * (1 / n + 1 / m))
    return 2 * (1 - t_below(abs(t), n + m - 2))
