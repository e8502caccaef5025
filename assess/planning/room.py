"""How much room a request leaves, and what stands in the way of any plan: looked for before anything is planned.

The order is that of the work: who may mark at all; whether two are found for everybody in a task; whether the rounds
go into the day. What passes all three can be planned, for tasks touch one another in nothing but the light of a day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from assess.planning.days import DayTask, Laid, free_times, lay_out
from assess.planning.marker_obstacles import fresh_at_most, marker_obstacles
from assess.planning.request import Request, TaskWish
from assess.planning.results import Obstacle
from assess.planning.seat_obstacles import fewest_that, kept_obstacles, seat_obstacles
from assess.planning.seats import Seats, Short, seats_of, shortest
from assess.planning.words import counted, half_days, listed

__all__ = ["Room", "at_once", "room_of"]


@dataclass
class Room:
    """The seats and the fewest rounds of each task, when they begin, and every obstacle found."""

    seats: dict[str, Seats] = field(default_factory=dict)
    shortest: dict[str, Short] = field(default_factory=dict)
    laid: dict[str, Laid] = field(default_factory=dict)
    obstacles: list[Obstacle] = field(default_factory=list)


def room_of(request: Request) -> Room:
    """The room a request leaves. With `obstacles` there is no plan; without, there is one."""
    room = Room(obstacles=[*_nobody(request), *marker_obstacles(request)])
    for task in request.tasks:
        seats = seats_of(request, task)
        kept = list(kept_obstacles(request, seats))
        room.obstacles += kept
        if not kept and all(fresh_at_most(request, task.id, who) >= request.fresh for who in task.candidates):
            room.seats[task.id], room.shortest[task.id] = seats, shortest(seats)
            room.obstacles += seat_obstacles(request, seats, room.shortest[task.id])
    for day in sorted({task.day for task in request.tasks}):
        if all(t.id in room.shortest and not any(room.shortest[t.id].left) for t in _of(request, day)):
            room.obstacles += _light(request, day, room)
    return room


def at_once(task: TaskWish, pairs: int) -> int:
    """Turns of a task at the same time, with so many pairs at work."""
    return max(1, min(task.at_once or pairs, pairs))


def _nobody(request: Request) -> Iterator[Obstacle]:
    if not request.tasks and not request.stays:
        yield Obstacle("nobody", "There is nothing to plan: the course has no task.", "list the tasks in course.yaml")
    if request.tasks and not any(task.candidates for task in request.tasks):
        yield Obstacle("nobody", "There is nobody to plan for: no candidate.", "list the candidates in course.yaml")


def _of(request: Request, day: int) -> list[TaskWish]:
    return [task for task in request.tasks if task.day == day]


# --- the light of a day --------------------------------------------------------------------------


def _light(request: Request, day: int, room: Room) -> Iterator[Obstacle]:
    tasks = _of(request, day)
    light = _free(request, day)
    most = request.most_minutes - _taken(request, day)
    wanted = [_day_task(task, room.shortest[task.id]) for task in tasks]
    needed = {each.id: each.rounds * each.every for each in wanted}
    usable = min(sum(end - start for start, end in light), most)
    if sum(needed.values()) > usable:
        yield _too_long(request, day, room, needed, max(0, usable))
        return
    laid = lay_out(wanted, light, request.between)
    if laid is None:
        told = listed([f"{each.id} ({_rounds(each)})" for each in wanted])
        between = f" with {request.between} minutes between tasks" if len(tasks) > 1 and request.between else ""
        starts = "".join(f", {task.id} not before its time" for task in tasks if task.not_before is not None)
        sentence = f"Day {day}: {told} cannot be laid into {half_days(light)}{between}{starts}."
        todo = "shift the half-days, let a task begin earlier, or move one to another day"
        yield Obstacle("rounds", sentence, todo, day=day)
        return
    room.laid.update({each.task: each for each in laid})


def _free(request: Request, day: int) -> tuple[tuple[int, int], ...]:
    spans: dict[str, tuple[int, int]] = {}
    for turn in request.stays:
        if turn.day == day and turn.at is not None and turn.until is not None:
            start, end = spans.get(turn.task, (turn.at, turn.until))
            spans[turn.task] = (min(start, turn.at), max(end, turn.until))
    return free_times(request.light.get(day, ()), list(spans.values()), request.between)


def _taken(request: Request, day: int) -> int:
    """Minutes of the day in which turns that stay are going on."""
    turns = [t for t in request.stays if t.day == day and t.at is not None and t.until is not None]
    return len({minute for turn in turns for minute in range(turn.at or 0, turn.until or 0)})


def _day_task(task: TaskWish, short: Short) -> DayTask:
    return DayTask(task.id, short.rounds if task.candidates else 0, task.every, task.not_before or 0)


def _rounds(task: DayTask) -> str:
    return f"{task.rounds * task.every} minutes: {counted(task.rounds, 'round')} of {task.every}"


def _too_long(request: Request, day: int, room: Room, needed: dict[str, int], usable: int) -> Obstacle:
    longest = max(_of(request, day), key=lambda task: needed[task.id])
    others = {name: minutes for name, minutes in needed.items() if name != longest.id and minutes}
    left = max(0, usable - sum(others.values()))
    short = room.shortest[longest.id]
    beside = f" beside {listed([f'{name} ({minutes})' for name, minutes in others.items()])}" if others else ""
    sentence = (
        f"{longest.id} needs {needed[longest.id]} minutes ({counted(short.rounds, 'round')} of {longest.every}),"
        f" {left} are left on day {day}{beside}{_because(request, longest, short)}."
    )
    return Obstacle("light", sentence, _shorter(request, day, room, usable), longest.id, day)


def _because(request: Request, task: TaskWish, short: Short) -> str:
    """Who makes the rounds more than the number of pairs does, if anybody."""
    least = -(-len(task.candidates) // at_once(task, short.pairs))
    if short.rounds <= least:
        return ""
    few = fewest_that(task.candidates, lambda some: shortest(seats_of(request, task, some)).rounds >= short.rounds)
    return f"; {least} rounds would do, but {listed(few)} can only go to the same markers one after the other"


def _shorter(request: Request, day: int, room: Room, usable: int) -> str:
    """What would make the day long enough: more turns at once where pairs stand idle, or another day."""
    for task in sorted(_of(request, day), key=lambda each: -room.shortest[each.id].rounds * each.every):
        pairs = room.shortest[task.id].pairs
        if at_once(task, pairs) < pairs:
            faster = replace(task, at_once=pairs)
            rounds = shortest(seats_of(request, faster)).rounds
            rest = sum(room.shortest[t.id].rounds * t.every for t in _of(request, day) if t.id != task.id)
            if rounds * task.every + rest <= usable:
                return f"with `at_once: {pairs}` {task.id} needs {rounds * task.every} minutes, and the day holds it"
    return "move a task to another day, take more turns at once, or give the day more light"
