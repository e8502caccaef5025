"""Who sits in a slot: whose sheet counts, whose is kept as a shadow's, whose lock is waited for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.records.facts import AllocationChange

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView

__all__ = ["Seats"]


class Seats:
    """The people of every slot as it stands now: the allocation, the director's changes, and who may not mark."""

    def __init__(self, desk: CourseView) -> None:
        self._desk = desk
        self._now: tuple[int, dict[tuple[str, str], tuple[str, ...]]] = (-1, {})

    def changes(self, task: str, candidate: str) -> list[AllocationChange]:
        """The director's allocation changes of a slot, in the order they were made."""
        return [change for change in self._changes() if (change.task, change.candidate) == (task, candidate)]

    def _changes(self) -> list[AllocationChange]:
        return [
            entry.fact
            for ledger, entry in self._desk.shelf.entries("day")
            if isinstance(entry.fact, AllocationChange) and ledger.header.author in self._desk.course.directors
        ]

    def markers(self, task: str, candidate: str) -> tuple[str, ...]:
        """Whose sheets of a slot count: of those allocated now, all with nothing against them that was not waived."""
        now = self.allocated(task, candidate)
        return tuple(who for who in now if not self._desk.separation.standing(who, task, candidate))

    def shadows(self, task: str, candidate: str) -> tuple[str, ...]:
        """Whose sheets of a slot are kept and used for nothing: its shadows, and those allocated who may not mark."""
        slot = self._desk.course.slot(task, candidate)
        return (*(slot.shadows if slot else ()), *self.barred(task, candidate))

    def barred(self, task: str, candidate: str) -> tuple[str, ...]:
        """Who is allocated to a slot and may not mark it."""
        markers = self.markers(task, candidate)
        return tuple(who for who in self.allocated(task, candidate) if who not in markers)

    def awaited(self, task: str, candidate: str) -> tuple[str, ...]:
        """Whose locks a slot waits for before it is open: its markers, or all allocated when none of them counts."""
        return self.markers(task, candidate) or self.allocated(task, candidate)

    def allocated(self, task: str, candidate: str) -> tuple[str, ...]:
        """Who is to mark a slot now: as planned, those withdrawn taken out, their successors in."""
        version = self._desk.shelf.version
        if self._now[0] != version:
            self._now = (version, self._as_changed())
        return self._now[1].get((task, candidate), ())

    def _as_changed(self) -> dict[tuple[str, str], tuple[str, ...]]:
        """Every slot with who marks it after all the changes a director made, in the order they were made."""
        now: dict[tuple[str, str], tuple[str, ...]] = {}
        for slot in self._desk.course.allocation:
            now.setdefault((slot.task, slot.candidate), slot.assessors)
        for change in self._changes():
            key = (change.task, change.candidate)
            stay = tuple(who for who in now.get(key, ()) if who != change.from_)
            now[key] = (*stay, change.to) if change.to and change.to not in stay else stay
        return now

    def writers(self, task: str, candidate: str) -> tuple[str, ...]:
        """Who may write a sheet of a slot, whether it counts or not."""
        return (*self.markers(task, candidate), *self.shadows(task, candidate))
