"""Variances that could stand behind the ones seen, drawn by generalised pivots; intervals from them.

A mean square times its degrees of freedom over a chi-square drawn for it stands for its expected value; variances
follow by the same equations as the estimates. For a complete design this gives the exact F interval of g and the exact
chi-square interval of the error. For an incomplete one the part of mean squares is played by the uncorrelated quadratic
forms behind the restricted likelihood, with Satterthwaite's degrees of freedom; on complete designs these are the same.
Source: Weerahandi (1993), J. Am. Stat. Assoc. 88, 899-905.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.anova import MeanSquares, variances_of
from assess.agreement.d_study import Weights
from assess.agreement.likelihood import at
from assess.agreement.reml import Model, Reml
from assess.agreement.results import Interval
from assess.agreement.scores import Floats

__all__ = ["Redrawn", "of_complete", "of_model"]


@dataclass(frozen=True, eq=False)
class Redrawn:
    """Draws. variances: (b, sources), negative ones as they come; mean: of all scores, (b,); how: in words."""

    variances: Floats
    mean: Floats
    how: str

    def component(self, k: int) -> Interval | None:
        """95 % limits of one variance, 0 where they would be lower."""
        return _limits(np.maximum(self.variances[:, k], 0.0))

    def share(self, weights: Weights, *, absolute: bool) -> Interval | None:
        """95 % limits of g, or of phi."""
        kept = np.maximum(self.variances, 0.0)
        return _limits(_quotient(kept @ weights.signal, kept @ (weights.absolute if absolute else weights.relative)))

    def share_at(self, weights: Weights, line: float) -> Interval | None:
        """95 % limits of phi at a line."""
        kept = np.maximum(self.variances, 0.0)
        return _limits(_quotient(kept @ weights.signal + (self.mean - line) ** 2, kept @ weights.absolute))


def _quotient(signal: Floats, noise: Floats) -> Floats:
    whole = signal + noise
    return np.where(whole > 0, signal / np.where(whole > 0, whole, 1.0), 0.0)


def _limits(drawn: Floats) -> Interval | None:
    if len(drawn) < 2:
        return None
    low, high = np.quantile(drawn, [0.025, 0.975])
    # Draws that cannot differ say nothing about how sure one may be.
    return (float(low), float(high)) if high > low else None


_PRIMES = (2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0)


def _even(seed: int, replicates: int, columns: int) -> Floats:
    """Points spread evenly over the unit cube, moved by the seed: quantiles settle far sooner than by plain chance.

    Multiples of the roots of primes, whole parts left out. Source: Richtmyer (1951); Niederreiter (1992), ch. 3.
    """
    start = np.random.default_rng(seed).random(columns)
    points = np.mod(start + np.arange(replicates)[:, None] * np.sqrt(_PRIMES[:columns]), 1.0)
    return np.asarray(np.clip(points, 1e-12, 1 - 1e-12))


def _chi_squares(df: Floats, points: Floats) -> Floats:
    """By inverting the distribution: degrees of freedom that differ by a rounding error give the same draws."""
    from scipy.special import gammaincinv

    return np.asarray(np.maximum(2 * gammaincinv(df / 2, points), 1e-12))


def _normal(points: Floats) -> Floats:
    from scipy.special import ndtri

    return np.asarray(ndtri(points))


def of_complete(ms: MeanSquares, replicates: int, seed: int) -> Redrawn:
    """Draws from the mean squares of a complete design."""
    points = _even(seed, replicates, len(ms.df) + 1)
    variances = variances_of(ms, ms.values * ms.df / _chi_squares(ms.df, points[:, :-1]))
    spread = np.maximum(variances, 0.0) @ ms.mean_weights
    mean = ms.mean - np.sqrt(spread) * _normal(points[:, -1])
    return Redrawn(variances, mean, f"generalised pivots, {replicates} redraws of the mean squares")


def of_model(model: Model, fitted: Reml, replicates: int, seed: int) -> Redrawn:
    """Draws from a fitted design, complete or not.

    The quadratic forms y' P D_k P y have expectation S v and covariance 2 S, with S_jk = tr P D_j P D_k. With
    S = L D L' the forms L^-1 q are uncorrelated, with expectations D L' v and variances 2 D.
    """
    points = _even(seed, replicates, len(fitted.variances) + 1)
    scaled = fitted.variances / model.scale**2
    root = np.linalg.cholesky(at(model.blocks, model.sums, scaled).expected)
    size = np.diagonal(root)
    # Standardised forms root^-1 q: expectations root' v, variances 2, degrees of freedom the expectations squared.
    hoped = root.T @ scaled
    df = np.maximum(hoped**2, 1e-6)
    drawn = hoped * df / _chi_squares(df, points[:, :-1])
    drawn = np.where(hoped > 1e-6 * size * scaled[-1], drawn, hoped)
    variances = np.linalg.solve(root.T, drawn.T).T * model.scale**2
    mean = fitted.mean - np.sqrt(fitted.mean_variance) * _normal(points[:, -1])
    return Redrawn(variances, mean, f"generalised pivots, {replicates} redraws of the quadratic forms")
