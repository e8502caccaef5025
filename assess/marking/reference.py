"""The reference of a calibration round: the median of the panel's blind levels on every criterion of every lesson."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from assess.marking.results import Sheet
from assess.marking.values import given_levels, weighted_mean
from assess.records.round import LEAST_PANEL
from assess.records.rubric import Rubric

__all__ = ["Reference", "ReferenceLesson", "ReferenceLevel", "built", "median"]


@dataclass(frozen=True, slots=True)
class ReferenceLevel:
    """The panel on one criterion of one lesson. level: the median, which may lie between two levels.

    levels: marker -> level, those who did not observe it left out.
    """

    criterion: str
    level: Fraction
    levels: Mapping[str, Fraction]

    @property
    def lowest(self) -> Fraction:
        """The lowest of the panel's levels."""
        return min(self.levels.values())

    @property
    def highest(self) -> Fraction:
        """The highest of the panel's levels."""
        return max(self.levels.values())


@dataclass(frozen=True, slots=True)
class ReferenceLesson:
    """The panel on one lesson. value: weighted mean of its levels, None without any. near: near the pass line.

    missing: criteria fewer than four of the panel observed, which have no reference.
    """

    lesson: str
    task: str
    levels: tuple[ReferenceLevel, ...]
    value: Fraction | None
    near: bool
    missing: tuple[str, ...]

    def level(self, criterion: str) -> ReferenceLevel | None:
        """The panel on a criterion, or None where it has no reference."""
        return next((item for item in self.levels if item.criterion == criterion), None)


@dataclass(frozen=True, slots=True)
class Reference:
    """The panel on every lesson of a round, in the order of the round."""

    lessons: tuple[ReferenceLesson, ...]
    panel: tuple[str, ...]

    def lesson(self, lesson: str) -> ReferenceLesson:
        """The panel on a lesson. Raises KeyError for one that is not of the round."""
        return {item.lesson: item for item in self.lessons}[lesson]

    @property
    def near(self) -> int:
        """How many lessons are near the pass line."""
        return sum(item.near for item in self.lessons)


def built(
    sheets: Mapping[tuple[str, str], Sequence[Sheet]], panel: Sequence[str], rubric: Rubric, near_line: Fraction
) -> Reference:
    """The reference from the panel's locked sheets, (task, lesson) -> one sheet of each, in the order of the mapping.

    A criterion needs at least four levels; without them it has no reference.
    """
    return Reference(
        tuple(_lesson(task, lesson, given, rubric, near_line) for (task, lesson), given in sheets.items()), tuple(panel)
    )  # fmt: skip


def _lesson(task: str, lesson: str, sheets: Sequence[Sheet], rubric: Rubric, near_line: Fraction) -> ReferenceLesson:
    by_marker = {sheet.assessor: given_levels(sheet) for sheet in sheets}
    found, missing = [], []
    for criterion in rubric.tasks[task].criteria:
        levels = {who: given[criterion] for who, given in by_marker.items() if criterion in given}
        if len(levels) < LEAST_PANEL:
            missing.append(criterion)
        else:
            found.append(ReferenceLevel(criterion, median(levels.values()), levels))
    value = weighted_mean({item.criterion: item.level for item in found}, rubric) if found else None
    near = value is not None and abs(value - rubric.scale.pass_line) <= near_line
    return ReferenceLesson(lesson, task, tuple(found), value, near, tuple(missing))


def median(levels: Iterable[Fraction]) -> Fraction:
    """The middle of some levels, or halfway between the two in the middle. Raises ValueError without any."""
    ordered = sorted(levels)
    if not ordered:
        raise ValueError("there is no middle of nothing")
    return (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2
