"""Which candidate goes to which pair, with the pairs of every task chosen.

A few tasks at a time everybody is assigned at the smallest cost with the other tasks as they are, round and round
until nothing changes; of a small course all tasks are taken at once, and the answer is the best there is.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import product

from assess.planning.draws import generator
from assess.planning.linear import Program
from assess.planning.request import Pair, Request, TaskWish
from assess.planning.room import Room

__all__ = ["Seating", "assign", "join", "seats_before"]

Seating = Mapping[tuple[str, str], Pair]
"""(task, candidate) -> the two who mark."""

_LOAD, _EVEN, _FRESH, _MARKER, _TOGETHER, _WAIVED, _TIE = 20.0, 20.0, 40.0, 6.0, 3.0, 500.0, 0.5
_ROUNDS = 4
_WAYS = 700
"""Ways of all candidates through the tasks that are assigned together: of more the solver takes too long."""


def assign(request: Request, room: Room, tasks: Sequence[TaskWish], pairs: Mapping[str, Sequence[Pair]]) -> Seating:
    """Two markers for everybody in every task, in the fewest rounds.

    As far as that goes: equal numbers of sheets; somebody without a sheet of the candidate in each module; every
    candidate seen by many and not by the same again; equal numbers in the pairs of a task.
    """
    seating: dict[tuple[str, str], Pair] = {}
    batches = list(_batches(tasks, pairs))
    for _ in range(_ROUNDS if len(batches) > 1 else 1):
        before = dict(seating)
        for batch in batches:
            seating.update(_Step(request, room, batch, pairs, seating).solved() or {})
        if seating == before:
            break
    return seating


def join(
    request: Request,
    room: Room,
    task: TaskWish,
    pairs: Mapping[str, Sequence[Pair]],
    seating: Seating,
    part: tuple[set[str], set[str]],
) -> Seating | None:
    """The seating with one task assigned anew so that this part of the network meets another; None if it cannot."""
    found = _Step(request, room, (task,), pairs, seating).solved(part)
    return None if found is None else {**seating, **found}


def seats_before(request: Request, seating: Seating) -> Iterator[tuple[str, str, Sequence[str]]]:
    """Every slot with its markers: those that stay, and those of the seating."""
    for turn in request.stays:
        yield turn.task, turn.candidate, turn.assessors
    for (task, candidate), pair in seating.items():
        yield task, candidate, pair


def _batches(tasks: Sequence[TaskWish], pairs: Mapping[str, Sequence[Pair]]) -> Iterator[tuple[TaskWish, ...]]:
    batch: list[TaskWish] = []
    ways = 1
    for task in tasks:
        if batch and ways * len(pairs[task.id]) * len(task.candidates) > _WAYS:
            yield tuple(batch)
            batch, ways = [], 1
        batch.append(task)
        ways *= len(pairs[task.id])
    if batch:
        yield tuple(batch)


class _Step:
    """The assignment of a few tasks, everything else as it is."""

    def __init__(
        self,
        request: Request,
        room: Room,
        tasks: Sequence[TaskWish],
        pairs: Mapping[str, Sequence[Pair]],
        seating: Seating,
    ) -> None:
        self.request, self.room, self.tasks, self.pairs = request, room, tasks, pairs
        now = {task.id for task in tasks}
        self.before: dict[str, list[tuple[str, Sequence[str]]]] = defaultdict(list)
        self.sheets: Counter[str] = Counter()
        for task, candidate, who in seats_before(request, seating):
            if task not in now:
                self.before[candidate].append((task, who))
                self.sheets.update(who)
        self.groups = {
            (task.id, name): group
            for task in tasks
            for group in room.seats[task.id].groups
            for name in group.candidates
        }
        self.program = Program()
        self.ways: dict[str, list[tuple[int, tuple[tuple[str, Pair], ...]]]] = defaultdict(list)
        self._candidates()
        self._pairs()
        self._assessors()

    def _candidates(self) -> None:
        """Each candidate takes one way through the tasks."""
        for candidate in dict.fromkeys(name for task in self.tasks for name in task.candidates):
            numbers = generator(self.request.seed, "markers", self.tasks[0].id, candidate)
            here = [task.id for task in self.tasks if candidate in task.candidates]
            options = [[p for p in self.pairs[task] if self.groups[task, candidate].fits(p)] for task in here]
            for chosen in product(*options):
                way = tuple(zip(here, chosen, strict=True))
                cost = self._cost(candidate, way) + _TIE * numbers.random()
                self.ways[candidate].append((self.program.variable(cost, 0, 1, whole=True), way))
            self.program.row([(number, 1) for number, _ in self.ways[candidate]], 1, 1)

    def _cost(self, candidate: str, way: Sequence[tuple[str, Pair]]) -> float:
        seats = [*self.before[candidate], *way]
        seen = Counter(who for _, markers in seats for who in markers)
        together = Counter(frozenset(markers) for _, markers in seats)
        cost = _MARKER * sum(n * n for n in seen.values()) + _TOGETHER * sum(n * n for n in together.values())
        for task, pair in way:
            cost += _WAIVED * len(set(pair) - self.groups[task, candidate].unbiased)
        for module in dict.fromkeys(module for task in self.tasks for module in task.modules):
            tasks = self.request.modules[module]
            could = [self.groups[task, candidate].unbiased for task, _ in way if task in tasks]
            sat = {who for task, markers in seats if task in tasks for who in markers}
            cost += _FRESH * bool(could and not frozenset.intersection(*could) - sat)
        return cost

    def _pairs(self) -> None:
        """No pair has more than the rounds allow; the nth candidate of a pair costs more than the one before."""
        loads: dict[tuple[str, Pair], list[tuple[int, float]]] = defaultdict(list)
        for ways in self.ways.values():
            for number, way in ways:
                for seat in way:
                    loads[seat].append((number, 1))
        for (task, _), load in loads.items():
            self._rising(load, _EVEN, 0, self.room.shortest[task].rounds)

    def _assessors(self) -> None:
        """The nth sheet of an assessor costs more than the one before: sheets come out equal."""
        loads: dict[str, list[tuple[int, float]]] = defaultdict(list)
        for ways in self.ways.values():
            for number, way in ways:
                for _, pair in way:
                    for who in pair:
                        loads[who].append((number, 1))
        most = sum(self.room.shortest[task.id].rounds for task in self.tasks)
        for who, load in loads.items():
            self._rising(load, _LOAD, self.sheets[who], most)

    def _rising(self, load: list[tuple[int, float]], cost: float, before: int, most: int) -> None:
        """The cost of a load: `cost` times the square of itself and what was there before."""
        units = [self.program.variable(cost * (2 * (before + n) + 1), 0, 1) for n in range(most)]
        terms = Counter[int]()
        for number, times in load:
            terms[number] += int(times)
        self.program.row([*terms.items(), *((unit, -1) for unit in units)], 0, 0)

    def solved(self, part: tuple[set[str], set[str]] | None = None) -> dict[tuple[str, str], Pair] | None:
        """Who goes to which pair in these tasks; None when there is no way.

        part: assessors and candidates that are one piece of the network: one candidate at least then meets an
        assessor of another piece.
        """
        if part is not None:
            assessors, candidates = part
            across = [
                (number, 1.0)
                for candidate, ways in self.ways.items()
                for number, way in ways
                if any((candidate in candidates) != (who in assessors) for _, pair in way for who in pair)
            ]
            self.program.row(across, least=1)
        answer = self.program.solve_if_possible(wishes=True)
        if answer is None:
            return None
        return {
            (task, candidate): pair
            for candidate, ways in self.ways.items()
            for number, way in ways
            if answer[number] > 0.5
            for task, pair in way
        }
