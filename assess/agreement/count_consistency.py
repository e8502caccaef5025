"""Decision consistency of a number of tasks right: Subkoviak, Huynh, Peng and Subkoviak.

All three take every task to be right or wrong, and the tasks of a candidate to be equally hard draws.
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, isfinite, sqrt

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, owens_t

from assess.agreement.beta_true_scores import BetaShape, chance_of, classify
from assess.agreement.decision import Decisions, Shares, decisions_of, no_decisions, said_for_many, spread_problem
from assess.agreement.given import numbers_given, share_problem
from assess.agreement.scores import Floats, ScoreError

__all__ = ["huynh", "peng_subkoviak", "subkoviak"]

NO_ACCURACY = "The method looks at repeats only, not at true scores."


def subkoviak(counts: ArrayLike, *, reliability: float, line: float, highest: int) -> Decisions:
    """Consistency from each candidate's chance to reach the line again; meant for about 100 candidates or more.

    counts: tasks right of `highest`, one whole number per candidate. A candidate's share of tasks is drawn to
    the mean as far as it is unreliable; P is the binomial chance of `line` or more; consistency is the mean of
    P^2 + (1 - P)^2. Raises ScoreError for a count that is not whole or outside 0 to highest.
    Source: Subkoviak (1976), J. Educ. Meas. 13, 265-276 (from memory).
    """
    values, line = _counts(counts, highest), float(line)

    def shares(some: Floats) -> Shares:
        share = (reliability * some + (1 - reliability) * np.mean(some)) / highest
        on = chance_of(ceil(line - 1e-9), highest, share)
        return None, float(np.mean(on**2 + (1 - on) ** 2)), float(np.mean(on))

    problem = share_problem("The reliability", reliability)
    return _decisions("Subkoviak (1976)", values, line, problem, shares)


def huynh(counts: ArrayLike, *, line: float, highest: int) -> Decisions:
    """Consistency under the beta-binomial, its reliability the KR-21 of the counts; arguments as in `subkoviak`.

    Here there is an accuracy too: true shares of tasks follow the beta distribution fitted.
    Source: Huynh (1976), J. Educ. Meas. 13, 253-264 (from memory).
    """
    values, line = _counts(counts, highest), float(line)

    def shares(some: Floats) -> Shares | None:
        shape = _beta_binomial(some, highest)
        if shape is None:
            return None
        found = classify(shape, highest, ceil(line - 1e-9), line / highest)
        return found.accuracy, found.consistency, found.pass_rate

    return _decisions("Huynh (1976)", values, line, None, shares)


def peng_subkoviak(
    counts: ArrayLike, *, reliability: float, line: float, highest: int, continuity: bool = False
) -> Decisions:
    """Consistency under a bivariate normal with correlation `reliability`; arguments as in `subkoviak`.

    continuity: put the line half a task lower. The SD is that with n.
    Source: Peng & Subkoviak (1980), J. Educ. Meas. 17, 359-368 (from memory).
    """
    values, line = _counts(counts, highest), float(line)

    def shares(some: Floats) -> Shares | None:
        spread = float(np.std(some))
        if spread == 0:
            return None
        height = (line - 0.5 * continuity - float(np.mean(some))) / spread
        # Both on or both below, for a bivariate normal with equal margins: 1 - 4 T(h, sqrt((1 - r)/(1 + r))).
        same = 1 - 4 * float(owens_t(height, sqrt((1 - reliability) / (1 + reliability))))
        return None, same, float(ndtr(-height))

    problem = share_problem("The reliability", reliability)
    return _decisions("Peng and Subkoviak (1980)", values, line, problem, shares)


def _counts(counts: ArrayLike, highest: int) -> Floats:
    values = numbers_given(counts)
    wrong = values[(values < 0) | (values > highest) | (values != np.floor(values))]
    if len(wrong):
        raise ScoreError(f"{wrong[0]:g} is no number of tasks right of {highest}")
    return values


def _beta_binomial(some: Floats, highest: int) -> BetaShape | None:
    mean, variance = float(np.mean(some)), float(np.var(some))
    if variance == 0 or highest < 2:
        return None
    kr21 = highest / (highest - 1) * (1 - mean * (highest - mean) / (highest * variance))
    if not 0 < kr21 < 1:
        return None
    alpha = (1 / kr21 - 1) * mean
    beta = highest / kr21 - highest - alpha
    shape = BetaShape(alpha, beta, 0.0, 1.0)
    return shape if shape.usable else None


def _decisions(
    method: str, values: Floats, line: float, problem: str | None, shares: Callable[[Floats], Shares | None]
) -> Decisions:
    problem = spread_problem(values) or problem
    if problem is None and not isfinite(line):
        problem = "The line is no number."
    if problem is not None:
        return no_decisions(method, len(values), problem)
    return said_for_many(decisions_of(method, values, shares, no_accuracy=NO_ACCURACY))
