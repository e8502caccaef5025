"""Where the markers of one slot differ: due for moderation by a named rule, or only listed."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

from assess.marking.case import SlotCase
from assess.marking.fold import task_of
from assess.marking.results import Sheet, SlotDifference
from assess.marking.values import given_levels, is_observed, weighted_mean
from assess.records.rubric import Rubric

__all__ = ["agreed_range", "disputed_range", "slot_difference"]

Levels = dict[str, Fraction]


def slot_difference(slot: SlotCase, rubric: Rubric) -> SlotDifference | None:
    """How the markers of a slot differ on the marks as given; None where nothing is due or listed.

    Only a slot whose every marker has locked and that has two observed sheets can be due; one whose difference was
    moderated, or that does not count, no more. Third sheets are not compared. `effect` is left at `later`.
    """
    if slot.void or slot.moderation_closed or not slot.locked:
        return None
    observed = [given_levels(sheet) for sheet in slot.first_sheets if is_observed(sheet, rubric)]
    reasons: set[str] = set()
    apart = Fraction(0)
    wide: set[str] = set()
    across: set[str] = set()
    for one, two in combinations(observed, 2):
        apart = max(apart, abs(weighted_mean(one, rubric) - weighted_mean(two, rubric)))
        reasons |= _sheet_reasons(one, two, rubric)
        wide |= {k for k in one.keys() & two.keys() if abs(one[k] - two[k]) >= rubric.two_markers.criterion_apart}
        across |= {k for k in one.keys() & two.keys() if _sides_differ(one[k], two[k], rubric)}
    if wide:
        reasons.add("criterion-apart")
    if not reasons and not across:
        return None
    order = task_of(slot.task, rubric).criteria
    return SlotDifference(
        slot.task,
        tuple(sorted(reasons)),
        apart,
        tuple(k for k in order if k in wide),
        tuple(k for k in order if k in across),
    )


def _sheet_reasons(one: Levels, two: Levels, rubric: Rubric) -> set[str]:
    rule = rubric.two_markers
    a, b = weighted_mean(one, rubric), weighted_mean(two, rubric)
    reasons = {"sheet-apart"} if abs(a - b) > rule.sheet_apart else set()
    if rule.other_side_of_line and _sides_differ(a, b, rubric):
        reasons.add("other-side")
    return reasons


def _sides_differ(a: Fraction, b: Fraction, rubric: Rubric) -> bool:
    """A value on the line counts as above it."""
    line = rubric.scale.pass_line
    return (a >= line) != (b >= line)


def agreed_range(sheets: list[Sheet], rubric: Rubric) -> dict[str, tuple[Fraction, Fraction]]:
    """Criterion -> lowest and highest mark over the observed sheets of a slot.

    An agreed value lies within this range unless new evidence is named.
    """
    marks: dict[str, list[Fraction]] = {}
    for sheet in sheets:
        if is_observed(sheet, rubric):
            for criterion, level in given_levels(sheet).items():
                marks.setdefault(criterion, []).append(level)
    return {k: (min(v), max(v)) for k, v in sorted(marks.items())}


def disputed_range(sheets: list[Sheet], rubric: Rubric) -> dict[str, tuple[Fraction, Fraction]]:
    """The same for the criteria on which the sheets differ."""
    return {k: (low, high) for k, (low, high) in agreed_range(sheets, rubric).items() if low != high}
