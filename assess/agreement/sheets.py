"""The one way in for what is asked of whole sheets: records checked once, held as arrays, in an order of their own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from assess.agreement.scores import Floats, Ints, ScoreError

__all__ = ["MarkedSheet", "Sheets", "sheets_of"]


@dataclass(frozen=True, slots=True)
class MarkedSheet:
    """One observed sheet. marks: the levels given; value: their mean by weight; passes: on or above the pass line.

    place: in the task's running order, 1 first; day: of the course. None where nobody told them.
    look: 2 where the assessor marked the same performance again without seeing the first sheet.
    """

    candidate: str
    task: str
    assessor: str
    marks: tuple[float, ...]
    value: float
    passes: bool | None = None
    place: int | None = None
    day: int | None = None
    look: int = 1


@dataclass(frozen=True, eq=False)
class Sheets:
    """Sheets as arrays, one entry each, in order of candidate, task, assessor and look, whatever order they came in.

    candidate, assessor, task: index into the sorted names; slot: index of the distinct candidate and task.
    place, day, passes (1 or 0), spread, flat (1 or 0): NaN where they do not exist. counts: marks by level of
    `levels`, shape (n, n_levels).
    """

    candidates: tuple[str, ...]
    tasks: tuple[str, ...]
    assessors: tuple[str, ...]
    candidate: Ints
    task: Ints
    assessor: Ints
    slot: Ints
    look: Ints
    place: Floats
    day: Floats
    value: Floats
    passes: Floats
    spread: Floats
    flat: Floats
    counts: Floats
    levels: tuple[float, ...]

    @property
    def n(self) -> int:
        """How many sheets."""
        return len(self.value)

    @cached_property
    def first(self) -> Ints:
        """Positions of the first sheets: those that are compared with partners."""
        return np.flatnonzero(self.look == 1)


def sheets_of(records: Sequence[MarkedSheet], levels: Sequence[float]) -> Sheets:
    """The sheets, checked. levels: the declared scale.

    Raises ScoreError, with the number of the record, for a sheet without a mark, a mark that is no level of the scale,
    a value that is no number, a place or a day before the first, and for two sheets of one assessor, performance and
    look.
    """
    scale = tuple(sorted({float(level) for level in levels}))
    for row, record in enumerate(records):
        _check(record, scale, row)
    order = sorted(range(len(records)), key=lambda row: _key(records[row]))
    for before, row in pairwise(order):
        if _key(records[before]) == _key(records[row]):
            raise ScoreError("an assessor has two sheets of one performance", row)
    kept = [records[row] for row in order]
    candidates, candidate = _indexed([record.candidate for record in kept])
    tasks, task = _indexed([record.task for record in kept])
    assessors, assessor = _indexed([record.assessor for record in kept])
    slot = np.unique(candidate * max(1, len(tasks)) + task, return_inverse=True)[1]
    spread = [float(np.std(r.marks, ddof=1)) if len(r.marks) > 1 else np.nan for r in kept]
    flat = [float(len(set(r.marks)) == 1) if len(r.marks) > 1 else np.nan for r in kept]
    counts = np.zeros((len(kept), len(scale)))
    for number, record in enumerate(kept):
        np.add.at(counts[number], np.searchsorted(scale, record.marks), 1.0)
    return Sheets(
        candidates, tasks, assessors, candidate, task, assessor, slot.astype(np.int64).reshape(-1),
        np.asarray([record.look for record in kept], dtype=np.int64),
        _floats([record.place for record in kept]), _floats([record.day for record in kept]),
        _floats([record.value for record in kept]), _floats([record.passes for record in kept]),
        _floats(spread), _floats(flat), counts, scale,
    )  # fmt: skip


def _key(record: MarkedSheet) -> tuple[str, str, str, int]:
    return record.candidate, record.task, record.assessor, record.look


def _check(record: MarkedSheet, scale: tuple[float, ...], row: int) -> None:
    if not record.marks:
        raise ScoreError("a sheet has no mark", row)
    wrong = next((mark for mark in record.marks if mark not in scale), None)
    if wrong is not None:
        shown = ", ".join(f"{level:g}" for level in scale)
        raise ScoreError(f"{wrong:g} is no level of the scale {shown}", row)
    if not np.isfinite(record.value):
        raise ScoreError("the value of a sheet is no number", row)
    if any(number is not None and number < 1 for number in (record.place, record.day)) or record.look not in (1, 2):
        raise ScoreError("places and days are counted from 1, looks are 1 or 2", row)


def _indexed(names: Sequence[str]) -> tuple[tuple[str, ...], Ints]:
    known = tuple(sorted(set(names)))
    at = {name: number for number, name in enumerate(known)}
    return known, np.asarray([at[name] for name in names], dtype=np.int64)


def _floats(values: Sequence[float | None]) -> Floats:
    return np.asarray([np.nan if value is None else float(value) for value in values], dtype=np.float64)
