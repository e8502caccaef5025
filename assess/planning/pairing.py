"""Which pairs work in which task.

Task after task the cheapest choice is made with the other tasks as they are, round and round until nothing changes.
A pair costs more the more often it meets, much more on the same day, and more when its two have much to do already.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

from assess.planning.draws import generator
from assess.planning.request import Pair, Request, TaskWish
from assess.planning.room import Room
from assess.planning.seats import SeatProgram, Seats

__all__ = ["choose_pairs", "in_time_order"]

_MEETS, _SAME_DAY, _LOAD, _UNEVEN, _WAIVED, _MORE_PAIRS, _TIE = 4.0, 80.0, 20.0, 10.0, 30.0, 40.0, 0.5
_ROUNDS = 4


def in_time_order(request: Request, room: Room) -> list[TaskWish]:
    """The tasks as they come in the course."""
    with_turns = [task for task in request.tasks if task.candidates]
    return sorted(with_turns, key=lambda task: (task.day, room.laid[task.id].starts[0]))


def choose_pairs(request: Request, room: Room) -> dict[str, tuple[Pair, ...]]:
    """The pairs of every task, in the order of the course's list of assessors.

    Nobody sits in two pairs of a task, and everybody in it can be marked in the fewest rounds. As far as that goes,
    pairs change from task to task, meet about equally often, and have about equally much to do.
    """
    tasks = in_time_order(request, room)
    chosen: dict[str, tuple[Pair, ...]] = {}
    for _ in range(_ROUNDS):
        before = dict(chosen)
        for task in tasks:
            others = {name: pairs for name, pairs in chosen.items() if name != task.id}
            chosen[task.id] = _pairs_of(request, room, task, _Others(request, tasks, others))
        if chosen == before:
            break
    return chosen


class _Others:
    """The other tasks as they are: who meets how often, who sits together on which day, who has how much to do."""

    def __init__(self, request: Request, tasks: Sequence[TaskWish], chosen: Mapping[str, Sequence[Pair]]) -> None:
        self.meets: Counter[frozenset[str]] = Counter()
        self.on_day: set[tuple[int, frozenset[str]]] = set()
        self.sheets: dict[str, float] = defaultdict(float)
        for turn in request.stays:
            for who in turn.assessors:
                self.sheets[who] += 1
        for _, day, together in {(turn.task, turn.day, frozenset(turn.assessors)) for turn in request.stays}:
            self._met(day, together)
        for task in tasks:
            for pair in chosen.get(task.id, ()):
                self._met(task.day, frozenset(pair))
                for who in pair:
                    self.sheets[who] += len(task.candidates) / len(chosen[task.id])

    def _met(self, day: int, pair: frozenset[str]) -> None:
        self.meets[pair] += 1
        self.on_day.add((day, pair))


def _pairs_of(request: Request, room: Room, task: TaskWish, others: _Others) -> tuple[Pair, ...]:
    seats, short = room.seats[task.id], room.shortest[task.id]
    costs = _costs(request, seats, others, short.pairs)
    built = SeatProgram(seats, costs=costs, flow_cost=lambda g, p: _waivers(seats, g, p))
    program = built.program
    even = -(-len(task.candidates) // max(short.pairs, 1))
    kept = {frozenset(pair) for pair in seats.wanted}
    for p, pair in enumerate(seats.pairs):
        load = built.load(p)
        program.row(load, most=short.rounds)
        program.row([*load, (program.variable(_UNEVEN), -1)], most=even)
        if frozenset(pair) not in kept:
            program.row([*load, (built.chosen[p], -1)], least=0)
    program.row([(number, 1) for number in built.chosen], most=short.pairs)
    answer = program.solve(wishes=True)
    found = [pair for p, pair in enumerate(seats.pairs) if answer[built.chosen[p]] > 0.5]
    places = {who: n for n, who in enumerate(request.assessors)}
    return tuple(sorted(found, key=lambda pair: sorted(places[who] for who in pair)))


def _costs(request: Request, seats: Seats, others: _Others, pairs: int) -> list[float]:
    numbers = generator(request.seed, "pairs", seats.task.id)
    share = len(seats.task.candidates) / max(pairs, 1)
    mean = sum(others.sheets.values()) / len(request.assessors)
    costs = []
    for pair in seats.pairs:
        together = frozenset(pair)
        cost = _MEETS * (2 * others.meets[together] + 1) + _TIE * numbers.random() - _MORE_PAIRS
        cost += _SAME_DAY * ((seats.task.day, together) in others.on_day)
        cost += _LOAD * sum(others.sheets[who] - mean for who in pair) / share
        costs.append(cost)
    return costs


def _waivers(seats: Seats, group: int, pair: int) -> float:
    return _WAIVED * sum(who not in seats.groups[group].unbiased for who in seats.pairs[pair])
