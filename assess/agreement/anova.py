"""Mean squares of a complete design and the variances behind them, by their expected values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.facets import Design
from assess.agreement.scores import Floats, Ints

__all__ = ["MeanSquares", "expected", "mean_squares", "variances_of"]


@dataclass(frozen=True, eq=False)
class MeanSquares:
    """Mean squares of the sources of a complete design, in their order. coefficients: from variances to expected ones.

    df: degrees of freedom, all positive. mean_weights: what a variance adds to that of the general mean.
    """

    values: Floats
    df: Floats
    coefficients: Floats
    mean_weights: Floats
    mean: float


def mean_squares(design: Design) -> MeanSquares:
    """Mean squares, each source's own after the sources it contains. Source: Brennan (2001), ch. 3 and 5.2."""
    n, sources = len(design.value), design.sources
    mean = float(design.value.mean())
    centred = design.value - mean
    whole = [_between(source.index, source.levels, centred) for source in sources]
    squares, df = np.zeros(len(sources)), np.zeros(len(sources))
    for i, source in enumerate(sources):
        below = [j for j in range(i) if sources[j].facets < source.facets]
        squares[i] = whole[i] - squares[below].sum()
        df[i] = source.levels - 1 - df[below].sum()
    squares = np.where(squares > 1e-13 * (centred @ centred), squares, 0.0)
    coefficients = np.array(
        [[n / other.levels if other.facets >= source.facets else 0.0 for other in sources] for source in sources]
    )
    return MeanSquares(squares / df, df, coefficients, np.array([1 / source.levels for source in sources]), mean)


def _between(index: Ints, levels: int, centred: Floats) -> float:
    return float((np.bincount(index, weights=centred, minlength=levels) ** 2).sum() * levels / len(centred))


def variances_of(ms: MeanSquares, values: Floats) -> Floats:
    """Variances that have these mean squares for expected ones, negative ones as they are; shape (..., sources)."""
    return np.asarray(np.linalg.solve(ms.coefficients, values[..., None])[..., 0])


def expected(ms: MeanSquares, variances: Floats) -> Floats:
    """Mean squares to expect of these variances."""
    return np.asarray(ms.coefficients @ variances)
