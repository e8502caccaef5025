"""What became of reported breaches: reported by markers, heard, confirmed or not by somebody else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.records.facts import BreachFinding

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.marking.results import BreachState

__all__ = ["UNNAMED", "breach_states", "finding_stands", "reports_of"]

UNNAMED = "must-not-not-named"
"""Stands for the must-not of a report that does not say which one yet."""


def reports_of(desk: CourseView, candidate: str) -> dict[str, list[tuple[str, str]]]:
    """Must-not -> (task, assessor) of everybody allocated who reported it, of slots that are locked by all.

    The report of somebody whose sheet does not count is a report all the same: others find on it.
    """
    reports: dict[str, list[tuple[str, str]]] = {}
    for task, who, assessor in desk.shelf.sheet_keys():
        if who != candidate or assessor not in desk.seats.allocated(task, candidate):
            continue
        # What an open slot's sheets report is told by word of mouth, and by nothing that is computed here.
        if not desk.sight.slot_open(task, candidate):
            continue
        for breach in desk.folded(task, candidate, assessor).breaches:
            reports.setdefault(breach.must_not or UNNAMED, []).append((task, assessor))
    return reports


def breach_states(desk: CourseView, candidate: str) -> tuple[BreachState, ...]:
    """Every reported breach of a candidate with its state.

    A report that does not name its must-not yet holds every module open that any must-not closes.

    Reports are read once every sheet of their slot is locked. A finding stands when its author is a
    director of the course who reported nothing of it; the last one that stands counts.
    """
    from assess.marking.results import BreachState

    reports = reports_of(desk, candidate)
    findings = _findings(desk, candidate)
    states = []
    for must_not in sorted({*reports, *findings}):
        finding = findings.get(must_not)
        reporters = {assessor for _, assessor in reports.get(must_not, [])}
        if finding is not None and finding_stands(desk, finding[0], reporters):
            states.append(BreachState(must_not, finding[1].state, finding[1].modules))
        elif reporters:
            states.append(BreachState(must_not, "reported", _closes(desk, reports[must_not][0][0], must_not)))
    return tuple(states)


def finding_stands(desk: CourseView, author: str, reporters: set[str]) -> bool:
    """True when the author of a finding may confirm: a director, and none of the reporters."""
    return author in desk.course.directors and author not in reporters


def _findings(desk: CourseView, candidate: str) -> dict[str, tuple[str, BreachFinding]]:
    found: dict[str, tuple[str, BreachFinding]] = {}
    for ledger, entry in desk.shelf.entries("decision"):
        if isinstance(entry.fact, BreachFinding) and ledger.header.candidate == candidate:
            found[entry.fact.must_not] = (ledger.header.author, entry.fact)
    return found


def _closes(desk: CourseView, task: str, must_not: str) -> tuple[str, ...]:
    rules = desk.rubric_for(task).must_nots
    if must_not == UNNAMED:
        return tuple(sorted({module for rule in rules for module in rule.closes}))
    return next((rule.closes for rule in rules if rule.id == must_not), ())
