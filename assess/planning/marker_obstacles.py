"""Candidates whom too few people may mark, or of whom nobody would be left for a third look."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from assess.planning.request import Request
from assess.planning.results import Obstacle, ObstacleKind
from assess.planning.words import counted, listed, reasons

__all__ = ["fresh_at_most", "marker_obstacles"]

_Alike = tuple[tuple[str, ...], tuple[tuple[str, str], ...]]
"""Who may mark, and why the others may not."""


def marker_obstacles(request: Request) -> Iterator[Obstacle]:
    """One obstacle for all candidates whom, in the same tasks, the same people may mark and the others may not."""
    tasks_of: dict[tuple[_Alike, str], list[str]] = {}
    for task in request.tasks:
        for candidate in task.candidates:
            may = request.may(task.id, candidate)
            if fresh_at_most(request, task.id, candidate) < request.fresh:
                others = [(who, request.why_not(task.id, who, candidate)) for who in request.assessors]
                alike = (may, tuple((who, why) for who, why in others if why is not None))
                tasks_of.setdefault((alike, candidate), []).append(task.id)
    found: dict[tuple[_Alike, tuple[str, ...]], list[str]] = {}
    for (alike, candidate), tasks in tasks_of.items():
        found.setdefault((alike, tuple(tasks)), []).append(candidate)
    for ((may, why), of_tasks), candidates in found.items():
        words = _Words(request, may, dict(why), tuple(candidates), of_tasks)
        yield words.too_few() if len(may) < 2 else words.nobody_fresh()


def fresh_at_most(request: Request, task: str, candidate: str) -> int:
    """How many are left for a third look when those with a waiver are seated first; negative without two markers."""
    may, unbiased = request.may(task, candidate), request.unbiased(task, candidate)
    return len(unbiased) - max(0, 2 - (len(may) - len(unbiased))) if len(may) > 1 else -1


class _Words:
    def __init__(
        self,
        request: Request,
        may: tuple[str, ...],
        why: Mapping[str, str],
        candidates: tuple[str, ...],
        tasks: tuple[str, ...],
    ) -> None:
        self.request, self.may, self.why, self.candidates, self.tasks = request, may, why, candidates, tasks
        everybody = {candidate for task in request.tasks for candidate in task.candidates}
        self.who = "Every candidate" if everybody == set(candidates) and len(everybody) > 1 else listed(candidates)
        self.where = "" if len(tasks) == len(request.tasks) else f" in {listed(tasks)}"

    def _made(self, kind: ObstacleKind, sentence: str, todo: str) -> Obstacle:
        task = self.tasks[0] if len(self.tasks) == 1 else ""
        return Obstacle(kind, sentence, todo, task, 0, self.candidates, self.may)

    def too_few(self) -> Obstacle:
        """Fewer than two may mark."""
        by = f"one assessor only, {self.may[0]}" if self.may else "nobody"
        sentence = f"{self.who} can be marked by {by}{self.where}{reasons(self.why)}."
        todo = "bring in somebody who may mark there, or take the candidate off the task"
        return self._made("markers", sentence, todo)

    def nobody_fresh(self) -> Obstacle:
        """Two may mark, and too few others would be left."""
        left = fresh_at_most(self.request, self.tasks[0], self.candidates[0])
        asked, waived = (
            self.request.fresh,
            len(self.may) - len(self.request.unbiased(self.tasks[0], self.candidates[0])),
        )
        fresh = "nobody is fresh for a third look" if not left else f"{left} fresh for a third look, {asked} asked for"
        that = f"that is {'one pair' if len(self.may) < 4 else counted(len(self.may) // 2, 'pair')}"
        that += f", {waived} of them with a waiver" if waived else ""
        only = f"{self.who} can be marked by {listed(self.may)} only{self.where}{reasons(self.why)}"
        sentence = f"{only}: {that}, and {fresh}."
        return self._made("fresh", sentence, f"bring in one more assessor, or write `fresh: {left}` under `plan`")
