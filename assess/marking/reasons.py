"""Why a module stands as it does, in words."""

from __future__ import annotations

from assess.marking.reach import Decided
from assess.marking.results import BreachState, ShadowSheet, TaskValue
from assess.marking.rounding import fair
from assess.marking.rule import ModuleRule

__all__ = ["breach_reason", "numbers_reasons", "shadow_reason", "unseen_reason"]


def breach_reason(breach: BreachState) -> str:
    """`breach confirmed`, or that it is not decided yet."""
    return "breach confirmed" if breach.state == "confirmed" else "breach reported, not yet decided"


def unseen_reason(tasks: tuple[str, ...]) -> str:
    """`not seen: T5, T6`."""
    return "not seen: " + ", ".join(tasks)


def shadow_reason(shadow: ShadowSheet) -> str:
    """`A2 in T5 counts as a shadow: the licence ended on 2026-01-31`."""
    return f"{shadow.assessor} in {shadow.task} counts as a shadow: {shadow.why}"


def numbers_reasons(decided: Decided, rule: ModuleRule, *, band_read: bool) -> tuple[str, ...]:
    """Why the numbers give this outcome; empty where a pass needs no reason."""
    values, mean = decided.figures.values, decided.figures.mean
    if decided.outcome == "third_look":
        if rule.in_band(mean, decided.figures.n):
            return ("in the band",)
        return (_one_value(values, rule),)
    found = []
    if decided.outcome == "not_passed":
        found = _failures(values, rule)
        if mean < rule.line:
            below = (
                "below the band" if band_read and rule.error is not None and not decided.withheld else "below the line"
            )
            found = found or [f"mean {fair(mean, rule.line)} {below}"]
    if decided.withheld and decided.reach:
        lowest, highest = (fair(end, rule.line) for end in (decided.reach.lowest, decided.reach.highest))
        found.append(f"third look not offered: from {lowest} to {highest} it cannot change the outcome")
    return tuple(found)


def _one_value(values: tuple[TaskValue, ...], rule: ModuleRule) -> str:
    under = rule.under(values)
    if under:
        return f"one value: {under[0].task} {under[0].criterion}"
    return f"one value: {_count(values, rule)}, {rule.allowed} allowed"


def _failures(values: tuple[TaskValue, ...], rule: ModuleRule) -> list[str]:
    found = []
    under = rule.under(values)
    if under and rule.minimum is not None:
        named = ", ".join(f"{v.task} {v.criterion} {fair(v.value, rule.minimum, rule.line)}" for v in under)
        found.append(f"minimum: {named}; {fair(rule.minimum)} needed")
    if rule.excess(values) > 0:
        found.append(f"count: {_count(values, rule)}, {rule.allowed} allowed")
    return found


def _count(values: tuple[TaskValue, ...], rule: ModuleRule) -> str:
    return f"{len(rule.below(values))} of {len(values)} below the line"
