"""A plan goes into `course.yaml`: comments stay, slots that have a sheet do not change."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from assess.records.errors import Refusal
from assess.records.ids import base_task
from assess.records.times import wall_minutes, wall_text

if TYPE_CHECKING:
    from assess.desk.planning import PlannedCourse
    from assess.desk.session import Desk
    from assess.planning.results import Turn
    from assess.records.course import Course

__all__ = ["must_direct", "write_plan"]

_Slot = tuple[str, str]  # task, candidate


def write_plan(desk: Desk, planned: PlannedCourse) -> tuple[str, ...]:
    """Put the allocation, its day and the seed into `course.yaml`, and raise its revision; what else is to be known.

    Refused to anybody but a director; when there is no plan; when somebody has the course open or has changed the file
    since; when a slot that would change or go has a sheet or a change of its allocation on record. The file is
    untouched then.
    """
    from assess.store.course_lock import course_lock
    from assess.store.yaml_edit import edit_yaml
    from assess.store.yaml_splice import plain

    must_direct(desk)
    if planned.plan.obstacles:
        raise Refusal("there is no plan to write", todo="see what stands in the way, and change that first")
    turns = [turn for turn in planned.plan.turns if not turn.stays]
    notes: list[str] = []
    with course_lock(desk.folder.root, exclusive=True):

        def change(course: Any) -> None:
            if course != plain(desk.folder.course_doc.data):
                raise Refusal("course.yaml was changed since it was planned", todo="plan it again")
            old = course.get("allocation") or []
            new = _allocation(desk.folder.course, old, turns, notes)
            _none_begun(desk, old, new)
            _programme(desk, course, old, new, notes)
            plan = course.setdefault("plan", {})
            if plan is None:
                plan = course["plan"] = {}
            plan["seed"] = planned.plan.seed
            # Of a course that has begun the allocation was made earlier: its day stays what it is.
            if not planned.kept:
                course["allocated_on"] = desk.today()
            course["allocation"] = new
            course["revision"] += 1

        edit_yaml(desk.folder.root / "course.yaml", "course", change)
    return tuple(notes)


def must_direct(desk: Desk) -> None:
    """Raise Refusal for anybody who is no director of the course."""
    if desk.role != "director":
        raise Refusal("only a director puts a plan into the course", todo="say who you are with --as ID")


def _allocation(course: Course, old: Sequence[Any], turns: Sequence[Turn], notes: list[str]) -> list[Any]:
    """The items of the list: tasks in the order in which the file has them, new ones after them in time order."""
    planned: dict[str, list[Turn]] = {}
    for turn in turns:
        planned.setdefault(turn.task, []).append(turn)
    made: list[Any] = []
    for task in dict.fromkeys([*(item["task"] for item in old), *planned]):
        before = {item["candidate"]: item for item in old if item["task"] == task}
        if task in planned:
            in_order = sorted(planned[task], key=lambda turn: turn.order)
            made += [_item(turn, _shadows(turn, before, turns, notes)) for turn in in_order]
        else:
            made += before.values()
    return made


def _item(turn: Turn, shadows: Sequence[str]) -> dict[str, Any]:
    item: dict[str, Any] = {"task": turn.task, "order": turn.order, "round": turn.round, "pair": turn.pair}
    if turn.at is not None:
        item["at"] = wall_text(turn.at)
    item |= {"candidate": turn.candidate, "assessors": list(turn.assessors)}
    if shadows:
        item["shadows"] = list(shadows)
    if turn.learners:
        item["learners"] = list(turn.learners)
    return item


def _shadows(turn: Turn, before: Mapping[str, Any], turns: Iterable[Turn], notes: list[str]) -> list[str]:
    """Who shadowed the slot and still can: nobody is in two places."""
    kept = []
    for who in before.get(turn.candidate, {}).get("shadows", ()):
        busy = [each for each in turns if who in each.assessors and _touch(turn, each)]
        if busy:
            notes.append(f"{who} no longer shadows {turn.task}.{turn.candidate}: marks {busy[0].task} then.")
        else:
            kept.append(who)
    return kept


def _touch(one: Turn, other: Turn) -> bool:
    if one.day != other.day or one.at is None or other.at is None or one.until is None or other.until is None:
        return False
    return one.at < other.until and other.at < one.until


def _none_begun(desk: Desk, old: Sequence[Any], new: Sequence[Any]) -> None:
    """Raise Refusal when a slot that has begun would change. The folder is looked at anew: others may have marked."""
    from assess.store.sheet_files import sheet_files

    sheets = {(sheet.task, sheet.candidate) for sheet in sheet_files(desk.folder.root)}
    changed = {
        (slot.task, slot.candidate) for slot in desk.course.allocation if desk.seats.changes(slot.task, slot.candidate)
    }
    before, after = _by_slot(old), _by_slot(new)
    touched = [slot for slot in {**before, **dict.fromkeys(sheets)} if before.get(slot) != after.get(slot)]
    for begun, what in ((sheets, "a sheet"), (changed, "a change of markers on record")):
        named = sorted(f"{task}.{candidate}" for task, candidate in touched if (task, candidate) in begun)
        if named:
            more = f" and {len(named) - 3} more" if len(named) > 3 else ""
            raise Refusal(
                f"{', '.join(named[:3])}{more} would change and {'has' if len(named) == 1 else 'have'} {what}",
                todo="with --rest only tasks that have not begun are planned; nothing was changed",
            )


def _by_slot(items: Sequence[Any]) -> dict[_Slot, Any]:
    return {(item["task"], item["candidate"]): item for item in items}


# --- the programme as people read it -------------------------------------------------------------


def _programme(desk: Desk, course: Any, old: Sequence[Any], new: Sequence[Any], notes: list[str]) -> None:
    """The lines under `programme`, where nobody has written others."""
    standing = course.get("programme") or []
    if standing and standing != _lines(desk, old):
        notes.append("The lines under `programme` stay as they are: see whether they still fit.")
    else:
        course["programme"] = _lines(desk, new)


def _lines(desk: Desk, items: Sequence[Any]) -> list[Any]:
    """A line for each day: `09:45 T1; 11:00 T2`."""
    names = {task.id for task in desk.course.tasks}
    begins: dict[int, dict[str, str]] = {}
    for item in items:
        task = desk.course.task(base_task(item["task"], names))
        if item.get("at") and task is not None:
            day = begins.setdefault(item.get("day") or task.day, {})
            day[item["task"]] = min(day.get(item["task"], item["at"]), item["at"], key=wall_minutes)
    return [
        {"day": day, "text": "; ".join(f"{at} {task}" for task, at in sorted(tasks.items(), key=lambda pair: pair[1]))}
        for day, tasks in sorted(begins.items())
    ]
