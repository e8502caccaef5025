"""Who may mark, who may decide, and who is still fresh: each as reasons against, in words.

Nothing here depends on what a sheet holds, only on whose it is; licences, conflicts and training stand in
`people.yaml`, waivers in the directors' day records.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from assess.records.facts import BreachFinding
from assess.records.ids import base_task
from assess.records.separation import Bar, GivenWaiver, bars, conflict_bars, given_waivers, training_bars, unwaived

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView

__all__ = ["Separation", "fresh_for", "fresh_in_module", "may_decide", "may_mark"]


class Separation:
    """The bars of an open course, and the waivers that lift them."""

    def __init__(self, desk: CourseView) -> None:
        self._desk = desk
        self._bars: dict[tuple[str, str, str], tuple[Bar, ...]] = {}
        self._waivers: tuple[int, tuple[GivenWaiver, ...]] = (-1, ())

    def waivers(self) -> tuple[GivenWaiver, ...]:
        """Every waiver that counts, in the order they were given."""
        version = self._desk.shelf.version
        if self._waivers[0] != version:
            self._waivers = (version, given_waivers(self._desk.course, self._desk.shelf.of_kind("day")))
        return self._waivers[1]

    def bars(self, assessor: str, task: str, candidate: str) -> tuple[Bar, ...]:
        """Every reason why this person may not mark the slot, waived or not."""
        key = (assessor, task, candidate)
        if key not in self._bars:
            self._bars[key] = bars(self._desk.course, self._desk.people, *key)
        return self._bars[key]

    def waiver_for(self, bar: Bar, task: str) -> GivenWaiver | None:
        """The first waiver that covers a bar in a task, or None."""
        return next((item for item in self.waivers() if item.covers(self._desk.course, bar, task)), None)

    def standing(self, assessor: str, task: str, candidate: str) -> tuple[Bar, ...]:
        """The bars no waiver covers: with one of them a sheet is in no result."""
        return unwaived(self._desk.course, self.bars(assessor, task, candidate), self.waivers(), task)

    def shadows(self, assessors: Iterable[str], task: str, candidate: str) -> dict[str, str]:
        """Of these, whose sheet is in no result, and why in words for everybody."""
        found = {who: self.standing(who, task, candidate) for who in assessors}
        return {who: "; ".join(bar.why for bar in standing) for who, standing in found.items() if standing}

    def conflicted(self, assessors: Iterable[str], task: str, candidate: str) -> tuple[str, ...]:
        """Of these, who marks by a waiver of a conflict or of training."""
        return tuple(
            who
            for who in assessors
            if not self.standing(who, task, candidate)
            and any(bar.about != "licence" for bar in self.bars(who, task, candidate))
        )


def may_mark(desk: CourseView, assessor: str, task: str, candidate: str) -> tuple[str, ...]:
    """Why this person may not mark the slot; empty when they may. What a director waived is no reason any more."""
    if assessor not in (*desk.course.assessors, *desk.course.directors):
        return (f"{assessor} is no assessor of this course",)
    return tuple(bar.reason for bar in desk.separation.standing(assessor, task, candidate))


def may_decide(desk: CourseView, person: str, candidate: str, module: str | None = None) -> tuple[str, ...]:
    """Why this person may not sign a decision on the candidate (on one module, if named); empty when they may.

    A decider is a director who neither has a declared conflict with the candidate, nor trained them within the
    window, nor marks them anywhere in the course, nor found on a breach that closes the module. The window is
    counted from the candidate's last day in the course. A waiver to mark is none to decide: a decision says its own.
    """
    against = [] if person in desk.course.directors else [f"{person} is no director of this course"]
    slots = [slot.task for slot in desk.course.allocation if slot.candidate == candidate]
    days = [day for task in slots if (day := desk.course.held_on(task, candidate))]
    day = max(days, default=desk.course.day_date(len(desk.course.days)))
    against += [bar.reason for bar in conflict_bars(desk.people, person, candidate)]
    against += [bar.reason for bar in training_bars(desk.course, desk.people, person, candidate, day)]
    marked = [task for task in slots if person in desk.seats.allocated(task, candidate)]
    marked += [task for task, who, by in desk.shelf.sheet_keys() if (who, by) == (candidate, person)]
    if marked:
        against.append(f"marks {candidate} in {', '.join(sorted(set(marked)))}")
    against += _findings(desk, person, candidate, module)
    return tuple(against)


def _findings(desk: CourseView, person: str, candidate: str, module: str | None) -> list[str]:
    found = {
        entry.fact.must_not: None
        for ledger, entry in desk.shelf.entries("decision")
        if isinstance(entry.fact, BreachFinding)
        and (ledger.header.author, ledger.header.candidate) == (person, candidate)
        and (module is None or module in entry.fact.modules)
    }
    return [f"found on the breach {must_not}" for must_not in found]


def fresh_for(desk: CourseView, task: str, candidate: str) -> tuple[str, ...]:
    """The assessors who could mark the slot once more: no part in it so far, a licence, no conflict and no training.

    A waived licence is enough; a waived conflict is not, because such a sheet may decide nothing by itself.
    """
    taken = _taken(desk, candidate, (task,))
    return tuple(who for who in desk.course.assessors if who not in taken and _unbiased(desk, who, (task,), candidate))


def fresh_in_module(desk: CourseView, candidate: str, module: str) -> tuple[str, ...]:
    """The assessors with no sheet of the candidate anywhere in the module, and with nothing against them in any of it.

    Raises Refusal for a module the course does not have.
    """
    tasks = _tasks_of(desk, module)
    known = {task.id for task in desk.course.tasks}
    slots = [slot.task for slot in desk.course.allocation if base_task(slot.task, known) in tasks]
    slots += [task for task, _, _ in desk.shelf.sheet_keys() if base_task(task, known) in tasks]
    taken = _taken(desk, candidate, {*slots, *tasks})
    return tuple(who for who in desk.course.assessors if who not in taken and _unbiased(desk, who, tasks, candidate))


def _taken(desk: CourseView, candidate: str, tasks: Iterable[str]) -> set[str]:
    """Everybody with a part in these slots: planned, put in later, a shadow, or with a sheet there."""
    wanted = set(tasks)
    taken = {by for task, who, by in desk.shelf.sheet_keys() if task in wanted and who == candidate}
    for task in wanted:
        slot = desk.course.slot(task, candidate)
        taken |= {*desk.seats.allocated(task, candidate), *((*slot.assessors, *slot.shadows) if slot else ())}
    return taken


def _unbiased(desk: CourseView, who: str, tasks: Iterable[str], candidate: str) -> bool:
    everything = [(bar, task) for task in tasks for bar in desk.separation.bars(who, task, candidate)]
    return all(bar.about == "licence" and desk.separation.waiver_for(bar, task) for bar, task in everything)


def _tasks_of(desk: CourseView, module: str) -> tuple[str, ...]:
    from assess.records.errors import Refusal

    for task in desk.course.tasks:
        rubric = desk.rubric_for(task.id)
        if module in rubric.modules_of(task.id):
            return tuple(rubric.modules[module].tasks)
    raise Refusal(f"there is no module {module} in this course", todo="see the modules with `assess results`")
