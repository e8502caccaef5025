"""What a module's result is computed from: one candidate's slots of one module, their sheets and acts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from assess.marking.results import BreachState, Sheet
from assess.records.ids import base_task
from assess.records.rubric import Rubric

__all__ = ["ModuleCase", "SlotCase", "third_slots"]


@dataclass(frozen=True, slots=True)
class SlotCase:
    """One performance of a task and what there is of it.

    task: the slot's task id, `T2-2` for a second performance.
    allocated: who marks it first. withdrawn: those of them the director took off it; their sheets count as locked
        without use. sheets: whatever was recorded; only allocated markers' sheets are read, a shadow's never.
    shadows: of those allocated, who may not mark the slot, and why; their sheets are kept and used for nothing.
    conflicted: of the markers, who counts by a waiver although of a conflict with the candidate or of training.
    third: sheets of a third look; read once the look is closed.
    moderated: criterion -> agreed level, which stands in place of that criterion's mark in every observed sheet.
    kept_both: the difference was moderated and both sheets stand. void: the performance does not count.
    unsettled: why its moderation cannot stand as it is written; it holds the module open.
    """

    task: str
    candidate: str
    allocated: tuple[str, ...]
    withdrawn: tuple[str, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    third: tuple[Sheet, ...] = ()
    moderated: Mapping[str, int] = field(default_factory=dict)
    kept_both: bool = False
    void: bool = False
    unsettled: str = ""
    shadows: Mapping[str, str] = field(default_factory=dict)
    conflicted: tuple[str, ...] = ()

    @property
    def markers(self) -> tuple[str, ...]:
        """Who must lock: the allocated assessors neither withdrawn nor shadows."""
        return tuple(who for who in self.allocated if who not in self.withdrawn and who not in self.shadows)

    @property
    def first_sheets(self) -> tuple[Sheet, ...]:
        """The markers' sheets of this very slot, sorted by assessor."""
        return self._own(sheet for sheet in self.sheets if sheet.assessor in self.markers)

    @property
    def third_sheets(self) -> tuple[Sheet, ...]:
        """The usable third sheets, sorted by assessor; nobody is third in a slot they have a sheet in."""
        out = {*self.shadows, *(sheet.assessor for sheet in self.first_sheets)}
        return self._own(sheet for sheet in self.third if sheet.usable and sheet.assessor not in out)

    def _own(self, sheets: Iterable[Sheet]) -> tuple[Sheet, ...]:
        found = [sheet for sheet in sheets if (sheet.task, sheet.candidate) == (self.task, self.candidate)]
        return tuple(sorted(found, key=lambda sheet: sheet.assessor))

    @property
    def locked(self) -> bool:
        """True when every marker's sheet is locked and whole, or the performance does not count."""
        usable = {sheet.assessor for sheet in self.first_sheets if sheet.usable}
        return self.void or usable >= set(self.markers)

    @property
    def moderation_closed(self) -> bool:
        """True when its difference was moderated."""
        return self.kept_both or bool(self.moderated)


@dataclass(frozen=True, slots=True)
class ModuleCase:
    """One candidate's module: the rubric in force for it, its slots in any order, breaches, and the third look.

    rubric_ref: the rubric's `sha256:...`; a sheet marked on another version holds the module open. "" checks only
        that all its sheets are of one version.
    third_look: `none`, `ordered` (its sheets are not read yet) or `closed` (they have joined, the band is not read).
    third_tasks: what a third person can see (tasks or slots); None while it is not known, then all.
    """

    rubric: Rubric
    module: str
    candidate: str
    slots: tuple[SlotCase, ...]
    breaches: tuple[BreachState, ...] = ()
    third_look: Literal["none", "ordered", "closed"] = "none"
    third_tasks: tuple[str, ...] | None = None
    rubric_ref: str = ""

    @property
    def tasks(self) -> tuple[str, ...]:
        """The module's tasks in the rubric's order."""
        return self.rubric.modules[self.module].tasks

    def base(self, task: str) -> str:
        """The task a slot's performance belongs to."""
        return base_task(task, set(self.rubric.tasks))

    @property
    def own_slots(self) -> tuple[SlotCase, ...]:
        """The candidate's slots of the module that count, by task and performance."""
        place = {task: number for number, task in enumerate(self.tasks)}
        mine = [s for s in self.slots if s.candidate == self.candidate and self.base(s.task) in place and not s.void]
        return tuple(sorted(mine, key=lambda s: (place[self.base(s.task)], s.task)))


def third_slots(case: ModuleCase, observed: tuple[str, ...]) -> tuple[str, ...]:
    """The observed slots a third person can see: all of them while nobody knows."""
    seen = case.third_tasks
    return tuple(task for task in observed if seen is None or task in seen or case.base(task) in seen)
