"""Score tables for statistics: CSV read into columns, a million rows of it, every wrong row told with its line.

The columns are `candidate`, `assessor`, `score` and, if there, `task`, `criterion`, `order`; an empty score, like a
missing row, is a score that was not given. Source of the form: RFC 4180.
"""

from __future__ import annotations

import csv
import io
import math
import re
from array import array
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

from assess.records.errors import InputError, Problem

__all__ = ["LARGEST_TABLE", "ScoreColumns", "read_columns"]

LARGEST_TABLE = 128 * 1024 * 1024
_NEEDED = ("candidate", "assessor", "score")
_OPTIONAL = ("task", "criterion")
_KNOWN = frozenset({*_NEEDED, *_OPTIONAL, "order"})
_LONGEST_NAME = 64
_MOST_TOLD = 50
_AT_ONCE = 2_000
_NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d{1,3})?", re.ASCII)
# What our own tables put a `'` before, because a spreadsheet would take it for a formula.
_GUARDED = re.compile(r"'[=+\-@\t\r＝＋－＠]")


Meant = TypeVar("Meant", str, float)


@dataclass(frozen=True)
class ScoreColumns:
    """A table as columns of equal length, a row for each score or missing score (NaN).

    task, criterion: None when the table has no such column, or nothing in it. lines: the line each row begins on.
    unknown: columns nobody reads. `order` is known and, saying nothing about agreement, not kept.
    """

    shown: str
    candidate: list[str]
    assessor: list[str]
    score: array[float]
    task: list[str] | None
    criterion: list[str] | None
    lines: array[int]
    unknown: tuple[str, ...]


def read_columns(path: Path, largest: int = LARGEST_TABLE) -> ScoreColumns:
    """The score table at `path`. Raises InputError with every line that is no row of it, the first fifty."""
    from assess.store.reading import whole_file

    shown = str(path)
    text = _text(whole_file(path, shown, largest), shown)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    reading = _Reading(shown)
    try:
        reading.header(next(reader, []))
        reading.rows(reader)
    except csv.Error:
        what = "a quote is not closed, or stands in the middle of a cell"
        reading.wrong(reading.begins, what, 'write a cell that holds a quote as "...""..."')
    if not reading.problems and not reading.lines:
        reading.wrong(1, "the table has no row below its first line", "one row for each score")
    if reading.problems:
        raise InputError(reading.problems[:_MOST_TOLD])
    return reading.columns()


def _text(raw: bytes, shown: str) -> str:
    """The bytes as text, without a byte order mark. Raises InputError."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError([Problem(shown, 1, "the file is written in UTF-16", "save it as CSV in UTF-8")])
    raw = raw.removeprefix(b"\xef\xbb\xbf")
    nul = raw.find(b"\0")
    if nul >= 0:
        line = raw.count(b"\n", 0, nul) + 1
        raise InputError([Problem(shown, line, "this line holds NUL bytes", "save it as CSV in UTF-8")])
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as trouble:
        line = raw.count(b"\n", 0, trouble.start) + 1
        what = f"the byte {raw[trouble.start]:#04x} is not UTF-8, another encoding is mixed in"
        raise InputError([Problem(shown, line, what, "save it as CSV in UTF-8")]) from None


@dataclass
class _Reading:
    """Rows taken in, many at once: what is regular goes by whole columns, the rest row by row."""

    shown: str
    problems: list[Problem] = field(default_factory=list)
    lines: array[int] = field(default_factory=lambda: array("L"))
    begins: int = 1
    _names: list[str] = field(default_factory=list)
    _cells: dict[str, list[str]] = field(default_factory=dict)
    _known: dict[str, dict[str, str]] = field(default_factory=dict)
    _numbers: dict[str, float] = field(default_factory=lambda: {"": math.nan})
    _scores: array[float] = field(default_factory=lambda: array("d"))

    def wrong(self, line: int, what: str, todo: str) -> None:
        """One more problem."""
        self.problems.append(Problem(self.shown, line, what, todo))

    def header(self, cells: Sequence[str]) -> None:
        """Take the first line in. Raises InputError when it does not name the columns."""
        names = self._names = [cell.strip() for cell in cells]
        if len(names) == 1 and any(sign in names[0] for sign in ";\t|"):
            self.wrong(1, "the columns are not separated by commas", "save it as CSV with commas")
            raise InputError(self.problems)
        for name in _NEEDED:
            if name not in names:
                self.wrong(1, f"the column `{name}` is missing", "the first line names the columns")
        for name in sorted(_KNOWN):
            if names.count(name) > 1:
                self.wrong(1, f"the column `{name}` stands twice", "keep one of them")
        if self.problems:
            raise InputError(self.problems)
        self._cells = {name: [] for name in (*_NEEDED[:2], *_OPTIONAL) if name in names}
        self._known = {name: {} for name in self._cells}

    def rows(self, reader: Any) -> None:
        """Take all rows in. Raises csv.Error, with `begins` at the line it is about."""
        self.begins = reader.line_num + 1
        while len(self.problems) < _MOST_TOLD:
            rows: list[list[str]] = []
            ends: list[int] = []
            try:
                for cells in islice(reader, _AT_ONCE):
                    rows.append(cells)
                    ends.append(reader.line_num)
            finally:
                begins = [self.begins, *(end + 1 for end in ends)]
                self.begins = begins.pop()
            if not rows:
                return
            self._take(rows, begins)

    def _take(self, rows: list[list[str]], begins: list[int]) -> None:
        place = self._names.index("candidate")
        width = len(self._names)
        if {*map(len, rows)} != {width} or not all(map(str.strip, {cells[place] for cells in rows})):
            kept = [(cells, line) for cells, line in zip(rows, begins, strict=True) if self._is_row(cells, line)]
            rows, begins = [cells for cells, _ in kept], [line for _, line in kept]
        if not rows:
            return
        columns = dict(zip(self._names, zip(*rows, strict=True), strict=True))
        for name, cells in self._cells.items():
            known = self._known[name]
            self._learn(name, columns[name], begins, known, _optional_name if name in _OPTIONAL else _name, "")
            cells += map(known.__getitem__, columns[name])
        self._learn("score", columns["score"], begins, self._numbers, _number, math.nan)
        self._scores.extend(map(self._numbers.__getitem__, columns["score"]))
        self.lines.extend(begins)

    def _is_row(self, cells: list[str], line: int) -> bool:
        """True for a row; a line without a cell in it is none, one with too few or too many is told."""
        if not any(cell.strip() for cell in cells):
            return False
        if len(cells) != len(self._names):
            what = f"this line has {len(cells)} cells, the first line {len(self._names)}"
            self.wrong(line, what, "look for a missing comma, or a comma too many")
            return False
        return True

    def _learn(
        self,
        name: str,
        cells: Sequence[str],
        lines: list[int],
        known: dict[str, Meant],
        read: Callable[[str], Meant],
        nothing: Meant,
    ) -> None:
        """Find out once what each text of a column means; those that mean nothing are told with every line."""
        bad: dict[str, _Nothing] = {}
        for text in {*cells} - known.keys():
            try:
                known[text] = read(text)
            except _Nothing as trouble:
                bad[text] = trouble
        if bad:
            for text, line in zip(cells, lines, strict=True):
                if text in bad:
                    self.wrong(line, bad[text].what.format(name=name), bad[text].todo)
            known.update(dict.fromkeys(bad, nothing))

    def columns(self) -> ScoreColumns:
        """All that was taken in. Raises InputError when a task or a criterion is missing in some rows only."""
        for name in _OPTIONAL:
            cells = self._cells.get(name)
            if cells is not None and any(cells):
                for line, cell in zip(self.lines, cells, strict=True):
                    if not cell:
                        self.wrong(line, f"the {name} is missing here and given elsewhere", "give it in every row")
            else:
                self._cells.pop(name, None)
        if self.problems:
            raise InputError(self.problems[:_MOST_TOLD])
        return ScoreColumns(
            self.shown,
            self._cells["candidate"],
            self._cells["assessor"],
            self._scores,
            self._cells.get("task"),
            self._cells.get("criterion"),
            self.lines,
            tuple(name for name in self._names if name not in _KNOWN),
        )


class _Nothing(ValueError):
    """A cell that means nothing; `{name}` in the words stands for the column."""

    def __init__(self, what: str, todo: str) -> None:
        super().__init__(what)
        self.what, self.todo = what, todo


def _optional_name(text: str) -> str:
    name = text.strip()
    if _GUARDED.match(name):
        name = name[1:]
    if len(name) > _LONGEST_NAME:
        raise _Nothing(f"the {{name}} is longer than {_LONGEST_NAME} characters", "names here are ids")
    return name


def _name(text: str) -> str:
    name = _optional_name(text)
    if not name:
        raise _Nothing("the {name} is missing", "write its id")
    return name


def _number(text: str) -> float:
    shown = text.strip()
    if _GUARDED.match(shown):
        shown = shown[1:]
    number = float(shown) if _NUMBER.fullmatch(shown) else math.nan
    if math.isfinite(number) or not shown:
        return number
    if re.fullmatch(r"\d+,\d+", shown):
        raise _Nothing(f"the {{name}} `{shown}` is written with a comma", "write the decimal point as a point")
    quoted = shown.replace("{", "{{").replace("}", "}}")[:40]
    raise _Nothing(f"the {{name}} `{quoted}` is no number", "leave the cell empty where no score was given")
