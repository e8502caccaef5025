"""A task in which two markers cannot be found for everybody, or not the pairs that are asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations

from assess.planning.request import Request, TaskWish
from assess.planning.results import Obstacle, ObstacleKind
from assess.planning.seats import Group, Seats, Short, seats_of, shortest
from assess.planning.words import counted, listed, reasons

__all__ = ["fewest_that", "kept_obstacles", "seat_obstacles"]


def kept_obstacles(request: Request, seats: Seats) -> Iterator[Obstacle]:
    """Seatings the director keeps that cannot be: who may not mark, who would sit in two pairs, pairs too many."""
    task, possible = seats.task, {frozenset(pair) for pair in seats.pairs}
    kept = {frozenset(pair): (pair, "") for pair in request.kept_pairs.get(task.id, ())}
    for (of, candidate), pair in request.kept_seats.items():
        if of != task.id or candidate not in task.candidates:
            continue
        kept.setdefault(frozenset(pair), (pair, candidate))
        why = {who: text for who in pair if (text := request.why_not(of, who, candidate)) is not None}
        if why:
            sentence = f"The seating kept for {of}.{candidate} ({listed(pair)}) cannot be{reasons(why)}."
            yield _made("seats", sentence, "change it under `plan: keep`", task, (candidate,), pair)
    for pair, _ in kept.values():
        if request.seated(task.id, *pair) is None:
            sentence = f"{listed(pair)} are kept as a pair in {task.id}, and neither may mark without a condition."
            yield _made("seats", sentence, "seat each beside somebody without one", task, (), pair)
        elif frozenset(pair) not in possible:
            sentence = f"{listed(pair)} are kept as a pair in {task.id}, and there is nobody whom both may mark"
            sentence += " so that somebody is fresh for a third look." if request.fresh else "."
            yield _made("seats", sentence, "change it under `plan: keep`", task, (), pair)
    for (one, for_one), (other, for_other) in combinations(kept.values(), 2):
        if shared := set(one) & set(other):
            told = listed([listed(one) + _for(for_one), listed(other) + _for(for_other)], "as well as")
            sentence = f"{min(shared)} would sit in two pairs of {task.id}: {told} are kept."
            yield _made("seats", sentence, "keep one of the two", task, (), (*one, *other))
    if task.pairs is not None and len(kept) > task.pairs:
        sentence = f"{len(kept)} pairs are kept in {task.id}, {counted(task.pairs, 'pair')} asked for."
        yield _made("pairs", sentence, f"write `pairs: {len(kept)}`, or keep fewer", task)


def seat_obstacles(request: Request, seats: Seats, short: Short) -> Iterator[Obstacle]:
    """The pairs that are asked for cannot be made; candidates who cannot all have two markers."""
    task = seats.task
    if task.pairs is not None and short.pairs < min(task.pairs, len(task.candidates)):
        sitting = [a for a in request.assessors if any(a in pair for pair in seats.pairs)]
        sentence = (
            f"{counted(task.pairs, 'pair')} are asked for in {task.id}, {counted(len(sitting), 'assessor')}"
            f" may mark there ({listed(sitting)}): that makes {counted(short.pairs, 'pair')}."
        )
        yield _made("pairs", sentence, f"write `pairs: {short.pairs}`, or bring in assessors", task, (), sitting)
    if any(short.left):
        firsts = [group.candidates[0] for group in seats.groups]
        few = fewest_that(firsts, lambda some: any(shortest(seats_of(request, task, some)).left))
        named = [group for group in seats.groups if group.candidates[0] in few]
        told = listed([f"{listed(group.candidates)} (by {_markers(request, task, group)})" for group in named])
        limit = f" in {counted(short.pairs, 'pair')}" if task.pairs is not None else ""
        sentence = f"{task.id}: two markers cannot be found{limit} for {told}, so that nobody sits in two pairs."
        todo = "bring in an assessor who may mark them, or take one of them off the task"
        who = tuple(candidate for group in named for candidate in group.candidates)
        yield _made("seats", sentence, todo, task, who)


def _for(candidate: str) -> str:
    return f" for {candidate}" if candidate else ""


def _markers(request: Request, task: TaskWish, group: Group) -> str:
    """`A1 and A3 (only-second)`: who may mark a group, each with the condition there is."""
    may = [who for who in request.assessors if who in (group.kept or group.may)]
    told = [(who, request.condition(task.id, who)) for who in may]
    return listed([f"{who} ({condition})" if condition else who for who, condition in told])


def fewest_that(names: Sequence[str], still: Callable[[Sequence[str]], bool]) -> tuple[str, ...]:
    """Names none of which can be left out while `still` holds; it holds for all of them (a deletion filter)."""
    kept = list(names)
    for name in names:
        fewer = [each for each in kept if each != name]
        if still(fewer):
            kept = fewer
    return tuple(kept)


def _made(
    kind: ObstacleKind,
    sentence: str,
    todo: str,
    task: TaskWish,
    candidates: Sequence[str] = (),
    assessors: Sequence[str] = (),
) -> Obstacle:
    return Obstacle(kind, sentence, todo, task.id, task.day, tuple(candidates), tuple(dict.fromkeys(assessors)))
