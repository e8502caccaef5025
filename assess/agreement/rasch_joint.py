"""Joint maximum likelihood: candidates' abilities are numbers like the others; labelled, since it exaggerates.

Full Newton; the candidates' part of the information is diagonal and is eliminated, so that a step solves a system of
the facets and steps alone. Source: Wright & Masters (1982), Rating Scale Analysis, ch. 4; block elimination is
textbook linear algebra.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from assess.agreement.bootstrap import Progress, tell
from assess.agreement.rasch_model import Model, chances
from assess.agreement.scores import Floats, Ints

__all__ = ["Joint", "fit_joint"]

_FAR = 40.0


@dataclass(frozen=True, eq=False)
class Joint:
    """free: the model's numbers; ability: of candidates, NaN without scores in use. covariance: of the free numbers.

    clustered: with candidates as clusters (sandwich). ability_se: from the full inverse information.
    """

    free: Floats
    ability: Floats
    log_likelihood: float
    covariance: Floats
    clustered: Floats
    ability_se: Floats
    iterations: int
    converged: bool


@dataclass(frozen=True, eq=False)
class _At:
    """chance: (categories, scores). mean: expected of every score."""

    value: float
    slope_ability: Floats
    slope: Floats
    chance: Floats
    mean: Floats


def _at(model: Model, ability: Floats, free: Floats) -> _At:
    chance, log_whole = chances(model.logits(free, ability[model.candidate], model.cell))
    mean = model.weights @ chance
    by_cell = np.bincount(model.cell, mean, minlength=model.n_cells)
    group = model.group[model.cell]
    by_group = np.stack([_summed(group, part, len(model.groups)) for part in chance], axis=1)
    slope = model.observed + by_cell @ model.location + by_group.ravel() @ model.offset.reshape(-1, model.n_free)
    slope_ability = model.total - np.bincount(model.candidate, mean, minlength=model.n_candidates)
    value = float(ability @ model.total + model.observed @ free - log_whole.sum())
    return _At(value, slope_ability, np.asarray(slope, dtype=np.float64), chance, mean)


def _summed(index: Ints, values: Floats, size: int) -> Floats:
    if size == 1:
        return np.array([values.sum()])
    return np.bincount(index, values, minlength=size).astype(np.float64)


def _blocks(model: Model, at: _At) -> tuple[Floats, Floats, Floats]:
    """Information: candidates' diagonal, candidates by free numbers, free numbers."""
    k, g = len(model.weights), len(model.groups)
    group = model.group[model.cell]
    apart = at.chance * (model.weights[:, None] - at.mean)
    variance = model.weights @ apart
    diagonal = np.bincount(model.candidate, variance, minlength=model.n_candidates)
    cross = -(_by_candidate(model, variance, model.cell, model.n_cells) @ model.location)
    own = np.zeros((model.n_free, model.n_free))
    by_cell = np.bincount(model.cell, variance, minlength=model.n_cells)
    own += model.location.T @ (model.location * by_cell[:, None])
    mixed = np.zeros((model.n_cells, model.n_free))
    for level in range(k):
        # The lowest and the highest level have no offset of their own.
        if not model.offset[:, level].any():
            continue
        cross -= _by_candidate(model, apart[level], group, g) @ model.offset[:, level]
        of_cell = np.bincount(model.cell, apart[level], minlength=model.n_cells)
        mixed += of_cell[:, None] * model.offset[model.group, level]
        for other in range(level + 1):
            both = -at.chance[level] * at.chance[other]
            weight = _summed(group, both + at.chance[level] if other == level else both, g)
            part = model.offset[:, level].T @ (model.offset[:, other] * weight[:, None])
            own += part if other == level else part + part.T
    crossed = model.location.T @ mixed
    return diagonal.astype(np.float64), cross, own + crossed + crossed.T


def _by_candidate(model: Model, values: Floats, column: Ints, size: int) -> Any:
    """Numbers of scores by candidate and column, sparse; scores stand in the order of their candidates."""
    from scipy.sparse import csr_array

    ends = np.concatenate([[0], np.cumsum(model.n_each)])
    return csr_array((values, column, ends), shape=(model.n_candidates, size))


def fit_joint(model: Model, progress: Progress | None = None) -> Joint | None:
    """The joint maximum with errors, or None when it does not exist or does not settle.

    progress: told the share of the work that is done; raises Cancelled when it answers False.
    """
    model = model.in_order()
    there = model.n_each > 0
    span = model.weights[-1] * np.maximum(model.n_each, 1)
    share = np.clip(model.total / span, 0.01, 0.99)
    ability, free = np.where(there, np.log(share / (1 - share)), 0.0), np.zeros(model.n_free)
    at = _at(model, ability, free)
    for iteration in range(1, 60):
        # Nine steps are usual.
        tell(progress, min(0.95, 0.1 * iteration))
        diagonal, cross, own = _blocks(model, at)
        safe = np.where(there & (diagonal > 1e-12), diagonal, 1.0)
        reduced = own - cross.T @ (cross / safe[:, None])
        values, vectors = np.linalg.eigh(reduced) if model.n_free else (np.ones(0), np.zeros((0, 0)))
        if len(values) and values[0] <= 1e-10 * max(1.0, values[-1]):
            return None
        pull = at.slope - cross.T @ (at.slope_ability / safe)
        step = vectors @ ((vectors.T @ pull) / values)
        move = (at.slope_ability - cross @ step) / safe
        if step @ at.slope + move @ at.slope_ability < 1e-12 * max(1.0, -at.value):
            inverse = (vectors / values) @ vectors.T
            return _result(model, at, ability, free, safe, cross, inverse, there, iteration)
        size, now = 1.0, at.value
        while size > 1e-5:
            at_new = _at(model, ability + size * move, free + size * step)
            if at_new.value >= now - 1e-12 * abs(now):
                break
            size /= 2
        ability, free, at = ability + size * move, free + size * step, at_new
        if max(np.abs(ability).max(), np.abs(free).max(initial=0.0)) > _FAR:
            return None
    return None


def _result(
    model: Model,
    at: _At,
    ability: Floats,
    free: Floats,
    safe: Floats,
    cross: Floats,
    inverse: Floats,
    there: Any,
    n: int,
) -> Joint:
    spread = cross / safe[:, None]
    variance = 1 / safe + np.einsum("na,ab,nb->n", spread, inverse, spread)
    each = _slopes_each(model, at) - spread * at.slope_ability[:, None]
    count = int(there.sum())
    clustered = inverse @ (each.T @ each) @ inverse * (count / max(1, count - 1))
    return Joint(
        free, np.where(there, ability, np.nan), at.value, inverse, clustered,
        np.where(there, np.sqrt(variance), np.nan), n, True,
    )  # fmt: skip


def _slopes_each(model: Model, at: _At) -> Floats:
    """Each candidate's part of the slope of the free numbers."""
    found = model.observed_each + _by_candidate(model, at.mean, model.cell, model.n_cells) @ model.location
    group = model.group[model.cell]
    for level, part in enumerate(at.chance):
        found += _by_candidate(model, part, group, len(model.groups)) @ model.offset[:, level]
    return np.asarray(found)
