"""What the turns of a plan come to: loads, minutes, who is fresh, and which wishes they leave open.

Everything here is counted from the finished turns, whatever made them.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from assess.planning.network import pieces
from assess.planning.order import mean_places
from assess.planning.request import Request
from assess.planning.results import DayUse, Load, ModuleFresh, Plan, Turn
from assess.planning.words import counted, listed

__all__ = ["gathered"]

_USED_UP = 3
"""A learner seen so often is no beginner any more (common practice)."""
_NAMED = 5


def gathered(request: Request, turns: Sequence[Turn]) -> Plan:
    """The plan these turns are, those that stay among them, in time order."""
    in_order = tuple(sorted(turns, key=lambda turn: (turn.day, turn.at is None, turn.at or 0, turn.task, turn.order)))
    loads, fresh, groups = _loads(request, in_order), _fresh(request, in_order), _groups(in_order)
    return Plan(
        request.seed,
        in_order,
        loads,
        tuple(_days(request, in_order)),
        fresh,
        groups,
        tuple(mean_places(in_order).items()),
        tuple(_not_met(request, in_order, loads, fresh, groups)),
    )


def _loads(request: Request, turns: Sequence[Turn]) -> tuple[Load, ...]:
    sheets = Counter(who for turn in turns for who in turn.assessors)
    tasks: dict[str, set[str]] = defaultdict(set)
    partners: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for turn in turns:
        for who in turn.assessors:
            tasks[who].add(turn.task)
            partners[who] |= {(other, turn.task) for other in turn.assessors if other != who}
    everybody = dict.fromkeys((*request.assessors, *sheets))
    loads = []
    for who in everybody:
        met = Counter(other for other, _ in partners[who])
        loads.append(
            Load(who, sheets[who], len(tasks[who]), tuple((other, met[other]) for other in everybody if met[other]))
        )
    return tuple(loads)


def _days(request: Request, turns: Sequence[Turn]) -> Iterator[DayUse]:
    every = {task.id: task.every for task in request.tasks}
    for day in sorted({turn.day for turn in turns}):
        busy: set[int] = set()
        for turn in turns:
            if turn.day == day and turn.at is not None and turn.until is not None:
                busy.update(range(turn.at, max(turn.until, turn.at + every.get(turn.task, 0))))
        light = sum(end - start for start, end in request.light.get(day, ()))
        yield DayUse(day, len(busy), min(light, request.most_minutes))


def _fresh(request: Request, turns: Sequence[Turn]) -> tuple[ModuleFresh, ...]:
    sat: dict[tuple[str, str], set[str]] = defaultdict(set)
    could: dict[tuple[str, str], list[set[str]]] = defaultdict(list)
    for turn in turns:
        for module, tasks in request.modules.items():
            if turn.task in tasks:
                sat[module, turn.candidate].update(turn.assessors)
                could[module, turn.candidate].append(set(request.unbiased(turn.task, turn.candidate)))
    return tuple(
        ModuleFresh(m, c, tuple(who for who in request.assessors if who in set.intersection(*could[m, c]) - sat[m, c]))
        for m in request.modules
        for _, c in sorted(key for key in sat if key[0] == m)
    )


def _groups(turns: Sequence[Turn]) -> tuple[tuple[str, ...], ...]:
    found = pieces((turn.candidate, turn.assessors) for turn in turns)
    return tuple(sorted(tuple(sorted(assessors)) for assessors, _ in found))


# --- wishes that stay open -----------------------------------------------------------------------


def _not_met(
    request: Request,
    turns: Sequence[Turn],
    loads: Sequence[Load],
    fresh: Sequence[ModuleFresh],
    groups: Sequence[Sequence[str]],
) -> Iterator[str]:
    if len(groups) > 1:
        told = "; ".join(listed(group) for group in groups)
        yield (
            f"The assessors fall into {len(groups)} groups without a candidate in common ({told}):"
            " whether one group marks harder than another cannot be told."
        )
    yield from _load_words(loads)
    yield from _same_day(turns)
    yield from _fresh_words(fresh)
    yield from _fewer_pairs(request, turns)
    yield from _waivers(request, turns)
    yield from _learner_words(request, turns)


def _load_words(loads: Sequence[Load]) -> Iterator[str]:
    at_work = sorted((load.sheets, load.assessor) for load in loads)
    if at_work and at_work[-1][0] - at_work[0][0] > 1:
        (least, who), (most, other) = at_work[0], at_work[-1]
        yield f"Loads are not equal: from {counted(least, 'sheet')} ({who}) to {counted(most, 'sheet')} ({other})."


def _same_day(turns: Sequence[Turn]) -> Iterator[str]:
    together: dict[tuple[int, tuple[str, ...]], dict[str, None]] = defaultdict(dict)
    for turn in turns:
        together[turn.day, tuple(sorted(turn.assessors))][turn.task] = None
    for (day, pair), tasks in together.items():
        if len(tasks) > 1 and len(pair) > 1:
            yield f"{listed(pair)} sit together in {listed(tuple(tasks))} on day {day}."


def _fresh_words(fresh: Sequence[ModuleFresh]) -> Iterator[str]:
    without: dict[str, list[str]] = defaultdict(list)
    for each in fresh:
        if not each.fresh:
            without[each.module].append(each.candidate)
    for module, candidates in without.items():
        who = listed(candidates)
        yield f"In the whole of {module} nobody is fresh for {who}: a third look at all of it takes two people."


def _fewer_pairs(request: Request, turns: Sequence[Turn]) -> Iterator[str]:
    for task in request.tasks:
        pairs = {turn.assessors for turn in turns if turn.task == task.id}
        if task.pairs is not None and pairs and len(pairs) < min(task.pairs, len(task.candidates)):
            yield f"{task.id} has {counted(len(pairs), 'pair')}, {task.pairs} asked for: everybody needs two markers."


def _waivers(request: Request, turns: Sequence[Turn]) -> Iterator[str]:
    for turn in turns:
        barred = [who for who in turn.assessors if who in request.may(turn.task, turn.candidate)]
        for who in barred:
            if who not in request.unbiased(turn.task, turn.candidate):
                yield f"{who} marks {turn.task}.{turn.candidate} under a waiver."


def _learner_words(request: Request, turns: Sequence[Turn]) -> Iterator[str]:
    used = Counter(learner for turn in turns for learner in turn.learners)
    pools = {learner: n for n, learner in enumerate(dict.fromkeys(who for t in request.tasks for who in t.pool))}
    worn = sorted((-n, pools.get(who, 0), who) for who, n in used.items() if n >= _USED_UP)
    if worn:
        named = [f"{who} ({-n} times)" for n, _, who in worn[:_NAMED]]
        told = listed([*named, f"{len(worn) - _NAMED} more"] if len(worn) > _NAMED else named)
        yield f"{told} are taught {_USED_UP} times or more: who has had so many lessons is no beginner any more."
    for task in request.tasks:
        short = [t for t in turns if t.task == task.id and not t.stays and len(t.learners) < task.learners]
        if short and not task.pool:
            yield f"{task.id} needs {counted(task.learners, 'learner')} a turn, and none is listed in people.yaml."
        elif short:
            who, needed = listed([turn.candidate for turn in short]), counted(task.learners, "learner")
            yield f"In {task.id} too few learners are free for {who}: {needed} a turn, and {len(task.pool)} listed."
