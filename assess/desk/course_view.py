"""A course as one person sees it: people, slots, sheets as they stand; nothing here writes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.desk.eligible import Separation
from assess.desk.seats import Seats
from assess.desk.shelf import Shelf, SlotKey
from assess.desk.sight import Role, role_of, sight_on
from assess.records.errors import Refusal
from assess.records.facts import BibChange, Lock

if TYPE_CHECKING:
    from assess.desk.third_looks import Look
    from assess.marking.results import Hole, ModuleResult, Sheet
    from assess.records.course import Allocation
    from assess.records.facts import Release
    from assess.records.frame import Frame
    from assess.records.rubric import Rubric, Task
    from assess.store.course_folder import CourseFolder

__all__ = ["CourseView"]


class CourseView:
    """The ledgers of a course on one shelf, read with the eyes of one person.

    now: the course of which this shelf is a part; a sheet that has the same entries in both is folded once.
    """

    def __init__(self, folder: CourseFolder, who: str | None, shelf: Shelf, now: CourseView | None = None) -> None:
        self._now = now
        self.folder, self.who = folder, who
        self.course, self.people = folder.course, folder.people
        if folder.frame is not None:
            self.people = folder.frame.as_people(folder.people, who)
        self.role: Role = role_of(folder.course, who)
        self.offset = folder.course.utc_offset
        self.look_at(shelf)

    def look_at(self, shelf: Shelf) -> None:
        """Read these ledgers from now on: the course's own, or a part of them as they once were."""
        self.shelf = shelf
        self._folded: dict[SlotKey, tuple[tuple[int, ...], Sheet]] = {}
        self.results: dict[tuple[str, str], tuple[int, ModuleResult]] = {}
        self.looks: tuple[int, tuple[Look, ...]] | None = None
        self._take_course()

    def _take_course(self) -> None:
        """The course as it stands: its allocation, and the slots that were added since."""
        from assess.records.facts import ExtraSlot
        from assess.store.extra_slots import with_extra_slots

        said = [(led, entry.fact) for led, entry in self.shelf.entries("day") if isinstance(entry.fact, ExtraSlot)]
        this = self.folder.frame
        # Everybody marks the lessons of a calibration round in an order of their own.
        planned = self.folder.course if this is None else this.as_course(self.who)
        self.course = with_extra_slots(planned, said)
        self.separation = Separation(self)
        self.seats = Seats(self)
        self.sight = sight_on(this)(
            self.course,
            self.who,
            self.role,
            self.markers,
            self.seats.awaited,
            self.locked,
            self._beside,
            self._releases,
        )

    def take_frame(self, frame: Frame) -> None:
        """The round or season as its file says it now."""
        from dataclasses import replace

        self.folder = replace(self.folder, frame=frame, course=frame.as_course())
        self._take_course()

    def need_course(self, act: str) -> None:
        """Raise Refusal in a calibration round or a season; act: what is not done there, as a sentence."""
        if self.folder.frame is not None:
            raise Refusal(act, todo="name the folder of a course")

    def name(self, who: str) -> str:
        """The name behind an id; of a lesson of a calibration round its title."""
        lesson = self.folder.round.lesson(who) if self.folder.round is not None else None
        return lesson.title if lesson is not None else self.people.name(who)

    def bib(self, candidate: str) -> int:
        """The bib a candidate wears now."""
        for _, entry in reversed(self.shelf.entries("day")):
            if isinstance(entry.fact, BibChange) and entry.fact.candidate == candidate:
                return entry.fact.bib
        return next((person.bib for person in self.people.candidates if person.id == candidate), 0)

    def by_bib(self, bib: int) -> str | None:
        """The candidate who wears a bib now."""
        return next((who for who in self.course.candidates if self.bib(who) == bib), None)

    def candidate_mark(self, candidate: str) -> str:
        """The further mark a candidate is told by: `red jacket`."""
        return next((person.mark for person in self.people.candidates if person.id == candidate), "")

    # --- slots and sheets ----------------------------------------------------------------------

    def markers(self, task: str, candidate: str) -> tuple[str, ...]:
        """Whose sheets of a slot count now; `seats` tells who else is in it."""
        return self.seats.markers(task, candidate)

    def third_markers(self, task: str, candidate: str) -> tuple[str, ...]:
        """Who marks a slot for a third look."""
        from assess.desk.third_looks import third_markers

        return third_markers(self, task, candidate)

    def _beside(self, task: str, candidate: str) -> tuple[str, ...]:
        return (*self.third_markers(task, candidate), *self.seats.barred(task, candidate))

    def _releases(self) -> tuple[Release, ...]:
        from assess.records.facts import Release

        return tuple(
            entry.fact
            for ledger, entry in self.shelf.entries("day")
            if isinstance(entry.fact, Release) and ledger.header.author in self.course.directors
        )

    def rubric_for(self, task: str) -> Rubric:
        """The rubric in force for a task. Raises Refusal when none is pinned."""
        pin = self.course.pin(task)
        rubric = self.folder.rubrics.get(pin.reference) if pin else None
        if rubric is None:
            raise Refusal(f"no rubric is in force for {task}", todo="pin one in course.yaml")
        return rubric

    def task(self, task: str) -> Task:
        """The rubric's description of a task. Raises Refusal when the rubric does not know it."""
        found = self.course.task(task)
        described = self.rubric_for(task).tasks.get(found.id) if found else None
        if described is None:
            raise Refusal(f"{task} is no task of this course", todo="see the tasks in course.yaml")
        return described

    def folded(self, task: str, candidate: str, assessor: str) -> Sheet:
        """One assessor's record of one slot as it stands. For the rules only: ask `sight` before showing it."""
        from assess.marking.fold import empty_sheet, fold_sheet

        key = (task, candidate, assessor)
        revision = self.shelf.revision(key)
        known = self._folded.get(key)
        if known is None or known[0] != revision:
            ledgers = self.shelf.sheet(key)
            if ledgers and self._now is not None and self._now.shelf.sheet(key) == ledgers:
                sheet = self._now.folded(task, candidate, assessor)
            elif ledgers:
                sheet = fold_sheet(ledgers, rubric=self.rubric_for(task), task=self.task(task))
            else:
                pin = self.course.pin(task)
                sheet = empty_sheet(task, candidate, assessor, pin.reference if pin else "")
            known = self._folded[key] = (revision, sheet)
        return known[1]

    def holes_of(self, sheet: Sheet) -> tuple[Hole, ...]:
        """What a sheet lacks before its lock, by the rule of this folder. Raises Refusal without a rubric."""
        from assess.marking.film_holes import film_holes
        from assess.marking.holes import holes

        found = holes(sheet, self.rubric_for(sheet.task))
        season = self.folder.season
        if season is None or sheet.assessor != season.trainee:
            return found
        return tuple(sorted((*film_holes(sheet), *found), key=lambda hole: not hole.blocks))

    def locked(self, task: str, candidate: str, assessor: str) -> bool:
        """True when that sheet is locked."""
        return any(ledger.locked for ledger in self.shelf.sheet((task, candidate, assessor)))

    def lock_seal(self, task: str, candidate: str, assessor: str) -> str:
        """The seal of a locked sheet: `sha256:...`. Raises Refusal when it is not locked."""
        for ledger in self.shelf.sheet((task, candidate, assessor)):
            if ledger.locked and isinstance(fact := ledger.entries[-1].fact, Lock):
                return fact.seal
        raise Refusal(f"{assessor} has not locked {task}.{candidate}", todo="wait until it is locked")

    def marks(self, task: str, candidate: str) -> bool:
        """True when this person marks the slot: first, as a shadow, or for a third look."""
        return self.who is not None and self.who in (
            *self.seats.writers(task, candidate), *self.third_markers(task, candidate)
        )  # fmt: skip

    def mine(self, task: str) -> list[Allocation]:
        """The slots of a task this person marks, in the planned order."""
        slots = [slot for slot in self.course.allocation if slot.task == task]
        mine = [slot for slot in slots if self.marks(task, slot.candidate)]
        return sorted(mine, key=lambda slot: slot.order)
