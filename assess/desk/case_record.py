"""What a case file holds: everything the record says about one candidate's results, as data.

Each part is one function and one key. Nothing is left out because it is awkward; what cannot be given is named under
`missing`, with its reason.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from assess.desk.later_ledgers import entry_name, need_director, words_of
from assess.records.errors import AssessError, Refusal
from assess.records.ids import base_task

if TYPE_CHECKING:
    from assess.desk.cases import Case
    from assess.desk.session import Desk
    from assess.marking.results import Sheet

__all__ = ["case_record"]


def case_record(desk: Desk, candidate: str, case: Case | None = None) -> dict[str, Any]:
    """The whole file of a candidate (of one case, when it is about one). Raises Refusal to all but a director."""
    from assess.desk.outcomes import course_modules
    from assess.desk.waiving import waivers_json, waivers_told

    need_director(desk, "opens a case file")
    if candidate not in desk.course.candidates:
        raise Refusal(f"{candidate} is no candidate of this course", todo="see the candidates in course.yaml")
    wanted = (case.opened.module,) if case and case.opened.module else course_modules(desk)
    modules = tuple(module for module in course_modules(desk) if module in wanted)
    slots = _slots(desk, candidate, modules)
    missing: list[str] = []
    return {
        "file": "assess case 1",
        "audience": "the people who look at this case",
        "course": {"id": desk.course.id, "title": desk.course.title, "days": list(desk.course.days)},
        "candidate": {"id": candidate, "name": desk.name(candidate)},
        "case": _case(case),
        "modules": [_module(desk, candidate, module, missing) for module in modules],
        "rubrics": _rubrics(desk, slots),
        "slots": [_slot(desk, task, candidate, missing) for task in slots],
        "waivers": waivers_json([item for item in waivers_told(desk) if item.touches(candidate)]),
        "breaches": _breaches(desk, candidate),
        "late_evidence": _late(desk, candidate),
        "agreement": _agreement(desk, slots, candidate),
        "without_one": [item for module in modules for item in _without_one(desk, candidate, module)],
        "drift": _drift(desk, slots, candidate, missing),
        "verification": _verification(desk, candidate),
        "excluded": _excluded(desk, candidate),
        "missing": missing,
    }


def _slots(desk: Desk, candidate: str, modules: tuple[str, ...]) -> tuple[str, ...]:
    known = {task.id for task in desk.course.tasks}
    found = []
    for slot in desk.course.allocation:
        task = base_task(slot.task, known)
        if slot.candidate == candidate and set(desk.rubric_for(task).modules_of(task)) & set(modules):
            found.append(slot.task)
    return tuple(found)


def _case(case: Case | None) -> dict[str, Any] | None:
    if case is None:
        return None
    return {
        "id": case.id, "about": case.opened.about, "module": case.opened.module, "decision": case.opened.decision,
        "grounds": list(case.opened.grounds), "claim": case.opened.claim, "received": case.opened.received,
        "state": case.state, "due": case.due or None, "until": case.until or None, "reviewer": case.reviewer or None,
        "checked": [{"text": item.text, "looked_at": list(item.looked_at)} for item in case.checked],
        "finding": case.finding.finding if case.finding else None,
        "result": case.finding.result if case.finding else None,
        "remedy": case.finding.remedy if case.finding else None,
    }  # fmt: skip


def _module(desk: Desk, candidate: str, module: str, missing: list[str]) -> dict[str, Any]:
    from assess.desk.deciding import decisions
    from assess.desk.decision_basis import still_gives
    from assess.desk.outcomes import HiddenModule, module_result_of
    from assess.marking.results_json import to_json

    result = module_result_of(desk, candidate, module)
    signed = []
    for item in decisions(desk, candidate, module):
        try:
            again: bool | None = still_gives(desk, item)
        except AssessError as trouble:
            again = None
            missing.append(f"the decision {item.name} cannot be worked out again: {trouble}")
        fact = item.fact
        signed.append(
            {
                "entry": item.name, "at": item.at, "by": item.by, "decision": fact.decision, "outcome": fact.outcome,
                "mean": fact.mean, "mean_exact": fact.mean_exact, "because": list(fact.because),
                "rubric": fact.rubric, "versions": fact.versions, "tool": fact.tool, "seal": fact.seal,
                "supersedes": fact.supersedes, "waiver": fact.waiver, "worked_out_again_the_same": again,
            }
        )  # fmt: skip
    if not signed:
        missing.append(f"{module}: no decision is signed")
    told = {"outcome": None} if isinstance(result, HiddenModule) else to_json(result)
    return {"id": module, "as_it_stands": told, "decisions": signed}


def _rubrics(desk: Desk, slots: tuple[str, ...]) -> list[dict[str, Any]]:
    """The text in force for each task: its criteria with every level's descriptor, and the must-nots."""
    known = {task.id for task in desk.course.tasks}
    told = []
    for task in dict.fromkeys(base_task(slot, known) for slot in slots):
        rubric, pin = desk.rubric_for(task), desk.course.pin(task)
        told.append(
            {
                "task": task, "title": desk.task(task).title, "rubric": rubric.id,
                "sha256": pin.sha256 if pin else None, "from_day": pin.from_day if pin else None,
                "line": str(rubric.scale.pass_line),
                "criteria": [
                    {
                        "id": name, "label": rubric.criteria[name].label, "text": rubric.criteria[name].text,
                        "levels": {str(level): words for level, words in rubric.criteria[name].levels.items()},
                    }
                    for name in desk.task(task).criteria
                ],
                "must_nots": [
                    {"id": rule.id, "text": rule.text, "closes": list(rule.closes)} for rule in rubric.must_nots
                ],
            }
        )  # fmt: skip
    return told


def _slot(desk: Desk, task: str, candidate: str, missing: list[str]) -> dict[str, Any]:
    from assess.desk.moderating import moderations
    from assess.desk.third_looks import looks, third_markers

    slot = desk.course.slot(task, candidate)
    of = [item for item in desk.course.allocation if item.task == task]
    first, also = desk.markers(task, candidate), third_markers(desk, task, candidate)
    own = {look.fact.marker for look in looks(desk) if look.candidate == candidate and task in look.fact.slots}
    third, mixed = [who for who in also if who in own], [who for who in also if who not in own]
    return {
        "slot": f"{task}.{candidate}", "task": task, "at": slot.at if slot else None,
        "place": slot.order if slot else None, "of": len(of),
        "learners": list(slot.learners) if slot else [],
        "sheets": [
            _sheet(desk, task, candidate, who, role, missing)
            for role, markers in (("first", first), ("third", third), ("mixed", mixed))
            for who in markers
        ],
        "moderations": [
            {
                "entry": item.name, "at": item.at, "outcome": item.fact.outcome, "values": item.fact.values,
                "present": list(item.fact.present), "reason": item.fact.reason,
            }
            for item in moderations(desk, task, candidate)
        ],
    }  # fmt: skip


def _sheet(desk: Desk, task: str, candidate: str, who: str, role: str, missing: list[str]) -> dict[str, Any]:
    from assess.marking.holes import holes
    from assess.marking.rounding import fair
    from assess.marking.values import sheet_value

    if not desk.sight.sheet(task, candidate, who):
        missing.append(f"the sheet of {who} in {task} is not locked and is not shown")
        return {"assessor": who, "role": role, "locked_at": None}
    sheet: Sheet = desk.folded(task, candidate, who)
    labels = {name: desk.rubric_for(task).criteria[name].label for name in desk.task(task).criteria}
    lacking = [hole.text for hole in holes(sheet, desk.rubric_for(task))]
    missing += [f"{task} {who}: {text}" for text in lacking]
    value = sheet_value(sheet, desk.rubric_for(task))
    return {
        "assessor": who, "name": desk.name(who), "role": role, "ledgers": list(sheet.ledgers),
        "locked_at": sheet.locked_at, "origin": sheet.origin,
        "from_cards": [
            {"card": item.fact.card, "on_the_hill": item.fact.on_the_hill, "typed_in": item.at}
            for item in sheet.from_cards
        ],
        "seal": desk.lock_seal(task, candidate, who) if sheet.locked else None,
        "value": None if value is None else str(value),
        "value_shown": None if value is None else fair(value, desk.rubric_for(task).scale.pass_line),
        "observed": value is not None,
        "marks": {
            mark.criterion: {
                "status": mark.status, "level": None if mark.level is None else str(mark.level), "why": mark.why,
            }
            for mark in sheet.marks
        },
        "observations": [
            {
                "entry": str(item.ref), "at": item.at, "text": words_of(item.fact, labels),
                "criteria": list(item.fact.criteria),
                "direction": item.fact.direction, "viewpoint": item.viewpoint or item.fact.viewpoint,
            }
            for item in sheet.observations
        ],
        "holes": lacking,
    }  # fmt: skip


def _breaches(desk: Desk, candidate: str) -> list[dict[str, Any]]:
    from assess.desk.breaches import breach_states, reports_of
    from assess.records.facts import BreachAccount, BreachFinding

    told = []
    for state in breach_states(desk, candidate):
        facts = [
            (ledger, entry)
            for ledger, entry in desk.shelf.entries("decision")
            if ledger.header.candidate == candidate
            and isinstance(entry.fact, BreachAccount | BreachFinding)
            and entry.fact.must_not == state.must_not
        ]
        reports = [
            {"task": task, "by": who, "what": item.what, "where": item.where, "who": item.who, "at": item.at}
            for task, who in reports_of(desk, candidate).get(state.must_not, [])
            for item in desk.folded(task, candidate, who).breaches
            if item.must_not == state.must_not
        ]
        told.append(
            {
                "must_not": state.must_not, "state": state.state, "modules": list(state.modules), "reports": reports,
                "steps": [
                    {
                        "entry": entry_name(ledger, entry), "at": entry.at, "by": ledger.header.author,
                        **entry.fact.payload(),
                    }
                    for ledger, entry in facts
                ],
            }
        )  # fmt: skip
    return told


def _late(desk: Desk, candidate: str) -> list[dict[str, Any]]:
    from assess.desk.late_evidence import late_evidence

    return [
        {
            "slot": f"{item.fact.slot}.{candidate}", "digest": item.fact.digest, "what": item.fact.what, "at": item.at,
            "admitted": None if item.ruling is None else item.ruling.admitted,
            "rule": None if item.ruling is None else item.ruling.rule,
            "reason": None if item.ruling is None else item.ruling.reason,
        }
        for item in late_evidence(desk, candidate)
    ]  # fmt: skip


def _agreement(desk: Desk, slots: tuple[str, ...], candidate: str) -> list[dict[str, Any]]:
    """How alike the two markers of each of these slots marked in the whole course: equal, within one, same side."""
    from assess.desk.locked_turns import locked_turns

    seated = (tuple(sorted(desk.markers(task, candidate))) for task in slots)
    pairs = sorted({pair for pair in seated if len(pair) > 1})
    turns = list(locked_turns(desk))
    told = []
    for pair in pairs:
        levels = [
            (one.value, two.value, desk.rubric_for(sheets[0].task).scale.pass_line)
            for sheets in turns
            if tuple(sheet.assessor for sheet in sheets) == pair
            for one in sheets[0].marks
            if (two := sheets[1].mark(one.criterion)) is not None and one.value is not None and two.value is not None
        ]
        told.append(
            {
                "pair": list(pair), "n": len(levels),
                "equal": sum(a == b for a, b, _ in levels),
                "within_one": sum(abs(a - b) <= 1 for a, b, _ in levels),
                "same_side": sum((a >= line) == (b >= line) for a, b, line in levels),
            }
        )  # fmt: skip
    return told


def _without_one(desk: Desk, candidate: str, module: str) -> list[dict[str, Any]]:
    """The module once more without each of its markers in turn: what one person's marks hold up."""
    from assess.desk.outcomes import module_case
    from assess.marking.outcome import module_result
    from assess.marking.results_json import to_json

    case = module_case(desk, candidate, module)
    everybody = sorted({who for slot in case.own_slots for who in slot.markers})
    told = []
    for who in everybody:
        slots = tuple(
            replace(slot, withdrawn=(*slot.withdrawn, who), third=tuple(s for s in slot.third if s.assessor != who))
            for slot in case.slots
        )
        found = to_json(module_result(replace(case, slots=slots)))
        told.append(
            {
                "module": module, "without": who, "mean": found["mean"], "mean_exact": found["mean_exact"],
                "n_sheets": found["n_sheets"], "outcome": found["outcome"],
            }
        )  # fmt: skip
    return told


def _drift(desk: Desk, slots: tuple[str, ...], candidate: str, missing: list[str]) -> list[dict[str, Any]]:
    """Severity and drift of everybody who marked here, with intervals: a reason to look, never a proof."""
    from assess.desk.assessors import pages_of

    wanted = {who for task in slots for who in desk.markers(task, candidate)}
    try:
        (course,) = pages_of([desk]).raters.courses
    except AssessError as trouble:
        missing.append(f"severity and drift: {trouble}")
        return []
    return [
        {
            "assessor": rater.id, "effect": name, "estimate": effect.estimate,
            "ci95": list(effect.ci95) if effect.ci95 else None, "n": effect.n,
            "sentence": effect.sentence or effect.undefined,
        }
        for rater in course.raters
        if rater.id in wanted
        for name in ("severity", "drift")
        for effect in [rater.effect(name)]
    ]  # fmt: skip


def _verification(desk: Desk, candidate: str) -> dict[str, Any]:
    from assess.desk.verifying import verify

    found = verify(desk)
    own = [problem for problem in found.problems if re.search(rf"[./]{candidate}\.", problem.file)]
    return {
        "holds": found.holds, "records": found.ledgers,
        "of_this_candidate": [str(problem) for problem in own],
        "elsewhere": len(found.problems) - len(own),
        "not_anchored": [name for name in found.not_anchored if f"{candidate}." in name],
    }  # fmt: skip


def _excluded(desk: Desk, candidate: str) -> list[dict[str, Any]]:
    from assess.desk.cases import excluded

    return [{"who": who, "why": list(why)} for who, why in excluded(desk, candidate).items()]
