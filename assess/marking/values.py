"""Sheet value, slot value, task-criterion value and module mean, in exact fractions.

Not observed and not applicable are never numbers: a criterion without a number is in no sum. The mean of levels
assumes that they are evenly spaced; that is a convenience, and what is printed says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from assess.marking.case import ModuleCase, SlotCase
from assess.marking.fold import task_of
from assess.marking.results import Sheet, TaskValue
from assess.records.rubric import Rubric

__all__ = ["CountedSheet", "Tally", "counted_sheets", "is_observed", "sheet_value", "tally", "weighted_mean"]


def weighted_mean(levels: Mapping[str, Fraction], rubric: Rubric) -> Fraction:
    """The mean of the levels by criterion weight. ZeroDivisionError without a level."""
    above, below, whole_above, whole_below = Fraction(0), Fraction(0), 0, 0
    for criterion, level in levels.items():
        weight = rubric.weight(criterion)
        # Nearly all are whole, and sums of fractions take most of the time of a table of outcomes.
        if weight.denominator == level.denominator == 1:
            whole_above += weight.numerator * level.numerator
            whole_below += weight.numerator
        else:
            above += weight * level
            below += weight
    return (above + whole_above) / (below + whole_below)


def given_levels(sheet: Sheet) -> dict[str, Fraction]:
    """The scored criteria of a sheet with their levels; nothing for whatever is not a number."""
    return {mark.criterion: mark.value for mark in sheet.marks if mark.value is not None}


def is_observed(sheet: Sheet, rubric: Rubric) -> bool:
    """True when the weight scored is at least the coverage of all applicable weight, and not nothing.

    A criterion without a mark could have been seen and was not: it counts as applicable.
    """
    levels = given_levels(sheet)
    excluded = {mark.criterion for mark in sheet.marks if mark.status == "not-applicable"}
    criteria = task_of(sheet.task, rubric).criteria
    applicable = sum((rubric.weight(k) for k in criteria if k not in excluded), Fraction(0))
    observed = sum((rubric.weight(k) for k in levels), Fraction(0))
    return bool(levels) and observed >= rubric.coverage * applicable


def sheet_value(sheet: Sheet, rubric: Rubric) -> Fraction | None:
    """X: the weighted mean of the scored criteria of one sheet as given; None when the sheet is not observed."""
    return weighted_mean(given_levels(sheet), rubric) if is_observed(sheet, rubric) else None


@dataclass(frozen=True, slots=True)
class CountedSheet:
    """An observed sheet as the rules read it: agreed levels stand in place of its marks.

    slot: the performance; task: the task it belongs to. scored: the criteria scored as given.
    excluded: those marked not applicable. third: it came in by a third look.
    """

    slot: str
    task: str
    assessor: str
    levels: Mapping[str, Fraction]
    value: Fraction
    scored: frozenset[str] = frozenset()
    excluded: frozenset[str] = frozenset()
    viewpoints: Mapping[str, tuple[str, ...]] | None = None
    third: bool = False


def counted_sheets(case: ModuleCase) -> tuple[CountedSheet, ...]:
    """The observed sheets of a module: the markers', and the third sheets once the third look is closed."""
    found = []
    for slot in case.own_slots:
        third = slot.third_sheets if case.third_look == "closed" else ()
        for sheet in (*slot.first_sheets, *third):
            if is_observed(sheet, case.rubric):
                found.append(_counted(sheet, slot, case, third=sheet in third))
    return tuple(found)


def _counted(sheet: Sheet, slot: SlotCase, case: ModuleCase, *, third: bool) -> CountedSheet:
    levels = given_levels(sheet)
    criteria = task_of(slot.task, case.rubric).criteria
    agreed = {k: Fraction(slot.moderated[k]) for k in criteria if k in slot.moderated}
    excluded = {mark.criterion for mark in sheet.marks if mark.status == "not-applicable"}
    as_read = {**levels, **agreed}
    return CountedSheet(
        slot.task,
        case.base(slot.task),
        sheet.assessor,
        as_read,
        weighted_mean(as_read, case.rubric),
        frozenset(levels),
        frozenset(excluded),
        dict(sheet.seen_from),
        third,
    )


@dataclass(frozen=True, slots=True)
class Tally:
    """The figures of a module: the sum of its n sheet values, and every task-criterion value."""

    total: Fraction
    n: int
    values: tuple[TaskValue, ...]

    @property
    def mean(self) -> Fraction:
        """The module mean. ZeroDivisionError without an observed sheet."""
        return self.total / self.n


def tally(sheets: Sequence[CountedSheet], module: str, rubric: Rubric) -> Tally:
    """The module's figures; values in the order of its tasks and their criteria.

    With a third sheet in a slot and the rubric's `median_if_apart`, where two of its sheets are further apart, the
    median stands for the slot and for its criteria in place of the mean. n is the number of sheets all the same.
    """
    slots: dict[str, list[CountedSheet]] = {}
    for sheet in sheets:
        slots.setdefault(sheet.slot, []).append(sheet)
    total = Fraction(0)
    sums: dict[tuple[str, str], list[Fraction]] = {}
    for held in slots.values():
        by_median = _takes_median(held, rubric)
        total += _joined([sheet.value for sheet in held], by_median)
        for criterion in {k for sheet in held for k in sheet.levels}:
            levels = [sheet.levels[criterion] for sheet in held if criterion in sheet.levels]
            pair = sums.setdefault((held[0].task, criterion), [Fraction(0), Fraction(0)])
            pair[0] += _joined(levels, by_median)
            pair[1] += len(levels)
    values = []
    for task in rubric.modules[module].tasks:
        for criterion in rubric.tasks[task].criteria:
            if (task, criterion) in sums:
                of, n = sums[task, criterion]
                values.append(TaskValue(task, criterion, of / n, int(n)))
    return Tally(total, len(sheets), tuple(values))


def _takes_median(held: Sequence[CountedSheet], rubric: Rubric) -> bool:
    limit = rubric.third_look.median_if_apart
    if limit is None or not any(sheet.third for sheet in held):
        return False
    found = [sheet.value for sheet in held]
    return max(found) - min(found) > limit


def _joined(numbers: Iterable[Fraction], by_median: bool) -> Fraction:
    """The sum of the numbers, or as many times their median as there are numbers."""
    if not by_median:
        return sum(numbers, Fraction(0))
    ordered = sorted(numbers)
    return (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2 * len(ordered)
