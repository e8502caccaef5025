"""Joint maximum likelihood: candidates' abilities are numbers like the others; labelled, since it exaggerates.

Full Newton; the candidates' part of the information is diagonal and is eliminated, so that a step solves a system of
the facets and steps alone. Source: Wright & Masters (1982), Rating Scale Analysis, ch. 4; block elimination is
textbook linear algebra.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from assess.agreement.rasch_model import Model
from assess.agreement.scores import Floats

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
    value: float
    slope_ability: Floats
    slope: Floats
    chance: Floats
    mean: Floats


def _at(model: Model, ability: Floats, free: Floats) -> _At:
    logits = model.logits(free, ability[model.candidate], model.cell)
    top = logits.max(axis=1, keepdims=True)
    chance = np.exp(logits - top)
    whole = chance.sum(axis=1, keepdims=True)
    chance /= whole
    log_chance = logits[np.arange(len(logits)), model.category] - top[:, 0] - np.log(whole[:, 0])
    mean = chance @ model.weights
    by_cell = np.bincount(model.cell, mean, minlength=model.n_cells)
    group = model.group[model.cell]
    by_group = np.stack(
        [np.bincount(group, chance[:, k], minlength=len(model.groups)) for k in range(len(model.weights))], axis=1
    )
    steps = model.offset.reshape(-1, model.n_free)
    slope = np.asarray(model.observed + by_cell @ model.location + by_group.ravel() @ steps, dtype=np.float64)
    slope_ability = model.total - np.bincount(model.candidate, mean, minlength=model.n_candidates)
    return _At(float(log_chance.sum()), slope_ability, slope, chance, mean)


def _blocks(model: Model, at: _At) -> tuple[Floats, Floats, Floats]:
    """Information: candidates' diagonal, candidates by free numbers, free numbers."""
    from scipy.sparse import csr_array

    k, g = len(model.weights), len(model.groups)
    group = model.group[model.cell]
    apart = at.chance * (model.weights - at.mean[:, None])
    variance = apart @ model.weights
    diagonal = np.bincount(model.candidate, variance, minlength=model.n_candidates)
    shape = (model.n_candidates, model.n_cells)
    cross = csr_array((-variance, (model.candidate, model.cell)), shape=shape) @ model.location
    own = np.zeros((model.n_free, model.n_free))
    by_cell = np.bincount(model.cell, variance, minlength=model.n_cells)
    own += model.location.T @ (model.location * by_cell[:, None])
    mixed = np.zeros((model.n_cells, model.n_free))
    for level in range(k):
        mine = csr_array((-apart[:, level], (model.candidate, group)), shape=(model.n_candidates, g))
        cross += mine @ model.offset[:, level]
        of_cell = np.bincount(model.cell, apart[:, level], minlength=model.n_cells)
        mixed += of_cell[:, None] * model.offset[model.group, level]
        for other in range(k):
            both = -at.chance[:, level] * at.chance[:, other] + (at.chance[:, level] if other == level else 0.0)
            weight = np.bincount(group, both, minlength=g)
            own += model.offset[:, level].T @ (model.offset[:, other] * weight[:, None])
    crossed = model.location.T @ mixed
    return diagonal.astype(np.float64), np.asarray(cross), own + crossed + crossed.T


def fit_joint(model: Model) -> Joint | None:
    """The joint maximum with errors, or None when it does not exist or does not settle."""
    there = model.n_each > 0
    span = model.weights[-1] * np.maximum(model.n_each, 1)
    share = np.clip(model.total / span, 0.01, 0.99)
    ability, free = np.where(there, np.log(share / (1 - share)), 0.0), np.zeros(model.n_free)
    at = _at(model, ability, free)
    for iteration in range(1, 60):
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
    from scipy.sparse import csr_array

    shape = (model.n_candidates, model.n_cells)
    found = model.observed_each + csr_array((at.mean, (model.candidate, model.cell)), shape=shape) @ model.location
    group = model.group[model.cell]
    for level in range(len(model.weights)):
        part = csr_array((at.chance[:, level], (model.candidate, group)), shape=(model.n_candidates, len(model.groups)))
        found += part @ model.offset[:, level]
    return np.asarray(found)
