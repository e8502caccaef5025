"""What planning hands back: the turns, what they come to, what was wished and is not there, what stands in the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["DayUse", "Load", "ModuleFresh", "Obstacle", "ObstacleKind", "Plan", "Turn"]

ObstacleKind = Literal["nobody", "markers", "fresh", "pairs", "seats", "light", "rounds"]


@dataclass(frozen=True, slots=True)
class Turn:
    """One slot: a candidate's turn at a task.

    order: place in the running order; round: how many turns this pair has had with it; pair: the pair's number in
    this task. at, until: minutes of the day, None for a turn that stands without a time. assessors: the first marker
    stands first. fresh: who may mark the candidate here and has no sheet in the slot. stays: it was not planned anew.
    """

    task: str
    day: int
    order: int
    round: int
    pair: int
    at: int | None
    until: int | None
    candidate: str
    assessors: tuple[str, ...]
    learners: tuple[str, ...] = ()
    fresh: tuple[str, ...] = ()
    stays: bool = False


@dataclass(frozen=True, slots=True)
class Load:
    """What an assessor has to do. partners: with whom, and in how many tasks, in the order of the course's list."""

    assessor: str
    sheets: int
    tasks: int
    partners: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class DayUse:
    """Minutes of marking planned on a day, and the minutes of light in which marking is possible."""

    day: int
    minutes: int
    light: int


@dataclass(frozen=True, slots=True)
class ModuleFresh:
    """Who has no sheet of a candidate in a whole module and may mark it: they could take a resit or a third look."""

    module: str
    candidate: str
    fresh: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One thing that stands in the way of any plan at all, and what would help.

    `nobody` no task, candidate or assessor; `markers` too few may mark a candidate; `fresh` nobody is left for a third
    look; `pairs` fewer pairs can be made than are asked for; `seats` candidates who cannot all have two markers while
    nobody sits in two pairs; `light` more minutes than the day has; `rounds` enough minutes, cut up wrongly.
    """

    kind: ObstacleKind
    sentence: str
    todo: str
    task: str = ""
    day: int = 0
    candidates: tuple[str, ...] = ()
    assessors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan, or why there is none: with `obstacles` everything else is empty.

    groups: assessors joined by candidates they share; more than one group cannot be compared. mean_places: each
    candidate's mean place over the running orders, 0 always first, 1 always last. not_met: wishes this plan leaves
    open, each a sentence.
    """

    seed: int
    turns: tuple[Turn, ...] = ()
    loads: tuple[Load, ...] = ()
    days: tuple[DayUse, ...] = ()
    fresh_in_modules: tuple[ModuleFresh, ...] = ()
    groups: tuple[tuple[str, ...], ...] = ()
    mean_places: tuple[tuple[str, float], ...] = ()
    not_met: tuple[str, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
