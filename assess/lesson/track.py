"""From a track to turns: where turns begin, how wide their corridor is, how the turning is spread.

Turn cut by the sign of the smoothed heading rate: near perfect on carved turns, worse on drifted ones, and useless
on wedge turns (gyroscope study, Front Sports Act Living 2019, 00018, excerpt read).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import pairwise
from math import atan2, cos, sin
from statistics import fmean

__all__ = ["corridor_widths", "heading_rate", "main_axis", "signed_distances", "turn_cuts", "turn_thirds"]

BAND_S = 0.3
BIT = 1e-9


def main_axis(points: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], float]:
    """(centre, angle in radians) of the straight line nearest to the points, by total least squares.

    The squared distances square to the line are least: the larger axis of the points' covariance (Pearson 1901).
    Raises ValueError with fewer than two different points.
    """
    if len(set(points)) < 2:
        raise ValueError("a main axis needs at least two different points")
    x0, y0 = fmean(x for x, _ in points), fmean(y for _, y in points)
    sxx = sum((x - x0) ** 2 for x, _ in points)
    syy = sum((y - y0) ** 2 for _, y in points)
    sxy = sum((x - x0) * (y - y0) for x, y in points)
    return (x0, y0), 0.5 * atan2(2 * sxy, sxx - syy)


def signed_distances(points: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Distance of each point from the run's main axis, positive to its left, seen from the first to the last point."""
    (x0, y0), angle = main_axis(points)
    along = (cos(angle), sin(angle))
    (xa, ya), (xb, yb) = points[0], points[-1]
    # The axis has two directions; the run's own decides which side is left.
    way = 1 if (xb - xa) * along[0] + (yb - ya) * along[1] >= 0 else -1
    return tuple(way * (along[0] * (y - y0) - along[1] * (x - x0)) for x, y in points)


def corridor_widths(points: Sequence[tuple[float, float]], cuts: Sequence[int]) -> tuple[tuple[float, float], ...]:
    """(width, offset of its middle) in metres of each turn: range of the distances between two cuts (point numbers).

    Raises ValueError unless the cuts rise and lie inside the points.
    """
    if list(cuts) != sorted(set(cuts)) or len(cuts) < 2 or cuts[0] < 0 or cuts[-1] >= len(points):
        raise ValueError("`cuts` must be at least two rising point numbers of the track")
    distances = signed_distances(points)
    found = []
    for first, last in pairwise(cuts):
        turn = distances[first : last + 1]
        found.append((max(turn) - min(turn), (max(turn) + min(turn)) / 2))
    return tuple(found)


def heading_rate(times: Sequence[float], headings: Sequence[float], band_s: float = BAND_S) -> tuple[float, ...]:
    """Degrees per second at each time, from headings in degrees (0 and 360 are the same), averaged over `band_s`.

    Raises ValueError unless both have the same length, at least three, and times rise.
    """
    if len(times) != len(headings) or len(times) < 3:
        raise ValueError("`times` and `headings` must have the same length, at least three")
    if any(later <= earlier for earlier, later in pairwise(times)):
        raise ValueError("`times` must rise")
    turned = [headings[0]]
    for before, now in pairwise(headings):
        turned.append(turned[-1] + (now - before + 180) % 360 - 180)
    rates = []
    for at, time in enumerate(times):
        first = bisect_left(times, time - band_s / 2 - BIT)
        last = bisect_right(times, time + band_s / 2 + BIT) - 1
        if first == last:
            first, last = max(0, at - 1), min(len(times) - 1, at + 1)
        rates.append((turned[last] - turned[first]) / (times[last] - times[first]))
    return tuple(rates)


def turn_cuts(times: Sequence[float], headings: Sequence[float], band_s: float = BAND_S) -> tuple[float, ...]:
    """Times at which the smoothed heading rate changes its sign, interpolated between two readings."""
    rates = heading_rate(times, headings, band_s)
    cuts, last = [], None  # type: list[float], int | None
    for at, rate in enumerate(rates):
        if rate == 0:
            continue
        if last is not None and rates[last] * rate < 0:
            share = abs(rates[last]) / (abs(rates[last]) + abs(rate))
            cuts.append(times[last] + share * (times[at] - times[last]))
        last = at
    return tuple(cuts)


def turn_thirds(times: Sequence[float], headings: Sequence[float]) -> tuple[float, float, float]:
    """Shares of a turn's heading change made in the first, middle and last third of its time.

    Headings in degrees without a jump, at rising times from turn start to turn end. Raises ValueError with fewer
    than two, or when the heading does not change.
    """
    if len(times) != len(headings) or len(times) < 2 or times[-1] <= times[0]:
        raise ValueError("`times` must rise and have as many entries as `headings`, at least two")
    whole = headings[-1] - headings[0]
    if whole == 0:
        raise ValueError("the heading does not change: this is no turn")
    marks = [_at(times, headings, times[0] + third * (times[-1] - times[0]) / 3) for third in range(4)]
    first, middle, last = ((b - a) / whole for a, b in pairwise(marks))
    return first, middle, last


def _at(times: Sequence[float], values: Sequence[float], time: float) -> float:
    for at in range(len(times) - 1):
        if time <= times[at + 1]:
            share = (time - times[at]) / (times[at + 1] - times[at])
            return values[at] + share * (values[at + 1] - values[at])
    return values[-1]
