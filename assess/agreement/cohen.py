"""Cohen's kappa of two assessors, plain or weighted, from the table of their scores."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.chance import beyond_chance
from assess.agreement.scores import Floats

__all__ = ["Cohen", "cohen", "kappa_max", "kappa_of_tables"]


@dataclass(frozen=True, slots=True)
class Cohen:
    """Kappa with the errors of Fleiss, Cohen and Everitt: se for an interval, null_se for a test against chance.

    kappa: None where both gave one and the same level throughout; the errors likewise. kappa_max: the largest kappa
    these two habits of giving levels leave possible. observed, chance: (weighted) agreement.
    """

    kappa: float | None
    se: float | None
    null_se: float | None
    kappa_max: float | None
    observed: float | None
    chance: float | None


def cohen(table: ArrayLike, weights: ArrayLike | None = None) -> Cohen:
    """Cohen's kappa of a table of scores, shape (k, k): first assessor's level by row, second's by column.

    weights: agreement weights, shape (k, k), 1 on the diagonal; None counts equal scores only. Raises ValueError
    for shapes that do not fit.
    Source: Cohen (1960), Educ. Psychol. Meas. 20, 37-46; Cohen (1968), Psychol. Bull. 70, 213-220; Fleiss, Cohen &
    Everitt (1969), Psychol. Bull. 72, 323-327.
    """
    cells = np.asarray(table, dtype=np.float64)
    if cells.ndim != 2 or cells.shape[0] != cells.shape[1]:
        raise ValueError("the table of two assessors is not square")
    w = np.eye(len(cells)) if weights is None else np.asarray(weights, dtype=np.float64)
    if w.shape != cells.shape:
        raise ValueError("the weights do not fit the table")
    n = float(cells.sum())
    if n == 0:
        return Cohen(None, None, None, None, None, None)
    share = cells / n
    row, column = share.sum(axis=1), share.sum(axis=0)
    observed, chance = float((w * share).sum()), float(row @ w @ column)
    kappa = float(kappa_of_tables(cells[None], w)[0])
    if not np.isfinite(kappa):
        return Cohen(None, None, None, None, observed, chance)
    pull = (w @ column)[:, None] + row @ w
    size = n * (1 - chance) ** 2
    own = (share * (w - pull * (1 - kappa)) ** 2).sum() - (kappa - chance * (1 - kappa)) ** 2
    null = (np.outer(row, column) * (w - pull) ** 2).sum() - chance**2
    se, null_se = (float(np.sqrt(max(0.0, variance) / size)) for variance in (own, null))
    return Cohen(kappa, se, null_se, kappa_max(row, column, w), observed, chance)


def kappa_of_tables(tables: Floats, weights: Floats) -> Floats:
    """Kappa of each of many tables, shape (b, k, k) -> (b,); NaN where chance alone is full agreement."""
    flat = tables.reshape(len(tables), -1)
    n = np.maximum(flat.sum(axis=1), 1.0)
    observed = flat @ weights.ravel() / n
    chance = ((tables.sum(axis=2) @ weights) * tables.sum(axis=1)).sum(axis=1) / n**2
    return np.where(flat.any(axis=1), beyond_chance(observed, chance), np.nan)


def kappa_max(row: Floats, column: Floats, weights: Floats) -> float | None:
    """The largest kappa two sets of shares of levels, shape (k,), leave possible.

    Unweighted it is reached when as many scores as the shares allow are equal; where weights fall off ever faster
    with distance (linear, quadratic, ordinal), when both rank alike; for other tables it is a transport problem.
    Source: Cohen (1960), p. 42; Umesh, Peterson & Sauber (1989), Educ. Psychol. Meas. 49, 835-850.
    """
    chance = float(row @ weights @ column)
    if chance > 1 - 1e-12:
        return None
    if np.array_equal(weights, np.eye(len(row))):
        best = float(np.minimum(row, column).sum())
    elif (weights[:-1, :-1] + weights[1:, 1:] >= weights[1:, :-1] + weights[:-1, 1:] - 1e-12).all():
        best = float((_ranked_alike(row, column) * weights).sum())
    else:
        best = _transport(row, column, weights)
    return (best - chance) / (1 - chance)


def _ranked_alike(row: Floats, column: Floats) -> Floats:
    upto = np.minimum(np.cumsum(row)[:, None], np.cumsum(column))
    edged = np.pad(upto, ((1, 0), (1, 0)))
    return np.asarray(np.diff(np.diff(edged, axis=0), axis=1))


def _transport(row: Floats, column: Floats, weights: Floats) -> float:
    from scipy.optimize import linprog

    k = len(row)
    by_row, by_column = np.kron(np.eye(k), np.ones(k)), np.kron(np.ones(k), np.eye(k))
    held = np.vstack([by_row, by_column[:-1]])
    result = linprog(-weights.ravel(), A_eq=held, b_eq=np.concatenate([row, column[:-1]]), method="highs")
    return float(weights.ravel() @ np.asarray(result.x, dtype=np.float64))
