"""Which scores can say something about severity: not those of whoever gives, or gets, one end of the scale alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assess.agreement.scores import Ints, Scores

__all__ = ["Extreme", "Usable", "usable_of"]


@dataclass(frozen=True, slots=True)
class Extreme:
    """A facet's id all of whose scores are one end of the scale. top: the upper end; n: how many scores."""

    facet: str
    id: str
    top: bool
    n: int


@dataclass(frozen=True, eq=False)
class Usable:
    """keep: scores in use. used: places in the scale of the levels given in them, rising. unused: levels nobody gave.

    extreme: who was left out and why; candidates: those without a value, when extreme ones had to be left out too.
    """

    keep: NDArray[np.bool_]
    used: Ints
    unused: tuple[float, ...]
    extreme: tuple[Extreme, ...]


def usable_of(scores: Scores, *, candidates: bool) -> Usable:
    """The scores to be used; candidates: leave out those at one end of the scale (joint maximum likelihood).

    Whoever is left out may leave others at an end, so it is looked for until there is nobody more.
    """
    keep = np.ones(scores.n_scores, dtype=np.bool_)
    facets = [("assessor", scores.assessor, scores.assessors), ("criterion", scores.criterion, scores.criteria)]
    facets.append(("task", scores.task, scores.tasks))
    if candidates:
        facets.append(("candidate", scores.candidate, scores.candidates))
    left_out: list[Extreme] = []
    while True:
        found = [extreme for facet in facets for extreme in _at_an_end(scores, keep, *facet)]
        if not found:
            break
        left_out += found
        for extreme in found:
            _, index, ids = next(facet for facet in facets if facet[0] == extreme.facet)
            keep &= index != ids.index(extreme.id)
    used = np.unique(scores.level[keep])
    unused = tuple(level for i, level in enumerate(scores.levels) if i not in set(used.tolist()))
    return Usable(keep, used.astype(np.int64), unused, tuple(left_out))


def _at_an_end(scores: Scores, keep: NDArray[np.bool_], name: str, index: Ints, ids: tuple[str, ...]) -> list[Extreme]:
    """Ids of a facet with all scores at one end, unless that would be everybody."""
    level = scores.level[keep]
    if len(level) == 0 or level.min() == level.max():
        return []
    n = np.bincount(index[keep], minlength=len(ids))
    if (n > 0).sum() < 2:
        return []
    tops = np.bincount(index[keep], level == level.max(), minlength=len(ids))
    bottoms = np.bincount(index[keep], level == level.min(), minlength=len(ids))
    return [
        Extreme(name, ids[i], bool(tops[i] == n[i]), int(n[i]))
        for i in range(len(ids))
        if n[i] and (tops[i] == n[i] or bottoms[i] == n[i])
    ]
