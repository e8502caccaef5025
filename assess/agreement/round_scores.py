"""The scores of a calibration round as arrays: the reference, the panel's levels, and one assessor's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assess.agreement.scores import Floats, Ints, ScoreError

__all__ = ["Levels", "MarkerScores", "RoundScores"]

Levels = Sequence[Sequence[float | None]]
"""Rows of levels, None where there is none; rows may be of different lengths."""


def _table(levels: Levels, width: int) -> Floats:
    """The levels as an array, NaN where there is none."""
    table = np.full((len(levels), width), np.nan)
    for row, given in enumerate(levels):
        table[row, : len(given)] = [np.nan if level is None else level for level in given]
    return table


@dataclass(frozen=True, eq=False)
class RoundScores:
    """What everybody is compared with. Rows are lessons, columns the criteria of their task in its order.

    reference: (lessons, criteria), NaN where there is none. panel: (markers, lessons, criteria), NaN for not observed.
    weights: of the criteria in a sheet value, whole numbers, 0 where a lesson has no such criterion. line: the pass
    line. low, high: the ends of the scale. Raises ScoreError for shapes that do not go together.
    """

    reference: Floats
    panel: Floats
    weights: Ints
    line: float
    low: int
    high: int

    @classmethod
    def of(
        cls, reference: Levels, panel: Sequence[Levels], weights: Sequence[Sequence[int]], line: float, scale: range
    ) -> RoundScores:
        """From rows by lesson; a lesson with fewer criteria has shorter rows."""
        width = max((len(row) for row in reference), default=0)
        sizes = np.nan_to_num(_table(weights, width)).astype(np.int64)
        markers = [_table(levels, width) for levels in panel]
        stacked = np.stack(markers) if markers else np.zeros((0, len(reference), width))
        return cls(_table(reference, width), stacked, sizes, line, scale[0], scale[-1])

    def __post_init__(self) -> None:
        if self.panel.ndim != 3 or self.panel.shape[1:] != self.reference.shape:
            raise ScoreError("the panel's levels and the reference are not of the same lessons and criteria")
        if self.weights.shape != self.reference.shape or (self.weights < 0).any():
            raise ScoreError("the weights are not of the same lessons and criteria, or below 0")

    @property
    def n_lessons(self) -> int:
        """How many lessons."""
        return len(self.reference)

    def panel_means(self) -> Floats:
        """The panel's mean level on every criterion of every lesson; NaN where there is no reference."""
        there = ~np.isnan(self.reference)
        total, n = np.nansum(self.panel, axis=0), (~np.isnan(self.panel)).sum(axis=0)
        return np.where(there, total / np.maximum(n, 1), np.nan)


@dataclass(frozen=True, eq=False)
class MarkerScores:
    """One assessor's sheets in the order in which they were marked: which lesson, and the level on each criterion."""

    lesson: Ints
    levels: Floats

    @classmethod
    def of(cls, lessons: Sequence[int], levels: Levels, scores: RoundScores) -> MarkerScores:
        """From rows by sheet, criteria as the lessons of the round have them."""
        return cls(np.asarray(lessons, dtype=np.int64), _table(levels, scores.reference.shape[1]))

    def __post_init__(self) -> None:
        if self.levels.ndim != 2 or len(self.lesson) != len(self.levels):
            raise ScoreError("the levels of an assessor are not one row for each lesson marked")

    def distances(self, scores: RoundScores) -> Floats:
        """Level minus reference, (sheets, criteria); NaN where either is missing."""
        return np.asarray(self.levels - scores.reference[self.lesson])

    def pairs(self) -> list[tuple[int, int]]:
        """First and second marking of the same lesson, as rows of `levels`."""
        seen: dict[int, int] = {}
        found = []
        for row, lesson in enumerate(self.lesson.tolist()):
            if lesson in seen:
                found.append((seen[lesson], row))
            seen.setdefault(lesson, row)
        return found
