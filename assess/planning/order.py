"""The running order of each task: drawn from the seed, then laid into the rounds.

For each task many orders are drawn, and of them the one is taken that brings the candidates' mean places over the
tasks so far closest together: so nobody is always early or always late, and nobody picks an order.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from assess.planning.assigning import Seating
from assess.planning.draws import drawn_order, generator
from assess.planning.request import Pair, Request, TaskWish
from assess.planning.results import Turn
from assess.planning.room import Room, at_once

__all__ = ["mean_places", "turns_of"]

DRAWS = 200
"""Orders drawn for each task."""


def turns_of(
    request: Request, room: Room, tasks: Sequence[TaskWish], pairs: Mapping[str, Sequence[Pair]], seating: Seating
) -> list[Turn]:
    """Every turn of the tasks, in time order, without learners."""
    places = _places(request.stays)
    turns: list[Turn] = []
    for task in tasks:
        numbers = generator(request.seed, "order", task.id)
        draws = [
            _laid(request, room, task, pairs[task.id], seating, drawn_order(task.candidates, numbers))
            for _ in range(DRAWS)
        ]
        best = min(draws, key=lambda drawn: _uneven(places, drawn))
        for candidate, place in _places(best).items():
            places[candidate] += place
        turns += best
    return turns


def mean_places(turns: Iterable[Turn]) -> dict[str, float]:
    """Each candidate's mean place over the running orders: 0 always first, 1 always last."""
    return {candidate: sum(places) / len(places) for candidate, places in sorted(_places(turns).items())}


def _places(turns: Iterable[Turn]) -> dict[str, list[float]]:
    """The places a candidate has had, each between 0 (first of the task) and 1 (last of it)."""
    by_task: dict[str, list[Turn]] = defaultdict(list)
    for turn in turns:
        by_task[turn.task].append(turn)
    places: dict[str, list[float]] = defaultdict(list)
    for of_task in by_task.values():
        last = max(turn.order for turn in of_task)
        for turn in of_task:
            places[turn.candidate].append((turn.order - 1) / (last - 1) if last > 1 else 0.5)
    return places


def _uneven(before: Mapping[str, Sequence[float]], drawn: Sequence[Turn]) -> float:
    means = []
    for candidate, now in _places(drawn).items():
        places = [*before.get(candidate, ()), *now]
        means.append(sum(places) / len(places))
    middle = sum(means) / len(means)
    return sum((mean - middle) ** 2 for mean in means)


def _laid(
    request: Request, room: Room, task: TaskWish, pairs: Sequence[Pair], seating: Seating, drawn: Sequence[str]
) -> list[Turn]:
    """The turns of a task when everybody comes in the order drawn, as far as the two who mark are free."""
    waiting = [[c for c in drawn if seating[task.id, c] == pair] for pair in pairs]
    sizes = [max(len(each), 1) for each in waiting]
    starts = room.laid[task.id].starts
    wide = at_once(task, room.shortest[task.id].pairs)
    turns: list[Turn] = []
    for n, start in enumerate(starts):
        rounds_left = len(starts) - n
        ready = [p for p, each in enumerate(waiting) if each]
        # Who can wait no longer comes first, then the pair that has most of its candidates before it.
        ready.sort(key=lambda p: (len(waiting[p]) < rounds_left, -len(waiting[p]) / sizes[p], p))
        for p in sorted(ready[:wide]):
            candidate = waiting[p].pop(0)
            turns.append(_turn(request, task, pairs[p], candidate, len(turns) + 1, start))
            turns[-1] = replace(turns[-1], round=sizes[p] - len(waiting[p]), pair=p + 1)
    return turns


def _turn(request: Request, task: TaskWish, pair: Pair, candidate: str, order: int, start: int) -> Turn:
    fresh = tuple(who for who in request.unbiased(task.id, candidate) if who not in pair)
    return Turn(task.id, task.day, order, 1, 1, start, start + task.minutes, candidate, pair, fresh=fresh)
