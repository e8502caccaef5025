"""What a sheet lacks before it can be locked, and what is worth a look."""

from __future__ import annotations

from fractions import Fraction

from assess.marking.fold import task_of
from assess.marking.results import Hole, Sheet
from assess.records.rubric import Rubric, Task

__all__ = ["blocking", "holes", "level_needs_evidence"]


def level_needs_evidence(level: Fraction, rubric: Rubric) -> bool:
    """True when a mark of this value (a median may lie between two levels) cannot be locked without evidence."""
    rule = rubric.evidence_needed
    return level in rule.also or (rule.below is not None and level < rule.below)


def holes(sheet: Sheet, rubric: Rubric) -> tuple[Hole, ...]:
    """Everything a sheet lacks: what blocks its lock first, each group in the task's order.

    A criterion without a mark, a mark whose level needs an observation made in the task and has none, an overall
    mark that is missing and a clash of two devices block; `not observed` is a mark. After a session that was ended
    early a missing mark does not block: what was not reached is not judged. The texts hold no level.
    """
    task = task_of(sheet.task, rubric)
    found = [
        *_marks_missing(sheet, task),
        *_clashes(sheet),
        *_evidence_missing(sheet, rubric),
        *_reports_incomplete(sheet),
        *_viewpoints(sheet, task, rubric),
        *_safety_list(sheet, task, rubric),
        *_after_lock(sheet),
    ]
    return tuple(sorted(found, key=lambda hole: not hole.blocks))


def blocking(sheet: Sheet, rubric: Rubric) -> tuple[Hole, ...]:
    """The holes that block a lock."""
    return tuple(hole for hole in holes(sheet, rubric) if hole.blocks)


def _marks_missing(sheet: Sheet, task: Task) -> list[Hole]:
    ended_early = sheet.ended is not None and sheet.ended.why != "done"
    found = []
    for criterion in task.criteria:
        if criterion in sheet.overall_missing:
            text = f"{criterion}: several runs and no overall mark"
            found.append(Hole("no-overall", text, True, criterion))
        elif sheet.mark(criterion) is None:
            text = f"{criterion}: no mark yet; not observed is a mark"
            found.append(Hole("no-mark", text, not ended_early, criterion))
    return found


def _clashes(sheet: Sheet) -> list[Hole]:
    text = "two of your devices gave different marks; mark it once more"
    return [Hole("two-devices", f"{name}: {text}", True, name, run) for run, name in sheet.clashes]


def _evidence_missing(sheet: Sheet, rubric: Rubric) -> list[Hole]:
    """Every run's mark needs its evidence, not only the one that counts; one observation serves all runs."""
    found: dict[str, Hole] = {}
    for mark in (*sheet.runs, *sheet.marks):
        value = mark.value
        if value is None or mark.has_evidence or not level_needs_evidence(value, rubric):
            continue
        text = f"{mark.criterion}: this level needs an observation made in the task"
        found.setdefault(mark.criterion, Hole("no-evidence", text, True, mark.criterion, mark.run))
    return list(found.values())


def _reports_incomplete(sheet: Sheet) -> list[Hole]:
    words = {"must_not": "which must-not", "what": "what", "where": "where", "who": "who was at risk"}
    return [
        Hole("breach-incomplete", "breach report to be completed: " + ", ".join(words[key] for key in r.lacking), False)
        for r in sheet.breaches
        if r.lacking
    ]  # fmt: skip


def _viewpoints(sheet: Sheet, task: Task, rubric: Rubric) -> list[Hole]:
    wanted = rubric.minimum_evidence.viewpoints
    scored = {mark.criterion for mark in sheet.marks if mark.value is not None}
    return [
        Hole("viewpoints", f"{name}: seen from {len(sheet.viewpoints(name))} of {wanted} viewpoints", False, name)
        for name in task.criteria
        if name in scored and len(sheet.viewpoints(name)) < wanted
    ]


def _safety_list(sheet: Sheet, task: Task, rubric: Rubric) -> list[Hole]:
    told = {item.fact.item for item in sheet.safety}
    return [
        Hole("safety-item", f"safety list: {item.text}", False)
        for item in rubric.safety_list
        if task.lesson and item.id not in told
    ]


def _after_lock(sheet: Sheet) -> list[Hole]:
    ledgers = sorted({ref.ledger for ref in sheet.left_out})
    return [
        *(Hole("left-out", f"{name}: entries the lock did not cover; not used", False) for name in ledgers),
        *(Hole("missing-ledger", f"{name}: sealed by the lock, not here as sealed", False) for name in sheet.missing),
    ]
