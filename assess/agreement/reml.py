"""Variance components by restricted maximum likelihood: crossed, nested, complete or not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from assess.agreement.blocks import Blocks, Sums, TooMany, blocks_of
from assess.agreement.likelihood import Point, at, pieces
from assess.agreement.scores import Floats, Ints

__all__ = ["MOST_CELLS", "Model", "Reml", "TooMany", "descend", "fit", "model_of", "told_apart"]

MOST_CELLS = 2000
"""Beyond so many combinations of the smaller facets the matrices would no longer be small."""
# In spreads of the scores; with less error the information on the others would be lost in rounding.
_SMALLEST_ERROR = 1e-6
_NO_ERROR_STEPS = 12


@dataclass(frozen=True, eq=False)
class Model:
    """Scores ready for the likelihood: centred and of unit spread. scale: that spread; shift: what was taken off."""

    blocks: Blocks
    sums: Sums
    start: Floats
    scale: float
    shift: float


@dataclass(frozen=True, eq=False)
class Reml:
    """Variances of the sources and, last, of the error; at the maximum of the restricted likelihood, none negative.

    se: from the expected information, 0 for a variance at zero. mean: of the scores by generalised least squares,
    with its variance. minus_two: minus two restricted log-likelihood.
    """

    variances: Floats
    se: Floats
    minus_two: float
    mean: float
    mean_variance: float
    converged: bool


def model_of(sources: Sequence[Ints], facets: Sequence[frozenset[int]], value: Floats) -> Model:
    """The model of scores with a level in each source, one entry per score.

    facets: which facets each source is made of; those that share the facet of most levels are inside its blocks.
    Raises TooMany.
    """
    block = max((k for k in range(len(sources)) if _outermost(facets, k)), key=lambda k: int(sources[k].max()))
    inside = [k for k in range(len(sources)) if facets[k] >= facets[block]]
    outside = [int(sources[k].max()) + 1 for k in range(len(sources)) if k not in inside]
    if max(outside, default=0) > MOST_CELLS:
        raise TooMany(f"more than {MOST_CELLS} levels in a source besides the largest")
    blocks = blocks_of(sources[block], sources, inside)
    if blocks.n_cells > MOST_CELLS:
        raise TooMany(f"more than {MOST_CELLS} combinations of the smaller facets")
    shift, scale = float(value.mean()), float(value.std()) or 1.0
    centred = (value - shift) / scale
    return Model(blocks, blocks.sums(centred), _start(sources, centred), scale, shift)


def _outermost(facets: Sequence[frozenset[int]], k: int) -> bool:
    return not any(other < facets[k] for other in facets)


def _crossed(a: Ints, b: Ints) -> csr_array:
    """How often each level of one source meets each level of another."""
    return csr_array((np.ones(len(a)), (a, b)), shape=(int(a.max()) + 1, int(b.max()) + 1))


def _normal_equations(sources: Sequence[Ints], n: int) -> Floats:
    """Inner products of the sources' covariances, mean projected out, error last; shape (k + 1, k + 1)."""
    k = len(sources)
    counts = [np.bincount(source).astype(np.float64) for source in sources]
    matrix = np.empty((k + 1, k + 1))
    for i in range(k):
        for j in range(i + 1):
            met = _crossed(sources[i], sources[j])
            both = float(counts[i] @ (met @ counts[j]))
            matrix[i, j] = (met.data**2).sum() - 2 * both / n + (counts[i] @ counts[i]) * (counts[j] @ counts[j]) / n**2
        matrix[k, i] = n - counts[i] @ counts[i] / n
    matrix[k, k] = n - 1
    return np.tril(matrix) + np.tril(matrix, -1).T


def told_apart(sources: Sequence[Ints], n: int) -> bool:
    """Whether the data can tell the sources from one another and from the error at all."""
    matrix = _normal_equations(sources, n)
    size = np.sqrt(np.maximum(np.diagonal(matrix), 0.0))
    if (size <= 1e-9 * n).any():
        return False
    return bool(np.linalg.eigvalsh(matrix / np.outer(size, size))[0] > 1e-9)


def _start(sources: Sequence[Ints], centred: Floats) -> Floats:
    """Minimum norm quadratic unbiased estimates (Rao 1971), moved into the inside of what is possible."""
    n = len(centred)
    moments = [float((np.bincount(source, weights=centred) ** 2).sum()) for source in sources]
    moments.append(float(centred @ centred))
    guess = np.linalg.lstsq(_normal_equations(sources, n), np.asarray(moments), rcond=None)[0]
    return np.asarray(np.maximum(guess, 0.02))


def fit(model: Model) -> Reml:
    """The maximum of the restricted likelihood."""
    size = len(model.start)
    free, point, converged = descend(model, np.eye(size), np.zeros(size), model.start)
    square = model.scale**2
    inside = free > 0
    se = np.zeros(size)
    information = point.expected[np.ix_(inside, inside)] / 2
    squares = np.diagonal(np.linalg.pinv(information, hermitian=True))
    # Where the data hardly tell two sources apart the inverse has no positive diagonal: no errors, then no fit.
    told = bool((squares > 0).all())
    se[inside] = np.sqrt(np.where(squares > 0, squares, 0.0))
    p = pieces(model.blocks, model.sums, free[:-1] / free[-1])
    value = point.value + (model.blocks.n - 1) * float(np.log(square))
    mean_variance = float(free[-1]) / p.mean_weight * square
    mean = model.shift + model.scale * p.mean
    converged = converged and told and bool(free[-1] > 10 * _SMALLEST_ERROR)
    return Reml(free * square, se * square, value, mean, mean_variance, converged)


def descend(
    model: Model, turn: Floats, fixed: Floats, start: Floats, *, enough: float = 0.0
) -> tuple[Floats, Point, bool]:
    """Least minus two log-likelihood over variances `fixed + turn @ free`, free >= 0; the free values, and there.

    Newton with the exact curvature where it is positive, Fisher scoring elsewhere; a variance at zero stays out as
    long as the slope holds it there (Bertsekas 1982, projected Newton). enough: stop where a step promises less.
    """
    floor = np.where(fixed[-1] > 0, 0.0, np.where(turn[-1] > 0, _SMALLEST_ERROR, 0.0))
    free = np.maximum(start, floor)
    point = at(model.blocks, model.sums, fixed + turn @ free)
    without_error = 0
    for _ in range(200):
        # Scores that fit without error pull the error to 0 for ever; a few steps there say as much as two hundred.
        without_error += bool(turn[-1].any() and free[-1] <= 10 * _SMALLEST_ERROR)
        if without_error > _NO_ERROR_STEPS:
            return free, point, False
        slope = turn.T @ point.slope
        moving = ~((free <= floor + 1e-12) & (slope > 0))
        if not moving.any():
            return free, point, True
        step = _step(turn.T @ point.curvature @ turn, turn.T @ point.expected @ turn, slope, moving)
        gain = -float(slope @ step)
        if gain < enough:
            return free, point, True
        free_next, next_point = _search(model, turn, fixed, floor, free, point, step)
        if next_point is None:
            return free, point, gain < 1e-6
        free, point = free_next, next_point
        if gain < 1e-13 * model.blocks.n or gain < 1e-12:
            return free, point, True
    return free, point, False


def _step(curvature: Floats, expected: Floats, slope: Floats, moving: NDArray[np.bool_]) -> Floats:
    pick = np.ix_(moving, moving)
    information = np.diagonal(expected)[moving]
    size = np.sqrt(np.maximum(information, 1e-12 * max(1.0, float(information.max()))))
    matrix = curvature[pick] / np.outer(size, size)
    if float(np.linalg.eigvalsh(matrix)[0]) < 1e-6:
        matrix = expected[pick] / np.outer(size, size)
        matrix = matrix + np.eye(len(matrix)) * max(0.0, 1e-6 - float(np.linalg.eigvalsh(matrix)[0]))
    step = np.zeros(len(slope))
    step[moving] = -np.linalg.solve(matrix, slope[moving] / size) / size
    return step


def _search(
    model: Model, turn: Floats, fixed: Floats, floor: Floats, free: Floats, point: Point, step: Floats
) -> tuple[Floats, Point | None]:
    """Half the step, and half again, until it goes down; None when nothing does."""
    slope = turn.T @ point.slope
    length = 1.0
    for _ in range(40):
        trial = np.maximum(free + length * step, floor)
        promised = float(slope @ (trial - free))
        there = at(model.blocks, model.sums, fixed + turn @ trial)
        if there.value <= point.value + 1e-4 * min(promised, 0.0):
            return trial, there
        length /= 2
    return free, None
