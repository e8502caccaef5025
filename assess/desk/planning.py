"""Plan a course: who marks whom, when and where; and put the plan into `course.yaml`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from assess.desk.planning_request import begun_tasks, request_of, seed_of, turns_planned, withdrawn
from assess.records.errors import InputError, Refusal

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.planning.results import Plan

__all__ = ["PlannedCourse", "plan_course", "plan_document", "standing_plan"]


@dataclass(frozen=True)
class PlannedCourse:
    """A plan, or what stands in its way.

    seed_is: where the seed comes from, in words; "" for an allocation nobody drew. kept: tasks that were not planned
    anew because they have begun. withdrawn: candidates who have left and are planned for nothing more. agreed: what
    was agreed beforehand for candidates, for a director to look whether the plan gives it.
    """

    plan: Plan
    seed_is: str
    kept: tuple[str, ...] = ()
    withdrawn: tuple[str, ...] = ()
    agreed: tuple[str, ...] = ()


def plan_course(desk: Desk, *, seed: int | None = None, rest: bool = False) -> PlannedCourse:
    """A plan for all tasks; with `rest`, which only a director may ask for, for those that have not begun.

    Nothing is written. What is in the sheets plays no part; with `rest` only that there are some.
    Raises InputError for settings that contradict themselves and for a task without a rubric.
    """
    from assess.desk.board import agreed_for
    from assess.desk.opening import need_rubrics
    from assess.planning.plan import plan

    desk.need_course("only a course is planned: in a round or a season everybody marks the same lessons")
    need_rubrics(desk)
    _settings_fit(desk)
    if rest and desk.role != "director":
        raise Refusal("only a director plans around what has begun", todo="say who you are with --as ID")
    kept = begun_tasks(desk) if rest else frozenset[str]()
    told = "given" if seed is not None else "of the last plan" if desk.course.plan.seed is not None else _MADE
    found = plan(request_of(desk, seed_of(desk.course) if seed is None else seed, keep=kept))
    tasks = tuple(task.id for task in desk.course.tasks if task.id in kept)
    gone = withdrawn(desk)
    agreed = agreed_for(desk) if desk.role == "director" else ()
    return PlannedCourse(found, told, tasks, tuple(who for who in desk.course.candidates if who in gone), agreed)


_MADE = "made of the course's id and its first day"


def standing_plan(desk: Desk) -> PlannedCourse:
    """The allocation as it stands in the course, looked at as a plan.

    Raises Refusal when there is none, InputError for a task without a rubric.
    """
    from assess.desk.opening import need_rubrics
    from assess.planning.gathered import gathered

    desk.need_course("only a course is planned: in a round or a season everybody marks the same lessons")
    need_rubrics(desk)
    turns = turns_planned(desk)
    if not turns:
        raise Refusal("this course has no allocation yet", todo="plan it: assess plan COURSE, then --write")
    seed = desk.course.plan.seed
    found = gathered(request_of(desk, seed or 0), turns)
    return PlannedCourse(replace(found, seed=seed or 0), "" if seed is None else "of the last plan")


def _settings_fit(desk: Desk) -> None:
    """Raise InputError with everything wrong in the section `plan`."""
    from assess.store.erasure_checks import erased_people
    from assess.store.plan_checks import plan_problems

    folder = desk.folder
    erased = erased_people(folder.ledgers)
    found = plan_problems(folder.course_doc, folder.course, folder.people, folder.rubrics, erased)
    if found:
        raise InputError([replace(problem, file=str(folder.root / problem.file)) for problem in found])


# --- as other programs read it -------------------------------------------------------------------


def plan_document(planned: PlannedCourse, *, written: bool = False) -> dict[str, Any]:
    """The plan as JSON has it. Keys may be added; none of these is renamed or dropped."""
    from assess.records.times import wall_text

    found = planned.plan
    slots = [
        {
            "task": turn.task, "day": turn.day, "order": turn.order, "round": turn.round, "pair": turn.pair,
            "at": None if turn.at is None else wall_text(turn.at),
            "until": None if turn.until is None else wall_text(turn.until),
            "candidate": turn.candidate, "assessors": list(turn.assessors), "learners": list(turn.learners),
            "fresh": list(turn.fresh), "stays": turn.stays,
        }
        for turn in found.turns
    ]  # fmt: skip
    return {
        "feasible": not found.obstacles,
        "seed": found.seed if planned.seed_is else None,
        "slots": slots,
        "loads": [
            {"assessor": load.assessor, "sheets": load.sheets, "tasks": load.tasks, "with": dict(load.partners)}
            for load in found.loads
        ],
        "days": [{"day": use.day, "minutes": use.minutes, "light": use.light} for use in found.days],
        "fresh_in_modules": [
            {"module": each.module, "candidate": each.candidate, "assessors": list(each.fresh)}
            for each in found.fresh_in_modules
        ],
        "groups": [list(group) for group in found.groups],
        "linked": len(found.groups) == 1,
        "mean_places": {candidate: round(place, 3) for candidate, place in found.mean_places},
        "not_met": list(found.not_met),
        "obstacles": [_obstacle(each) for each in found.obstacles],
        "kept": list(planned.kept),
        "withdrawn": list(planned.withdrawn),
        "agreed": list(planned.agreed),
        "written": written,
    }


def _obstacle(found: Any) -> Mapping[str, Any]:
    return {
        "kind": found.kind, "sentence": found.sentence, "todo": found.todo, "task": found.task or None,
        "day": found.day or None, "candidates": list(found.candidates), "assessors": list(found.assessors),
    }  # fmt: skip
