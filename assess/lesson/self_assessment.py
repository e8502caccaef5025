"""How well one judges one's own lesson: own scores beside a mentor's or a panel's, criterion by criterion.

Differences and limits: Bland & Altman (1986), Lancet 327, 307-310. Rank agreement: Kendall (1945), Biometrika 33,
239-251 (tau-b, from memory). A self-assessment is for training; it never enters a decision.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import sqrt
from statistics import fmean, stdev

from assess.lesson.distributions import t_quantile
from assess.lesson.results.trainee import GapTrend, SelfAssessment
from assess.lesson.self_words import self_sentence

__all__ = ["gap_trend", "self_assessment", "tau_b", "tau_needed"]

ENOUGH_FOR_SPREAD, WEAKEST = 2, 2


def self_assessment(
    own: Mapping[str, float], reference: Mapping[str, float], timed: Mapping[str, bool] | None = None
) -> SelfAssessment:
    """Own scores against a reference over the criteria both have; what one side lacks is counted, never guessed.

    timed: whether each own score has a time of the film. Without a common criterion every figure is None.
    """
    common = [name for name in own if name in reference]
    gaps = {name: own[name] - reference[name] for name in common}
    n, told = len(common), list(gaps.values())
    bias = fmean(told) if told else None
    spread = stdev(told) if n >= ENOUGH_FOR_SPREAD else None
    tau = tau_b([own[k] for k in common], [reference[k] for k in common])
    weak, own_weak = _weakest(reference, common), _weakest(own, common)
    found = SelfAssessment(
        n=n,
        only_own=tuple(sorted(set(own) - set(reference))),
        only_reference=tuple(sorted(set(reference) - set(own))),
        gaps=tuple(gaps.items()),
        bias=bias,
        mean_distance=fmean(map(abs, told)) if told else None,
        spread=spread,
        limits=(bias - 1.96 * spread, bias + 1.96 * spread) if bias is not None and spread is not None else None,
        distance_without_bias=fmean(abs(gap - bias) for gap in told) if bias is not None else None,
        tau=tau,
        tau_needed=tau_needed(n),
        weakest=weak,
        own_weakest=own_weak,
        weakest_found=len(set(weak) & set(own_weak)) if weak else None,
        timed_share=fmean(bool(timed.get(name)) for name in own) if timed is not None and own else None,
    )
    return self_sentence(found)


def _weakest(scores: Mapping[str, float], common: Sequence[str]) -> tuple[str, ...]:
    """The two lowest criteria, and whatever is as low as the second; none where all are alike."""
    ordered = sorted(common, key=lambda name: scores[name])
    if len(ordered) <= WEAKEST or scores[ordered[0]] == scores[ordered[-1]]:
        return ()
    edge = scores[ordered[WEAKEST - 1]]
    return tuple(name for name in common if scores[name] <= edge)


def tau_b(one: Sequence[float], two: Sequence[float]) -> float | None:
    """Kendall's rank agreement with its correction for ties; None when one side is all alike or there is no pair."""
    both = tied_one = tied_two = 0
    for (a, b), (c, d) in combinations(zip(one, two, strict=True), 2):
        tied_one += a == c
        tied_two += b == d
        both += ((a > c) - (a < c)) * ((b > d) - (b < d))
    pairs = len(one) * (len(one) - 1) // 2
    room = (pairs - tied_one) * (pairs - tied_two)
    return both / sqrt(room) if room else None


def tau_needed(n: int) -> float | None:
    """The rank agreement that n criteria without ties need to be more than luck (two-sided 5 %), exactly.

    From the number of inversions of a random order (Kendall 1938, Biometrika 30, 81-93). None where no order of so
    few is unlikely enough.
    """
    pairs = n * (n - 1) // 2
    counts = [1]
    for size in range(2, n + 1):
        counts = [
            sum(counts[at - back] for back in range(size) if 0 <= at - back < len(counts))
            for at in range(len(counts) + size - 1)
        ]
    total, below = sum(counts), 0
    best = None
    for inversions, count in enumerate(counts):
        below += count
        if 2 * below > 0.05 * total:
            break
        best = (pairs - 2 * inversions) / pairs if pairs else None
    return best


def gap_trend(days: Sequence[float], distances: Sequence[float]) -> GapTrend:
    """Whether the mean distance to the reference closes over a season: levels per 30 days, with its 95 % interval.

    Least squares of the distance on the day. Fewer than three films, or all on one day: nothing is told.
    """
    n = len(days)
    if n < 3 or len(set(days)) < 2:
        return GapTrend(n, None, None, "too few films for a direction: at least three, on different days")
    middle, level = fmean(days), fmean(distances)
    around = sum((day - middle) ** 2 for day in days)
    slope = sum((day - middle) * (gap - level) for day, gap in zip(days, distances, strict=True)) / around
    rest = sum((gap - level - slope * (day - middle)) ** 2 for day, gap in zip(days, distances, strict=True))
    half = t_quantile(0.975, n - 2) * sqrt(rest / (n - 2) / around)
    per_month, ends = 30 * slope, (30 * (slope - half), 30 * (slope + half))
    if ends[1] < 0:
        said = "the gaps are closing"
    elif ends[0] > 0:
        said = "the gaps are opening"
    else:
        low, high = -ends[0], ends[1]
        said = (
            "whether the gaps close is not shown yet: "
            f"from {low:.2f} levels a month nearer to {high:.2f} farther apart is possible"
        )
    return GapTrend(n, per_month, ends, f"{said} ({n} films)")
