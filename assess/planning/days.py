"""One day: which task when, so that every round lies in a half-day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["DayTask", "Laid", "free_times", "lay_out"]

Times = Sequence[tuple[int, int]]

_ALL_ORDERS = 10
"""Up to so many tasks on a day every order is looked at; more are taken as they are listed."""


@dataclass(frozen=True, slots=True)
class DayTask:
    """A task of a day: so many rounds, each `every` minutes, the first not before a minute of the day."""

    id: str
    rounds: int
    every: int
    not_before: int = 0


@dataclass(frozen=True, slots=True)
class Laid:
    """A task with the minute of the day at which each of its rounds begins."""

    task: str
    starts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Way:
    """Some tasks laid out: how often one is cut by a break, how many stand before one listed earlier, the end."""

    cuts: int
    swaps: int
    end: int
    laid: tuple[Laid, ...] = ()

    def better(self, other: _Way) -> bool:
        return self.cuts <= other.cuts and self.swaps <= other.swaps and self.end <= other.end


def free_times(light: Times, taken: Times, between: int) -> tuple[tuple[int, int], ...]:
    """The half-days without what is taken and the minutes before and after it."""
    free = list(light)
    for start, end in taken:
        free = [
            part
            for low, high in free
            for part in ((low, min(high, start - between)), (max(low, end + between), high))
            if part[0] < part[1]
        ]
    return tuple(sorted(set(free)))


def lay_out(tasks: Sequence[DayTask], light: Times, between: int) -> tuple[Laid, ...] | None:
    """The tasks of a day one after the other; None when they do not fit, in whatever order.

    A task is rather moved than cut by a break, and rather stands where it is listed; after that an early end counts.
    """
    ways: dict[frozenset[int], list[_Way]] = {frozenset(): [_Way(0, 0, 0)]}
    for _ in tasks:
        longer: dict[frozenset[int], list[_Way]] = {}
        for done, known in ways.items():
            open_tasks = [n for n in range(len(tasks)) if n not in done]
            for n in open_tasks if len(tasks) <= _ALL_ORDERS else open_tasks[:1]:
                swaps = sum(m < n for m in open_tasks)
                for way in known:
                    cursor = way.end + between if done else 0
                    for cuts, starts in _placed(tasks[n], light, cursor):
                        end = starts[-1] + tasks[n].every if starts else way.end
                        laid = (*way.laid, Laid(tasks[n].id, starts))
                        new = _Way(way.cuts + cuts, way.swaps + swaps, end, laid)
                        _keep(longer.setdefault(done | {n}, []), new)
        ways = longer
    found = [way for known in ways.values() for way in known]
    best = min(found, key=lambda way: (way.cuts, way.swaps, way.end), default=None)
    return None if best is None else best.laid


def _keep(known: list[_Way], new: _Way) -> None:
    if not any(way.better(new) for way in known):
        known[:] = [way for way in known if not new.better(way)] + [new]


def _placed(task: DayTask, light: Times, cursor: int) -> list[tuple[int, tuple[int, ...]]]:
    """(cuts, starts) of a task that begins at `cursor` or later, for each half-day it could begin in."""
    if not task.rounds:
        return [(0, ())]
    ways = []
    for first, (start, end) in enumerate(light):
        begin = max(start, cursor, task.not_before)
        if begin + task.every <= end:
            filled = _filled(task, light[first:], begin)
            if filled is not None:
                ways.append(filled)
    return ways


def _filled(task: DayTask, light: Times, begin: int) -> tuple[int, tuple[int, ...]] | None:
    starts: list[int] = []
    used = 0
    for low, high in light:
        at, before = max(low, begin), len(starts)
        while len(starts) < task.rounds and at + task.every <= high:
            starts.append(at)
            at += task.every
        used += len(starts) > before
        if len(starts) == task.rounds:
            return used - 1, tuple(starts)
    return None
