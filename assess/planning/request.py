"""What a plan is asked for: tasks, people, who may not mark whom, the light."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from assess.planning.results import Turn

__all__ = ["Bar", "Condition", "Pair", "Request", "TaskWish"]

Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class TaskWish:
    """A task to be planned.

    minutes: of one turn; every: from the start of a turn to the start of the next in the same place. at_once: turns at
    the same time, None for those of all pairs. pairs: how many pairs are asked for, None for as many as can be made.
    not_before: minutes of the day. learners: how many each candidate teaches; pool: whom.
    """

    id: str
    modules: tuple[str, ...]
    day: int
    candidates: tuple[str, ...]
    minutes: int
    every: int
    at_once: int | None = None
    pairs: int | None = None
    not_before: int | None = None
    learners: int = 0
    pool: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Bar:
    """An assessor who may not mark: one candidate or everybody (""), in one task or everywhere (""); why, as words.

    waived: they may mark after all, but are seated only where nobody else is, and are never fresh.
    """

    assessor: str
    why: str
    candidate: str = ""
    task: str = ""
    waived: bool = False


@dataclass(frozen=True, slots=True)
class Condition:
    """An assessor who may mark a task under a condition: `only-second` or `supervised`."""

    assessor: str
    task: str
    condition: str


@dataclass(frozen=True)
class Request:
    """All that a plan rests on; equal requests give equal plans.

    light: day -> half-days in minutes of the day. between: minutes from the end of a task to the start of the next.
    kept_pairs, kept_seats: what the director wants as it is, by task and by (task, candidate). stays: turns that are
    not planned anew, and count. modules: every module with its tasks. fresh: least assessors left for a third look.
    kinds: what each learner is (a guest, a child), for groups of one kind.
    """

    tasks: tuple[TaskWish, ...]
    assessors: tuple[str, ...]
    light: Mapping[int, tuple[tuple[int, int], ...]]
    seed: int
    most_minutes: int = 300
    between: int = 15
    fresh: int = 1
    bars: tuple[Bar, ...] = ()
    conditions: tuple[Condition, ...] = ()
    kept_pairs: Mapping[str, tuple[Pair, ...]] = field(default_factory=dict)
    kept_seats: Mapping[tuple[str, str], Pair] = field(default_factory=dict)
    stays: tuple[Turn, ...] = ()
    modules: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def _bars(self) -> dict[tuple[str, str, str], str]:
        return {(bar.task, bar.assessor, bar.candidate): bar.why for bar in self.bars if not bar.waived}

    @cached_property
    def _waived(self) -> frozenset[tuple[str, str, str]]:
        return frozenset((bar.task, bar.assessor, bar.candidate) for bar in self.bars if bar.waived)

    @cached_property
    def _conditions(self) -> dict[tuple[str, str], str]:
        return {(each.task, each.assessor): each.condition for each in self.conditions}

    def why_not(self, task: str, assessor: str, candidate: str) -> str | None:
        """Why an assessor may not mark a candidate in a task; None when they may."""
        return next((self._bars[at] for at in _places(task, assessor, candidate) if at in self._bars), None)

    def may(self, task: str, candidate: str) -> tuple[str, ...]:
        """Everybody who may mark a candidate in a task, in the order of the course's list."""
        return tuple(a for a in self.assessors if self.why_not(task, a, candidate) is None)

    def unbiased(self, task: str, candidate: str) -> tuple[str, ...]:
        """Those of them whom no waiver is needed for: one of them has to be left for a third look."""
        everybody = self.may(task, candidate)
        return tuple(a for a in everybody if self._waived.isdisjoint(_places(task, a, candidate)))

    def condition(self, task: str, assessor: str) -> str:
        """`only-second` or `supervised`; nothing for most."""
        return self._conditions.get((task, assessor), "")

    def seated(self, task: str, one: str, other: str) -> Pair | None:
        """Two assessors as a pair, the first marker first; None when their conditions do not go together."""
        conditions = [self.condition(task, who) for who in (one, other)]
        if all(conditions):
            return None
        swap = conditions[0] == "only-second" or (conditions[1] != "only-second" and self._place(one, other))
        return (other, one) if swap else (one, other)

    def _place(self, one: str, other: str) -> bool:
        return self.assessors.index(one) > self.assessors.index(other)


def _places(task: str, assessor: str, candidate: str) -> tuple[tuple[str, str, str], ...]:
    """Where a bar between the two may stand: for all or one task, for everybody or one candidate."""
    return (("", assessor, candidate), (task, assessor, ""), (task, assessor, candidate), ("", assessor, ""))
