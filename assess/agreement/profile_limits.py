"""95 % limits by profile likelihood: how far a variance, or a share of variances, can go before the data object."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from assess.agreement.reml import Model, Reml, descend
from assess.agreement.scores import Floats

__all__ = ["share_limits", "variance_limits"]

_DROP = 1.959963984540054
_STEPS = 60
_SMALLEST, _LARGEST = 1e-6, 1e6


@dataclass(eq=False)
class _Profile:
    """Root of the deviance at given values of one quantity; the last solution starts the next.

    cut: from the value to (turn, fixed) of the space that is left.
    """

    model: Model
    least: float
    cut: Callable[[float], tuple[Floats, Floats]]
    free: Floats

    def __call__(self, value: float) -> float:
        turn, fixed = self.cut(value)
        free, point, _ = descend(self.model, turn, fixed, self.free, enough=1e-6)
        self.free = free
        return float(np.sqrt(max(0.0, point.value - self.least))) - _DROP


def _least(model: Model, fitted: Reml) -> tuple[Floats, float]:
    square = model.scale**2
    return fitted.variances / square, fitted.minus_two - (model.blocks.n - 1) * float(np.log(square))


def variance_limits(model: Model, fitted: Reml, k: int) -> tuple[float, float] | None:
    """Limits of variance k (the error's is the last) with all others at their best; None if no upper limit is found.

    The lower one is 0 where the data do not object to that.
    Source: Venzon & Moolgavkar (1988), Appl. Statist. 37, 87-94, with the restricted likelihood.
    """
    best, least = _least(model, fitted)
    size = len(best)
    turn = np.delete(np.eye(size), k, axis=1)

    def cut(value: float) -> tuple[Floats, Floats]:
        return turn, value * np.eye(size)[k]

    def profile() -> _Profile:
        return _Profile(model, least, cut, np.delete(best, k))

    spread = float(fitted.se[k] / fitted.variances[k]) if fitted.variances[k] > 0 else 1.0
    limits = _roots(profile, float(best[k]), spread, zero_allowed=k < size - 1)
    return None if limits is None else (limits[0] * model.scale**2, limits[1] * model.scale**2)


def share_limits(model: Model, fitted: Reml, k: int, weights: Floats) -> tuple[float, float] | None:
    """Limits of v_k / (v_k + weights @ v), where weights[k] is 0; None if no upper limit is found."""
    best, least = _least(model, fitted)
    turn = np.delete(np.eye(len(best)), k, axis=1)

    def cut(ratio: float) -> tuple[Floats, Floats]:
        tilted = turn.copy()
        tilted[k] = ratio * np.delete(weights, k)
        return tilted, np.zeros(len(best))

    def profile() -> _Profile:
        return _Profile(model, least, cut, np.delete(best, k))

    limits = _roots(profile, float(best[k] / (weights @ best)), 0.5, zero_allowed=True)
    return None if limits is None else (limits[0] / (1 + limits[0]), limits[1] / (1 + limits[1]))


def _roots(
    profile: Callable[[], _Profile], best: float, spread: float, *, zero_allowed: bool
) -> tuple[float, float] | None:
    """Both values at which the profile crosses, searched in steps of about two standard errors, then closed in on."""
    factor = float(np.exp(min(max(2 * spread, 0.01), 1.5)))
    high = _cross(profile(), max(best, 0.01), best, factor)
    if high is None:
        return None
    if best <= _SMALLEST or (zero_allowed and profile()(0.0) <= 0):
        return 0.0, high
    low = _cross(profile(), best, best, 1 / factor)
    return (0.0 if low is None else low), high


def _cross(profile: _Profile, start: float, best: float, factor: float) -> float | None:
    """Where the profile rises through 0 on the way from `start` by `factor`; None if it never does."""
    inner, outer = (best if best > 0 else start / factor), start * factor
    below, above = -_DROP, profile(outer)
    while above <= 0:
        inner, outer, below = outer, outer * factor, above
        if not _SMALLEST < outer < _LARGEST:
            return None
        above = profile(outer)
    return _closed_in(profile, (np.log(inner), below), (np.log(outer), above))


def _closed_in(profile: _Profile, low: tuple[float, float], high: tuple[float, float]) -> float:
    """False position on the logarithm, Illinois variant; each end is (place, value), of either sign."""
    (a, below), (b, above) = low, high
    side = 0
    for _ in range(_STEPS):
        x = a + (b - a) * below / (below - above) if below < 0 else (a + b) / 2
        value = profile(float(np.exp(x)))
        if abs(value) < 1e-5 or abs(b - a) < 1e-6:
            return float(np.exp(x))
        if value > 0:
            b, above, below = x, value, below / 2 if side > 0 else below
        else:
            a, below, above = x, value, above / 2 if side < 0 else above
        side = 1 if value > 0 else -1
    return float(np.exp(b))
