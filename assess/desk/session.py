"""An open course, seen and written by one person on one device."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.course_view import CourseView
from assess.desk.shelf import Shelf
from assess.desk.sight import role_of
from assess.desk.signing import EntrySigner
from assess.records.errors import Refusal
from assess.records.facts import SomeFact
from assess.records.ledger import Entry, Header
from assess.records.times import clock_text, instant, local_date

if TYPE_CHECKING:
    from assess.desk.board import Board
    from assess.desk.day_book import DayBook
    from assess.desk.film_sheet import FilmSheet
    from assess.desk.lesson_sheet import LessonSheet
    from assess.desk.outcomes import OutcomeBoard
    from assess.desk.run_sheet import RunSheet
    from assess.desk.slot_sheet import SlotSheet
    from assess.store.clock import Clock
    from assess.store.course_folder import CourseFolder
    from assess.store.disk import Disk
    from assess.store.live import LiveLedger
    from assess.store.writer import SaveState, Writer

__all__ = ["Desk"]


class Desk(CourseView):
    """A course and one person at it. Nothing is written before the first act.

    Use `Desk.open`. `close` waits for what is still being written.
    """

    def __init__(
        self,
        folder: CourseFolder,
        who: str | None,
        writer: Writer,
        clock: Clock,
        device: str,
        listeners: list[Callable[[SaveState], None]],
        signer: EntrySigner | None = None,
    ) -> None:
        super().__init__(folder, who, Shelf(folder.ledgers))
        self.device = device
        self.clock = clock
        self.signer = signer or EntrySigner(who, folder.keys)
        self._writer = writer
        self._listeners = listeners
        self._held = ExitStack()
        self._holding = False

    @classmethod
    def open(
        cls,
        root: Path,
        who: str | None,
        *,
        clock: Clock | None = None,
        disk: Disk | None = None,
        salt: Callable[[], str] | None = None,
        device: str | None = None,
    ) -> Desk:
        """Open the course at `root` as `who` (an id of its assessors or directors, or None to look only).

        Raises InputError with every problem that makes the course unusable, Refusal for an unknown id.
        """
        from assess.store.clock import Clock
        from assess.store.round_folder import load_folder
        from assess.store.writer import Writer

        folder = load_folder(root)
        if who is not None and role_of(folder.course, who) == "nobody":
            known = ", ".join((*folder.course.assessors, *folder.course.directors))
            raise Refusal(f"{who} is nobody of this course", todo=f"use one of {known}")
        clock = clock or Clock()
        listeners: list[Callable[[SaveState], None]] = []

        def tell(state: SaveState) -> None:
            for listener in listeners:
                listener(state)

        signer = EntrySigner(who, folder.keys)
        writer = Writer(disk=disk, clock=clock, salt=salt, signer=signer, on_change=tell)
        return cls(folder, who, writer, clock, device or _own_device(), listeners, signer)

    # --- saving --------------------------------------------------------------------------------

    def save_state(self) -> SaveState:
        """Whether all that was typed is on the disk: saved, writing, or not saved and why."""
        return self._writer.state

    def on_save(self, callback: Callable[[SaveState], None]) -> None:
        """Call `callback` at every change of the save state; it runs in the writer's thread."""
        self._listeners.append(callback)

    def drain(self, seconds: float = 5) -> bool:
        """Wait until all is on the disk, at most so long; False when something still waits."""
        return self._writer.drain(seconds)

    def close(self, seconds: float = 5) -> bool:
        """Write what waits and let the files go; False when something could not be saved."""
        done = self._writer.close(seconds)
        self._held.close()
        return done

    def append(self, live: LiveLedger, fact: SomeFact) -> Entry:
        """Add a fact to a ledger of this device and let the shelf know it."""
        self._hold()
        entry = live.add(fact)
        self.shelf.write_to(live)
        if live.header.kind == "day" and fact.kind in ("extra-slot", "undo"):
            self._take_course()
        return entry

    def live(self, header: Header) -> LiveLedger:
        """The ledger of this device that `header` names, continued or (at its first entry) new.

        Raises Refusal when another window writes it or when it is damaged.
        """
        from assess.store.course_files import folder_of

        return self._writer.open(self.folder.root / folder_of(header.kind), header)

    def _hold(self) -> None:
        """While a course is written no merge may come into it."""
        if not self._holding:
            from assess.store.course_lock import course_lock

            self._held.enter_context(course_lock(self.folder.root, exclusive=False))
            self._holding = True

    # --- time and people -----------------------------------------------------------------------

    def now(self) -> str:
        """This instant by the device's clock."""
        return instant(self.clock.now_ms())

    def today(self) -> str:
        """The date at the course's place: `2027-02-03`."""
        return local_date(self.now(), self.offset)

    def clock_text(self, at: str) -> str:
        """The wall time at the course's place: `10:02:19`."""
        return clock_text(at, self.offset)

    # --- what can be done ----------------------------------------------------------------------

    def run_sheet(self, task: str) -> RunSheet:
        """My rows of one task. Raises Refusal when I mark nobody in it."""
        from assess.desk.run_sheet import RunSheet

        return RunSheet(self, task)

    def slot(self, task: str, candidate: str) -> SlotSheet:
        """My sheet of one slot. Raises Refusal when I do not mark it."""
        from assess.desk.slot_sheet import SlotSheet

        return SlotSheet(self, task, candidate) if self.folder.season is None else self.film(task, candidate)

    def lesson(self, task: str, candidate: str) -> LessonSheet:
        """My sheet of one teaching session. Raises Refusal when I do not mark it."""
        from assess.desk.lesson_sheet import LessonSheet

        return LessonSheet(self, task, candidate) if self.folder.season is None else self.film(task, candidate)

    def film(self, task: str, film: str) -> FilmSheet:
        """My sheet of one film of a season. Raises Refusal when I have none."""
        from assess.desk.film_sheet import FilmSheet

        return FilmSheet(self, task, film)

    @property
    def day_book(self) -> DayBook:
        """The records of today: morning, interruptions, bibs, order."""
        from assess.desk.day_book import DayBook

        return DayBook(self)

    def board(self, *, words: bool = True) -> Board:
        """The course board of this person; without `words` no outcome is worked out, which is quicker."""
        from assess.desk.board import course_board

        return course_board(self, words=words)

    def wrong_count(self) -> int:
        """How many things a check would find wrong, as far as this person may be told; doubts do not count."""
        from assess.desk.checking import course_findings

        return len(course_findings(self, doubts=False))

    def outcomes(self) -> OutcomeBoard:
        """Every candidate's modules, as far as this person may see them."""
        from assess.desk.outcomes import outcome_board

        return outcome_board(self)


def _own_device() -> str:
    from assess.store.identity import device_id

    return device_id()
