"""The smallest change of marks that would flip the outcome of a module, as a sentence; for the numbers only.

A step is one mark (one marker's, or the agreed one) by one level; what was seen and what was not stays as it is.
Every sentence that names a change was verified by deciding the module again with it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor

from assess.marking.case import ModuleCase
from assess.marking.reach import Decided, decide, seen_slots, third_at
from assess.marking.results import Outcome
from assess.marking.rule import ModuleRule
from assess.marking.steps import Goal, Plan, Unit, fewest_to_leave, fewest_to_reach
from assess.marking.values import CountedSheet, Tally, tally, weighted_mean

__all__ = ["flips_with"]

WOULD: dict[Outcome, str] = {
    "passed": "would pass",
    "third_look": "would go to a third look",
    "not_passed": "would not pass",
}
AGREED = ""
SHOWN = 4
Search = Callable[[Goal, Tally, Sequence[Unit], ModuleRule], Plan | None]


@dataclass(frozen=True, slots=True)
class _Question:
    """The module as decided, and what is needed to ask it again."""

    sheets: tuple[CountedSheet, ...]
    case: ModuleCase
    rule: ModuleRule
    now: Decided


@dataclass(frozen=True, slots=True)
class _Way:
    """Plans that may lead to another outcome; fewer steps than `at_least` cannot."""

    at_least: int
    plans: tuple[Plan, ...]


def flips_with(sheets: Sequence[CountedSheet], case: ModuleCase, rule: ModuleRule, now: Decided) -> str:
    """The smallest change that flips the outcome `now`; where it is not known, up to how many levels do not."""
    asked = _Question(tuple(sheets), case, rule, now)
    if not _steps_add_up(asked):
        return _single(asked) or "no change of one level flips it"
    ways = _ways(asked)
    if not ways:
        return "no change of marks flips it"
    at_least = max(1, min(way.at_least for way in ways))
    told = [sentence for way in ways if (sentence := _told(asked, way, at_least))]
    if told:
        return "; ".join(told)
    if at_least == 1:
        return _single(asked) or "no change of one level flips it"
    return f"no change of up to {_levels(at_least - 1)} flips it"


def _told(asked: _Question, way: _Way, at_least: int) -> str | None:
    """The first plan of a way that takes the least number of steps and does flip the outcome, as a sentence."""
    for plan in way.plans:
        if plan.steps == at_least:
            outcome = _outcome_after(asked, plan)
            if outcome != asked.now.outcome:
                return _sentence(plan, outcome)
    return None


def _single(asked: _Question) -> str | None:
    """Tries every single step."""
    for up in (True, False):
        for unit in _units(asked, asked.now.figures):
            plan = Plan(((unit, 1),), 1, up)
            if (unit.up if up else unit.down) and (after := _outcome_after(asked, plan)) != asked.now.outcome:
                return _sentence(plan, after)
    return None


def _outcome_after(asked: _Question, plan: Plan) -> Outcome:
    moves = {(unit.slot, unit.criterion, unit.assessor): count for unit, count in plan.moves}
    sign = 1 if plan.up else -1
    changed = []
    for sheet in asked.sheets:
        levels = dict(sheet.levels)
        for criterion in sheet.levels:
            for whose in (sheet.assessor, AGREED):
                levels[criterion] += sign * moves.get((sheet.slot, criterion, whose), 0)
        changed.append(replace(sheet, levels=levels, value=weighted_mean(levels, asked.case.rubric)))
    return decide(changed, asked.case, asked.rule).outcome


def _steps_add_up(asked: _Question) -> bool:
    """True when every step moves its value by the same share: not with medians, nor with agreed marks beside others."""
    if asked.case.rubric.third_look.median_if_apart is not None:
        return False
    shares: dict[tuple[str, str], set[Fraction]] = {}
    for unit in _units(asked, asked.now.figures):
        shares.setdefault(unit.value, set()).add(unit.share)
    return all(len(found) == 1 for found in shares.values())


def _units(asked: _Question, figures: Tally, imagined: Sequence[CountedSheet] = ()) -> list[Unit]:
    """Every mark that can move, in the module's order; an agreed mark moves in all sheets of its slot at once.

    imagined: third sheets nobody has given yet; of their marks only the agreed ones can move.
    """
    rubric, scale = asked.case.rubric, asked.case.rubric.scale
    agreed = {slot.task: set(slot.moderated) for slot in asked.case.own_slots}
    counts = {(item.task, item.criterion): item.n for item in figures.values}
    units: dict[tuple[str, str, str], Unit] = {}
    for sheet in (*asked.sheets, *imagined):
        weight = sum(rubric.weight(k) for k in sheet.levels)
        for criterion, level in sheet.levels.items():
            together = criterion in agreed[sheet.slot]
            if sheet in imagined and not together:
                continue
            key = (sheet.slot, criterion, AGREED if together else sheet.assessor)
            value = (sheet.task, criterion)
            gain, share = rubric.weight(criterion) / weight, Fraction(1, counts[value])
            held = units.get(key)
            if held:
                units[key] = replace(held, gain=held.gain + gain, share=held.share + share)
                continue
            room = (floor(scale.max - level), floor(level - scale.min))
            units[key] = Unit(*key, value, gain, share, max(0, room[0]), max(0, room[1]))
    order = {(item.task, item.criterion): place for place, item in enumerate(figures.values)}
    return sorted(units.values(), key=lambda unit: (order[unit.value], unit.slot, unit.assessor))


def _goals(asked: _Question) -> tuple[Goal, Goal, Goal]:
    """A clear pass while the band is read; at least a third look; a pass once the band is not read."""
    rule = asked.rule
    looser = None if rule.allowed is None else rule.allowed + 1
    return (
        Goal(lambda mean, n: mean >= rule.line and not rule.in_band(mean, n), rule.allowed, 0),
        Goal(lambda mean, n: mean >= rule.line or rule.in_band(mean, n), looser, 1),
        Goal(lambda mean, _n: mean >= rule.line, rule.allowed, 0),
    )


def _ways(asked: _Question) -> list[_Way]:
    """How the outcome can be left upwards and downwards.

    While a third look is possible the outcome is not `not_passed` when the figures give at least a third look and
    third sheets at the top level would pass; it is `passed` when they give a clear pass, or would pass even with
    third sheets at the lowest level. After it the figures alone decide.
    """
    clear, looser, plain = _goals(asked)
    scale, outcome = asked.case.rubric.scale, asked.now.outcome
    up, down = fewest_to_reach, fewest_to_leave
    if asked.case.third_look == "closed":
        way = _all_of(_search(asked, down if outcome == "passed" else up, plain))
        return [way] if way else []
    if outcome == "passed":
        ways = [_all_of(_search(asked, down, clear), _search(asked, down, plain, scale.min))]
    elif outcome == "not_passed":
        ways = [_all_of(_search(asked, up, looser), _search(asked, up, plain, scale.max))]
    else:
        ways = [
            _any_of(_search(asked, up, clear), _search(asked, up, plain, scale.min)),
            _any_of(_search(asked, down, looser), _search(asked, down, plain, scale.max)),
        ]
    return [way for way in ways if way is not None]


def _search(asked: _Question, fewest: Search, goal: Goal, third: int | None = None) -> Plan | None:
    """Plans on the figures as they stand, or as they would be with third sheets all at the level `third`."""
    figures = asked.now.figures
    imagined: tuple[CountedSheet, ...] = ()
    if third is not None:
        slots = seen_slots(asked.sheets, asked.case)
        joined = third_at(asked.sheets, slots, third, asked.case)
        figures = tally(joined, asked.case.module, asked.case.rubric)
        imagined = tuple(joined[len(asked.sheets) :])
    return fewest(goal, figures, _units(asked, figures, imagined), asked.rule)


def _all_of(*plans: Plan | None) -> _Way | None:
    found = tuple(plan for plan in plans if plan is not None)
    return _Way(max(plan.at_least for plan in found), found) if len(found) == len(plans) else None


def _any_of(*plans: Plan | None) -> _Way | None:
    found = tuple(plan for plan in plans if plan is not None)
    return _Way(min(plan.at_least for plan in found), found) if found else None


def _sentence(plan: Plan, outcome: Outcome) -> str:
    """`would pass if T5 drill-choice were one level higher in one sheet`; of several steps, how many and where."""
    change = "higher" if plan.up else "lower"
    if plan.steps == 1:
        unit = plan.moves[0][0]
        mark = f"{unit.slot} {unit.criterion}"
        if unit.assessor == AGREED:
            return f"{WOULD[outcome]} if the agreed mark on {mark} were one level {change}"
        return f"{WOULD[outcome]} if {mark} were one level {change} in one sheet"
    by_criterion: dict[str, int] = {}
    by_slot: dict[str, int] = {}
    for unit, count in plan.moves:
        name = f"{unit.slot} {unit.criterion}"
        by_criterion[name] = by_criterion.get(name, 0) + count
        by_slot[unit.slot] = by_slot.get(unit.slot, 0) + count
    shown = by_criterion if len(by_criterion) <= SHOWN else by_slot
    where = ", ".join(f"{name} {count}" for name, count in shown.items())
    return f"{WOULD[outcome]} {_levels(plan.steps)} {change} ({where}), not with less"


def _levels(count: int) -> str:
    return "one level" if count == 1 else f"{count} levels"
