"""The error tree: what happened, where, and what to do.

AssessError
├── UsageError      exit 2   the words of the command are off
├── InputError      exit 3   a file or value that cannot be used; carries every problem found
├── Refusal         exit 1   the rules of the work say no (a hole before a lock, not your sheet)
├── StorageTrouble  exit 3   the disk did not do what it was asked
├── FilmTrouble     exit 3   a film cannot be shown, or a picture of it cannot be made
└── LibraryTrouble  exit 3   a library that something needs is missing here, or cannot run
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

__all__ = [
    "AssessError",
    "FilmTrouble",
    "InputError",
    "LibraryTrouble",
    "Problem",
    "Refusal",
    "StorageTrouble",
    "UsageError",
]


@dataclass(frozen=True, order=True)
class Problem:
    """One thing that is wrong: the file and line, what it is, and what to do about it.

    file: as the user named it, or relative to the course; "" when there is none.
    line: counted from 1; 0 when the problem has no line.
    doubt: true for something to look at that makes nothing unusable.
    """

    file: str
    line: int
    what: str
    todo: str = ""
    doubt: bool = False

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}: " if self.line else f"{self.file}: " if self.file else ""
        return f"{place}{self.what}" + (f"; {self.todo}" if self.todo else "")


class AssessError(Exception):
    """Anything the tool tells a person instead of a traceback."""

    exit_code: ClassVar[int] = 1

    def __init__(self, what: str, *, where: str = "", todo: str = "") -> None:
        self.what, self.where, self.todo = what, where, todo
        super().__init__(self.sentence)

    @property
    def sentence(self) -> str:
        """What, where and what to do, on one line."""
        return (f"{self.where}: " if self.where else "") + self.what + (f"; {self.todo}" if self.todo else "")


class UsageError(AssessError):
    """The words of a command are off."""

    exit_code = 2


class Refusal(AssessError):
    """The rules of the work say no; nothing was changed."""

    exit_code = 1


class StorageTrouble(AssessError):
    """The disk did not do what it was asked; what was typed is kept and tried again."""

    exit_code = 3


class InputError(AssessError):
    """Input that cannot be used; `problems` holds everything found, in file order."""

    exit_code = 3

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = sorted(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class FilmTrouble(AssessError):
    """A film cannot be shown, or not any more. What was noted is not touched by it."""

    exit_code = 3


class LibraryTrouble(AssessError):
    """A library that something needs is not installed, or cannot run on this machine; nothing was written."""

    exit_code = 3
