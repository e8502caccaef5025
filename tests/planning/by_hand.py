"""What a request allows, found by trying everything: nothing here knows the solver or shares its code."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations, permutations, product

from assess.planning.request import Request, TaskWish

__all__ = [
    "arrangement",
    "can_be_planned",
    "fewest_rounds",
    "fresh",
    "may",
    "may_pair",
    "most_pairs",
    "pair_sets",
    "usable",
]


PairSet = tuple[frozenset[str], ...]


def may(request: Request, task: str, assessor: str, candidate: str, *, strict: bool = False) -> bool:
    """Whether no bar stands between the two; `strict`: not even a waived one."""
    return not any(
        bar.assessor == assessor
        and bar.candidate in ("", candidate)
        and bar.task in ("", task)
        and (strict or not bar.waived)
        for bar in request.bars
    )


def fresh(request: Request, task: str, candidate: str, pair: Collection[str]) -> list[str]:
    """Who may mark the candidate without a waiver and is not one of the pair."""
    return [a for a in request.assessors if a not in pair and may(request, task, a, candidate, strict=True)]


def may_pair(request: Request, task: str, candidate: str, pair: Collection[str]) -> bool:
    """Whether these two may mark the candidate, with enough others left."""
    kept = request.kept_seats.get((task, candidate))
    return (
        all(may(request, task, a, candidate) for a in pair)
        and (kept is None or set(kept) == set(pair))
        and len(fresh(request, task, candidate, pair)) >= request.fresh
    )


def conditions(request: Request, task: str, assessor: str) -> bool:
    return any((each.task, each.assessor) == (task, assessor) for each in request.conditions)


def pairs_of(request: Request, task: str) -> list[frozenset[str]]:
    pairs = combinations(request.assessors, 2)
    return [frozenset(pair) for pair in pairs if not all(conditions(request, task, who) for who in pair)]


def pair_sets(request: Request, task: TaskWish) -> Iterator[PairSet]:
    """Every set of pairs that can work at the same time, those that are kept among them."""
    kept = {frozenset(pair) for pair in request.kept_pairs.get(task.id, ())}
    kept |= {
        frozenset(pair) for (of, who), pair in request.kept_seats.items() if of == task.id and who in task.candidates
    }
    most = task.pairs or len(request.assessors)
    for size in range(max(len(kept), 1), most + 1):
        for chosen in combinations(pairs_of(request, task.id), size):
            if len(frozenset().union(*chosen)) == 2 * size and kept <= set(chosen):
                yield chosen


def fewest_rounds(
    request: Request, task: TaskWish, candidates: Sequence[str] | None = None, sets: Collection[PairSet] | None = None
) -> int | None:
    """The fewest rounds in which all these candidates get two markers; None when there is no way."""
    who = task.candidates if candidates is None else candidates
    if not who:
        return 0
    best = None
    for chosen in pair_sets(request, task) if sets is None else sets:
        options = []
        for candidate in who:
            options.append([p for p, pair in enumerate(chosen) if may_pair(request, task.id, candidate, pair)])
        for where in product(*options):
            rounds = max(max(where.count(p) for p in set(where)), -(-len(who) // (task.at_once or len(who))))
            best = rounds if best is None else min(best, rounds)
    return best


def usable(request: Request, day: int) -> int:
    return min(request.most_minutes, sum(end - start for start, end in request.light[day]))


def arrangement(request: Request, tasks: Sequence[tuple[TaskWish, int]], day: int) -> bool:
    """Whether the rounds of a day's tasks can be laid into its half-days in some order."""
    if sum(rounds * task.every for task, rounds in tasks) > request.most_minutes:
        return False
    for order in permutations(tasks):
        at, good = 0, True
        for task, rounds in order:
            at = max(at, task.not_before or 0)
            for _ in range(rounds):
                free = [
                    m for m in range(at, 1440) if any(a <= m and m + task.every <= b for a, b in request.light[day])
                ]
                good = good and bool(free)
                at = free[0] + task.every if free else at
            at += request.between
        if good:
            return True
    return False


def can_be_planned(request: Request) -> bool:
    """Whether there is any plan at all that keeps every rule that is no wish."""
    days: dict[int, list[tuple[TaskWish, int]]] = {}
    for task in request.tasks:
        if not all(_useful(request, task, pair) for pair in request.kept_pairs.get(task.id, ())):
            return False
        rounds = fewest_rounds(request, task)
        if rounds is None:
            return False
        if task.pairs is not None and most_pairs(request, task) < min(task.pairs, len(task.candidates)):
            return False
        days.setdefault(task.day, []).append((task, rounds))
    return all(arrangement(request, tasks, day) for day, tasks in days.items())


def most_pairs(request: Request, task: TaskWish) -> int:
    """How many pairs can work at the same time, each with somebody whom both may mark."""
    useful = (s for s in pair_sets(request, task) if all(_useful(request, task, pair) for pair in s))
    return max(map(len, useful), default=0)


def _useful(request: Request, task: TaskWish, pair: Collection[str]) -> bool:
    """A pair with a candidate whom both may mark, and who is kept for nobody else."""
    return any(may_pair(request, task.id, candidate, pair) for candidate in task.candidates)
