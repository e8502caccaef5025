"""The one way in: long records of scores, checked once, held as arrays.

Everything behind this door takes a `Scores` and asks no more questions about its input.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Floats", "Ints", "ScoreError", "Scores", "scores_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class ScoreError(ValueError):
    """Records that are no set of scores; row: number of the first record at fault, counted from 0, or None."""

    def __init__(self, message: str, row: int | None = None) -> None:
        super().__init__(message)
        self.row = row


@dataclass(frozen=True, eq=False)
class Scores:
    """Scores as arrays, one entry per score given; a score that was not given has no entry.

    candidates, tasks, criteria, assessors: their names, sorted. candidate, task, criterion, assessor: for every
    score the index of its name, shape (n_scores,). value: the score. unit: index of its unit (a distinct
    candidate, task and criterion, sorted in that order). unit_candidate: the candidate of each unit, shape
    (n_units,). levels: the scale, rising; declared: False when it is only what was seen. line: the pass line.
    """

    candidates: tuple[str, ...]
    tasks: tuple[str, ...]
    criteria: tuple[str, ...]
    assessors: tuple[str, ...]
    candidate: Ints
    task: Ints
    criterion: Ints
    assessor: Ints
    unit: Ints
    unit_candidate: Ints
    value: Floats
    levels: tuple[float, ...]
    declared: bool
    line: float | None

    @property
    def n_scores(self) -> int:
        """How many scores."""
        return len(self.value)

    @property
    def n_units(self) -> int:
        """How many units with a score."""
        return len(self.unit_candidate)

    @cached_property
    def level(self) -> Ints:
        """Index of each score's level in `levels`, shape (n_scores,)."""
        return np.searchsorted(np.asarray(self.levels), self.value).astype(np.int64)

    @cached_property
    def counts(self) -> Floats:
        """How often each level was given to each unit, shape (n_units, n_levels)."""
        k = len(self.levels)
        flat = np.bincount(self.unit * k + self.level, minlength=self.n_units * k)
        return flat.reshape(self.n_units, k).astype(np.float64)

    @cached_property
    def matrix(self) -> Floats:
        """Units by assessors, NaN where no score was given, shape (n_units, n_assessors)."""
        table = np.full((self.n_units, len(self.assessors)), np.nan)
        table[self.unit, self.assessor] = self.value
        return table


def scores_of(
    candidate: Sequence[str],
    assessor: Sequence[str],
    score: ArrayLike,
    *,
    task: Sequence[str] | None = None,
    criterion: Sequence[str] | None = None,
    levels: Sequence[float] | None = None,
    line: float | None = None,
) -> Scores:
    """Scores from long records: equally long columns, one row per score; a missing score is NaN and is left out.

    levels: the declared scale; without it the values seen are taken. Raises ScoreError for columns of unequal
    length, a score that is no level of the declared scale or is infinite, or two scores of one assessor for one
    unit.
    """
    value = np.asarray(score, dtype=np.float64)
    columns = [candidate, assessor, [""] * len(value) if task is None else task]
    columns.append([""] * len(value) if criterion is None else criterion)
    if value.ndim != 1 or any(len(column) != len(value) for column in columns):
        raise ScoreError("the columns are not equally long")
    if np.isinf(value).any():
        raise ScoreError("a score is infinite", int(np.flatnonzero(np.isinf(value))[0]))
    given = np.flatnonzero(~np.isnan(value))
    value = value[given]
    scale, declared = _scale(levels, value, given)
    named = [_indexed(column, given) for column in columns]
    (candidates, c), (assessors, a), (tasks, t), (criteria, k) = named
    unit_key, unit = np.unique((c * max(1, len(tasks)) + t) * max(1, len(criteria)) + k, return_inverse=True)
    _no_doubles(unit, a, max(1, len(assessors)), given)
    unit_candidate = unit_key // (max(1, len(tasks)) * max(1, len(criteria)))
    return Scores(
        candidates, tasks, criteria, assessors, c, t, k, a, unit.astype(np.int64), unit_candidate.astype(np.int64),
        value, scale, declared, line,
    )  # fmt: skip


def _scale(levels: Sequence[float] | None, value: Floats, given: Ints) -> tuple[tuple[float, ...], bool]:
    if levels is None:
        return tuple(float(level) for level in np.unique(value)), False
    scale = tuple(sorted({float(level) for level in levels}))
    outside = np.flatnonzero(~np.isin(value, scale))
    if len(outside):
        wrong = int(outside[0])
        shown = ", ".join(f"{level:g}" for level in scale)
        raise ScoreError(f"{value[wrong]:g} is no level of the scale {shown}", int(given[wrong]))
    return scale, True


def _indexed(column: Sequence[str], given: Ints) -> tuple[tuple[str, ...], Ints]:
    names, index = np.unique(np.asarray(column, dtype=np.str_)[given], return_inverse=True)
    return tuple(str(name) for name in names), index.astype(np.int64)


def _no_doubles(unit: Ints, assessor: Ints, assessors: int, given: Ints) -> None:
    key = unit * assessors + assessor
    order = np.argsort(key, kind="stable")
    again = np.flatnonzero(np.diff(key[order]) == 0)
    if len(again):
        row = int(given[order[again[0] + 1]])
        raise ScoreError("an assessor scored one candidate, task and criterion twice", row)
