"""How much of an agreement a pair of levels is, and how far apart two levels are: the one place for such tables."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.scores import Floats

__all__ = [
    "METRICS",
    "WEIGHTS",
    "agreement_from_disagreement",
    "distance_table",
    "same_side_table",
    "weight_table",
    "within_one_table",
]

WEIGHTS = ("none", "linear", "quadratic", "ordinal")
METRICS = ("nominal", "ordinal", "interval", "ratio")


def weight_table(kind: str, levels: Sequence[float]) -> Floats:
    """Agreement weights, shape (k, k): 1 on the diagonal, 0 for the farthest levels; "none" gives no part credit.

    levels: the scale, rising. "linear" and "quadratic" go by the values of the levels, which on an evenly spaced
    scale is 1 - abs(i - j) / (k - 1) and its square form; "ordinal" goes by their order alone,
    1 - C(abs(i - j) + 1, 2) / C(k, 2). Raises ValueError for another kind.
    Source: Cohen (1968), Psychol. Bull. 70, 213-220; Gwet (2014), Handbook of Inter-Rater Reliability, 4th ed., ch. 3.
    """
    if kind not in WEIGHTS:
        raise ValueError(f"{kind} is no kind of weights; known are {', '.join(WEIGHTS)}")
    scale = np.asarray(levels, dtype=np.float64)
    if kind == "none" or len(scale) < 2:
        return np.eye(len(scale))
    if kind == "ordinal":
        steps = _apart(np.arange(len(scale), dtype=np.float64))
        return np.asarray(1.0 - steps * (steps + 1) / (len(scale) * (len(scale) - 1)))
    share = _apart(scale) / (scale[-1] - scale[0])
    return np.asarray(1.0 - (share if kind == "linear" else share**2))


def agreement_from_disagreement(table: ArrayLike) -> Floats:
    """Agreement weights from disagreement weights (0 on the diagonal, larger is worse): 1 - v / max(v).

    Raises ValueError for a table that is not square, has a negative entry or nothing above 0.
    """
    worse = np.asarray(table, dtype=np.float64)
    if worse.ndim != 2 or worse.shape[0] != worse.shape[1] or not (worse >= 0).all() or not worse.any():
        raise ValueError("disagreement weights are a square table of numbers from 0 up, at least one above 0")
    return np.asarray(1.0 - worse / worse.max())


def within_one_table(levels: Sequence[float], *, declared: bool) -> Floats:
    """1 where two levels are at most one apart, else 0, shape (k, k).

    On a declared scale one apart means neighbours; of a scale that was only observed, levels may be missing in
    between, so there it means values at most 1 apart.
    """
    scale = np.arange(len(levels), dtype=np.float64) if declared else np.asarray(levels, dtype=np.float64)
    return np.asarray(_apart(scale) <= 1.0 + 1e-9, dtype=np.float64)


def same_side_table(levels: Sequence[float], line: float) -> Floats:
    """1 where two levels lie on the same side of the pass line, else 0; a level equal to the line is on it."""
    on = np.asarray(levels, dtype=np.float64) >= line
    return np.asarray(on[:, None] == on, dtype=np.float64)


def distance_table(metric: str, levels: Sequence[float]) -> Floats:
    """Squared distances of levels for Krippendorff's alpha, shape (k, k): nominal, interval or ratio.

    The ordinal distance depends on how often each level was given, so it has no table (see `alpha`). Raises
    ValueError for another metric.
    Source: Krippendorff (2011), Computing Krippendorff's Alpha-Reliability.
    """
    scale = np.asarray(levels, dtype=np.float64)
    if metric == "nominal":
        return np.asarray(1.0 - np.eye(len(scale)))
    if metric == "interval":
        return np.asarray(_apart(scale) ** 2)
    if metric == "ratio":
        total = scale[:, None] + scale
        return np.asarray(np.divide(_apart(scale), total, out=np.zeros_like(total), where=total != 0) ** 2)
    raise ValueError(f"{metric} has no table of distances")


def _apart(scale: Floats) -> Floats:
    return np.asarray(np.abs(scale[:, None] - scale))
