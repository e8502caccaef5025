"""The copies of rubrics in a course held against every digest that names one."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from assess.records.errors import InputError, Problem
from assess.records.facts import RubricAct
from assess.store.course_files import RUBRIC_FOLDER, is_version, rubric_file_name
from assess.store.reading import whole_file
from assess.store.yaml_file import LARGEST

if TYPE_CHECKING:
    from assess.store.course_folder import CourseFolder
    from assess.store.ledger_file import LedgerFile

__all__ = ["copies_checked"]

_BACK = "put the copy back, byte for byte: another device of the course has it"


def copies_checked(folder: CourseFolder, ledgers: Sequence[LedgerFile]) -> tuple[int, tuple[Problem, ...]]:
    """How many copies of rubrics and catalogues are as their digest says, and what is wrong with the others.

    Asked for are the versions the course pins and those these ledgers rest on: a pin that is exchanged together with
    its file is told by the sheets that were marked on the version before.
    """
    stands: set[str] = set()
    problems = []
    for name in sorted(path.name for path in (folder.root / RUBRIC_FOLDER).glob("*")):
        if not is_version(RUBRIC_FOLDER, name) or "~" in name:
            continue
        shown = f"{RUBRIC_FOLDER}/{name}"
        try:
            digest = hashlib.sha256(whole_file(folder.root / shown, shown, LARGEST)).hexdigest()
        except InputError as trouble:
            problems += trouble.problems
            continue
        if rubric_file_name(name.split("@")[0], digest) == name:
            stands.add(digest)
        else:
            problems.append(Problem(shown, 0, "was altered: its bytes are not those its name promises", _BACK))
    told = {problem.file for problem in problems}
    for digest, name, why in _asked_for(folder, ledgers):
        shown = f"{RUBRIC_FOLDER}/{name}"
        if digest not in stands and shown not in told:
            told.add(shown)
            problems.append(Problem(shown, 0, f"is missing, or another stands there: {why}", _BACK))
    return len(stands), tuple(problems)


def _asked_for(folder: CourseFolder, ledgers: Sequence[LedgerFile]) -> Iterator[tuple[str, str, str]]:
    """Digest, file name and why, of every version something rests on; of pins first, which know the rubric's id."""
    ids = {pin.sha256: pin.rubric for pin in folder.course.rubrics}
    for pin in folder.course.rubrics:
        yield pin.sha256, rubric_file_name(pin.rubric, pin.sha256), "the course pins it"
    for file in ledgers:
        shown = f"{file.path.parent.name}/{file.path.name}"
        for reference in sorted(_references(file)):
            digest = reference.removeprefix("sha256:")
            yield digest, rubric_file_name(ids.get(digest, "*"), digest), f"{shown} rests on it"


def _references(file: LedgerFile) -> set[str]:
    """The versions a ledger names in its header or an entry, but for those that were refused."""
    named = {file.ledger.header.rubric}
    for entry in file.ledger.entries:
        if not (isinstance(entry.fact, RubricAct) and entry.fact.result == "refused"):
            named.add(getattr(entry.fact, "rubric", None))
            named.update(getattr(entry.fact, "versions", {}).values())
    return {name for name in named if name}
