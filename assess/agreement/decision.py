"""Whether an outcome is right, and whether it would come again: decision accuracy and consistency, normal error.

Accuracy: the share of candidates whose outcome is what their true score (the mean over many such assessments)
would give. Consistency: the share whose outcome a second, equally good assessment would repeat.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import isfinite, sqrt
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, owens_t

from assess.agreement.given import numbers_given, share_problem
from assess.agreement.jackknife import around, leave_one_out
from assess.agreement.results import Estimate
from assess.agreement.scores import Floats

__all__ = ["Decisions", "Shares", "decisions_of", "no_decisions", "normal_decisions", "said_for_many", "spread_problem"]

TrueScores = Literal["shrunken", "observed"]
Shares = tuple[float | None, float, float]

FEW = 20
ENOUGH = 100
INTERVAL = "t over candidates left out one at a time (jackknife); the reliability taken as known"


@dataclass(frozen=True, slots=True)
class Decisions:
    """How far the outcomes at a line can be relied on.

    accuracy, consistency: shares from 0 to 1. kappa: consistency beyond chance. chance: the consistency of
    outcomes drawn blindly at the same pass_rate. undefined: why there is nothing at all.
    """

    method: str
    accuracy: Estimate
    consistency: Estimate
    kappa: Estimate
    chance: float | None
    pass_rate: float | None
    n_candidates: int
    undefined: str | None = None
    warnings: tuple[str, ...] = ()
    sentence: str = ""


def normal_decisions(
    scores: ArrayLike, *, reliability: float, line: float, true_scores: TrueScores = "shrunken"
) -> Decisions:
    """Accuracy and consistency with one normal error for all; for courses of any size.

    scores: one number per candidate, NaN where missing. reliability: of these numbers, between 0 and 1 (at a
    fixed line the dependability phi). line: a score on it passes; no continuity correction. The error is
    SD sqrt(1 - reliability), the SD with n - 1.
    true_scores: "shrunken" draws each score to the mean as far as it is unreliable (Kelley) and lets the true
    score lie about that with its own error, SD sqrt(reliability (1 - reliability)); "observed" takes the score
    itself for true, as first published, and promises too much. (Shrunken scores without that error promise
    too little.)
    Source: Rudner (2001), Pract. Assess. Res. Eval. 7(14); Kelley (1947), Fundamentals of Statistics, 409;
    Owen (1956), Ann. Math. Stat. 27, 1075-1090, for the bivariate normal (all from memory).
    """
    values, reliability, line = numbers_given(scores), float(reliability), float(line)
    method = f"normal error, {true_scores} scores"
    problem = spread_problem(values) or share_problem("The reliability", reliability)
    if problem is None and not isfinite(line):
        problem = "The line is no number."
    if problem is not None:
        return no_decisions(method, len(values), problem)
    shares = _from_observed if true_scores == "observed" else _from_shrunken
    return decisions_of(method, values, lambda some: shares(some, reliability, line))


def spread_problem(values: Floats) -> str | None:
    """Why these scores cannot tell candidates apart, as a sentence; None when they can."""
    if len(values) < 2:
        return f"There are scores of {len(values)} candidates; at least two are needed."
    if values[0] == values[-1]:
        return f"All {len(values)} candidates have the same score, so it does not tell them apart."
    return None


def _spread(values: Floats) -> float:
    """SD with n - 1 of rising values; exactly 0 when all are equal."""
    return 0.0 if values[0] == values[-1] else float(np.std(values, ddof=1))


def _from_observed(values: Floats, reliability: float, line: float) -> Shares | None:
    spread = _spread(values)
    if spread == 0:
        return None
    on = ndtr((values - line) / (spread * sqrt(1 - reliability)))
    return float(np.mean(np.maximum(on, 1 - on))), float(np.mean(on**2 + (1 - on) ** 2)), float(np.mean(on))


def _from_shrunken(values: Floats, reliability: float, line: float) -> Shares | None:
    spread = _spread(values)
    if spread == 0:
        return None
    mean = float(np.mean(values))
    above = mean + reliability * (values - mean) - line
    true_on = ndtr(above / (spread * sqrt(reliability * (1 - reliability))))
    right = np.where(values >= line, true_on, 1 - true_on)
    # A new score lies about the shrunken one with SD sqrt(1 - r^2); two new ones correlate by r/(1 + r).
    # P(both on or both below) of two equal normal margins is 1 - 4 T(h, sqrt((1 - rho)/(1 + rho))).
    height = above / (spread * sqrt(1 - reliability**2))
    same = 1 - 4 * owens_t(height, 1 / sqrt(1 + 2 * reliability))
    return float(np.mean(right)), float(np.mean(same)), float(np.mean(ndtr(height)))


def decisions_of(
    method: str, values: Floats, shares: Callable[[Floats], Shares | None], *, no_accuracy: str = ""
) -> Decisions:
    """The result for values (n,) of n candidates, where `shares` gives accuracy, consistency and pass rate.

    no_accuracy: why the method has no accuracy, where `shares` gives None for it.
    """
    found = shares(values)
    if found is None:
        why = "The scores do not fit the method: they have no spread, or no more than error alone would give."
        return no_decisions(method, len(values), why)
    accuracy, consistency, pass_rate = found
    chance = pass_rate**2 + (1 - pass_rate) ** 2

    def numbers(some: Floats) -> tuple[float, ...] | None:
        part = shares(some)
        if part is None:
            return None
        beyond = _kappa(part)
        return (0.0 if part[0] is None else part[0], part[1], 0.0 if beyond is None else beyond)

    errors = leave_one_out(values, numbers) or (None, None, None)
    n = len(values)
    few = f"Only {n} candidates, and the intervals take the reliability as known: they are too short."
    warnings = (few,) if n < FEW else ()
    parts = Decisions(
        method,
        _estimate("accuracy", accuracy, errors[0], n, 0.0, no_accuracy),
        _estimate("consistency", consistency, errors[1], n, 0.0, ""),
        _estimate("kappa", _kappa(found), errors[2], n, -1.0, "Practically all outcomes are on one side of the line."),
        chance,
        pass_rate,
        n,
        None,
        warnings,
    )
    return replace(parts, sentence=" ".join([*warnings, _sentence(parts)]))


def _kappa(found: Shares) -> float | None:
    chance = found[2] ** 2 + (1 - found[2]) ** 2
    return None if 1 - chance < 1e-12 else (found[1] - chance) / (1 - chance)


def _estimate(name: str, value: float | None, se: float | None, n: int, low: float, why: str) -> Estimate:
    if value is None:
        return Estimate(name, None, n=n, n_candidates=n, undefined=why)
    value = min(1.0, max(low, value))
    if se is None:
        return Estimate(name, value, n=n, n_candidates=n)
    ci95 = around(value, se, n - 1, low=low, high=1.0)
    return Estimate(name, value, se, ci95, INTERVAL, n, n)


def _sentence(parts: Decisions) -> str:
    consistency, accuracy = parts.consistency, parts.accuracy
    text = f"If the reliability is right, about {_of_100(consistency)} would have the same outcome if assessed again"
    if accuracy.estimate is None:
        return text + "."
    return f"{text}; about {_of_100(accuracy)} have the outcome their true score (the mean of many such) would give."


def _of_100(share: Estimate) -> str:
    text = f"{100 * (share.estimate or 0.0):.0f} of 100 candidates"
    if share.ci95 is None:
        return text
    return f"{text} (95 % interval {100 * share.ci95[0]:.0f} to {100 * share.ci95[1]:.0f})"


def said_for_many(decisions: Decisions) -> Decisions:
    """The same, saying first when there are fewer candidates than the method is meant for."""
    if decisions.undefined is not None or decisions.n_candidates >= ENOUGH:
        return decisions
    first = (
        f"{decisions.n_candidates} candidates are few for this method, which is meant for about {ENOUGH} or more; "
        "the one with normal error suits a course better."
    )
    return replace(decisions, warnings=(first, *decisions.warnings), sentence=f"{first} {decisions.sentence}")


def no_decisions(method: str, n: int, why: str) -> Decisions:
    """The result that says why there is none."""
    names = ("accuracy", "consistency", "kappa")
    accuracy, consistency, kappa = (Estimate(name, None, n=n, n_candidates=n, undefined=why) for name in names)
    return Decisions(method, accuracy, consistency, kappa, None, None, n, why, (), why)
