"""How far a third look can move a module, told before one is ordered; and what the numbers decide with it in mind."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from assess.marking.case import ModuleCase, third_slots
from assess.marking.results import Outcome, Reach
from assess.marking.rule import ModuleRule, rule_outcome
from assess.marking.values import CountedSheet, Tally, tally, weighted_mean

__all__ = ["Decided", "decide", "reach", "seen_slots", "third_at"]

Levels = dict[str, Fraction]


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

    Third sheets all at the lowest and all at the highest level; an agreed mark stands in them too. Under
    `median_if_apart` the ends of the mean may lie elsewhere and are found slot by slot, over third sheets with a whole
    level on every criterion; the outcomes are then those of the ends and of third sheets all at one level.
    """
    slots = seen_slots(sheets, case)
    found = [tally(joined, case.module, case.rubric) for joined in _tried(sheets, slots, case)]
    outcomes = {rule_outcome(figures, rule, read_band=False) for figures in found}
    means = [figures.mean for figures in found]
    return Reach(slots, min(means), max(means), tuple(sorted(outcomes)))


def seen_slots(sheets: Sequence[CountedSheet], case: ModuleCase) -> tuple[str, ...]:
    """The observed slots a third person can see, in the module's order."""
    return third_slots(case, tuple(dict.fromkeys(sheet.slot for sheet in sheets)))


def third_at(sheets: Sequence[CountedSheet], slots: Sequence[str], level: int, case: ModuleCase) -> list[CountedSheet]:
    """The sheets with one third sheet more in each of these slots, every mark that is not agreed at one level."""
    levels: dict[str, Levels] = {}
    for slot in slots:
        free, agreed = _third_marks(sheets, slot, case)
        levels[slot] = {**dict.fromkeys(free, Fraction(level)), **agreed}
    return _with_third(sheets, levels, case)


def _with_third(sheets: Sequence[CountedSheet], levels: Mapping[str, Levels], case: ModuleCase) -> list[CountedSheet]:
    task = {sheet.slot: sheet.task for sheet in sheets}
    return [
        *sheets,
        *(
            CountedSheet(slot, task[slot], "", held, weighted_mean(held, case.rubric), third=True)
            for slot, held in levels.items()
        ),
    ]


def _third_marks(sheets: Sequence[CountedSheet], slot: str, case: ModuleCase) -> tuple[tuple[str, ...], Levels]:
    """The criteria a third person could mark freely, and the agreed marks that stand in a third sheet too.

    What no marker of the slot could mark is not there to see.
    """
    held = [sheet for sheet in sheets if sheet.slot == slot]
    moderated = next(item.moderated for item in case.own_slots if item.task == slot)
    agreed = {k: level for k, level in held[0].levels.items() if k in moderated}
    criteria = case.rubric.tasks[held[0].task].criteria
    free = tuple(k for k in criteria if k not in agreed and not all(k in sheet.excluded for sheet in held))
    return free, agreed


def _tried(sheets: Sequence[CountedSheet], slots: Sequence[str], case: ModuleCase) -> list[list[CountedSheet]]:
    scale = case.rubric.scale
    if case.rubric.third_look.median_if_apart is None:
        return [third_at(sheets, slots, level, case) for level in (scale.min, scale.max)]
    ends = [{slot: _end(sheets, slot, case, best) for slot in slots} for best in (min, max)]
    return [
        *(third_at(sheets, slots, level, case) for level in scale.levels),
        *(_with_third(sheets, levels, case) for levels in ends),
    ]


def _end(sheets: Sequence[CountedSheet], slot: str, case: ModuleCase, best: Callable[..., Levels]) -> Levels:
    """The third sheet of one slot that makes its part of the sum lowest (`min`) or highest (`max`)."""
    own = [sheet for sheet in sheets if sheet.slot == slot]

    def part(levels: Levels) -> Fraction:
        return tally(_with_third(own, {slot: levels}, case), case.module, case.rubric).total

    return best(_distinct_sheets(sheets, slot, case), key=part)


def _distinct_sheets(sheets: Sequence[CountedSheet], slot: str, case: ModuleCase) -> list[Levels]:
    """One third sheet for every sheet value there can be."""
    free, agreed = _third_marks(sheets, slot, case)
    by_sum: dict[Fraction, Levels] = {Fraction(0): dict(agreed)}
    for criterion in free:
        weight = case.rubric.weight(criterion)
        by_sum = {
            total + weight * level: {**levels, criterion: Fraction(level)}
            for total, levels in by_sum.items()
            for level in case.rubric.scale.levels
        }
    return list(by_sum.values())
