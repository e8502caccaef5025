"""Whom each candidate teaches: learners in turn, nobody in two places, and nobody more often than need be."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from assess.planning.request import Request, TaskWish
from assess.planning.results import Turn

__all__ = ["with_learners"]


def with_learners(request: Request, turns: Sequence[Turn]) -> tuple[Turn, ...]:
    """The turns with their learners, those taught least so far first.

    A learner is free when no turn they are in (teaching or taught) touches the time. A group is of one kind where
    enough of it are free: children are not taught with grown-ups. Where too few are free the candidate teaches those
    there are.
    """
    wishes: Mapping[str, TaskWish] = {task.id: task for task in request.tasks}
    used = Counter(learner for turn in request.stays for learner in turn.learners)
    done: list[Turn] = list(request.stays)
    found: dict[tuple[str, str], Turn] = {}
    for turn in turns:
        task = wishes[turn.task]
        if task.learners and task.pool:
            busy = {who for other in (*done, *turns) if _touch(turn, other) for who in _in(other, turn)}
            free = [learner for learner in task.pool if learner not in busy and learner != turn.candidate]
            taken = _taken(request, task, free, used)
            used.update(taken)
            turn = replace(turn, learners=tuple(sorted(taken, key=task.pool.index)))
        done.append(turn)
        found[turn.task, turn.candidate] = turn
    return tuple(found[turn.task, turn.candidate] for turn in turns)


def _taken(request: Request, task: TaskWish, free: Sequence[str], used: Mapping[str, int]) -> list[str]:
    """The group taught least so far, all of one kind if there is such a group."""

    def least(of: Sequence[str]) -> list[str]:
        return sorted(of, key=lambda learner: (used[learner], task.pool.index(learner)))[: task.learners]

    kinds = dict.fromkeys(request.kinds.get(learner, "") for learner in free)
    groups = [least([learner for learner in free if request.kinds.get(learner, "") == kind]) for kind in kinds]
    whole = [group for group in groups if len(group) == task.learners]
    return min(whole, key=lambda group: sum(used[learner] for learner in group), default=least(free))


def _touch(one: Turn, other: Turn) -> bool:
    """True when one begins before the other is over; a turn without a time touches nothing."""
    if one.day != other.day or one.at is None or other.at is None or one.until is None or other.until is None:
        return False
    return one.at < other.until and other.at < one.until


def _in(other: Turn, turn: Turn) -> tuple[str, ...]:
    """Who is in a turn: its learners, and its candidate where that is somebody else."""
    return (*other.learners, *((other.candidate,) if other.candidate != turn.candidate else ()))
