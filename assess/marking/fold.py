"""From ledgers to a sheet: the union of one assessor's devices, folded. The same ledgers give the same sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assess.marking.evidence import seen_from, watched_from, with_evidence
from assess.marking.gathered import (
    breach_reports,
    drills,
    last_view,
    latest,
    learners_met,
    one_clock,
    plan,
    safety_states,
    seen,
    times,
)
from assess.marking.results import Mark, Sheet
from assess.marking.runs import Standing, all_marks, fold_runs, standing_marks
from assess.marking.union import Union, united
from assess.records.facts import FromCard, Lock, Observation, Rerun
from assess.records.ids import base_task
from assess.records.ledger import Ledger
from assess.records.lesson_facts import Attended, Hazard, Interval, Measured, NamedFault, Question, Step
from assess.records.rubric import Rubric, Task

__all__ = ["empty_sheet", "fold_sheet", "runs_fold", "task_of"]


def task_of(task: str, rubric: Rubric) -> Task:
    """The rubric's task behind a slot's task id; `T2-2` is a second performance of `T2`. KeyError if unknown."""
    return rubric.tasks[base_task(task, set(rubric.tasks))]


def runs_fold(task: str, rubric: Rubric) -> str:
    """How several runs of a task become one mark; `last` unless the rubric says otherwise."""
    return rubric.fold_of(task)


def empty_sheet(task: str, candidate: str, assessor: str, rubric: str) -> Sheet:
    """A sheet before its first entry; `rubric` is the `sha256:...` reference."""
    return Sheet(task, candidate, assessor, rubric)


def fold_sheet(ledgers: Sequence[Ledger], *, rubric: Rubric, task: Task | None = None) -> Sheet:
    """The sheet that one or more ledgers of one assessor and slot add up to, in whatever order they come.

    task: the rubric's task when it is not the one the ledgers name.
    Raises ValueError without a ledger or with ledgers of more than one sheet; KeyError for an unknown task.
    """
    first = _one_sheet(ledgers)
    header = first.header
    found = task or task_of(header.task or "", rubric)
    union = united(ledgers)
    marked = with_evidence(all_marks(union.entries, rubric), union.live)
    standing = standing_marks(marked)
    sheet = Sheet(
        header.task or "",
        header.candidate or "",
        header.assessor or "",
        header.rubric or "",
        ledgers=tuple(sorted(ledger.name for ledger in ledgers)),
        history=_history(marked, standing),
        clashes=standing.clashes,
        left_out=union.left_out,
        missing=union.missing,
    )
    return _locked(_with_marks(_with_facts(sheet, union, rubric), standing, found, rubric), union)


def _one_sheet(ledgers: Sequence[Ledger]) -> Ledger:
    if not ledgers:
        raise ValueError("a sheet is folded from at least one ledger")
    whose = {(lg.header.task, lg.header.candidate, lg.header.assessor) for lg in ledgers}
    if len(whose) > 1 or any(lg.header.kind != "sheet" for lg in ledgers):
        raise ValueError("these ledgers are not of one sheet: " + ", ".join(sorted(lg.name for lg in ledgers)))
    return min(ledgers, key=lambda lg: (lg.header.opened, lg.name))


def _history(marked: Sequence[Mark], standing: Standing) -> tuple[Mark, ...]:
    return tuple(
        replace(mark, state="replaced") if (mark.ref.ledger, mark.ref.n) in standing.replaced else mark
        for mark in marked
    )


def _with_marks(sheet: Sheet, standing: Standing, task: Task, rubric: Rubric) -> Sheet:
    how = runs_fold(sheet.task, rubric)
    folded, overall_missing = [], []
    for criterion in task.criteria:
        given = [mark for mark in standing.marks.values() if mark.criterion == criterion]
        mark = fold_runs(given, how)
        if mark is not None:
            folded.append(mark)
        elif how == "overall" and given:
            overall_missing.append(criterion)
    place = {criterion: number for number, criterion in enumerate(task.criteria)}
    runs = sorted(standing.marks.values(), key=lambda m: (m.run or 0, place.get(m.criterion, len(place)), m.criterion))
    return replace(sheet, marks=tuple(folded), runs=tuple(runs), overall_missing=tuple(overall_missing))


def _with_facts(sheet: Sheet, union: Union, rubric: Rubric) -> Sheet:
    live = one_clock(union.entries)
    places = watched_from(live)
    told = times(live)
    usable = [mark for mark in sheet.history if mark.state == "standing"]
    return replace(
        sheet,
        observations=seen(live, Observation, places),
        breaches=breach_reports(live),
        named_faults=seen(live, NamedFault, places),
        drills=drills(live),
        intervals=seen(live, Interval, places),
        safety=safety_states(live, [item.id for item in rubric.safety_list]),
        # What was erased was said in these words and no others: its digest tells them apart.
        hazards=tuple(
            latest(live, Hazard, lambda fact: fact.hazard or (fact.text or fact.erased.get("text", "")).casefold())
        ),
        learners_met=learners_met(live),
        steps=tuple(item.fact for item in latest(live, Step, lambda fact: fact.step)),
        attended=tuple(item.fact for item in latest(live, Attended, lambda fact: (fact.learner, fact.how))),
        measured=tuple(latest(live, Measured, lambda fact: (fact.when, fact.run))),
        questions=seen(live, Question, places),
        reruns=seen(live, Rerun, places),
        from_cards=seen(live, FromCard, places),
        plan=plan(live),
        viewpoint=last_view(live),
        seen_from=seen_from(usable, live, places),
        started_at=told.started_at,
        ended=told.ended,
        ended_at=told.ended_at,
    )


def _locked(sheet: Sheet, union: Union) -> Sheet:
    lock = union.lock
    if lock is None or not isinstance(lock.entry.fact, Lock):
        return sheet
    return replace(sheet, locked=True, locked_at=lock.entry.at, origin=lock.entry.fact.origin)
