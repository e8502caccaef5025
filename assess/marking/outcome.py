"""The result of one module of one candidate: what the written rules give on the values as they stand.

It proposes; a named person decides and signs.
"""

from __future__ import annotations

from dataclasses import replace

from assess.marking.band import squared_half_width
from assess.marking.breach import closing
from assess.marking.case import ModuleCase
from assess.marking.conflict import conflicted, supported, without_conflicted
from assess.marking.effect import by_effect, with_effects
from assess.marking.flips import flips_with
from assess.marking.minimum_evidence import unseen_tasks, wanting
from assess.marking.reach import decide
from assess.marking.reasons import breach_reason, numbers_reasons, shadow_reason, unseen_reason
from assess.marking.results import BreachState, ModuleResult, ShadowSheet, SheetFigure, SlotDifference
from assess.marking.rounding import root_text
from assess.marking.rule import ModuleRule, module_rule
from assess.marking.two_markers import slot_difference
from assess.marking.values import CountedSheet, counted_sheets, sheet_value, tally

__all__ = ["module_result"]


def module_result(case: ModuleCase) -> ModuleResult:
    """The outcome of a module with everything that is told beside it; the order of the inputs does not matter.

    The first that applies: a confirmed breach; an undecided one, an unlocked sheet, a task not seen, too little
    evidence; then the numbers. Before every allocated sheet is locked nothing in the result depends on a mark.
    What rests on a marker with a waived conflict stands only where the others alone give the same.
    """
    result = _result(case)
    if result.not_locked or not conflicted(case):
        return result
    return supported(result, _result(without_conflicted(case)), conflicted(case))


def _result(case: ModuleCase) -> ModuleResult:
    breach = closing(case.breaches, case.module)
    not_locked = tuple(slot.task for slot in case.own_slots if not slot.locked)
    result = _blank(case, breach)
    if not_locked:
        return _before_locks(result, breach, not_locked)
    sheets = counted_sheets(case)
    rule = module_rule(case.rubric, case.module)
    differences = _differences(case)
    result = _with_figures(replace(result, differences=differences), sheets, case, rule)
    if breach is not None and breach.state == "confirmed":
        idle = tuple(replace(item, effect="nothing") for item in differences)
        return replace(result, outcome="not_passed", reasons=(breach_reason(breach),), differences=by_effect(idle))
    openings = _openings(case, sheets, breach, result.shadows)
    if openings:
        needs = unseen_tasks(sheets, case.module, case.rubric)
        return replace(result, reasons=openings, open_needs=needs, differences=by_effect(differences))
    return _by_numbers(result, sheets, case, rule)


def _blank(case: ModuleCase, breach: BreachState | None) -> ModuleResult:
    rule = module_rule(case.rubric, case.module)
    return ModuleResult(
        case.candidate,
        case.module,
        "open",
        rule.line,
        rubric=case.rubric_ref,
        breach=breach,
        minimum=rule.minimum,
        allowed_below=rule.allowed,
        third_look=case.third_look,
        shadows=tuple(
            ShadowSheet(slot.task, who, slot.shadows[who]) for slot in case.own_slots for who in sorted(slot.shadows)
        ),
    )


def _before_locks(result: ModuleResult, breach: BreachState | None, slots: tuple[str, ...]) -> ModuleResult:
    """A confirmed breach closes the module even now: it is a finding of persons and rests on no mark."""
    reasons = ("not locked",) if breach is None else (breach_reason(breach), "not locked")
    confirmed = breach is not None and breach.state == "confirmed"
    return replace(result, outcome="not_passed" if confirmed else "open", reasons=reasons, not_locked=slots)


def _differences(case: ModuleCase) -> tuple[SlotDifference, ...]:
    found = (slot_difference(slot, case.rubric) for slot in case.own_slots)
    return tuple(item for item in found if item is not None)


def _openings(
    case: ModuleCase,
    sheets: tuple[CountedSheet, ...],
    breach: BreachState | None,
    shadows: tuple[ShadowSheet, ...],
) -> tuple[str, ...]:
    """Every reason that holds the module open, other than locks."""
    reasons = [breach_reason(breach)] if breach is not None else []
    unseen = unseen_tasks(sheets, case.module, case.rubric)
    if unseen:
        reasons.append(unseen_reason(unseen))
        told = (shadow for shadow in shadows if case.base(shadow.task) in unseen)
        reasons.extend(shadow_reason(shadow) for shadow in told)
    else:
        reasons.extend(wanting(sheets, case.module, case.rubric))
    reasons.extend(slot.unsettled for slot in case.own_slots if slot.unsettled)
    refs = {sheet.rubric for slot in case.own_slots for sheet in (*slot.first_sheets, *slot.third_sheets)}
    if len(refs | ({case.rubric_ref} if case.rubric_ref and refs else set())) > 1:
        reasons.append("sheets of more than one rubric version")
    return tuple(reasons)


def _with_figures(
    result: ModuleResult, sheets: tuple[CountedSheet, ...], case: ModuleCase, rule: ModuleRule
) -> ModuleResult:
    told = tuple(
        SheetFigure(slot.task, sheet.assessor, sheet_value(sheet, case.rubric), third=sheet in third)
        for slot in case.own_slots
        for third in [slot.third_sheets if case.third_look == "closed" else ()]
        for sheet in (*slot.first_sheets, *third)
    )
    if not sheets:
        return replace(result, sheets=told)
    figures = tally(sheets, case.module, case.rubric)
    square = squared_half_width(rule.error, figures.n)
    return replace(
        result,
        sheets=told,
        mean=figures.mean,
        n_sheets=figures.n,
        band_squared=square,
        band=root_text(square) if square is not None else None,
        values=figures.values,
    )


def _by_numbers(
    result: ModuleResult, sheets: tuple[CountedSheet, ...], case: ModuleCase, rule: ModuleRule
) -> ModuleResult:
    decided = decide(sheets, case, rule)
    differences = result.differences
    if differences:
        differences = by_effect(with_effects(differences, sheets, case, rule, decided.outcome))
    return replace(
        result,
        outcome=decided.outcome,
        reasons=numbers_reasons(decided, rule, band_read=case.third_look != "closed"),
        differences=differences,
        reach=decided.reach if decided.outcome == "third_look" else None,
        flips_with=flips_with(sheets, case, rule, decided),
    )
