"""A marker whose conflict or training was waived: what they say decides only what the others alone say too."""

from __future__ import annotations

from dataclasses import replace

from assess.marking.case import ModuleCase, SlotCase
from assess.marking.effect import by_effect, stronger
from assess.marking.results import ModuleResult, WaivedMarkers

__all__ = ["conflicted", "supported", "without_conflicted"]


def conflicted(case: ModuleCase) -> tuple[str, ...]:
    """The markers of the module, third ones included, who count by a waiver of a conflict or of training; sorted."""
    found = {
        who
        for slot in case.own_slots
        for who in (*slot.markers, *(sheet.assessor for sheet in slot.third_sheets))
        if who in slot.conflicted
    }
    return tuple(sorted(found))


def without_conflicted(case: ModuleCase) -> ModuleCase:
    """The module as the others alone marked it.

    What was agreed in a slot one of them marked is left out too: they took part in it.
    """
    return replace(case, slots=tuple(_without(slot) for slot in case.slots))


def _without(slot: SlotCase) -> SlotCase:
    out = set(slot.conflicted)
    if not out & {*slot.markers, *(sheet.assessor for sheet in slot.third_sheets)}:
        return slot
    return replace(
        slot,
        allocated=tuple(who for who in slot.allocated if who not in out),
        third=tuple(sheet for sheet in slot.third if sheet.assessor not in out),
        conflicted=(),
        moderated={},
        kept_both=False,
        unsettled="",
    )


def supported(result: ModuleResult, alone: ModuleResult, who: tuple[str, ...]) -> ModuleResult:
    """The result of all markers, as far as the result without those in conflict bears it.

    The same both ways: it stands. A pass one way and a third look the other: the third look is offered, so that a
    higher mark never turns a third look into `open`. Anything else is `open`, and what is open stays it. What would
    flip it is not told: it was worked out on all marks together.
    """
    told = replace(result, flips_with=None, waived=WaivedMarkers(who, alone.outcome))
    names = ", ".join(who)
    by = f"{names}, who mark{'s' if len(who) == 1 else ''} here by a waiver"
    if result.outcome == "open":
        return told
    if alone.outcome == result.outcome:
        return replace(told, differences=by_effect(stronger(result.differences, alone.differences)))
    if {alone.outcome, result.outcome} == {"passed", "third_look"}:
        if result.outcome == "third_look":
            return told
        reasons = tuple(f"{reason} without the sheets of {by}" for reason in alone.reasons)
        return replace(told, outcome="third_look", reach=alone.reach, reasons=reasons)
    verb = "marks" if len(who) == 1 else "mark"
    said = (
        f"{names} {verb} here by a waiver: with these sheets it would be {result.outcome}, without them {alone.outcome}"
    )
    return replace(
        told,
        outcome="open",
        reach=None,
        reasons=(said,),
        open_needs=alone.open_needs,
        differences=by_effect(tuple(replace(item, effect="later") for item in result.differences)),
    )
