"""The stock answer: the list of names that does best on all other learners, recited on this one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations
from math import fsum

from assess.lesson.credit import CreditTable
from assess.lesson.diagnosis import score_names
from assess.records.practice import LearnerReference
from assess.records.reading_settings import Settings

__all__ = ["Stock", "stock_answers"]

# Sums of the same scores in another order may differ in the last bits; below this they are equal.
SAME = 1e-9
LONGEST = 3


@dataclass(frozen=True, slots=True)
class Stock:
    """The mean score of `lists` on this learner; they are the equally good lists with fewest names."""

    score: float
    lists: tuple[tuple[str, ...], ...]


def stock_answers(references: Sequence[LearnerReference], settings: Settings) -> tuple[Stock | None, ...]:
    """For each learner the stock answer of all the others; None without targets, here or in all the others.

    A list has one to three names out of all names on chains and targets of the others, and the best mean score
    on those others; among equal lists those with fewer names are taken, then the mean of their scores here.
    All lists are gone through once: for N names about N to the power of three of them.
    """
    judged = [at for at, reference in enumerate(references) if reference.roots]
    found: dict[int, Stock] = {}
    if len(judged) > 1:
        board = _Board([references[at] for at in judged], settings)
        for place, at in enumerate(judged):
            found[at] = board.stock(place)
    return tuple(found.get(at) for at in range(len(references)))


class _Board:
    """The best lists for each learner left out, found in one pass over all lists."""

    def __init__(self, references: Sequence[LearnerReference], settings: Settings) -> None:
        self._settings = settings
        self._tables = [CreditTable(reference, settings) for reference in references]
        self._grounded = [table.grounded for table in self._tables]
        self._remembered: list[dict[tuple[str | int, ...], float]] = [{} for _ in references]
        spoken = [table.on_chains | table.weights.keys() for table in self._tables]
        names = sorted(frozenset().union(*spoken))
        self._holders = {name: [at for at, known in enumerate(self._grounded) if name in known] for name in names}
        # A name that only one learner has is not in the pool when that learner is left out.
        self._only = {name: {at for at, own in enumerate(spoken) if name in own} for name in names}
        self._best = [-1.0 for _ in references]
        self._lists: list[list[tuple[str, ...]]] = [[] for _ in references]
        for length in range(1, min(LONGEST, settings.names_counted) + 1):
            for answer in permutations(names, length):
                self._offer(answer)

    def stock(self, at: int) -> Stock:
        """The stock answer of all others, scored on learner `at`."""
        lists = self._lists[at]
        return Stock(fsum(self._score(at, answer) for answer in lists) / len(lists), tuple(lists))

    def _offer(self, answer: tuple[str, ...]) -> None:
        scores = {at: self._score(at, answer) for name in answer for at in self._holders[name]}
        total = fsum(scores.values())
        if total < min(self._best) - SAME:
            return
        for left_out, best in enumerate(self._best):
            value = fsum(score for at, score in scores.items() if at != left_out)
            if value < best - SAME or any(self._only[name] == {left_out} for name in answer):
                continue
            if value > best + SAME:
                self._best[left_out], self._lists[left_out] = value, [answer]
            elif len(answer) == len(self._lists[left_out][0]):
                self._lists[left_out].append(answer)

    def _score(self, at: int, answer: tuple[str, ...]) -> float:
        """The score on one learner; lists that differ only in names this reference does not hold are scored once."""
        grounded, remembered = self._grounded[at], self._remembered[at]
        pattern = tuple(name if name in grounded else place for place, name in enumerate(answer))
        found = remembered.get(pattern)
        if found is None:
            found = remembered[pattern] = score_names(answer, self._tables[at], self._settings).score
        return found
