"""What moderating a difference can change in the outcome of its module, and the order in which slots are taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from assess.marking.case import ModuleCase
from assess.marking.reach import decide
from assess.marking.results import Effect, Outcome, SlotDifference
from assess.marking.rule import ModuleRule
from assess.marking.two_markers import disputed_range
from assess.marking.values import CountedSheet, weighted_mean

__all__ = ["by_effect", "stronger", "with_effects"]

ORDER: tuple[Effect, ...] = ("alone", "together", "later", "nothing")
Ranges = dict[str, dict[str, tuple[Fraction, Fraction]]]


def by_effect(found: Sequence[SlotDifference]) -> tuple[SlotDifference, ...]:
    """Due slots before listed ones, each group by what it can change; otherwise in the given order."""
    return tuple(sorted(found, key=lambda item: (not item.due, ORDER.index(item.effect))))


def stronger(found: Sequence[SlotDifference], other: Sequence[SlotDifference]) -> tuple[SlotDifference, ...]:
    """The differences with the greater of two effects, where another result compares the same slots."""
    effects = {item.task: item.effect for item in other}
    return tuple(
        replace(item, effect=min(item.effect, effects.get(item.task, item.effect), key=ORDER.index)) for item in found
    )


def with_effects(
    found: Sequence[SlotDifference],
    sheets: Sequence[CountedSheet],
    case: ModuleCase,
    rule: ModuleRule,
    outcome: Outcome,
) -> tuple[SlotDifference, ...]:
    """The differences with their effect, where the numbers decide the module.

    A higher level never gives a lower outcome. So when neither all disputed marks at their lowest nor all at their
    highest move the outcome, no agreed values within the range do: every slot then has the effect `nothing`.
    """
    ranges = _ranges(found, case)
    if _outcomes(tuple(ranges), ranges, sheets, case, rule) == {outcome}:
        return tuple(replace(item, effect="nothing") for item in found)
    told = []
    for item in found:
        alone = _outcomes((item.task,), ranges, sheets, case, rule) != {outcome}
        told.append(replace(item, effect="alone" if alone else "together"))
    return tuple(told)


def _ranges(found: Sequence[SlotDifference], case: ModuleCase) -> Ranges:
    slots = {slot.task: slot for slot in case.own_slots}
    return {item.task: disputed_range(list(slots[item.task].first_sheets), case.rubric) for item in found}


def _outcomes(
    tasks: Sequence[str], ranges: Ranges, sheets: Sequence[CountedSheet], case: ModuleCase, rule: ModuleRule
) -> set[Outcome]:
    return {decide([_agreed(s, tasks, ranges, case, end) for s in sheets], case, rule).outcome for end in (0, 1)}


def _agreed(sheet: CountedSheet, tasks: Sequence[str], ranges: Ranges, case: ModuleCase, end: int) -> CountedSheet:
    if sheet.slot not in tasks:
        return sheet
    levels = {**sheet.levels, **{k: pair[end] for k, pair in ranges[sheet.slot].items()}}
    return replace(sheet, levels=levels, value=weighted_mean(levels, case.rubric))
