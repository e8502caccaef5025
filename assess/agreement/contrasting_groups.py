"""Where a pass line could lie between candidates judged good enough and those judged not: four ways to cut.

Source: Livingston & Zieky (1982), Passing Scores, contrasting-groups method (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, sqrt

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit

from assess.agreement.given import columns_given
from assess.agreement.jackknife import around
from assess.agreement.results import Interval
from assess.agreement.scores import Floats

__all__ = ["ContrastingGroups", "Cut", "contrasting_groups"]

WRONG_WAY = "Those judged good enough do not have the higher scores: there is no line between the groups."
UNFITTED = "The curve cannot be fitted: the scores in which the groups overlap are too close for their whole range."
LARGE = 10**6
FLAT = 1e-13


@dataclass(frozen=True, slots=True)
class Cut:
    """One way to draw the line; se and ci95 where it has them."""

    cut: float | None
    se: float | None = None
    ci95: Interval | None = None
    interval: str = ""
    undefined: str | None = None
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class ContrastingGroups:
    """The line between two groups by their means, medians, normal densities, and a logistic curve.

    below: judged not good enough; on: judged good enough. SDs with n - 1. separated: no score of one group lies
    among the other's; then the logistic curve does not exist (intercept, slope None) and `logistic` is the middle
    of the gap.
    """

    midpoint_of_means: Cut
    midpoint_of_medians: Cut
    normal_intersection: Cut
    logistic: Cut
    n_below: int
    n_on: int
    separated: bool = False
    mean_below: float | None = None
    mean_on: float | None = None
    sd_below: float | None = None
    sd_on: float | None = None
    intercept: float | None = None
    slope: float | None = None


def contrasting_groups(scores: ArrayLike, good_enough: Sequence[bool]) -> ContrastingGroups:
    """The four cuts, from one score and one judgement per candidate; a candidate without a score is left out."""
    x, y = columns_given(scores, np.asarray(good_enough, dtype=np.float64))
    below, on = x[y == 0], x[y == 1]
    if not len(below) or not len(on):
        empty = _none("One of the two groups is empty.")
        return ContrastingGroups(empty, empty, empty, empty, len(below), len(on))
    separated = bool(below[-1] <= on[0] and below[0] < on[-1])
    wrong_way = not separated and bool(on[-1] <= below[0])
    curve = None if separated or wrong_way else _logistic(x, y)
    return ContrastingGroups(
        _midpoint("means", float(below.mean()), float(on.mean())),
        _midpoint("middle scores", float(np.median(below)), float(np.median(on))),
        _intersection(below, on),
        _gap(below, on) if separated else _none(WRONG_WAY) if wrong_way else _logistic_cut(curve, x),
        len(below), len(on), separated, float(below.mean()), float(on.mean()), _sd(below), _sd(on),
        *((None, None) if curve is None else curve[:2]),
    )  # fmt: skip


def _none(why: str) -> Cut:
    return Cut(None, undefined=why, sentence=why)


def _sd(group: Floats) -> float | None:
    if len(group) < 2:
        return None
    return 0.0 if group[0] == group[-1] else float(np.std(group, ddof=1))


def _midpoint(of: str, below: float, on: float) -> Cut:
    if not below < on:
        return _none(WRONG_WAY)
    middle = (below + on) / 2
    return Cut(middle, sentence=f"Half way between the {of} of the two groups: {middle:.2f}.")


def _intersection(below: Floats, on: Floats) -> Cut:
    """Where normal densities with each group's mean and SD are equal, between the means; the groups count alike."""
    sd_below, sd_on = _sd(below), _sd(on)
    if not sd_below or not sd_on:
        return _none("A group has fewer than two different scores, so its spread is not known.")
    low, high = float(below.mean()), float(on.mean())
    if not low < high:
        return _none(WRONG_WAY)
    # From the lower mean, in units of the gap: a t^2 + b t + c = 0 where the log densities are equal.
    p, q = (sd_below / (high - low)) ** 2, (sd_on / (high - low)) ** 2
    a, b, c = q - p, 2 * p, -p - p * q * log(q / p)
    # At t = 0 the left side is c, at t = 1 it is a + b + c: one root between them if the signs differ.
    if not (c < 0 < a + b + c):
        return _none("The spreads differ so much that the two curves do not cross between the means.")
    t = -2 * c / (b + sqrt(b * b - 4 * a * c))
    cut = low + t * (high - low)
    return Cut(cut, sentence=f"Where normal curves over the two groups cross: {cut:.2f}.")


def _gap(below: Floats, on: Floats) -> Cut:
    cut = float(below[-1] + on[0]) / 2
    return Cut(
        cut,
        sentence=(
            f"The groups do not overlap, so a logistic curve does not exist; instead {cut:.2f}, the middle between "
            f"the highest score judged not good enough ({below[-1]:g}) and the lowest judged good enough ({on[0]:g})."
        ),
    )


Curve = tuple[float, float, Floats]


def _logistic(x: Floats, y: Floats) -> Curve | None:
    """Intercept, slope and their covariance by maximum likelihood; the groups overlap. None if it is not found."""
    middle, spread = float(x.mean()), float(np.std(x))
    design = np.vstack([np.ones_like(x), (x - middle) / spread])
    parts, loss = np.zeros(2), len(x) * log(2)
    for _ in range(200):
        chance = expit(parts @ design)
        gradient = design @ (y - chance)
        information = (design * (chance * (1 - chance))) @ design.T
        if np.linalg.det(information) <= FLAT * np.trace(information) ** 2:
            return None
        step = np.linalg.solve(information, gradient)
        size = 1.0
        while (new := _loss(parts + size * step, design, y)) > loss + 1e-12 and size > 1e-8:
            size /= 2
        parts, loss = parts + size * step, new
        if float(np.abs(step).max()) < 1e-10 * max(1.0, float(np.abs(parts).max())):
            back = np.array([[1.0, -middle / spread], [0.0, 1 / spread]])
            intercept, slope = back @ parts
            return float(intercept), float(slope), back @ np.linalg.inv(information) @ back.T
    return None


def _loss(parts: Floats, design: Floats, y: Floats) -> float:
    return float(np.logaddexp(0.0, np.where(y == 1, -1.0, 1.0) * (parts @ design)).sum())


def _logistic_cut(curve: Curve | None, x: Floats) -> Cut:
    if curve is None:
        return _none(UNFITTED)
    intercept, slope, covariance = curve
    spread = float(np.std(x))
    if slope * spread <= 1 / LARGE:
        return _none(WRONG_WAY)
    cut = -intercept / slope
    # A cut on the last score seen must not fall out by its last bit.
    edge = 1e-9 * float(x[-1] - x[0])
    if not x[0] - edge <= cut <= x[-1] + edge:
        return _none("The scores tell the groups apart so little that the curve is even only outside the scores seen.")
    cut = min(float(x[-1]), max(float(x[0]), cut))
    # Delta method for -b0/b1: (v00 + 2 cut v01 + cut^2 v11) / b1^2.
    lean = np.array([1.0, cut])
    se = sqrt(float(lean @ covariance @ lean)) / slope
    ci95 = around(cut, se, LARGE, low=-np.inf, high=np.inf)
    return Cut(
        cut, se, ci95, "normal, delta method, one score per candidate", None,
        f"At {cut:.2f} a candidate is as likely to be judged good enough as not ({ci95[0]:.2f} to {ci95[1]:.2f}).",
    )  # fmt: skip
