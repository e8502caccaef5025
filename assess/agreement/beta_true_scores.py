"""True scores that follow a beta distribution, seen through so many tasks right or wrong: the shares of outcomes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.special import bdtrc, betainc, betaincinv, roots_legendre

from assess.agreement.scores import Floats

__all__ = ["EXPONENTS", "BetaShape", "Classified", "chance_of", "classify"]

NODES = 200
EXPONENTS = (1e-3, 1e9)


@dataclass(frozen=True, slots=True)
class BetaShape:
    """Share of tasks a candidate would get right in the long run: lower + (upper - lower) times Beta(alpha, beta)."""

    alpha: float
    beta: float
    lower: float
    upper: float

    @property
    def usable(self) -> bool:
        """Whether it can be integrated: neither all at the two ends nor all at one point, and within 0 to 1."""
        least, most = EXPONENTS
        inside = least <= min(self.alpha, self.beta) and max(self.alpha, self.beta) <= most
        return inside and 0 <= self.lower < self.upper <= 1


@dataclass(frozen=True, slots=True)
class Classified:
    """Shares of candidates. table: [[truly below: below, on], [truly on: below, on]] the line as assessed."""

    table: tuple[tuple[float, float], tuple[float, float]]
    consistency: float

    @property
    def accuracy(self) -> float:
        """Share whose outcome is that of their true score."""
        return self.table[0][0] + self.table[1][1]

    @property
    def pass_rate(self) -> float:
        """Share on the line as assessed."""
        return self.table[0][1] + self.table[1][1]


def chance_of(pass_from: int, tasks: int, share: Floats) -> Floats:
    """Binomial chance of at least `pass_from` of `tasks`, for each share right, same shape as `share`."""
    if pass_from <= 0:
        return np.ones_like(share)
    if pass_from > tasks:
        return np.zeros_like(share)
    return np.asarray(bdtrc(pass_from - 1, tasks, np.clip(share, 0.0, 1.0)), dtype=np.float64)


def classify(shape: BetaShape, tasks: int, pass_from: int, line: float) -> Classified:
    """What `tasks` tasks, passed from `pass_from` right, make of true scores of this shape; truly on: from `line`.

    Integrated over the quantiles of the true score, below and above the line apart, 200 Gauss-Legendre nodes each.
    """
    cut = min(1.0, max(0.0, (line - shape.lower) / (shape.upper - shape.lower)))
    below = float(betainc(shape.alpha, shape.beta, cut))
    low, low_same = _between(shape, 0.0, below, tasks, pass_from)
    high, high_same = _between(shape, below, 1.0, tasks, pass_from)
    return Classified(((below - low, low), (1 - below - high, high)), low_same + high_same)


def _between(shape: BetaShape, start: float, end: float, tasks: int, pass_from: int) -> tuple[float, float]:
    nodes, weights = _legendre()
    quantiles = start + (end - start) * nodes
    share = shape.lower + (shape.upper - shape.lower) * betaincinv(shape.alpha, shape.beta, quantiles)
    on = chance_of(pass_from, tasks, share)
    width = end - start
    return width * float(weights @ on), width * float(weights @ (on**2 + (1 - on) ** 2))


@cache
def _legendre() -> tuple[Floats, Floats]:
    nodes, weights = roots_legendre(NODES)
    return (np.asarray(nodes) + 1) / 2, np.asarray(weights) / 2
