"""Who may see what: of a slot with an unlocked allocated sheet only one's own; no module word before release."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assess.records.course import Course

if TYPE_CHECKING:
    from assess.records.facts import Release
    from assess.records.frame import Frame

__all__ = ["Role", "RoundSight", "SeasonSight", "Sight", "role_of", "sight_on"]

Role = Literal["assessor", "director", "nobody"]


def role_of(course: Course, who: str | None) -> Role:
    """What a person is in this course. Somebody who assesses and directs marks as an assessor: the stricter sight."""
    if who in course.assessors:
        return "assessor"
    return "director" if who in course.directors else "nobody"


@dataclass(frozen=True)
class Sight:
    """What one person may be shown of a course.

    markers: whose sheets of a slot count, allocation changes applied. awaited: whose locks it waits for: the
    markers, or everybody allocated where nobody's sheet counts.
    locked: whether an assessor's sheet of a slot is locked (or withdrawn by the director).
    releases: the releases a director made as acts.
    beside: who marks a slot beside its markers, for a third look or although they may not (until a waiver they are
    shadows); their sheets hold nothing up and are seen by others once locked, and they see the others' then.
    """

    course: Course
    who: str | None
    role: Role
    markers: Callable[[str, str], tuple[str, ...]]
    awaited: Callable[[str, str], tuple[str, ...]]
    locked: Callable[[str, str, str], bool]
    beside: Callable[[str, str], tuple[str, ...]]
    releases: Callable[[], tuple[Release, ...]]

    def may_look(self) -> bool:
        """True when this person may be told anything at all of others' sheets."""
        return True

    def slot_open(self, task: str, candidate: str) -> bool:
        """True once every allocated sheet of the slot that counts is locked: then all of them may be read."""
        if not self.may_look():
            return False
        awaited = self.awaited(task, candidate)
        return bool(awaited) and all(self.locked(task, candidate, marker) for marker in awaited)

    def sheet(self, task: str, candidate: str, assessor: str) -> bool:
        """True when this person may read that sheet: their own always, others once the slot is open.

        Without a name only what is released to assessors may be read.
        """
        if self.who is not None and assessor == self.who:
            return True
        if not self.slot_open(task, candidate) or self.beside_open(task, candidate):
            return False
        if assessor not in self.markers(task, candidate) and not self.locked(task, candidate, assessor):
            return False
        if self.role == "nobody":
            return self._released_task(task, candidate)
        return True

    def beside_open(self, task: str, candidate: str) -> bool:
        """True while this person marks the slot beside its markers and has not locked: others' marks stay hidden."""
        return (
            self.role == "assessor"
            and self.who in self.beside(task, candidate)
            and not self.locked(task, candidate, self.who or "")
        )

    def _released_task(self, task: str, candidate: str) -> bool:
        found = self.course.task(task)
        return found is not None and self.released(found.area, candidate)

    def released(self, module: str, candidate: str, to: str = "assessors") -> bool:
        """True when the director has released this module of this candidate to assessors (or `candidates`)."""
        return self._released_by_act(module, candidate, to) or any(
            event.kind == "release"
            and event.to == to
            and (event.modules == "all" or module in event.modules)
            and (event.candidates == "all" or candidate in event.candidates)
            for event in self.course.events
        )

    def _released_by_act(self, module: str, candidate: str, to: str) -> bool:
        return any(
            fact.to == to
            and (not fact.modules or module in fact.modules)
            and (not fact.candidates or candidate in fact.candidates)
            for fact in self.releases()
        )

    def own_sheets_locked(self, candidate: str) -> bool:
        """True when this assessor's last sheet for the candidate is locked (also when there is none)."""
        if self.role != "assessor" or self.who is None:
            return True
        mine = [a for a in self.course.allocation if a.candidate == candidate]
        return all(
            self.locked(slot.task, candidate, self.who)
            for slot in mine
            if self.who in (*self.markers(slot.task, candidate), *self.beside(slot.task, candidate))
        )

    def module_word(self, module: str, candidate: str) -> str:
        """Empty when the module's outcome may be shown; else why not, in words that tell nothing of it."""
        if self.role == "director":
            return ""
        if not self.released(module, candidate):
            return "not released"
        return "" if self.own_sheets_locked(candidate) else "your sheets for this candidate are not all locked"


@dataclass(frozen=True)
class RoundSight(Sight):
    """What one person may be shown of a calibration round: nothing of others before all of one's own is locked.

    The panel's sheets make the reference, so they are others' sheets too. Without a name everybody's must be locked.
    """

    def may_look(self) -> bool:
        """True once every sheet this person marks in the round is locked."""
        return all(
            self.locked(slot.task, slot.candidate, who)
            for slot in self.course.allocation
            for who in self.markers(slot.task, slot.candidate)
            if self.who is None or who == self.who
        )

    def all_locked(self, marker: str) -> bool:
        """True when a marker has locked everything that is theirs; False when nothing is."""
        mine = [slot for slot in self.course.allocation if marker in self.markers(slot.task, slot.candidate)]
        return bool(mine) and all(self.locked(slot.task, slot.candidate, marker) for slot in mine)

    def result_of(self, assessor: str) -> bool:
        """True when this person may see how an assessor did: a director, or the assessor, both with all locked."""
        mine = self.who is not None and (self.who == assessor or self.who in self.course.directors)
        return mine and self.may_look() and self.all_locked(assessor)

    def module_word(self, module: str, candidate: str) -> str:
        """A round has no outcomes."""
        return "a calibration round has no outcomes: see `assess round`"


@dataclass(frozen=True)
class SeasonSight(Sight):
    """What one person may be shown of a trainee's season: of a film nothing of others before one's own lock.

    Another's sheet of that film is shown once it is locked too; nobody has to wait for a second mentor. Without a
    name nothing is shown: it is somebody's own practice.
    """

    def sheet(self, task: str, candidate: str, assessor: str) -> bool:
        """True for one's own sheet, and for a locked one of a film whose sheet one has locked oneself."""
        if self.who is None:
            return False
        if assessor == self.who:
            return True
        mine = self.who in self.markers(task, candidate)
        return mine and all(self.locked(task, candidate, who) for who in (self.who, assessor))

    def slot_open(self, task: str, candidate: str) -> bool:
        """True once every sheet of the film is locked, for those who have one."""
        return self.who in self.awaited(task, candidate) and super().slot_open(task, candidate)

    def module_word(self, module: str, candidate: str) -> str:
        """A season has no outcomes."""
        return "a season of one's own lessons has no outcomes: see `assess film`"


def sight_on(frame: Frame | None) -> type[Sight]:
    """Which rule of sight holds in a folder: that of a course (None), of a round, or of a season."""
    from assess.records.season import Season

    if frame is None:
        return Sight
    return SeasonSight if isinstance(frame, Season) else RoundSight
