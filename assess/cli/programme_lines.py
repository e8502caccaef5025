"""A plan as plain lines: the programme day by day, the loads, and what is not met or stands in the way."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.cli.figures import many, paragraphs

if TYPE_CHECKING:
    from assess.desk.planning import PlannedCourse
    from assess.desk.session import Desk
    from assess.planning.results import Turn

__all__ = ["plan_lines", "programme_lines", "written_lines"]

_FEW = 4
"""Up to so many fresh assessors are named in a row; of more the number is told."""


def plan_lines(desk: Desk, planned: PlannedCourse) -> Iterator[str]:
    """The plan with everything a director looks at, or what stands in its way."""
    found = planned.plan
    if found.obstacles:
        yield "There is no plan. What stands in the way:"
        for obstacle in found.obstacles:
            yield from paragraphs([obstacle.sentence], "- ")
            yield from paragraphs([f"  {obstacle.todo}"], "  ")
        return
    yield from paragraphs([f"Seed {found.seed}, {planned.seed_is}: the same seed and files give the same plan."])
    if planned.kept:
        yield from paragraphs([f"These have begun and stay as they are: {', '.join(planned.kept)}."])
    if planned.withdrawn:
        yield from paragraphs(
            [f"These have withdrawn and are planned for nothing more: {', '.join(planned.withdrawn)}."]
        )
    yield from _days(desk, planned, director=True)
    yield from _loads(desk, planned)
    yield from _fresh(planned)
    if planned.agreed:
        yield ""
        yield "Agreed beforehand; see whether the plan gives it:"
        yield from paragraphs(planned.agreed, "- ")
    if found.not_met:
        yield ""
        yield "Not met:"
        yield from paragraphs(found.not_met, "- ")


def programme_lines(desk: Desk, planned: PlannedCourse) -> Iterator[str]:
    """The programme to hand out: who, when, where, with whom."""
    yield f"{desk.course.title}, {desk.course.id}"
    if desk.course.place:
        yield from paragraphs([desk.course.place])
    yield from _days(desk, planned, director=False)
    yield ""
    yield ", ".join(f"{who} {desk.name(who)}" for who in desk.course.assessors)
    if planned.seed_is:
        yield f"Running orders drawn with seed {planned.plan.seed}."


def written_lines(notes: tuple[str, ...]) -> Iterator[str]:
    """That the plan stands in the course now, and what else is to be known."""
    yield ""
    yield "Written to course.yaml. To print the programme: assess plan COURSE --programme"
    yield from paragraphs(notes)


def _days(desk: Desk, planned: PlannedCourse, *, director: bool) -> Iterator[str]:
    for use in planned.plan.days:
        date = desk.course.day_date(use.day)
        yield ""
        told = f": {use.minutes} minutes of marking, {use.light} usable" if director else ""
        yield f"Day {use.day}, {date.isoformat() if date else ''}{told}"
        turns = [turn for turn in planned.plan.turns if turn.day == use.day]
        for task in dict.fromkeys(turn.task for turn in turns):
            yield from _task(desk, task, [turn for turn in turns if turn.task == task], director=director)


def _task(desk: Desk, task: str, turns: list[Turn], *, director: bool) -> Iterator[str]:
    held = desk.course.task(task)
    place = f": {held.place}" if held is not None and held.place else ""
    yield from paragraphs([f"{desk.task(task).title}{place}"], f"{task}  ")
    width = max(len(_who(desk, turn)) for turn in turns)
    pairs = max(len(" ".join(turn.assessors)) for turn in turns)
    for turn in sorted(turns, key=lambda turn: turn.order):
        at = "--:--" if turn.at is None else f"{turn.at // 60:02d}:{turn.at % 60:02d}"
        row = f"{turn.order:>3}  {at}  {_who(desk, turn):<{width}}  {' '.join(turn.assessors):<{pairs}}"
        yield f"{row}  {_left(turn)}" if director else row.rstrip()
        if turn.learners:
            yield f"            with {' '.join(turn.learners)}"


def _who(desk: Desk, turn: Turn) -> str:
    return f"{desk.bib(turn.candidate)} {desk.name(turn.candidate)} ({turn.candidate})"


def _left(turn: Turn) -> str:
    return f"fresh {' '.join(turn.fresh) or '-'}" if len(turn.fresh) <= _FEW else f"{len(turn.fresh)} fresh"


def _loads(desk: Desk, planned: PlannedCourse) -> Iterator[str]:
    yield ""
    yield "Who marks how much, and in how many tasks beside whom:"
    for load in planned.plan.loads:
        beside = ", ".join(f"{who} {n}" for who, n in load.partners)
        told = f"{many(load.sheets, 'sheet')} in {many(load.tasks, 'task')}; {beside}"
        yield from paragraphs([told if load.sheets else "nothing"], f"{load.assessor} {desk.name(load.assessor)}: ")


def _fresh(planned: PlannedCourse) -> Iterator[str]:
    """Who has no sheet of a candidate in a whole module; of large courses the smallest number."""
    yield ""
    yield "Fresh in a whole module:"
    for module in dict.fromkeys(each.module for each in planned.plan.fresh_in_modules):
        of_module = [each for each in planned.plan.fresh_in_modules if each.module == module]
        if max(len(each.fresh) for each in of_module) <= _FEW:
            told = "; ".join(f"{each.candidate} {' '.join(each.fresh) or '-'}" for each in of_module)
        else:
            least = min(len(each.fresh) for each in of_module)
            told = f"at least {many(least, 'assessor')} for every candidate"
        yield from paragraphs([told], f"{module}: ")
