"""Outcomes per candidate and module: what the rules give, as far as one person may see it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from assess.desk.breaches import breach_states
from assess.desk.later_ledgers import need_outcomes
from assess.desk.same_person import same_as
from assess.records.ids import base_task

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.desk.session import Desk
    from assess.desk.third_looks import Look
    from assess.desk.waiving import WaiverTold
    from assess.marking.case import ModuleCase, SlotCase
    from assess.marking.results import ModuleResult
    from assess.records.moderation_facts import Moderation

__all__ = [
    "HiddenModule",
    "OutcomeBoard",
    "module_case",
    "module_result_of",
    "module_words",
    "outcome_board",
    "results_json",
    "slot_case",
]


@dataclass(frozen=True)
class HiddenModule:
    """A module whose outcome this person may not see yet, and why in words that tell nothing of it."""

    why: str


@dataclass(frozen=True)
class OutcomeBoard:
    """Candidates in the order of the course, their modules in the order of the rubric; the waivers that count."""

    course: str
    modules: tuple[str, ...]
    candidates: tuple[tuple[str, dict[str, ModuleResult | HiddenModule]], ...]
    waivers: tuple[WaiverTold, ...] = ()


def course_modules(desk: CourseView) -> tuple[str, ...]:
    """The modules of the course in the order of its areas' rubrics."""
    names: dict[str, None] = {}
    for task in desk.course.tasks:
        for module in desk.rubric_for(task.id).modules_of(task.id):
            names.setdefault(module)
    return tuple(names)


def module_case(desk: CourseView, candidate: str, module: str) -> ModuleCase:
    """All that the rules need of one candidate's module."""
    from assess.desk.third_looks import look_of
    from assess.marking.case import ModuleCase

    need_outcomes(desk)
    known = {task.id for task in desk.course.tasks}
    rubric_task = next(t.id for t in desk.course.tasks if module in desk.rubric_for(t.id).modules_of(t.id))
    rubric = desk.rubric_for(rubric_task)
    tasks = rubric.modules[module].tasks
    slots = tuple(
        slot_case(desk, slot.task, candidate, module)
        for slot in sorted(desk.course.allocation, key=lambda item: (item.task, item.order))
        if slot.candidate == candidate and base_task(slot.task, known) in tasks
    )
    pin = desk.course.pin(rubric_task)
    look = look_of(desk, candidate, module)
    return ModuleCase(
        rubric=rubric,
        module=module,
        candidate=candidate,
        slots=slots,
        breaches=breach_states(desk, candidate),
        rubric_ref=pin.reference if pin else "",
        third_look="none" if look is None else "closed" if look.closed else "ordered",
        third_tasks=look.fact.slots if look else None,
    )


def slot_case(desk: CourseView, task: str, candidate: str, module: str) -> SlotCase:
    """One performance as the rules read it: its markers' sheets, what was moderated, the third sheet if any."""
    from assess.desk.moderating import standing_moderation
    from assess.desk.third_looks import look_of
    from assess.marking.case import SlotCase

    now = desk.seats.allocated(task, candidate)
    planned = desk.course.slot(task, candidate)
    withdrawn = tuple(who for who in (planned.assessors if planned else ()) if who not in now)
    look = look_of(desk, candidate, module)
    third = (look.fact.marker,) if look and task in look.fact.slots else ()
    moderated = standing_moderation(desk, task, candidate)
    said = moderated.standing.fact if moderated.standing else None
    return SlotCase(
        task=task,
        candidate=candidate,
        allocated=(*now, *withdrawn),
        withdrawn=withdrawn,
        sheets=tuple(desk.folded(task, candidate, who) for who in now if desk.shelf.sheet((task, candidate, who))),
        third=tuple(desk.folded(task, candidate, who) for who in third if desk.shelf.sheet((task, candidate, who))),
        moderated=said.values if said else {},
        kept_both=said is not None and _both_stand(desk, task, candidate, said.outcome, look),
        void=said is not None and said.outcome == "void",
        unsettled=moderated.trouble,
        shadows=desk.separation.shadows((*now, *third), task, candidate),
        conflicted=desk.separation.conflicted((*now, *third), task, candidate),
    )


def _both_stand(desk: CourseView, task: str, candidate: str, outcome: Moderation, look: Look | None) -> bool:
    """True once a difference is closed without a value: kept, or answered by what it asked for."""
    if outcome == "third-look":
        return look is not None and look.closed
    if outcome == "repeat":
        again = (slot.task for slot in desk.course.allocation if slot.candidate == candidate and slot.task != task)
        known = {item.id for item in desk.course.tasks}
        return any(base_task(name, known) == task and desk.sight.slot_open(name, candidate) for name in again)
    return outcome == "keep-both"


def module_result_of(desk: CourseView, candidate: str, module: str) -> ModuleResult | HiddenModule:
    """The outcome the rules give, or why this person may not see it yet."""
    from assess.marking.outcome import module_result

    same = same_as(desk, candidate)
    why = f"the same person as {same}, under whose id they go on" if same else desk.sight.module_word(module, candidate)
    if why:
        return HiddenModule(why)
    known = desk.results.get((candidate, module))
    if known is None or known[0] != desk.shelf.version:
        result = module_result(module_case(desk, candidate, module))
        known = desk.results[(candidate, module)] = (desk.shelf.version, result)
    return known[1]


def module_words(desk: Desk, candidate: str) -> dict[str, str]:
    """The outcome word of each module this person may see."""
    words: dict[str, str] = {}
    for module in course_modules(desk):
        found = module_result_of(desk, candidate, module)
        if not isinstance(found, HiddenModule):
            words[module] = found.outcome
    return words


def outcome_board(desk: Desk) -> OutcomeBoard:
    """Every candidate's modules, as far as this person may see them. Raises Refusal in a season of one's own."""
    from assess.desk.waiving import waivers_told

    need_outcomes(desk)
    modules = course_modules(desk)
    return OutcomeBoard(
        course=desk.course.id,
        modules=modules,
        candidates=tuple(
            (who, {module: module_result_of(desk, who, module) for module in modules}) for who in desk.course.candidates
        ),
        waivers=waivers_told(desk),
    )


def results_json(board: OutcomeBoard) -> dict[str, Any]:
    """The outcomes as other programs read them; a hidden module has no outcome and says why."""
    from assess.desk.waiving import waivers_json
    from assess.marking.results_json import to_json

    def one(found: ModuleResult | HiddenModule) -> dict[str, Any]:
        if isinstance(found, HiddenModule):
            return {
                **dict.fromkeys(HIDDEN_KEYS),
                "reasons": [found.why],
                "open_needs": [],
                "moderation_due": [],
                "shadows": [],
            }
        return to_json(found)

    return {
        "course": board.course,
        "candidates": [
            {"id": who, "modules": {module: one(found) for module, found in modules.items()}}
            for who, modules in board.candidates
        ],
        "waivers": waivers_json(board.waivers),
    }


HIDDEN_KEYS = ("outcome", "mean", "mean_exact", "line", "band", "n_sheets", "breach", "reach", "flips_with", "waived")
