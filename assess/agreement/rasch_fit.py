"""How scores sit with the model: mean squares, spread within a sheet, equal scores, and who can be told apart.

Sources: Wright & Masters (1982), Rating Scale Analysis, ch. 5 (mean squares; separation); Wilson & Hilferty (1931),
Proc. Natl. Acad. Sci. 17, 684-688 (the cube root that makes them z). Nothing is trimmed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtr

from assess.agreement.rasch_model import ASSESSOR, Model, chances
from assess.agreement.results import ToldApart, WithinSheet
from assess.agreement.scores import Floats, Ints, Scores

__all__ = ["Expected", "Fit", "equal_scores", "expected_at", "fit_by", "told_apart", "within_sheets"]

_LEAST = 1e-12


@dataclass(frozen=True, eq=False)
class Expected:
    """Of every score in use: chance of each category, what is expected, its variance, its fourth central moment.

    chance is (categories, scores).

    usable: False where the candidate has no ability or the model leaves no variance.
    """

    chance: Floats
    mean: Floats
    variance: Floats
    fourth: Floats
    usable: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Fit:
    """Mean squares and z by id; NaN where there is nothing to say."""

    infit: Floats
    outfit: Floats
    infit_z: Floats
    outfit_z: Floats
    n: Ints


def expected_at(model: Model, free: Floats, ability: Floats) -> Expected:
    """What the model expects of every score in use; ability of each candidate, NaN where there is none."""
    own = ability[model.candidate]
    known = np.isfinite(own)
    chance, _ = chances(model.logits(free, np.where(known, own, 0.0), model.cell))
    mean = model.weights @ chance
    variance, fourth = np.zeros(len(mean)), np.zeros(len(mean))
    for weight, part in zip(model.weights, chance, strict=True):
        squared = (weight - mean) ** 2
        variance += part * squared
        fourth += part * squared**2
    return Expected(chance, mean, variance, fourth, known & (variance > _LEAST))


def fit_by(model: Model, expected: Expected, index: Ints, size: int) -> Fit:
    """Mean squares of the scores of every id; index: the id of each score."""
    use = expected.usable
    variance = expected.variance[use]
    squared = (model.weights[model.category[use]] - expected.mean[use]) ** 2
    excess = expected.fourth[use]

    def total(values: Any) -> Floats:
        return np.bincount(index[use], values, minlength=size).astype(np.float64)

    n = np.bincount(index[use], minlength=size)
    count = np.maximum(n, 1).astype(np.float64)
    information = np.where(n > 0, total(variance), 1.0)
    infit, outfit = total(squared) / information, total(squared / variance) / count
    infit_spread = np.sqrt(np.maximum(total(excess - variance**2), 0.0)) / information
    outfit_spread = np.sqrt(np.maximum(total(excess / variance**2 - 1), 0.0)) / count
    none = n == 0
    parts = [infit, outfit, _normal(infit, infit_spread), _normal(outfit, outfit_spread)]
    a, b, c, d = (np.where(none, np.nan, part) for part in parts)
    return Fit(a, b, c, d, n)


def _normal(mean_square: Floats, spread: Floats) -> Floats:
    """Wilson and Hilferty's z of a mean square with mean 1 and this standard deviation; NaN without one."""
    safe = np.where(spread > _LEAST, spread, 1.0)
    return np.where(spread > _LEAST, (np.cbrt(mean_square) - 1) * (3 / safe) + safe / 3, np.nan)


def told_apart(
    values: Sequence[float | None],
    errors: Sequence[float | None],
    *,
    centred: bool = False,
    shrunken: bool = False,
) -> ToldApart:
    """Separation and reliability of values with their errors; spread is taken with n - 1.

    centred: values sum to zero, and so do their errors, which are then n / (n - 1) times as large among themselves.
    shrunken: expectations a posteriori, whose spread is already without their errors.
    """
    pairs = [(v, e) for v, e in zip(values, errors, strict=True) if v is not None and e is not None]
    if len(pairs) < 2:
        return ToldApart(None, None)
    n = len(pairs)
    spread = float(np.var([v for v, _ in pairs], ddof=1))
    error = float(np.mean([e**2 for _, e in pairs])) * (n / (n - 1) if centred else 1.0)
    true = spread if shrunken else max(0.0, spread - error)
    whole = spread + error if shrunken else spread
    if error <= _LEAST or whole <= _LEAST:
        return ToldApart(None, None)
    return ToldApart(float(np.sqrt(true / error)), true / whole)


def equal_scores(model: Model, scores: Scores, expected: Expected) -> tuple[float | None, float | None]:
    """Share of equal scores among pairs of assessors of one unit: seen, and foreseen by the model."""
    keep = np.flatnonzero(model.usable.keep)[expected.usable]
    order = np.lexsort((scores.assessor[keep], scores.unit[keep]))
    unit = scores.unit[keep][order]
    use = np.flatnonzero(expected.usable)[order]
    category = model.category[use]
    n_units = scores.n_units
    n = np.bincount(unit, minlength=n_units).astype(np.float64)
    pairs = float((n * (n - 1)).sum())
    if pairs == 0:
        return None, None
    seen, foreseen = 0.0, 0.0
    for k in range(len(model.weights)):
        here = np.bincount(unit, category == k, minlength=n_units)
        chance = expected.chance[k, use]
        likely = np.bincount(unit, chance, minlength=n_units)
        square = np.bincount(unit, chance**2, minlength=n_units)
        seen += float((here * (here - 1)).sum())
        foreseen += float((likely**2 - square).sum())
    return seen / pairs, foreseen / pairs


def within_sheets(model: Model, scores: Scores, expected: Expected) -> tuple[WithinSheet | None, ...]:
    """Of every assessor of the model: spread of the scores within one sheet beside what the model foresees."""
    use = np.flatnonzero(expected.usable)
    rows = np.flatnonzero(model.usable.keep)[use]
    key = (scores.candidate[rows] * max(1, len(scores.tasks)) + scores.task[rows]) * max(1, len(scores.assessors))
    _, first, sheet = np.unique(key + scores.assessor[rows], return_index=True, return_inverse=True)
    facet = next(facet for facet in model.facets if facet.name == ASSESSOR)
    n = np.bincount(sheet)
    seen = _squares(model.weights[model.category[use]], sheet, n)
    foreseen, variance = _foreseen_squares(expected, use, sheet, n)
    assessor = facet.of_cell[model.cell[use]][first]
    return tuple(_within((assessor == a) & (n > 1), seen, foreseen, variance, n) for a in range(len(facet.ids)))


def _foreseen_squares(expected: Expected, use: Ints, sheet: Ints, n: Ints) -> tuple[Floats, Floats]:
    """Sum of squares around the mean of every sheet when scores hang together by ability alone: mean and variance.

    The variance is that of a quadratic form in independent deviations, without their third moments. Source: Seber &
    Lee (2003), Linear Regression Analysis, theorem 1.6.
    """
    mean, variance, fourth = expected.mean[use], expected.variance[use], expected.fourth[use]
    share = 1 - 1 / n[sheet]
    foreseen = _squares(mean, sheet, n) + np.bincount(sheet, variance * share)
    own = np.bincount(sheet, share**2 * (fourth - variance**2))
    whole, squares = np.bincount(sheet, variance), np.bincount(sheet, variance**2)
    centre = (np.bincount(sheet, mean) / n)[sheet]
    apart = np.bincount(sheet, variance * (mean - centre) ** 2)
    return foreseen, np.asarray(own + 2 * (whole**2 - squares) / n**2 + 4 * apart)


def _within(mine: NDArray[np.bool_], seen: Floats, foreseen: Floats, variance: Floats, n: Ints) -> WithinSheet | None:
    """The sheets of one assessor. The chance of so little is that of a chi-square with the same mean and variance."""
    spare, whole, spread = float((n[mine] - 1).sum()), float(foreseen[mine].sum()), float(variance[mine].sum())
    if not spare:
        return None
    had = float(seen[mine].sum())
    chance = float(chdtr(2 * whole**2 / spread, 2 * whole * had / spread)) if spread > _LEAST else None
    return WithinSheet(float(np.sqrt(had / spare)), float(np.sqrt(whole / spare)), int(mine.sum()), chance)


def _squares(values: Floats, sheet: Ints, n: Ints) -> Floats:
    mean = np.bincount(sheet, values) / n
    return np.bincount(sheet, (values - mean[sheet]) ** 2).astype(np.float64)
