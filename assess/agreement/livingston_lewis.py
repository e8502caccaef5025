"""Decision accuracy and consistency of scores of any kind: Livingston and Lewis (1995).

The scores are treated as so many right-or-wrong tasks as would have their reliability (the effective test length),
over true scores that follow a beta distribution.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, isfinite, sqrt
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.beta_true_scores import EXPONENTS, BetaShape, Classified, classify
from assess.agreement.decision import Decisions, Shares, decisions_of, no_decisions, said_for_many, spread_problem
from assess.agreement.given import numbers_given, share_problem
from assess.agreement.results import Interval
from assess.agreement.scores import Floats, ScoreError

__all__ = ["LivingstonLewis", "livingston_lewis"]

Shape = Literal["four", "two"]
LONGEST = 2000
NO_FIT = (
    "The scores do not fit the method: no beta distribution of true scores has their spread, or the effective test "
    f"length is not between 1 and {LONGEST}."
)


@dataclass(frozen=True, slots=True)
class LivingstonLewis:
    """The decisions, and what they rest on.

    effective_length: as computed; whole_length: as used; pass_from: the number right that passes. alpha, beta,
    lower, upper: the true scores, as shares of the scale. table: [[truly below: below, on], [truly on: below,
    on]] as shares. consistency_by_rounding: the lowest and highest consistency of all ways of rounding.
    rounding: all that in words. Where the method does not apply: None and 0, the reason in decisions.undefined.
    """

    decisions: Decisions
    effective_length: float | None = None
    whole_length: int = 0
    pass_from: int = 0
    alpha: float | None = None
    beta: float | None = None
    lower: float | None = None
    upper: float | None = None
    table: tuple[tuple[float, float], tuple[float, float]] | None = None
    consistency_by_rounding: Interval | None = None
    rounding: str = ""


def livingston_lewis(
    scores: ArrayLike, *, reliability: float, line: float, highest: float, lowest: float = 0.0, shape: Shape = "four"
) -> LivingstonLewis:
    """Accuracy and consistency after Livingston and Lewis; meant for about 100 candidates or more.

    scores: one number per candidate from lowest to highest, NaN where missing. reliability: of these numbers,
    between 0 and 1. line: a score on it passes. shape: "four" fits mean, spread, skewness and tails of the true
    scores, and falls back to "two" (mean and spread, from 0 to 1) where that leaves the scale.
    The effective length is rounded to the nearest whole number, and the smallest number right that is not under
    the line passes. The modelled shares are not stretched to the observed pass rate.
    Raises ScoreError for a score outside the scale.
    Source: Livingston & Lewis (1995), J. Educ. Meas. 32, 179-197; Hanson (1991), ACT Research Report 91-5, for
    the moments and the consistency; Lord (1965), Psychometrika 30, 239-270 (all from memory).
    """
    values = _on_scale(scores, lowest, highest)
    reliability, line, lowest, highest = float(reliability), float(line), float(lowest), float(highest)
    method = f"Livingston and Lewis (1995), {shape} parameters"
    problem = spread_problem(values) or share_problem("The reliability", reliability)
    if problem is None and not lowest <= line <= highest:
        problem = f"The line {line:g} is not on the scale from {lowest:g} to {highest:g}."
    if problem is not None:
        return LivingstonLewis(no_decisions(method, len(values), problem))
    shares = (values - lowest) / (highest - lowest)
    at = (line - lowest) / (highest - lowest)
    fit = _fitted(shares, reliability, shape)
    if fit is None:
        return LivingstonLewis(no_decisions(method, len(values), NO_FIT))

    def numbers(some: Floats) -> Shares | None:
        part = _fitted(some, reliability, shape)
        return None if part is None else _shares_of(_classified(part, at))

    decisions = said_for_many(decisions_of(method, shares, numbers))
    length, true = fit
    whole, start = _whole(length, at)
    span = _by_rounding(fit, at)
    return LivingstonLewis(
        decisions, length, whole, start, true.alpha, true.beta, true.lower, true.upper,
        _classified(fit, at).table, span, _rounding(length, whole, start, span),
    )  # fmt: skip


def _on_scale(scores: ArrayLike, lowest: float, highest: float) -> Floats:
    if not (isfinite(lowest) and isfinite(highest) and lowest < highest):
        raise ScoreError(f"{lowest:g} to {highest:g} is no scale")
    values = numbers_given(scores)
    outside = values[(values < lowest) | (values > highest)]
    if len(outside):
        raise ScoreError(f"{outside[0]:g} is outside the scale from {lowest:g} to {highest:g}")
    return values


Fit = tuple[float, BetaShape]


def _fitted(shares: Floats, reliability: float, shape: Shape) -> Fit | None:
    """Effective length and true scores; None where they do not exist."""
    if shares[0] == shares[-1]:
        return None
    mean, variance = float(np.mean(shares)), float(np.var(shares, ddof=1))
    if variance == 0:
        return None
    length = (mean * (1 - mean) - reliability * variance) / (variance * (1 - reliability))
    if not 1 < length <= LONGEST:
        return None
    moments = _true_moments(shares, length)
    true = _four(moments) if shape == "four" and length > 3 else None
    true = true or _two(moments)
    return None if true is None else (length, true)


def _true_moments(shares: Floats, length: float) -> list[float]:
    """First four moments of the true scores: E[X (X-1) ...] / (n (n-1) ...), X = share times length (Lord 1965)."""
    counts = shares * length
    moments, product, divisor = [], np.ones_like(counts), 1.0
    for order in range(4 if length > 3 else 2):
        product = product * (counts - order)
        divisor *= length - order
        moments.append(float(np.mean(product)) / divisor)
    return moments


def _two(moments: list[float]) -> BetaShape | None:
    mean, variance = moments[0], moments[1] - moments[0] ** 2
    if not 0 < variance < mean * (1 - mean):
        return None
    size = mean * (1 - mean) / variance - 1
    shape = BetaShape(mean * size, (1 - mean) * size, 0.0, 1.0)
    return shape if shape.usable else None


def _four(moments: list[float]) -> BetaShape | None:
    """Four-parameter beta by its first four moments, if it lies within 0 to 1 (Hanson 1991)."""
    mean, second, third, fourth = moments
    variance = second - mean**2
    if variance <= 0:
        return None
    skew = (third - 3 * mean * second + 2 * mean**3) / variance**1.5
    tails = (fourth - 4 * mean * third + 6 * mean**2 * second - 3 * mean**4) / variance**2
    below = 6 + 3 * skew**2 - 2 * tails
    if below <= 0:
        return None
    size = 6 * (tails - skew**2 - 1) / below
    under = (size + 2) * (size + 3) * tails - 3 * (size + 1) * (size - 6)
    root = 1 - 24 * (size + 1) / under if under != 0 else -1.0
    if size <= 0 or not 0 <= root < 1:
        return None
    # The longer tail belongs to the smaller exponent's other side: skewed to the right means alpha < beta.
    small, large = size / 2 * (1 - sqrt(root)), size / 2 * (1 + sqrt(root))
    if small < EXPONENTS[0]:
        return None
    alpha, beta = (small, large) if skew >= 0 else (large, small)
    step = sqrt(variance * (size + 1) / (alpha * beta))
    shape = BetaShape(alpha, beta, mean - alpha * step, mean + beta * step)
    return shape if shape.usable else None


def _whole(length: float, at: float) -> tuple[int, int]:
    """The length as a whole number (halves up) and the smallest number right not under the line."""
    whole = floor(length + 0.5)
    return whole, ceil(whole * at - 1e-9)


def _classified(fit: Fit, at: float) -> Classified:
    whole, start = _whole(fit[0], at)
    return classify(fit[1], whole, start, at)


def _shares_of(found: Classified) -> Shares:
    return found.accuracy, found.consistency, found.pass_rate


def _by_rounding(fit: Fit, at: float) -> Interval:
    found = []
    for tasks in sorted({floor(fit[0]), ceil(fit[0])}):
        for start in sorted({floor(tasks * at + 0.5), floor(tasks * at), ceil(tasks * at - 1e-9)}):
            found.append(classify(fit[1], tasks, start, at).consistency)
    return min(found), max(found)


def _rounding(length: float, whole: int, start: int, span: Interval) -> str:
    return (
        f"The effective test length {length:.2f} is taken as {whole}, and {start} of {whole} or more passes; "
        f"all ways of rounding up or down give a consistency from {span[0]:.3f} to {span[1]:.3f}."
    )
