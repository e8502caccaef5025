"""Who may sit beside whom in a slot, and who would sit in two places at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from assess.records.course import Allocation, Course, People
from assess.records.separation import Bar, licence_in_force
from assess.records.times import wall_minutes

__all__ = ["at_once", "condition_bars"]


def at_once(course: Course, one: Allocation, other: Allocation, minutes: Callable[[str], int]) -> bool:
    """True when nobody can mark both slots: their times overlap; where one has none, two pairs in one round of a task.

    minutes: how long a slot of a task takes.
    """
    if one.at is not None and other.at is not None:
        tasks = (course.task(one.task), course.task(other.task))
        days = [slot.day or (task.day if task else 0) for slot, task in zip((one, other), tasks, strict=True)]
        starts = (wall_minutes(one.at), wall_minutes(other.at))
        overlap = starts[0] < starts[1] + minutes(other.task) and starts[1] < starts[0] + minutes(one.task)
        return days[0] == days[1] and overlap
    return (one.task, one.round) == (other.task, other.round) and one.pair != other.pair


def condition_bars(
    course: Course, people: People, seated: Sequence[str], task: str, candidate: str
) -> tuple[Bar, ...]:  # fmt: skip
    """Whose licence asks for another seat in a slot: `only-second` sits first, `supervised` beside nobody free.

    seated: who marks the slot, the first marker first. Free is whose licence covers the slot without a condition.
    """
    day, described = course.held_on(task, candidate), course.task(task)
    if day is None or described is None:
        return ()
    held = {
        who: licence
        for who in seated
        if (licence := licence_in_force(people.licences, who, course.activity, described.area, day))
        and not licence.suspended
    }
    found = []
    for who, licence in held.items():
        at = ("licences", max(n for n, item in enumerate(people.licences) if item is licence))
        if "only-second" in licence.conditions and seated[0] == who:
            found.append(Bar("licence", who, candidate, "the licence is for the second marker only", place=at))
        free = any(not item.conditions for other, item in held.items() if other != who)
        if "supervised" in licence.conditions and not free:
            why = "the licence asks for a marker without conditions beside them"
            found.append(Bar("licence", who, candidate, why, place=at))
    return tuple(found)
