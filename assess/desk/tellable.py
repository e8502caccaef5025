"""Which problems of a course one person may be told: nothing that tells of a sheet that is not theirs to read yet."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from assess.records.errors import InputError, Problem
from assess.records.ids import is_short_id

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.desk.shelf import SlotKey

__all__ = ["Teller", "sheet_key", "without_sheets"]

_LOCK_LINE = re.compile(rb'^- \{"n": [^\n]*"kind": "lock"[^\n]*, "chain": "[0-9a-f]{16}"\}$', re.MULTILINE)
"""A whole line that locks; of one that was cut while it was written nobody has said that it is saved."""
_HEADER_LINES = 2
_NAMED = re.compile(r"\bsheets/[A-Za-z0-9.~-]+")


def sheet_key(file: str) -> SlotKey | None:
    """Task, candidate and assessor of a file under `sheets/`, whatever version of it; None for any other file."""
    path = PurePosixPath(file)
    if path.parent.name != "sheets":
        return None
    parts = path.name.split("~", 1)[0].split(".")
    if len(parts) < 3 or not all(is_short_id(part) for part in parts[:3]):
        return None
    return (parts[0], parts[1], parts[2])


def without_sheets(error: InputError) -> InputError:
    """The same error without what it says of sheets: a course that cannot be read tells nobody's allocation."""
    kept = [problem for problem in error.problems if sheet_key(problem.file) is None]
    return InputError(kept or [Problem("", 0, "the course cannot be used", "run `assess check` on it")])


class Teller:
    """What one person at an open course may be told of its files.

    Their own sheets, and those of slots in which everybody has locked: everything. Of another's sheet in a slot
    that is not locked yet, of a third sheet or a shadow's before its own lock, and as a third marker before one's
    own, an assessor is told nothing at all; a director, and somebody without a name,
    are told which file is damaged, never where, how far it goes or what it holds.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._opened: dict[tuple[str, str], bool] = {}

    def may_tell(self, file: str) -> bool:
        """True when everything about this file may be told."""
        key = sheet_key(file)
        return key is None or key[2] == self._desk.who or (self._slot_open(key[0], key[1]) and self._joined(*key))

    def tell(self, problems: Iterable[Problem]) -> tuple[Problem, ...]:
        """The problems as far as they may be told, sorted, each once."""
        return tuple(sorted({told for problem in problems if (told := self._told(problem)) is not None}))

    def _told(self, problem: Problem) -> Problem | None:
        key = sheet_key(problem.file)
        if key is None or self.may_tell(problem.file):
            hidden = any(not self.may_tell(name) for name in _NAMED.findall(problem.what))
            return None if hidden and self._desk.role == "assessor" else problem
        if not self._desk.seats.awaited(key[0], key[1]) and problem.line <= _HEADER_LINES:
            return problem
        if problem.doubt or self._desk.role == "assessor":
            return None
        what = "is damaged, or does not fit the course"
        return Problem("sheets/" + ".".join(key), 0, what, f"{key[2]} sees with `assess check` what is wrong")

    def _joined(self, task: str, candidate: str, who: str) -> bool:
        """Of an open slot: a sheet beside it (a third one, a shadow's) is locked, and so is this person's own there."""
        if self._desk.sight.beside_open(task, candidate):
            return False
        return who in self._desk.seats.awaited(task, candidate) or self._has_locked(task, candidate, who)

    def _has_locked(self, task: str, candidate: str, who: str) -> bool:
        return self._desk.locked(task, candidate, who) or self._lock_written(task, candidate, who)

    def _slot_open(self, task: str, candidate: str) -> bool:
        """True when everybody who marks the slot has locked, also in a file that is damaged now."""
        slot = (task, candidate)
        if slot not in self._opened:
            awaited = self._desk.seats.awaited(task, candidate)
            self._opened[slot] = (
                self._desk.sight.may_look()
                and bool(awaited)
                and all(self._has_locked(task, candidate, who) for who in awaited)
            )
        return self._opened[slot]

    def _lock_written(self, task: str, candidate: str, who: str) -> bool:
        """True when a file of this sheet holds a lock. Free text cannot look like one: its quotes are escaped."""
        from assess.store.ledger_file import LARGEST_LEDGER
        from assess.store.reading import whole_file

        folder = self._desk.folder.root / "sheets"
        for file in sorted(folder.glob(f"{task}.{candidate}.{who}.*.yaml")):
            try:
                raw = whole_file(file, file.name, LARGEST_LEDGER)
            except InputError:
                continue  # what cannot be read at all holds no lock anybody can see
            if _LOCK_LINE.search(raw):
                return True
        return False
