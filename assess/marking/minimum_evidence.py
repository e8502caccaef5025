"""Whether every criterion of a module was seen often enough, from enough viewpoints, in enough tasks."""

from __future__ import annotations

from collections.abc import Sequence

from assess.marking.values import CountedSheet
from assess.records.rubric import Rubric

__all__ = ["unseen_tasks", "wanting"]


def unseen_tasks(sheets: Sequence[CountedSheet], module: str, rubric: Rubric) -> tuple[str, ...]:
    """The tasks of a module without an observed sheet: what would have to be seen to complete it."""
    seen = {sheet.task for sheet in sheets}
    return tuple(task for task in rubric.modules[module].tasks if task not in seen)


def wanting(sheets: Sequence[CountedSheet], module: str, rubric: Rubric) -> tuple[str, ...]:
    """One clause per criterion of which too little was seen, in the module's order: the first thing that is short.

    Scores count, not notes; only those of observed sheets; a criterion that was not applicable on every sheet of
    its tasks is left out.
    """
    least = rubric.minimum_evidence
    clauses: list[str] = []
    for criterion, tasks in _tasks_by_criterion(module, rubric).items():
        where = [s for s in sheets if s.task in tasks and criterion not in s.excluded]
        if not where:
            continue
        scored = [s for s in where if criterion in s.scored]
        views = {view for s in scored for view in (s.viewpoints or {}).get(criterion, ())}
        counts = (
            ("scores", len(scored), least.scores),
            ("viewpoints", len(views), least.viewpoints),
            ("tasks", len({s.task for s in scored}), least.tasks),
        )
        short = [f"evidence: {criterion}, {have} of {need} {what}" for what, have, need in counts if have < need]
        clauses.extend(short[:1])
    return tuple(clauses)


def _tasks_by_criterion(module: str, rubric: Rubric) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for task in rubric.modules[module].tasks:
        for criterion in rubric.tasks[task].criteria:
            found.setdefault(criterion, set()).add(task)
    return found
