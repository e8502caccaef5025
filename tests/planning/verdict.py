"""Everything a plan must keep, looked at turn by turn; nothing here knows how plans are made."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import combinations

from assess.planning.request import Request
from assess.planning.results import Plan, Turn
from tests.planning import by_hand

__all__ = ["network", "wrong"]


def wrong(request: Request, plan: Plan) -> list[str]:
    """What is wrong with a plan; nothing when it keeps every rule."""
    return [*_slots(request, plan), *_seats(request, plan), *_times(request, plan), *_told(request, plan)]


def _slots(request: Request, plan: Plan) -> Iterator[str]:
    wanted = Counter((task.id, candidate) for task in request.tasks for candidate in task.candidates)
    wanted.update((turn.task, turn.candidate) for turn in request.stays)
    if Counter((turn.task, turn.candidate) for turn in plan.turns) != wanted:
        yield "not every candidate has every task once"
    for task in request.tasks:
        turns = [turn for turn in plan.turns if turn.task == task.id]
        if sorted(turn.order for turn in turns) != list(range(1, len(task.candidates) + 1)):
            yield f"{task.id}: places are not counted through"
        if sorted(turns, key=lambda turn: (turn.at, turn.order)) != sorted(turns, key=lambda turn: turn.order):
            yield f"{task.id}: the order is not that of the times"


def _seats(request: Request, plan: Plan) -> Iterator[str]:
    for turn in plan.turns:
        if turn.stays:
            continue
        if len(set(turn.assessors)) != 2:
            yield f"{turn.task}.{turn.candidate} has not two markers"
        if not by_hand.may_pair(request, turn.task, turn.candidate, turn.assessors):
            yield f"{turn.assessors} may not mark {turn.task}.{turn.candidate}, or nobody is left for a third look"
        if sorted(turn.fresh) != sorted(by_hand.fresh(request, turn.task, turn.candidate, turn.assessors)):
            yield f"the fresh of {turn.task}.{turn.candidate} are others"
        under = {each.assessor: each.condition for each in request.conditions if each.task == turn.task}
        if under.get(turn.assessors[0]) == "only-second" or all(who in under for who in turn.assessors):
            yield f"{turn.assessors} cannot sit together in {turn.task}"
    for task in request.tasks:
        pairs = {frozenset(turn.assessors) for turn in plan.turns if turn.task == task.id}
        if any(one & other for one, other in combinations(pairs, 2)):
            yield f"{task.id}: somebody sits in two pairs"
        if task.pairs is not None and len(pairs) > max(task.pairs, 1):
            yield f"{task.id}: more pairs than asked for"
        numbers = {(turn.pair, frozenset(turn.assessors)) for turn in plan.turns if turn.task == task.id}
        if len(numbers) != len(pairs) or len({number for number, _ in numbers}) != len(pairs):
            yield f"{task.id}: a number for two pairs, or a pair with two numbers"


def _times(request: Request, plan: Plan) -> Iterator[str]:
    tasks = {task.id: task for task in request.tasks}
    spans: dict[str, tuple[int, int, int]] = {}
    for turn in plan.turns:
        task = tasks.get(turn.task)
        if turn.at is None or turn.until is None:
            if not turn.stays:
                yield f"{turn.task}.{turn.candidate} has no time"
            continue
        end = turn.until if task is None else turn.at + task.every
        day, first, last = spans.get(turn.task, (turn.day, turn.at, end))
        spans[turn.task] = (day, min(first, turn.at), max(last, end))
        if task is None:
            continue
        if turn.until - turn.at != task.minutes or turn.at < (task.not_before or 0):
            yield f"{turn.task}.{turn.candidate} is too short or too early"
        if not any(start <= turn.at and end <= stop for start, stop in request.light[task.day]):
            yield f"{turn.task}.{turn.candidate} is out of the light"
        running = [t for t in plan.turns if t.task == task.id and turn.at <= (t.at or 0) < turn.at + task.every]
        if len(running) > (task.at_once or len(task.candidates)):
            yield f"{task.id}: more turns at once than asked for"
        if len({frozenset(t.assessors) for t in running}) < len(running):
            yield f"{task.id}: a pair marks two at once"
    for (one, a), (other, b) in combinations(spans.items(), 2):
        if a[0] == b[0] and a[1] < b[2] + request.between and b[1] < a[2] + request.between:
            yield f"{one} and {other} lie closer together than {request.between} minutes"
    for day in {task.day for task in request.tasks}:
        starts = {(t.task, t.at) for t in plan.turns if t.day == day and not t.stays}
        if sum(tasks[name].every for name, _ in starts) > request.most_minutes:
            yield f"day {day} has too many minutes"


def _told(request: Request, plan: Plan) -> Iterator[str]:
    sheets = Counter(who for turn in plan.turns for who in turn.assessors)
    if {load.assessor: load.sheets for load in plan.loads if load.sheets} != dict(sheets):
        yield "the loads are others"
    if sorted(map(sorted, plan.groups)) != sorted(map(sorted, network(plan.turns))):
        yield "the groups are others"
    if bool(len(plan.groups) > 1) != any("fall into" in each for each in plan.not_met):
        yield "a network in pieces and no word of it, or the other way round"
    most = max((load.sheets for load in plan.loads), default=0)
    least = min((load.sheets for load in plan.loads), default=0)
    if (most - least > 1) != any("Loads are not equal" in each for each in plan.not_met):
        yield "loads that are not equal and no word of it, or the other way round"
    together: dict[tuple[int, frozenset[str]], set[str]] = defaultdict(set)
    for turn in plan.turns:
        together[turn.day, frozenset(turn.assessors)].add(turn.task)
    again = sum(len(tasks) > 1 for tasks in together.values())
    if again != sum("sit together in" in each for each in plan.not_met):
        yield "a pair twice on a day and no word of it, or the other way round"


def network(turns: tuple[Turn, ...]) -> list[set[str]]:
    """Assessors who are joined by candidates, found by walking from one to the next."""
    by_candidate: dict[str, set[str]] = defaultdict(set)
    for turn in turns:
        by_candidate[turn.candidate].update(turn.assessors)
    left = set().union(*by_candidate.values()) if by_candidate else set()
    groups = []
    while left:
        reached, new = set(), {min(left)}
        while new:
            reached |= new
            new = {who for known in by_candidate.values() if known & reached for who in known} - reached
        groups.append(reached)
        left -= reached
    return groups
