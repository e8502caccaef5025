"""Tracks made of arcs, with the switches they were made with."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from math import cos, pi, radians, sin
from typing import Literal

from assess.lesson.track_turns import Fix

__all__ = ["MadeTrack", "made_track"]

STEPS_A_SECOND = 1000


@dataclass(frozen=True)
class MadeTrack:
    fixes: tuple[Fix, ...]
    switches: tuple[float, ...]
    sides: tuple[Literal["left", "right"], ...]


def made_track(seconds: tuple[float, ...], rate: int, *, swing: float, speed: float = 9.0) -> MadeTrack:
    """Arcs at one speed, the first to the left: each changes the heading by `swing` degrees in its seconds.

    The heading swings around south, so that the run goes south. rate: readings a second.
    """
    switches = (0.0, *accumulate(seconds))
    sides: list[Literal["left", "right"]] = ["left" if at % 2 == 0 else "right" for at in range(len(seconds))]
    fixes, each, n = [], round(STEPS_A_SECOND / rate), 0
    step = 1 / (rate * each)
    x, y, heading = 0.0, 0.0, pi + radians(swing) / 2
    for fine in range(int(switches[-1] / step) + 1):
        t = fine * step
        if fine % each == 0:
            fixes.append(Fix(t, x, y))
        while n < len(seconds) - 1 and t >= switches[n + 1]:
            n += 1
        heading += (-1 if sides[n] == "left" else 1) * radians(swing) / seconds[n] * step
        x, y = x + speed * sin(heading) * step, y + speed * cos(heading) * step
    return MadeTrack(tuple(fixes), switches, tuple(sides))
