"""From a run's positions to its turns: when each begins and ends, to which side, how fast, how wide.

Only turns between two switches are timed: how the first began and the last ended is no switch.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, degrees, hypot
from statistics import median

from assess.lesson.track import corridor_widths, turn_cuts, turn_thirds
from assess.lesson.turns import Turn

__all__ = ["SMALLEST_TURN_DEG", "Fix", "RunTurns", "moving_runs", "turns_of_run"]

SMALLEST_TURN_DEG = 10.0
"""A change of heading below this is no turn: it is a wobble of the skier or of the receiver. Common practice."""

# Positions are compared over this time: at 50 readings a second the step from one to the next is mostly rounding.
CHORD_S = 0.1
# Slower than a walk over a second is standing: a heading means nothing there.
STANDING_MS, STANDING_S = 1.0, 1.0
LONGEST_GAP_S, GAP_TIMES, SHORTEST_RUN_S = 3.0, 5.0, 3.0
FEWEST_FOR_THIRDS = 6


@dataclass(frozen=True, slots=True)
class Fix:
    """A reading of a track: seconds, metres east, metres north."""

    t: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class RunTurns:
    """The turns of a run: `seen` of them, of which `turns` lie between two switches; seconds between two readings."""

    seen: int
    turns: tuple[Turn, ...]
    sampling_s: float


def moving_runs(fixes: Sequence[Fix]) -> tuple[tuple[Fix, ...], ...]:
    """The stretches of a track in which somebody moved, at least 3 s long; standing and lost signal part them.

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
        if times[at] - times[at - 1] > longest:
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
    times, headings, speeds = _motion(fixes)
    if len(times) < 3:
        return RunTurns(0, (), sampling)
    cuts = _switches(times, headings)
    if cuts is None:
        return RunTurns(0, (), sampling)
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
    return RunTurns(len(cuts) + 1, tuple(turns), sampling)


def _motion(fixes: Sequence[Fix]) -> tuple[list[float], list[float], list[float]]:
    """(time, heading in degrees clockwise from north without jumps, speed) of each chord, at its middle."""
    times, headings, speeds = [], [], []  # type: list[float], list[float], list[float]
    last, far = 0.0, 1
    for at, a in enumerate(fixes):
        far = max(far, at + 1)
        while far < len(fixes) - 1 and fixes[far].t - a.t < CHORD_S - 1e-9:
            far += 1
        if far >= len(fixes):
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
    swings = [(time, _between(times, headings, time)) for time in marks]
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
