"""The fewest single-level steps that reach a goal of the rule, or leave it.

A step is one mark one level up or down. A goal asks three things of the figures: the mean passes a test, at most so
many values stand below the line, at most so many under the minimum. All three only ever get better with a step up.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from assess.marking.rule import ModuleRule
from assess.marking.values import Tally

__all__ = ["Goal", "Plan", "Unit", "fewest_to_leave", "fewest_to_reach"]

MeanTest = Callable[[Fraction, int], bool]
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Goal:
    """What the figures must show. allowed: None where the count does not matter."""

    mean_holds: MeanTest
    allowed: int | None
    under_allowed: int

    def holds(self, figures: Tally, rule: ModuleRule) -> bool:
        """True when the figures show all three."""
        count = self.allowed is None or len(rule.below(figures.values)) <= self.allowed
        return (
            count and len(rule.under(figures.values)) <= self.under_allowed and self.mean_holds(figures.mean, figures.n)
        )


@dataclass(frozen=True, slots=True)
class Unit:
    """One mark that can move: a marker's, or the agreed one of a slot.

    value: the task-criterion value it enters. gain: what a level adds to the sum of sheet values. share: what it
    adds to that value. up, down: by how many levels it can move.
    """

    slot: str
    criterion: str
    assessor: str
    value: Key
    gain: Fraction
    share: Fraction
    up: int
    down: int


@dataclass(frozen=True, slots=True)
class Plan:
    """Steps per unit. `at_least`: no fewer steps can do it; the plan is the least when it takes just as many."""

    moves: tuple[tuple[Unit, int], ...]
    at_least: int
    up: bool

    @property
    def steps(self) -> int:
        """How many levels the plan moves in all."""
        return sum(count for _, count in self.moves)


def fewest_to_reach(goal: Goal, figures: Tally, units: Sequence[Unit], rule: ModuleRule) -> Plan | None:
    """A plan of steps up that reaches the goal and a proven least number; None where no steps up reach it.

    The least for the values alone and the least for the mean alone are each exact; both must be met, so the larger
    is a bound. The plan takes the first and adds the best steps for the mean.
    """
    lifts = _least_lifts(goal, figures, units, rule)
    alone = _towards_mean(goal, figures, units, {})
    if lifts is None or alone is None:
        return None
    both = _towards_mean(goal, figures, units, lifts)
    if both is None:
        return None
    at_least = max(sum(lifts.values()), sum(alone.values()))
    return _plan(both, units, at_least, up=True)


def fewest_to_leave(goal: Goal, figures: Tally, units: Sequence[Unit], rule: ModuleRule) -> Plan | None:
    """The least steps down after which the goal no longer holds; None where none do.

    One of its three parts must break: the cheapest of them is the least. No step where it does not hold anyway.
    """
    if not goal.holds(figures, rule):
        return Plan((), 0, up=False)
    ways = [_break_mean(goal, figures, units)]
    if goal.allowed is not None:
        ways.append(_break_values(figures, units, goal.allowed, lambda value: value < rule.line))
    if rule.minimum is not None:
        ways.append(_break_values(figures, units, goal.under_allowed, lambda value: not rule.holds(value)))
    found = [way for way in ways if way is not None]
    if not found:
        return None
    best = min(found, key=lambda way: sum(way.values()))
    return _plan(best, units, sum(best.values()), up=False)


def _plan(moves: dict[int, int], units: Sequence[Unit], at_least: int, *, up: bool) -> Plan:
    return Plan(tuple((units[i], moves[i]) for i in sorted(moves) if moves[i]), at_least, up)


def _members(units: Sequence[Unit]) -> dict[Key, list[int]]:
    """Value -> its units, those that move the sum most first."""
    found: dict[Key, list[int]] = {}
    for i, unit in enumerate(units):
        found.setdefault(unit.value, []).append(i)
    for held in found.values():
        held.sort(key=lambda i: (-units[i].gain, i))
    return found


def _spend(members: Sequence[int], units: Sequence[Unit], steps: int, *, up: bool) -> dict[int, int] | None:
    """So many steps within one value, best gain first; None when its marks cannot move that far."""
    moves: dict[int, int] = {}
    for i in members:
        room = units[i].up if up else units[i].down
        moves[i] = min(room, steps)
        steps -= moves[i]
    return moves if steps == 0 else None


def _towards_mean(goal: Goal, figures: Tally, units: Sequence[Unit], moves: dict[int, int]) -> dict[int, int] | None:
    """The moves with the best further steps up added until the mean passes; None when it never does."""
    moves = dict(moves)
    total = figures.total + sum((units[i].gain * count for i, count in moves.items()), Fraction(0))
    if goal.mean_holds(total / figures.n, figures.n):
        return moves
    for i in sorted(range(len(units)), key=lambda i: (-units[i].gain, i)):
        while moves.get(i, 0) < units[i].up:
            moves[i] = moves.get(i, 0) + 1
            total += units[i].gain
            if goal.mean_holds(total / figures.n, figures.n):
                return moves
    return None


def _break_mean(goal: Goal, figures: Tally, units: Sequence[Unit]) -> dict[int, int] | None:
    moves: dict[int, int] = {}
    total = figures.total
    for i in sorted(range(len(units)), key=lambda i: (-units[i].gain, i)):
        for _ in range(units[i].down):
            moves[i] = moves.get(i, 0) + 1
            total -= units[i].gain
            if not goal.mean_holds(total / figures.n, figures.n):
                return moves
    return None


def _break_values(
    figures: Tally, units: Sequence[Unit], allowed: int, fails: Callable[[Fraction], bool]
) -> dict[int, int] | None:
    """The cheapest steps down that make one value more than allowed fail."""
    members = _members(units)
    failing = sum(fails(item.value) for item in figures.values)
    costs = []
    for item in figures.values:
        held = members.get((item.task, item.criterion), [])
        if fails(item.value) or not held:
            continue
        share, steps = units[held[0]].share, 1
        while not fails(item.value - steps * share):
            steps += 1
        moves = _spend(held, units, steps, up=False)
        if moves is not None:
            costs.append((steps, moves))
    wanted = allowed + 1 - failing
    costs.sort(key=lambda pair: pair[0])
    if wanted > len(costs):
        return None
    return {i: count for _, moves in costs[: max(wanted, 0)] for i, count in moves.items()}


def _least_lifts(goal: Goal, figures: Tally, units: Sequence[Unit], rule: ModuleRule) -> dict[int, int] | None:
    """The fewest steps up after which count and minimum hold.

    A table over the values: for every number of values brought to the line and to the minimum, the cheapest way.
    """
    members = _members(units)
    below, under = len(rule.below(figures.values)), len(rule.under(figures.values))
    lines = max(0, below - goal.allowed) if goal.allowed is not None else 0
    least = max(0, under - goal.under_allowed)
    table: dict[tuple[int, int], dict[int, int]] = {(0, 0): {}}
    for item in figures.values:
        grown = dict(table)
        for moves, to_line, to_least in _ways_up(item.value, members.get((item.task, item.criterion), []), units, rule):
            for (a, b), before in table.items():
                key = (min(lines, a + to_line), min(least, b + to_least))
                after = {**before, **moves}
                if key not in grown or sum(after.values()) < sum(grown[key].values()):
                    grown[key] = after
        table = grown
    return table.get((lines, least))


def _ways_up(
    value: Fraction, held: Sequence[int], units: Sequence[Unit], rule: ModuleRule
) -> list[tuple[dict[int, int], int, int]]:
    """For one value: the moves that bring it to the minimum and to the line, and which of the two it then gained."""
    below, under = value < rule.line, not rule.holds(value)
    if not held or not (below or under):
        return []
    share = units[held[0]].share
    wanted = set()
    if below:
        wanted.add(ceil((rule.line - value) / share))
    if under and rule.minimum is not None:
        gap = (rule.minimum - value) / share
        wanted.add(ceil(gap) if rule.inclusive else floor(gap) + 1)
    ways = []
    for steps in sorted(wanted):
        moves = _spend(held, units, steps, up=True)
        if moves is not None:
            after = value + steps * share
            ways.append((moves, int(below and after >= rule.line), int(under and rule.holds(after))))
    return ways
