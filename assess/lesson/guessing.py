"""What a guess and a recited list would get on a learner, without looking."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import permutations
from math import fsum

from assess.lesson.credit import CreditTable
from assess.lesson.diagnosis import score_names
from assess.lesson.results import Guess
from assess.lesson.stock import Stock, stock_answers
from assess.records.catalogue import Catalogue
from assess.records.practice import LearnerReference
from assess.records.reading_settings import Settings

__all__ = ["chance", "guess_for", "guesses"]

# Two names that cannot be ids: whatever a reference says nothing about scores the same as these.
STRANGERS = ("\x00a", "\x00b")


def chance(reference: LearnerReference, names: Sequence[str], settings: Settings) -> tuple[float, float] | None:
    """(mean, 95th percentile) of the score over all ordered pairs of two different `names`; exact, no sampling.

    The percentile is interpolated linearly between the two nearest of the sorted scores. All names the reference
    says nothing about score alike, so they are scored once and counted as often as there are. None with fewer
    than two names, or without targets.
    """
    if len(names) < 2 or not reference.roots:
        return None
    table = CreditTable(reference, settings)
    known = [name for name in names if name in table.grounded]
    others = len(names) - len(known)

    def score(*pair: str) -> float:
        return score_names(pair[: settings.names_counted], table, settings).score

    weighted = [(score(*pair), 1) for pair in permutations(known, 2)]
    for name in known:
        weighted += [(score(name, STRANGERS[0]), others), (score(STRANGERS[0], name), others)]
    weighted.append((score(*STRANGERS), others * (others - 1)))
    total = sum(count for _, count in weighted)
    return fsum(score * count for score, count in weighted) / total, _percentile(weighted, 0.95)


def _percentile(weighted: Iterable[tuple[float, int]], share: float) -> float:
    ordered = sorted((value, count) for value, count in weighted if count)
    position = share * (sum(count for _, count in ordered) - 1)
    low = int(position)
    below, above = _at(ordered, low), _at(ordered, low + (1 if position > low else 0))
    return below + (position - low) * (above - below)


def _at(ordered: Sequence[tuple[float, int]], index: int) -> float:
    for value, count in ordered:
        if index < count:
            return value
        index -= count
    return ordered[-1][0]


def guesses(references: Sequence[LearnerReference], catalogue: Catalogue) -> tuple[Guess, ...]:
    """Both lines beside a diagnosis, per learner in order; each one's stock answer is made from all the others."""
    return tuple(
        _joined(chance(reference, catalogue.names, catalogue.settings), stock)
        for reference, stock in zip(references, stock_answers(references, catalogue.settings), strict=True)
    )


def guess_for(reference: LearnerReference, others: Sequence[LearnerReference], catalogue: Catalogue) -> Guess:
    """The same for one learner. `others`: the other learners of the activity's practice lessons."""
    stock = stock_answers([reference, *others], catalogue.settings)[0]
    return _joined(chance(reference, catalogue.names, catalogue.settings), stock)


def _joined(pair: tuple[float, float] | None, stock: Stock | None) -> Guess:
    return Guess(
        chance_mean=pair[0] if pair else None,
        chance_p95=pair[1] if pair else None,
        stock_answer=stock.score if stock else None,
        stock_names=stock.lists if stock else (),
    )
