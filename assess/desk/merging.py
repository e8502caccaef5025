"""Bringing devices together, and what one person is told of it at the end of the day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.opening import open_course
from assess.desk.tellable import Teller, sheet_key, without_sheets
from assess.desk.who import Ask
from assess.records.errors import InputError, Problem
from assess.records.naming import everybody_named

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.store.merge import MergeReport

__all__ = ["MergeTold", "Missing", "merge_courses"]


@dataclass(frozen=True)
class Missing:
    """Slots of a task whose day has come and that an assessor has not locked, as far as this copy knows."""

    assessor: str
    task: str
    candidates: tuple[str, ...]


@dataclass(frozen=True)
class MergeTold:
    """What a merge did, as far as this person may be told.

    needs: what somebody has to do now, a sentence each; empty when all is there. taken: records that are new here or
    have grown, by name. came: whose they are -> the records, day by day or task by task. missing: what is still to
    come. problems: every single thing to look at.
    """

    taken: tuple[str, ...]
    problems: tuple[Problem, ...]
    needs: tuple[str, ...] = ()
    came: dict[str, tuple[str, ...]] = field(default_factory=dict)
    missing: tuple[Missing, ...] = ()

    @property
    def first_line(self) -> str:
        """The one line somebody tired reads."""
        if not self.needs:
            return "All there. Nothing to do."
        one = len(self.needs) == 1
        return f"{len(self.needs)} thing{'' if one else 's'} need{'s' if one else ''} you:"


def merge_courses(into: Path, froms: Sequence[Path], given: str | None = None, *, ask: Ask | None = None) -> MergeTold:
    """Bring the records of other copies of a course, folders or bundles, into the one at `into`.

    What no merge takes (`quality.yaml`, `groups.yaml`) is named to a director where a folder has another one.
    Files are named, never counted or quoted; of another's sheet in a slot that is still open nothing is
    told but its name. Raises Refusal for a different course, or one that is open elsewhere, InputError for a
    folder or archive that cannot be read whole; then nothing was changed.
    """
    from assess.store.copies import remember_copies
    from assess.store.merge import merge

    try:
        report = merge(into, froms)
    except InputError as error:
        raise without_sheets(error) from error
    desk = open_course(into, given, ask=ask)
    try:
        remember_copies(desk.folder.course.id, dict(report.twice))
        problems = Teller(desk).tell(_under_course(problem, froms) for problem in report.problems)
        missing = tuple(_missing(desk))
        needs = (*_needs(desk, into, report, problems, missing), *_not_merged(desk, into, froms))
    finally:
        desk.close()
    told = [name if desk.role == "director" else _kind_alone(name, desk.who) for name in report.taken]
    taken = {".".join(key) if (key := sheet_key(name)) else name for name in told}
    return MergeTold(tuple(sorted(taken)), problems, needs, _came(told), missing)


def _kind_alone(name: str, who: str | None) -> str:
    """A record of the meeting, of a decision or of a case without whom it is about.

    Who is to mark a third look is not told on whom it was ordered, and who is in the band is for a director.
    """
    folder, _, file = name.rpartition("/")
    author = file.split("~")[0].removesuffix(".yaml").split(".")[-2:-1]
    if folder not in ("decisions", "moderation", "cases") or author == [who]:
        return name
    return "/".join([folder, ".".join(["", *author, ""])])


def _under_course(problem: Problem, froms: Sequence[Path]) -> Problem:
    """The problem with its file inside the course: whose sheet it is decides who may hear of it."""
    for root in froms:
        if problem.file.startswith(f"{root}/") and sheet_key(problem.file) is not None:
            return replace(problem, file=problem.file.removeprefix(f"{root}/"))
    return problem


def _came(taken: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Whose records came in, told by the names of the files; what belongs to nobody stands under "the course"."""
    came: dict[str, dict[str, None]] = {}
    for name in taken:
        folder, _, file = name.rpartition("/")
        parts = file.split("~")[0].removesuffix(".yaml").split(".")
        if folder in ("", "rubrics", "measures") or len(parts) < 3:
            came.setdefault("the course", {})[name] = None
        else:
            what = " ".join(parts[:-2]) if folder == "sheets" else f"{folder} {' '.join(parts[:-2])}".strip()
            came.setdefault(parts[-2], {})[what] = None
    return {who: tuple(what) for who, what in sorted(came.items())}


def _missing(desk: Desk) -> Iterator[Missing]:
    """Told by the allocation and the locks alone, so that nothing is learnt of a sheet that is not locked."""
    today = desk.today()
    open_: dict[tuple[str, str], list[str]] = {}
    for slot in desk.course.allocation:
        day = desk.course.held_on(slot.task, slot.candidate)
        if day is None or day.isoformat() > today:
            continue
        for who in desk.markers(slot.task, slot.candidate):
            if not desk.locked(slot.task, slot.candidate, who):
                open_.setdefault((who, slot.task), []).append(slot.candidate)
    yield from (Missing(who, task, tuple(candidates)) for (who, task), candidates in sorted(open_.items()))


def _needs(
    desk: Desk, into: Path, report: MergeReport, problems: Sequence[Problem], missing: Sequence[Missing]
) -> Iterator[str]:
    for who in sorted({each.assessor for each in missing}):
        slots = "; ".join(f"{each.task} {' '.join(each.candidates)}" for each in missing if each.assessor == who)
        if who == desk.who:
            yield f"you have not locked here: {slots}"
        else:
            yield f"{who} has not locked, or was not brought yet: {slots}. Merge {who}'s device or bundle once more"
    aside = [problem for problem in problems if "kept aside" in problem.what]
    for record in sorted({problem.file.split("~")[0] for problem in aside}):
        yield f"{record} was written differently in two places: `assess merge {into} --settle {record}` shows both"
    for what in sorted({f"{p.file}: {p.what}" for p in problems if p not in aside}):
        yield f"something was not taken: {what}"
    for person in sorted(_back_again(desk)):
        yield f"a copy brought back something of {person}, who was erased: `assess person erase {into} {person}`"
    wrong = desk.wrong_count()
    if wrong:
        yield f"{wrong} thing{'s are' if wrong > 1 else ' is'} wrong in the course: `assess check {into}` says where"


def _not_merged(desk: Desk, into: Path, froms: Sequence[Path]) -> Iterator[str]:
    """The director's own files beside a course, which are in no merge, where a copy has another one."""
    from assess.store.quality_files import GROUPS, QUALITY

    if desk.role != "director":
        return
    for name in (QUALITY, GROUPS):
        for other in (root / name for root in froms if root.is_dir()):
            here = into / name
            if other.is_file() and (not here.is_file() or other.read_bytes() != here.read_bytes()):
                word = "is not the one here" if here.is_file() else "is not here"
                yield f"{other} {word}, and no merge takes it: compare, and copy what counts by hand"


def _back_again(desk: Desk) -> set[str]:
    """Who was erased and stands in the course again, as far as this person may be told."""
    from assess.store.erasure_checks import erased_people, erasure_problems

    gone = erased_people(desk.folder.ledgers)
    named = {each.id for each in everybody_named(desk.people)} & gone
    told = Teller(desk).tell(erasure_problems(desk.folder.ledgers))
    return named | {person for person in gone if any(f"`{person}`" in problem.what for problem in told)}
