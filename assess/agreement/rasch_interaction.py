"""An assessor who is stricter on one criterion than elsewhere: what is left of each pair, all else held where it is.

The extra severity of a pair is what makes the sum of its scores as foreseen. Pairs are many, and some stand out by
chance: they are flagged as one family (Benjamini & Hochberg 1995).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from assess.agreement.multiplicity import benjamini_hochberg
from assess.agreement.rasch_model import ASSESSOR, CRITERION, TASK, Facet, Model, chances
from assess.agreement.results import Together
from assess.agreement.scores import Floats, Ints

__all__ = ["interactions"]

_FAR = 12.0


def interactions(model: Model, free: Floats, ability: Floats) -> tuple[Together, ...]:
    """Every assessor with every criterion (task without criteria) both have scores of; () without several of each."""
    assessor = next(facet for facet in model.facets if facet.name == ASSESSOR)
    other = _other(model)
    if other is None or len(assessor.ids) < 2:
        return ()
    own = np.isfinite(ability[model.candidate])
    pair = (assessor.of_cell * len(other.ids) + other.of_cell)[model.cell]
    size = len(assessor.ids) * len(other.ids)
    weight = model.weights[model.category]
    n = np.bincount(pair[own], minlength=size)
    total = np.bincount(pair[own], weight[own], minlength=size).astype(np.float64)
    # Scores at one end alone have no finite value.
    inside = (n > 0) & (total > 0) & (total < n * model.weights[-1])
    extra, information = _solved(model, free, np.where(np.isfinite(ability), ability, 0.0), pair, own, inside, total)
    found = []
    for i in np.flatnonzero(n):
        names = assessor.ids[int(i) // len(other.ids)], other.ids[int(i) % len(other.ids)]
        known = bool(inside[i]) and abs(extra[i]) < _FAR and information[i] > 0
        value, se = (float(extra[i]), float(1 / np.sqrt(information[i]))) if known else (None, None)
        found.append(Together(*names, value, se, int(n[i])))
    return _flagged(found)


def _other(model: Model) -> Facet | None:
    several = [facet for name in (CRITERION, TASK) for facet in model.facets if facet.name == name]
    return next((facet for facet in several if len(facet.ids) > 1), None)


def _solved(
    model: Model, free: Floats, ability: Floats, pair: Ints, own: NDArray[np.bool_], inside: NDArray[np.bool_],
    total: Floats,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Newton for all pairs at once: extra severity, and the information in it."""
    use = np.flatnonzero(own)
    mine, size = pair[use], len(inside)
    logits = model.logits(free, ability[model.candidate[use]], model.cell[use])
    extra, information = np.zeros(size), np.zeros(size)
    for _ in range(40):
        chance, _ = chances(logits - extra[mine] * model.weights[:, None])
        mean = model.weights @ chance
        variance = model.weights**2 @ chance - mean**2
        information = np.bincount(mine, variance, minlength=size).astype(np.float64)
        surplus = np.bincount(mine, mean, minlength=size) - total
        safe = np.where(information > 1e-12, information, 1.0)
        step = np.where(inside & (np.abs(extra) < _FAR), np.clip(surplus / safe, -1.0, 1.0), 0.0)
        extra = extra + step
        if np.abs(step).max(initial=0.0) < 1e-10:
            break
    return extra, information


def _flagged(found: list[Together]) -> tuple[Together, ...]:
    from scipy.special import ndtr

    tests = {
        str(i): float(2 * ndtr(-abs(t.value / t.se))) if t.value is not None and t.se else None
        for i, t in enumerate(found)
    }
    family = benjamini_hochberg("assessor and criterion", tests)
    flags = {tested.name for tested in family.tests if tested.flagged}
    return tuple(replace(t, flagged=str(i) in flags) for i, t in enumerate(found))
