"""The scores of a course, straight from its sheets: what every marker of a slot has locked, and nothing else.

Of a slot in which a sheet is missing, open or damaged nothing is used, not even to count it. Two sheets are
asked for at least: a locked sheet that stands alone may be the first of two. `course.yaml` is not read, so
an allocated marker who has begun no sheet while two others have locked theirs is not waited for, and a shadow's
locked sheet counts like any other.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from assess.records.errors import InputError, Problem

if TYPE_CHECKING:
    from assess.marking.results import Mark
    from assess.records.ledger import Ledger
    from assess.records.rubric import Rubric
    from assess.store.quick_scores import QuickMark, QuickSheet
    from assess.store.sheet_files import SheetFiles

__all__ = ["CourseScores", "RubricShelf", "SheetScores", "course_scores"]


@dataclass(frozen=True, slots=True)
class SheetScores:
    """The scored criteria of one locked sheet with their values; a half level is the median of two runs."""

    task: str
    candidate: str
    assessor: str
    values: dict[str, int | Fraction]


@dataclass(frozen=True)
class CourseScores:
    """What a course gives to a comparison.

    sheets: by task, candidate and assessor. rubrics: `sha256:...` of those they were marked by.
    not_used: locked sheets of slots that are not wholly locked; unknown: sheets whose rubric is not there or does not
    know their task; aside: other versions kept beside the sheets used.
    """

    root: Path
    course: str
    sheets: tuple[SheetScores, ...]
    rubrics: dict[str, Rubric]
    not_used: int
    unknown: int
    aside: int


@dataclass
class RubricShelf:
    """Rubrics by their digest, each read once for all courses."""

    _known: dict[str, Rubric] = field(default_factory=dict)

    def find(self, reference: str, root: Path) -> Rubric | None:
        """The rubric `sha256:...`, known already or from the course at `root`; None when it is not there.

        Raises InputError when its file cannot be used.
        """
        if reference not in self._known:
            rubric = _rubric(root, reference.removeprefix("sha256:"))
            if rubric is None:
                return None
            self._known[reference] = rubric
        return self._known[reference]


def _rubric(root: Path, digest: str) -> Rubric | None:
    import hashlib

    from assess.records.rubric import Rubric
    from assess.store.reading import whole_file
    from assess.store.validate import as_model
    from assess.store.yaml_file import LARGEST, yaml_doc

    for path in sorted((root / "rubrics").glob(f"*@{digest[:8]}.yaml")):
        raw = whole_file(path, str(path), LARGEST)
        if hashlib.sha256(raw).hexdigest() == digest:
            return as_model(yaml_doc(raw, path, shown=str(path), what="rubric"), Rubric)
    return None


@dataclass(slots=True)
class _Record:
    """One sheet as found: read quickly, or the ledgers for the full reading; locked only if whole."""

    files: SheetFiles
    course: str = ""
    rubric: str = ""
    locked: bool = False
    quick: QuickSheet | None = None
    ledgers: tuple[Ledger, ...] = ()


def course_scores(root: Path, shelf: RubricShelf) -> CourseScores:
    """The scores of the course folder at `root`. Raises InputError when it is none, or a rubric cannot be used."""
    from assess.store.quick_course import quick_sheets
    from assess.store.sheet_files import sheet_files

    if not ((root / "course.yaml").is_file() or (root / "sheets").is_dir()):
        raise InputError([Problem(str(root), 0, "is a folder without course.yaml", "name a course folder")])
    found = sheet_files(root)
    # A sheet of several devices is joined by the full reading.
    quick = quick_sheets(root, [files.names[0] for files in found if len(files.names) == 1])
    records = [_read(root, files, quick) for files in found]
    course = _course_of(records)
    for record in records:
        record.locked = record.locked and record.course == course
    used = [record for held in _slots(records) if _complete(held) for record in held]
    locked = sum(record.locked for record in records)
    folds = _Folds(root, shelf)
    sheets = tuple(sheet for record in used if (sheet := folds.sheet(record)) is not None)
    aside = sum(record.files.aside for record in used)
    return CourseScores(root, course, sheets, folds.rubrics, locked - len(used), len(used) - len(sheets), aside)


def _course_of(records: Sequence[_Record]) -> str:
    """The course most locked sheets say they are of; of equals the first by name, without any the empty word."""
    told = Counter(record.course for record in records if record.locked)
    return min(told, key=lambda course: (-told[course], course), default="")


def _slots(records: Sequence[_Record]) -> Iterator[list[_Record]]:
    slots: dict[tuple[str, str], list[_Record]] = {}
    for record in records:
        slots.setdefault((record.files.task, record.files.candidate), []).append(record)
    yield from slots.values()


def _complete(slot: Sequence[_Record]) -> bool:
    return len(slot) > 1 and all(record.locked for record in slot)


def _read(root: Path, files: SheetFiles, quick: Mapping[str, QuickSheet | None]) -> _Record:
    sheet = quick.get(files.names[0]) if files.names else None
    if sheet is None:
        return _read_in_full(root, files)
    return _Record(files, sheet.course, sheet.rubric, sheet.locked, sheet)


def _read_in_full(root: Path, files: SheetFiles) -> _Record:
    """The ledgers of a sheet that are whole and what their names say; locked when nothing the lock seals is missing."""
    from assess.marking.union import united
    from assess.store.ledger_file import read_ledger

    ledgers = []
    for name in files.names:
        try:
            file = read_ledger(root / "sheets" / name)
        except InputError:
            continue  # nothing can be told of a sheet that is not known to be locked; `assess check` tells what may be
        header = file.ledger.header
        if not file.bad and file.ledger.entries and header.kind == "sheet" and header.name == file.name:
            ledgers.append(file.ledger)
    if not ledgers:
        return _Record(files)
    first = min(ledgers, key=lambda ledger: (ledger.header.opened, ledger.name)).header
    union = united(ledgers)
    one_course = len({ledger.header.course for ledger in ledgers}) == 1
    locked = union.lock is not None and not union.missing and one_course
    return _Record(files, first.course, first.rubric or "", locked, None, tuple(ledgers))


@dataclass
class _Folds:
    """Sheets folded as marking folds them; what a task asks is looked up once for each rubric."""

    root: Path
    shelf: RubricShelf
    rubrics: dict[str, Rubric] = field(default_factory=dict)
    _asked: dict[tuple[str, str], tuple[frozenset[str], range, str] | None] = field(default_factory=dict)

    def sheet(self, record: _Record) -> SheetScores | None:
        """The values of a locked sheet; None without its rubric, or when that does not know the task."""
        files = record.files
        key = (record.rubric, files.task)
        if key not in self._asked:
            self._asked[key] = self._task(*key)
        asked = self._asked[key]
        if asked is None:
            return None
        if record.quick is not None:
            values = quick_values(record.quick.marks, *asked)
        else:
            from assess.marking.fold import fold_sheet

            folded = fold_sheet(record.ledgers, rubric=self.rubrics[record.rubric])
            values = {mark.criterion: value for mark in folded.marks if (value := mark.value) is not None}
        return SheetScores(files.task, files.candidate, files.assessor, values)

    def _task(self, reference: str, task: str) -> tuple[frozenset[str], range, str] | None:
        from assess.marking.fold import runs_fold, task_of

        rubric = self.shelf.find(reference, self.root)
        if rubric is None:
            return None
        try:
            described = task_of(task, rubric)
        except KeyError:
            return None
        self.rubrics[reference] = rubric
        return frozenset(described.criteria), rubric.scale.levels, runs_fold(task, rubric)


def quick_values(
    marks: Sequence[QuickMark], criteria: frozenset[str], levels: range, how: str
) -> dict[str, int | Fraction]:
    """The values of one device's marks: what `fold_sheet` gives for the same entries, of scored criteria alone."""
    standing: dict[str, dict[int, QuickMark]] = {}
    for mark in marks:
        if mark.criterion in criteria and (mark.status != "scored" or mark.level in levels):
            standing.setdefault(mark.criterion, {})[mark.run] = mark
    values: dict[str, int | Fraction] = {}
    for criterion, runs in standing.items():
        value = _value(runs, how)
        if value is not None:
            values[criterion] = value
    return values


def _value(runs: dict[int, QuickMark], how: str) -> int | Fraction | None:
    if len(runs) == 1 and 0 not in runs:
        return next(iter(runs.values())).level
    from assess.marking.runs import fold_runs

    folded = fold_runs([_as_mark(mark) for mark in runs.values()], how)
    return None if folded is None else folded.value


def _as_mark(mark: QuickMark) -> Mark:
    from typing import cast

    from assess.marking.results import EntryRef, Mark, Status

    status = cast("Status", mark.status)
    return Mark(mark.criterion, status, mark.level, None, mark.run, EntryRef("", 0), "")
