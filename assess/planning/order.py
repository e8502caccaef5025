"""The running order of each task: drawn from the seed, then laid into the rounds.

For each task many orders are drawn, and of them the one is taken that brings the candidates' mean places over the
tasks so far closest together: so nobody is always early or always late, and nobody picks an order.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from assess.planning.assigning import Seating
from assess.planning.draws import drawn_order, generator
from assess.planning.request import Pair, Request, TaskWish
from assess.planning.results import Turn
from assess.planning.room import Room, at_once

__all__ = ["mean_places", "turns_of"]

DRAWS = 200
"""Orders drawn for each task."""


class _Place(NamedTuple):
    """A candidate's place in a running order: with which pair, and from which minute of the day."""

    candidate: str
    pair: int
    at: int


def turns_of(
    request: Request, room: Room, tasks: Sequence[TaskWish], pairs: Mapping[str, Sequence[Pair]], seating: Seating
) -> list[Turn]:
    """Every turn of the tasks, in time order, without learners."""
    before = _places(request.stays)
    turns: list[Turn] = []
    for task in tasks:
        numbers = generator(request.seed, "order", task.id)
        where = {candidate: pairs[task.id].index(seating[task.id, candidate]) for candidate in task.candidates}
        draws = (_laid(room, task, where, drawn_order(task.candidates, numbers)) for _ in range(DRAWS))
        best = min(draws, key=lambda drawn: _uneven(before, [place.candidate for place in drawn]))
        for number, place in enumerate(best):
            before[place.candidate].append(_share(number, len(best)))
        turns += _turns(request, task, pairs[task.id], best)
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
        for turn in of_task:
            places[turn.candidate].append(_share(turn.order - 1, max(other.order for other in of_task)))
    return places


def _share(number: int, many: int) -> float:
    return number / (many - 1) if many > 1 else 0.5


def _uneven(before: Mapping[str, Sequence[float]], drawn: Sequence[str]) -> float:
    """How far apart the mean places would be with this order: the sum of their squares about their middle."""
    means = []
    for number, candidate in enumerate(drawn):
        earlier = before.get(candidate, ())
        means.append((sum(earlier) + _share(number, len(drawn))) / (len(earlier) + 1))
    middle = sum(means) / len(means)
    return sum((mean - middle) ** 2 for mean in means)


def _laid(room: Room, task: TaskWish, where: Mapping[str, int], drawn: Sequence[str]) -> list[_Place]:
    """The places of a task when everybody comes in the order drawn, as far as the two who mark are free.

    where: the number of the pair that marks each candidate.
    """
    waiting: dict[int, list[str]] = defaultdict(list)
    for candidate in reversed(drawn):
        waiting[where[candidate]].append(candidate)
    sizes = {pair: len(each) for pair, each in waiting.items()}
    starts, wide = room.laid[task.id].starts, at_once(task, room.shortest[task.id].pairs)
    places: list[_Place] = []
    for n, start in enumerate(starts):
        rounds_left = len(starts) - n
        ready = [pair for pair, each in waiting.items() if each]
        # Who can wait no longer comes first, then the pair that has most of its candidates before it.
        ready.sort(key=lambda p: (len(waiting[p]) < rounds_left, -len(waiting[p]) / sizes[p], p))
        places += [_Place(waiting[pair].pop(), pair, start) for pair in sorted(ready[:wide])]
    return places


def _turns(request: Request, task: TaskWish, pairs: Sequence[Pair], places: Sequence[_Place]) -> list[Turn]:
    rounds: Counter[int] = Counter()
    # A pair to whom nobody comes has no number.
    numbers = {number: n for n, number in enumerate(sorted({place.pair for place in places}), 1)}
    turns = []
    for order, (candidate, number, at) in enumerate(places, 1):
        rounds[number] += 1
        pair = pairs[number]
        fresh = tuple(who for who in request.unbiased(task.id, candidate) if who not in pair)
        turns.append(
            Turn(
                task.id, task.day, order, rounds[number], numbers[number], at, at + task.minutes, candidate, pair,
                fresh=fresh,
            )
        )  # fmt: skip
    return turns
