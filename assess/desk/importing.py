"""Scores kept elsewhere become ledgers: all checked before anything is written, each sheet whole or not at all."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from assess.desk.later_ledgers import need_outcomes
from assess.desk.score_table import ScoreTable, TableRow, read_score_table
from assess.records.errors import InputError, Problem, StorageTrouble
from assess.records.facts import Lock, Score, SomeFact
from assess.records.ids import DEVICE_ALPHABET
from assess.records.ledger import Header

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.desk.shelf import SlotKey

__all__ = ["ImportReport", "import_device", "import_scores"]

_STATUS = re.compile(r"(not-observed|absent|ended)(?:-([a-z0-9][a-z0-9-]{0,29}))?")
_STATUSES = (
    "scored, not-observed, not-applicable, absent, ended (the middle one and the last two with -reason if wanted)"
)


@dataclass(frozen=True)
class ImportReport:
    """What an import did.

    source: `sha256:...` of the table. written, unchanged: names of ledgers. statuses: how many rows of each status.
    holes: (sheet, what it lacks); an imported sheet is locked all the same. warnings: worth a look, nothing more.
    """

    source: str
    written: tuple[str, ...]
    unchanged: tuple[str, ...]
    statuses: dict[str, int]
    holes: tuple[tuple[str, str], ...]
    warnings: tuple[Problem, ...]


@dataclass(frozen=True)
class _Sheet:
    """The rows of one sheet as facts, in the order of the task's criteria."""

    key: SlotKey
    line: int
    scores: tuple[Score, ...]


def import_scores(desk: Desk, table_path: Path) -> ImportReport:
    """Write every sheet of a score table into the course as a locked ledger with `origin: imported`.

    The ledgers' device is made of the table's digest, so the same table names the same files: what is
    there already stays as it is. Raises InputError with every problem of the table, before anything is written.
    """
    need_outcomes(desk)
    table = read_score_table(table_path)
    checked = _Check(desk, table)
    sheets = checked.sheets()
    new, unchanged = _new_sheets(desk, table, sheets, checked.problems)
    if checked.problems:
        raise InputError(checked.problems)
    written = _write(desk, table, new)
    return ImportReport(
        source=f"sha256:{table.sha256}",
        written=written,
        unchanged=unchanged,
        statuses=dict(sorted(Counter(score.status for sheet in sheets for score in sheet.scores).items())),
        holes=_holes(desk, table, sheets),
        warnings=tuple(sorted(checked.warnings)),
    )


def import_device(sha256: str) -> str:
    """The device id of everything imported from a table with this digest: `m` and nine signs made of it."""
    number, signs = int(sha256, 16), []
    for _ in range(9):
        number, sign = divmod(number, len(DEVICE_ALPHABET))
        signs.append(DEVICE_ALPHABET[sign])
    return "m" + "".join(signs)


class _Check:
    """Rows against the course; `problems` and `warnings` grow on the way."""

    def __init__(self, desk: Desk, table: ScoreTable) -> None:
        self.desk, self.table = desk, table
        self.problems: list[Problem] = []
        self.warnings = [
            Problem(table.shown, 1, f"the column `{name[:40]}` is not read", "nothing needs to be done", doubt=True)
            for name in table.unknown_columns
        ]

    def sheets(self) -> list[_Sheet]:
        """The table's sheets, in the order of their keys. Rows with a problem are left out and told."""
        rows: dict[SlotKey, dict[str, TableRow]] = {}
        for row in self.table.rows:
            if not (self._ids(row) and self._slot(row)):
                continue
            key = (row["task"], row["candidate"], row["assessor"])
            first = rows.setdefault(key, {}).setdefault(row["criterion"], row)
            if first is not row:
                self._wrong(row, f"this score stands in line {first.line} already", "keep one of the two")
        return [self._sheet(key, rows[key]) for key in sorted(rows)]

    def _sheet(self, key: SlotKey, rows: dict[str, TableRow]) -> _Sheet:
        order = [criterion for criterion in self.desk.task(key[0]).criteria if criterion in rows]
        scores = [self._score(rows[criterion]) for criterion in order]
        line = min(row.line for row in rows.values())
        return _Sheet(key, line, tuple(score for score in scores if score is not None))

    def _wrong(self, row: TableRow, what: str, todo: str) -> bool:
        self.problems.append(Problem(self.table.shown, row.line, what, todo))
        return False

    def _ids(self, row: TableRow) -> bool:
        """True when task, candidate, assessor and criterion are known, and the rubric is the one in force."""
        course = self.desk.course
        known: tuple[tuple[str, Sequence[str]], ...] = (
            ("task", sorted({slot.task for slot in course.allocation})),
            ("candidate", course.candidates),
            ("assessor", course.assessors),
        )
        good = True
        for column, ids in known:
            if row[column] not in ids:
                good = self._wrong(row, f"{column} `{row[column]}` is not known in this course", _one_of(ids))
        if not good or row["task"] not in known[0][1]:
            return False
        criteria = self.desk.task(row["task"]).criteria
        if row["criterion"] not in criteria:
            good = self._wrong(row, f"`{row['criterion']}` is no criterion of {row['task']}", _one_of(criteria))
        return self._rubric(row) and good

    def _rubric(self, row: TableRow) -> bool:
        pin = self.desk.course.pin(row["task"])
        if pin is None or row["rubric"] == pin.rubric:
            return True
        what = f"rubric `{row['rubric']}` is not in force for {row['task']}"
        return self._wrong(row, what, f"it is marked by {pin.rubric}; scores given by another version stay out")

    def _slot(self, row: TableRow) -> bool:
        task, candidate = row["task"], row["candidate"]
        slot = self.desk.course.slot(task, candidate)
        if slot is None:
            return self._wrong(row, f"{candidate} has no slot in {task}", "see the allocation in course.yaml")
        if row["assessor"] not in self.desk.seats.allocated(task, candidate):
            what = f"{row['assessor']} does not mark {candidate} in {task}"
            return self._wrong(row, what, "see the allocation in course.yaml")
        described = self.desk.course.task(task)
        day = slot.day or (described.day if described else 0)
        for column, wanted in (("day", day), ("order", slot.order)):
            if row[column] and row[column] != str(wanted):
                what = f"{column} `{row[column]}` is not the course's ({wanted})"
                self.warnings.append(
                    Problem(self.table.shown, row.line, what, "look whether it is that slot", doubt=True)
                )
        return True

    def _score(self, row: TableRow) -> Score | None:
        status, level = row["status"], row["score"]
        if status == "scored":
            return self._level(row)
        if level:
            self._wrong(row, f"a score stands beside the status `{status}`", "leave the score empty, or write `scored`")
            return None
        if status == "not-applicable":
            return Score(criterion=row["criterion"], status="not-applicable")
        found = _STATUS.fullmatch(status)
        if found is None:
            self._wrong(row, f"there is no status `{status}`", f"use one of {_STATUSES}")
            return None
        why = found[2] if found[1] == "not-observed" else status
        return Score(criterion=row["criterion"], status="not-observed", why=why)

    def _level(self, row: TableRow) -> Score | None:
        scale = self.desk.rubric_for(row["task"]).scale
        allowed = {str(level): level for level in scale.levels}
        if row["score"] not in allowed:
            self._wrong(
                row, f"`{row['score']}` is no level", f"levels are whole numbers from {scale.min} to {scale.max}"
            )
            return None
        return Score(criterion=row["criterion"], level=allowed[row["score"]])


def _one_of(ids: Sequence[str]) -> str:
    return f"use one of {', '.join(ids)}" if ids else "see course.yaml"


def _header(desk: Desk, table: ScoreTable, key: SlotKey) -> Header:
    task, candidate, assessor = key
    pin = desk.course.pin(task)
    return Header(
        kind="sheet",
        course=desk.course.id,
        task=task,
        candidate=candidate,
        assessor=assessor,
        rubric=pin.reference if pin else None,
        device=import_device(table.sha256),
        opened=desk.now(),
    )


def _new_sheets(
    desk: Desk, table: ScoreTable, sheets: list[_Sheet], problems: list[Problem]
) -> tuple[list[_Sheet], tuple[str, ...]]:
    """The sheets that are not there yet, and the names of those this very table brought before."""
    new, unchanged = [], []
    for sheet in sheets:
        state = _standing(desk, table, sheet)
        if state == "same":
            unchanged.append(_header(desk, table, sheet.key).name)
        elif state == "free":
            new.append(sheet)
        else:
            task, candidate, assessor = sheet.key
            what = f"{assessor} has a sheet of {candidate} in {task} already"
            problems.append(
                Problem(table.shown, sheet.line, what, "take these rows out: nothing recorded is overwritten")
            )
    return new, tuple(unchanged)


def _standing(desk: Desk, table: ScoreTable, sheet: _Sheet) -> Literal["free", "same", "taken"]:
    name = _header(desk, table, sheet.key).name
    ledgers = desk.shelf.sheet(sheet.key)
    ours = next((ledger for ledger in ledgers if ledger.name == name and ledger.locked), None)
    if ours is not None:
        lock = ours.entries[-1].fact
        scores = tuple(entry.fact for entry in ours.entries[:-1])
        same = isinstance(lock, Lock) and lock.source == f"sha256:{table.sha256}" and scores == sheet.scores
        return "same" if same else "taken"
    # A damaged file is on no shelf, but it stands there.
    return "taken" if ledgers or (desk.folder.root / "sheets" / f"{name}.yaml").exists() else "free"


def _write(desk: Desk, table: ScoreTable, sheets: list[_Sheet]) -> tuple[str, ...]:
    from assess.store.atomic import create_file
    from assess.store.course_lock import course_lock
    from assess.store.disk import why

    folder = desk.folder.root / "sheets"
    names: list[str] = []
    if not sheets:
        return ()
    with course_lock(desk.folder.root, exclusive=False):
        for sheet in sheets:
            header = _header(desk, table, sheet.key)
            try:
                folder.mkdir(exist_ok=True)
                create_file(folder / f"{header.name}.yaml", _ledger_bytes(desk, header, sheet, table))
            except OSError as trouble:
                what = f"cannot be written ({why(trouble)}); {len(names)} of {len(sheets)} sheets are there, each whole"
                raise StorageTrouble(what, where=str(folder), todo="run the same import again") from trouble
            names.append(header.name)
    return tuple(names)


def _ledger_bytes(desk: Desk, header: Header, sheet: _Sheet, table: ScoreTable) -> bytes:
    """The whole ledger: the scores, then the lock that says where they came from."""
    from assess.store.chain import first_link
    from assess.store.clock import DeviceTime
    from assess.store.lines import encode_head
    from assess.store.live import LiveLedger
    from assess.store.seals import seal_of

    head = encode_head(header.payload())
    lines: list[bytes] = []
    live = LiveLedger(
        header,
        link=first_link(head),
        time=DeviceTime(desk.clock),
        salt=_no_text_no_salt,
        send=lambda _live, _n, line: lines.append(line),
    )
    facts: tuple[SomeFact, ...] = sheet.scores
    for fact in facts:
        live.add(fact)
    heads = {live.name: live.head}
    live.add(Lock(heads=heads, seal=seal_of(heads), origin="imported", source=f"sha256:{table.sha256}"))
    return head + b"".join(lines)


def _no_text_no_salt() -> str:
    raise ValueError("a score table holds no free text")


def _holes(desk: Desk, table: ScoreTable, sheets: list[_Sheet]) -> tuple[tuple[str, str], ...]:
    """What the imported sheets lack, from the table alone: nothing else of the course is looked at."""
    from assess.marking.fold import fold_sheet
    from assess.marking.holes import holes
    from assess.store.ledger_file import parse_ledger

    found = []
    for sheet in sheets:
        header = _header(desk, table, sheet.key)
        raw = _ledger_bytes(desk, header, sheet, table)
        rubric = desk.rubric_for(sheet.key[0])
        folded = fold_sheet([parse_ledger(raw, header.name).ledger], rubric=rubric)
        found += [(".".join(sheet.key), hole.text) for hole in holes(folded, rubric) if hole.blocks]
    return tuple(found)
