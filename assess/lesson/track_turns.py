"""From a run's positions to its turns: when each begins and ends, to which side, how fast, how wide.

Only turns between two switches are timed: how the first began and the last ended is no switch.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from math import atan2, degrees, hypot, prod, radians, sqrt, tan
from statistics import median

from assess.lesson.track import BAND_S, BIT, corridor_widths, turn_cuts, turn_thirds
from assess.lesson.turns import Turn

__all__ = ["SMALLEST_TURN_DEG", "Fix", "RunTurns", "moving_runs", "scatter_m", "turns_of_run"]

SMALLEST_TURN_DEG = 10.0
"""A change of heading below this is no turn: it is a wobble of the skier or of the receiver. Common practice."""

# A heading is that of a chord between two readings so far apart: the shorter, the nearer to the moment; longer where
# the readings scatter, until the scatter turns a chord by no more than STEADY_DEG. Beyond UNSTEADY_DEG at the longest
# chord the scatter alone would be cut into turns. Limits found by simulation with independent errors.
SHORTEST_CHORD_S, LONGEST_CHORD_S = 0.1, 0.5
STEADY_DEG, UNSTEADY_DEG = 2.0, 3.0
# Slower than this, turning itself looks like scatter: how much the readings scatter cannot be told.
SCATTER_SAMPLING_S, SCATTER_READINGS = 0.25, 2000
# Slower than a walk over a second is standing: a heading means nothing there.
STANDING_MS, STANDING_S = 1.0, 1.0
LONGEST_GAP_S, GAP_TIMES, SHORTEST_RUN_S = 3.0, 5.0, 3.0
# Faster than anybody on skis: the receiver leapt.
FASTEST_MS = 75.0
FEWEST_FOR_THIRDS = 6
# The median of the absolute value of a standard normal variable.
NORMAL_MEDIAN = 0.6745


@dataclass(frozen=True, slots=True)
class Fix:
    """A reading of a track: seconds, metres east, metres north."""

    t: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class RunTurns:
    """The turns of a run: `seen` of them, of which `turns` lie between two switches.

    sampling_s: seconds between two readings. scatter_m: how far a reading lies from where its neighbours put it, None
    where that cannot be told. unsteady: too far for turns to be cut; `seen` is 0 then.
    """

    seen: int
    turns: tuple[Turn, ...]
    sampling_s: float
    scatter_m: float | None = None
    unsteady: bool = False


def moving_runs(fixes: Sequence[Fix]) -> tuple[tuple[Fix, ...], ...]:
    """The stretches of a track in which somebody moved, at least 3 s long; standing, lost signal and leaps part them.

    Times rise.
    """
    if len(fixes) < 3:
        return ()
    usual = median(later.t - before.t for before, later in pairwise(fixes))
    longest = max(LONGEST_GAP_S, GAP_TIMES * usual)
    times = [fix.t for fix in fixes]
    runs: list[list[Fix]] = [[fixes[0]]]
    since = 0
    for at in range(1, len(fixes)):
        step = hypot(fixes[at].x - fixes[at - 1].x, fixes[at].y - fixes[at - 1].y)
        if times[at] - times[at - 1] > longest or step > FASTEST_MS * (times[at] - times[at - 1]):
            since = at
        else:
            first = max(since, min(at - 1, bisect_right(times, times[at] - STANDING_S) - 1))
            a, b = fixes[first], fixes[at]
        if since == at or hypot(b.x - a.x, b.y - a.y) < STANDING_MS * (b.t - a.t):
            runs.append([])
        runs[-1].append(fixes[at])
    return tuple(tuple(run) for run in runs if len(run) > 3 and run[-1].t - run[0].t >= SHORTEST_RUN_S)


def turns_of_run(run: int, fixes: Sequence[Fix], source: str, *, places: bool) -> RunTurns:
    """The turns of one run (number `run`) of somebody who keeps moving.

    places: whether the positions are good enough for the width of a lane; otherwise widths are None. Speeds are over
    the plan, without height. Raises ValueError with fewer than four readings or times that do not rise.
    """
    if len(fixes) < 4 or any(later.t <= before.t for before, later in pairwise(fixes)):
        raise ValueError("a run needs at least four readings at rising times")
    sampling = median(later.t - before.t for before, later in pairwise(fixes))
    scatter = scatter_m(fixes) if sampling <= SCATTER_SAMPLING_S else None
    chord = SHORTEST_CHORD_S if scatter is None else _chord(scatter, _usual_speed(fixes))
    if chord is None:
        return RunTurns(0, (), sampling, scatter, unsteady=True)
    times, headings, speeds = _motion(fixes, chord)
    cuts = _switches(times, headings) if len(times) >= 3 else None
    if cuts is None:
        return RunTurns(0, (), sampling, scatter)
    lanes = _lanes(fixes, cuts) if places else [(None, None)] * max(0, len(cuts) - 1)
    turns = []
    for at, ((start, end), (width, middle)) in enumerate(zip(pairwise(cuts), lanes, strict=True)):
        h_in, h_out = _between(times, headings, start), _between(times, headings, end)
        turns.append(
            Turn(
                run, at + 2, "right" if h_out > h_in else "left", start, end,
                v_in=_between(times, speeds, start), v_out=_between(times, speeds, end),
                heading_change=abs(h_out - h_in), width_m=width, mid_offset_m=middle,
                thirds=_shares(times, headings, start, end), source=source,
            )
        )  # fmt: skip
    return RunTurns(len(cuts) + 1, tuple(turns), sampling, scatter)


def scatter_m(fixes: Sequence[Fix]) -> float:
    """Standard error in metres of one reading, each coordinate: its distance from the cubic through its neighbours.

    Two neighbours on each side, about 0.1 s from one to the next; the median distance, scaled as for the normal
    distribution. What errs slowly (a whole track some metres off) is not in it. 0 with fewer than five readings.
    """
    if len(fixes) < 5:
        return 0.0
    # Closer neighbours would share what errs over some tenths of a second, and show less scatter than there is.
    apart = min(max(1, round(SHORTEST_CHORD_S * (len(fixes) - 1) / (fixes[-1].t - fixes[0].t))), (len(fixes) - 1) // 4)
    step = max(1, len(fixes) // SCATTER_READINGS)
    off = []
    for at in range(2 * apart, len(fixes) - 2 * apart, step):
        here, near = fixes[at], [fixes[at + way * apart] for way in (-2, -1, 1, 2)]
        weights = [prod((here.t - b.t) / (a.t - b.t) for b in near if b is not a) for a in near]
        size = sqrt(1 + sum(weight * weight for weight in weights))
        off += [
            abs(here.x - sum(w * a.x for w, a in zip(weights, near, strict=True))) / size,
            abs(here.y - sum(w * a.y for w, a in zip(weights, near, strict=True))) / size,
        ]
    return median(off) / NORMAL_MEDIAN


def _usual_speed(fixes: Sequence[Fix]) -> float:
    """Median speed over stretches of about the longest chord."""
    step = max(1, round(len(fixes) * LONGEST_CHORD_S / (fixes[-1].t - fixes[0].t)))
    marks = [*fixes[:-1:step], fixes[-1]]
    return median(hypot(b.x - a.x, b.y - a.y) / (b.t - a.t) for a, b in pairwise(marks))


def _chord(scatter: float, speed: float) -> float | None:
    """Seconds between the two readings of a heading; None when none would be steady enough."""
    sideways = sqrt(2) * scatter
    if sideways > speed * LONGEST_CHORD_S * tan(radians(UNSTEADY_DEG)):
        return None
    needed = sideways / (speed * tan(radians(STEADY_DEG))) if speed else 0.0
    return min(LONGEST_CHORD_S, max(SHORTEST_CHORD_S, needed))


def _motion(fixes: Sequence[Fix], chord_s: float) -> tuple[list[float], list[float], list[float]]:
    """(time, heading in degrees clockwise from north without jumps, speed) of each chord, at its middle."""
    times, headings, speeds = [], [], []  # type: list[float], list[float], list[float]
    last, far = 0.0, 1
    for at, a in enumerate(fixes):
        far = max(far, at + 1)
        while far < len(fixes) - 1 and fixes[far].t - a.t < chord_s - 1e-9:
            far += 1
        # The last readings have no partner far enough: shorter chords would scatter more than the others.
        if far >= len(fixes) or fixes[far].t - a.t < chord_s - 1e-9:
            break
        b = fixes[far]
        if (a.x, a.y) != (b.x, b.y):
            here = degrees(atan2(b.x - a.x, b.y - a.y))
            last = here if not headings else last + (here - last + 180) % 360 - 180
        times.append((a.t + b.t) / 2)
        headings.append(last)
        speeds.append(hypot(b.x - a.x, b.y - a.y) / (b.t - a.t))
    return times, headings, speeds


def _switches(times: Sequence[float], headings: Sequence[float]) -> list[float] | None:
    """Times at which one turn gives way to the next; None when there is no turn.

    Of all changes of sign those are kept between which the heading swings by `SMALLEST_TURN_DEG` at least.
    """
    marks = [times[0], *turn_cuts(times, headings), times[-1]]
    calm = _averaged(times, headings, BAND_S)
    swings = [(time, _between(times, calm, time)) for time in marks]
    low = high = swings[0]
    way, kept, extreme = 0, [], swings[0]
    for here in swings[1:]:
        if way == 0:
            low, high = min(low, here, key=_heading), max(high, here, key=_heading)
            if high[1] - low[1] >= SMALLEST_TURN_DEG:
                way, extreme = (1, high) if high[0] > low[0] else (-1, low)
        elif way * (here[1] - extreme[1]) >= 0:
            extreme = here
        elif way * (extreme[1] - here[1]) >= SMALLEST_TURN_DEG:
            kept.append(extreme[0])
            way, extreme = -way, here
    return kept if way else None


def _averaged(times: Sequence[float], values: Sequence[float], band_s: float) -> list[float]:
    """The mean of the values around each time; near an end the band is as much shorter on the other side."""
    sums = list(accumulate(values, initial=0.0))
    found = []
    for at, time in enumerate(times):
        half = min(band_s / 2, time - times[0], times[-1] - time) + BIT
        first, last = bisect_left(times, time - half), bisect_right(times, time + half)
        found.append((sums[last] - sums[first]) / (last - first) if last - first > 1 else values[at])
    return found


def _heading(swing: tuple[float, float]) -> float:
    return swing[1]


def _between(times: Sequence[float], values: Sequence[float], time: float) -> float:
    """The value at a time, on the straight line between the two readings around it."""
    at = min(max(bisect_left(times, time), 1), len(times) - 1)
    share = (time - times[at - 1]) / (times[at] - times[at - 1])
    return values[at - 1] + min(1.0, max(0.0, share)) * (values[at] - values[at - 1])


def _shares(
    times: Sequence[float], headings: Sequence[float], start: float, end: float
) -> tuple[float, float, float] | None:
    """The thirds of a turn's heading change; None with too few readings in it to tell."""
    first, last = bisect_right(times, start), bisect_left(times, end)
    if last - first < FEWEST_FOR_THIRDS:
        return None
    inner = [start, *times[first:last], end]
    return turn_thirds(inner, [_between(times, headings, time) for time in inner])


def _lanes(fixes: Sequence[Fix], cuts: Sequence[float]) -> list[tuple[float | None, float | None]]:
    """(width, middle) of each turn between two switches; None where a turn has no reading of its own."""
    times = [fix.t for fix in fixes]
    marks = [bisect_left(times, cut) for cut in cuts]
    if len(marks) < 2:
        return []
    if any(later <= before for before, later in pairwise(marks)):
        return [(None, None)] * (len(marks) - 1)
    return list(corridor_widths([(fix.x, fix.y) for fix in fixes], marks))
