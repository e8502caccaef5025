"""The turns of a demonstration as a table, one row per turn, and how precisely they were measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from itertools import pairwise
from math import isfinite
from typing import Literal

__all__ = ["METHODS", "Precision", "Turn", "TurnKind", "by_run", "checked_turns"]

TurnKind = Literal["carved", "parallel", "drifted", "wedge"]
Side = Literal["left", "right"]
KMH = 1 / 3.6


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn. Times in seconds, speeds in m/s, angles in degrees, widths in metres; None where not measured.

    heading_change: from turn start to turn end. width_m: corridor used; mid_offset_m: its middle from the run's main
    axis, signed. edge_peak: of the outer ski. thirds: shares of the heading change in the first, middle and last
    third of the turn's time. slope_deg: ground under the turn. source: how it was measured.
    """

    run: int
    n: int
    side: Side
    t_start: float
    t_end: float
    v_in: float | None = None
    v_out: float | None = None
    heading_change: float | None = None
    width_m: float | None = None
    mid_offset_m: float | None = None
    edge_peak: float | None = None
    thirds: tuple[float, float, float] | None = None
    slope_deg: float | None = None
    source: str = ""

    @property
    def seconds(self) -> float:
        """How long the turn lasted."""
        return self.t_end - self.t_start


@dataclass(frozen=True, slots=True)
class Precision:
    """Standard error of one reading of a method: switch time (s), place (m), speed (m/s); None = not known."""

    name: str
    switch_s: float | None = None
    place_m: float | None = None
    speed_ms: float | None = None
    caution: str = ""


# Petrella, Ellenberger & Gilgien (2025), PLOS One e0327896 (excerpt read): phone positions on slopes are off by
# about 4-6 m, speeds by less than 1.9 km/h on average. Nothing is known here of other methods until it is given.
METHODS: dict[str, Precision] = {
    "phone": Precision(
        "phone",
        place_m=5.0,
        speed_ms=1.9 * KMH,
        caution="a phone's positions on slopes are off by about 4 to 6 m: it cannot judge the width of a lane",
    ),
}


def checked_turns(turns: Sequence[Turn]) -> tuple[Turn, ...]:
    """The turns in order of run and number.

    Raises ValueError when a turn stands twice, ends before it starts, begins before the one before it ended, holds
    a number that is not finite, a negative speed or width, or thirds that do not add up to 1.
    """
    ordered = tuple(sorted(turns, key=lambda turn: (turn.run, turn.n)))
    for turn in ordered:
        _check(turn)
    for before, turn in pairwise(ordered):
        if before.run == turn.run and before.n == turn.n:
            raise ValueError(f"turn {turn.n} of run {turn.run} stands twice")
        if before.run == turn.run and turn.t_start < before.t_end - 1e-9:
            raise ValueError(f"turn {turn.n} of run {turn.run} starts before turn {before.n} has ended")
    return ordered


def _check(turn: Turn) -> None:
    where = f"turn {turn.n} of run {turn.run}"
    for field in fields(turn):
        value = getattr(turn, field.name)
        numbers = value if isinstance(value, tuple) else (value,) if isinstance(value, float) else ()
        if not all(isfinite(number) for number in numbers):
            raise ValueError(f"{where}: {field.name} must be a finite number")
    if turn.t_start < 0 or turn.t_end <= turn.t_start:
        raise ValueError(f"{where}: it must start at 0 s or later and end after it starts")
    for name in ("v_in", "v_out", "width_m"):
        value = getattr(turn, name)
        if value is not None and value < 0:
            raise ValueError(f"{where}: {name} must be 0 or more, got {value:g}")
    if turn.thirds is not None and abs(sum(turn.thirds) - 1) > 0.01:
        raise ValueError(f"{where}: thirds must add up to 1")


def by_run(turns: Sequence[Turn]) -> dict[int, tuple[Turn, ...]]:
    """Turns by run, both in order."""
    runs = sorted({turn.run for turn in turns})
    return {run: tuple(turn for turn in turns if turn.run == run) for run in runs}
