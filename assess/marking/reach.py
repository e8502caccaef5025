"""How far a third look can move a module, told before one is ordered; and what the numbers decide with it in mind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from assess.marking.case import ModuleCase, third_slots
from assess.marking.results import Outcome, Reach
from assess.marking.rule import ModuleRule, rule_outcome
from assess.marking.values import CountedSheet, Tally, tally, weighted_mean

__all__ = ["Decided", "decide", "reach", "seen_slots", "third_at"]


@dataclass(frozen=True, slots=True)
class Decided:
    """What the numbers give. `reach`: of the third look on offer, or of the one withheld because it cannot cross."""

    outcome: Outcome
    figures: Tally
    reach: Reach | None = None

    @property
    def withheld(self) -> bool:
        """True when the band asked for a third look and none is offered."""
        return self.reach is not None and self.outcome != "third_look"


def decide(sheets: Sequence[CountedSheet], case: ModuleCase, rule: ModuleRule) -> Decided:
    """The outcome of a module whose every task is observed.

    After a closed third look the band is not read. A look that cannot lead to both outcomes is not offered; the
    rule without the band then decides.
    """
    figures = tally(sheets, case.module, case.rubric)
    if case.third_look == "closed":
        return Decided(rule_outcome(figures, rule, read_band=False), figures)
    outcome = rule_outcome(figures, rule, read_band=True)
    if outcome != "third_look":
        return Decided(outcome, figures)
    told = reach(sheets, case, rule)
    if not told.crosses:
        outcome = rule_outcome(figures, rule, read_band=False)
    return Decided(outcome, figures, told)


def reach(sheets: Sequence[CountedSheet], case: ModuleCase, rule: ModuleRule) -> Reach:
    """Lowest and highest module mean a third look over what can be seen may lead to, and the outcomes there.

    Third sheets all at the lowest and all at the highest level. Under `median_if_apart` the extremes may lie
    elsewhere: sheets that just stay within that distance are tried too.
    """
    slots = seen_slots(sheets, case)
    found = [tally(joined, case.module, case.rubric) for joined in _extremes(sheets, slots, case)]
    outcomes = {rule_outcome(figures, rule, read_band=False) for figures in found}
    means = [figures.mean for figures in found]
    return Reach(slots, min(means), max(means), tuple(sorted(outcomes)))


def seen_slots(sheets: Sequence[CountedSheet], case: ModuleCase) -> tuple[str, ...]:
    """The observed slots a third person can see, in the module's order."""
    return third_slots(case, tuple(dict.fromkeys(sheet.slot for sheet in sheets)))


def third_at(sheets: Sequence[CountedSheet], slots: Sequence[str], level: int, case: ModuleCase) -> list[CountedSheet]:
    """The sheets with one third sheet more in each of these slots, all its marks at one level."""
    levels = {slot: dict.fromkeys(_applicable(sheets, slot, case), Fraction(level)) for slot in slots}
    return _with_third(sheets, levels, case)


def _with_third(
    sheets: Sequence[CountedSheet], levels: Mapping[str, Mapping[str, Fraction]], case: ModuleCase
) -> list[CountedSheet]:
    task = {sheet.slot: sheet.task for sheet in sheets}
    return [
        *sheets,
        *(
            CountedSheet(slot, task[slot], "", held, weighted_mean(held, case.rubric), third=True)
            for slot, held in levels.items()
            if held
        ),
    ]


def _extremes(sheets: Sequence[CountedSheet], slots: Sequence[str], case: ModuleCase) -> list[list[CountedSheet]]:
    scale = case.rubric.scale
    limit = case.rubric.third_look.median_if_apart
    if limit is None:
        return [third_at(sheets, slots, level, case) for level in (scale.min, scale.max)]
    found = [third_at(sheets, slots, level, case) for level in scale.levels]
    for up in (False, True):
        levels = {slot: _just_within(sheets, slot, case, limit, up=up) for slot in slots}
        found.append(_with_third(sheets, levels, case))
    return found


def _applicable(sheets: Sequence[CountedSheet], slot: str, case: ModuleCase) -> tuple[str, ...]:
    """The criteria a third person could mark: what no marker of the slot could is not there to see."""
    held = [sheet for sheet in sheets if sheet.slot == slot]
    criteria = case.rubric.tasks[held[0].task].criteria
    return tuple(k for k in criteria if not all(k in sheet.excluded for sheet in held))


def _just_within(
    sheets: Sequence[CountedSheet], slot: str, case: ModuleCase, limit: Fraction, *, up: bool
) -> dict[str, Fraction]:
    """A third sheet as low (or high) as it goes without being more than `limit` from the far one of the slot."""
    found = [sheet.value for sheet in sheets if sheet.slot == slot]
    scale, criteria = case.rubric.scale, _applicable(sheets, slot, case)
    start, step = (scale.max, -1) if up else (scale.min, 1)
    edge = min(found) + limit if up else max(found) - limit
    levels = {criterion: Fraction(start) for criterion in criteria}
    for _ in scale.levels:
        for criterion in criteria:
            value = weighted_mean(levels, case.rubric)
            if (value <= edge) if up else (value >= edge):
                return levels
            levels[criterion] += step
    return levels
