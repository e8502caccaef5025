"""Bringing devices together, and what one person is told of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from assess.desk.opening import open_course
from assess.desk.tellable import Teller, sheet_key, without_sheets
from assess.desk.who import Ask
from assess.records.errors import InputError, Problem

__all__ = ["MergeTold", "merge_courses"]


@dataclass(frozen=True)
class MergeTold:
    """What a merge did, as far as this person may be told.

    taken: records that are new here or have grown, by name. problems: what to look at.
    """

    taken: tuple[str, ...]
    problems: tuple[Problem, ...]


def merge_courses(into: Path, froms: Sequence[Path], given: str | None = None, *, ask: Ask | None = None) -> MergeTold:
    """Bring the records of other copies of a course into the one at `into`.

    Files are named, never counted or quoted; of another's sheet in a slot that is still open nothing is
    told but its name. Raises Refusal for a different course, or one that is open elsewhere, InputError for a
    folder that cannot be read whole; then nothing was changed.
    """
    from assess.store.merge import merge

    try:
        report = merge(into, froms)
    except InputError as error:
        raise without_sheets(error) from error
    desk = open_course(into, given, ask=ask)
    try:
        problems = Teller(desk).tell(_under_course(problem, froms) for problem in report.problems)
    finally:
        desk.close()
    taken = {".".join(key) if (key := sheet_key(name)) else name for name in report.taken}
    return MergeTold(tuple(sorted(taken)), problems)


def _under_course(problem: Problem, froms: Sequence[Path]) -> Problem:
    """The problem with its file inside the course: whose sheet it is decides who may hear of it."""
    for root in froms:
        if problem.file.startswith(f"{root}/") and sheet_key(problem.file) is not None:
            return replace(problem, file=problem.file.removeprefix(f"{root}/"))
    return problem
