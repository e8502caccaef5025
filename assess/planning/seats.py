"""One task: which pairs could work in it, and in how few rounds they could mark everybody.

Candidates whom the same people may mark are one group: how many of a group go to a pair is a flow, and with the pairs
chosen a flow in whole numbers exists wherever one in fractions does (Hoffman & Kruskal 1956: transport problems).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

from assess.planning.linear import Program
from assess.planning.request import Pair, Request, TaskWish

__all__ = ["Group", "SeatProgram", "Seats", "Short", "seats_of", "shortest"]


@dataclass(frozen=True, slots=True)
class Group:
    """Candidates whom the same assessors may mark, or some whose two markers are kept.

    unbiased: those of `may` who need no waiver; fresh: how many of them have to be left for a third look.
    """

    candidates: tuple[str, ...]
    may: frozenset[str]
    unbiased: frozenset[str]
    fresh: int
    kept: frozenset[str] | None = None

    def fits(self, pair: Pair) -> bool:
        """True when this pair may mark the group's candidates, and enough others are left."""
        if self.kept is not None and self.kept != frozenset(pair):
            return False
        return self.may.issuperset(pair) and len(self.unbiased.difference(pair)) >= self.fresh


@dataclass(frozen=True, slots=True)
class Seats:
    """A task with everybody who could sit in it.

    pairs: every pair that may mark somebody here, the first marker first. wanted: those the director keeps.
    most: how many pairs may work.
    """

    task: TaskWish
    groups: tuple[Group, ...]
    pairs: tuple[Pair, ...]
    wanted: tuple[Pair, ...]
    most: int


@dataclass(frozen=True, slots=True)
class Short:
    """The fewest rounds: turns one after the other in the place that is used longest; `pairs` that then work.

    left: candidates of each group nobody can mark, however long it takes; all 0 where the task can be done.
    """

    rounds: int
    pairs: int
    left: tuple[int, ...]


def seats_of(request: Request, task: TaskWish, candidates: Sequence[str] | None = None) -> Seats:
    """The seats of a task, of all its candidates or of some."""
    who = task.candidates if candidates is None else tuple(candidates)
    groups: dict[tuple[frozenset[str], frozenset[str], frozenset[str] | None], list[str]] = {}
    for candidate in who:
        kept = request.kept_seats.get((task.id, candidate))
        may, unbiased = request.may(task.id, candidate), request.unbiased(task.id, candidate)
        key = (frozenset(may), frozenset(unbiased), frozenset(kept) if kept else None)
        groups.setdefault(key, []).append(candidate)
    fresh = request.fresh
    found = tuple(Group(tuple(names), may, clean, fresh, kept) for (may, clean, kept), names in groups.items())
    pairs = []
    for one, other in combinations(request.assessors, 2):
        pair = request.seated(task.id, one, other)
        if pair and any(group.fits(pair) for group in found):
            pairs.append(pair)
    seats = [request.kept_seats[key] for key in request.kept_seats if key[0] == task.id and key[1] in who]
    wanted = {frozenset(pair): pair for pair in (*request.kept_pairs.get(task.id, ()), *seats)}
    asked = min(task.pairs or len(who), len(who))
    most = min(max(asked, len(wanted)), len({a for pair in pairs for a in pair}) // 2)
    return Seats(task, found, tuple(pairs), tuple(wanted.values()), most)


class SeatProgram:
    """The choice of pairs and the flow of candidates to them, as a program for the solver.

    chosen: pair -> its variable, 0 or 1. flow: (group, pair) -> how many. left: group -> how many nobody marks.
    """

    def __init__(
        self,
        seats: Seats,
        *,
        costs: Sequence[float] = (),
        flow_cost: Callable[[int, int], float] = lambda group, pair: 0.0,
        spare: float | None = None,
    ) -> None:
        """costs: of each pair; flow_cost: of a candidate of a group with a pair.

        spare: the cost of a candidate nobody marks; None where everybody has to be marked.
        """
        self.seats, self.program = seats, Program()
        wanted = {frozenset(pair) for pair in seats.wanted}
        self.chosen = [
            self.program.variable(costs[p] if costs else 0, int(frozenset(pair) in wanted), 1, whole=True)
            for p, pair in enumerate(seats.pairs)
        ]
        self.flow: dict[tuple[int, int], int] = {}
        self.left: list[int] = []
        for g, group in enumerate(seats.groups):
            size = len(group.candidates)
            for p, pair in enumerate(seats.pairs):
                if group.fits(pair):
                    self.flow[g, p] = self.program.variable(flow_cost(g, p), 0, size)
                    self.program.row([(self.flow[g, p], 1), (self.chosen[p], -size)], most=0)
            terms = [(number, 1.0) for (of, _), number in self.flow.items() if of == g]
            if spare is not None:
                self.left.append(self.program.variable(spare, 0, size))
                terms.append((self.left[-1], 1))
            self.program.row(terms, size, size)
        for assessor in dict.fromkeys(a for pair in seats.pairs for a in pair):
            sits = [(self.chosen[p], 1.0) for p, pair in enumerate(seats.pairs) if assessor in pair]
            self.program.row(sits, most=1)

    def load(self, pair: int) -> list[tuple[int, float]]:
        """The terms that add up to the candidates of a pair."""
        return [(number, 1.0) for (_, p), number in self.flow.items() if p == pair]


def shortest(seats: Seats) -> Short:
    """The fewest rounds in which as many candidates as possible are marked by two people, nobody in two pairs."""
    many, work = sum(len(group.candidates) for group in seats.groups), _most_pairs(seats)
    least = -(-many // max(1, min(seats.task.at_once or work, work)))
    # Mostly the fewest rounds that many turns take can be had, which is quickly seen.
    plain = SeatProgram(seats)
    _limit(plain, work, most=least)
    if plain.program.solve_if_possible() is not None:
        return Short(least, work, (0,) * len(seats.groups))
    built = SeatProgram(seats, spare=10.0 * many * many + 10)
    rounds = built.program.variable(many + 1, least, many, whole=True)
    _limit(built, work, rounds=rounds)
    answer = built.program.solve()
    return Short(round(answer[rounds]), work, tuple(round(answer[number]) for number in built.left))


def _limit(built: SeatProgram, pairs: int, *, most: float = 0, rounds: int | None = None) -> None:
    """No more pairs than this, and no pair with more candidates than `most` (or than the variable `rounds` says)."""
    for p in range(len(built.seats.pairs)):
        built.program.row([*built.load(p), *([(rounds, -1.0)] if rounds is not None else [])], most=most)
    built.program.row([(number, 1) for number in built.chosen], most=pairs)


def _most_pairs(seats: Seats) -> int:
    """How many pairs can work at most: no more than `most`, nobody in two, those that are kept among them."""
    program = Program()
    wanted = {frozenset(pair) for pair in seats.wanted}
    chosen = [program.variable(-1, int(frozenset(pair) in wanted), 1, whole=True) for pair in seats.pairs]
    for assessor in dict.fromkeys(a for pair in seats.pairs for a in pair):
        program.row([(chosen[p], 1) for p, pair in enumerate(seats.pairs) if assessor in pair], most=1)
    program.row([(number, 1) for number in chosen], most=seats.most)
    return round(sum(program.solve())) if chosen else 0
