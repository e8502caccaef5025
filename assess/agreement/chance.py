"""Agreement beyond chance as functions of sums over candidates, for one set of sums or a thousand at once.

Every coefficient is (observed - chance) / (1 - chance); they differ in what they call chance. Gwet's account of
unequal numbers of scores is followed: observed agreement is averaged over units with two scores or more, shares of
levels over all units.
Source: Gwet (2014), Handbook of Inter-Rater Reliability, 4th ed., ch. 2, 3, 5 and 6.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.scores import Floats, Ints

__all__ = [
    "Linear",
    "beyond_chance",
    "brennan_prediger_chance",
    "conger_chance",
    "conger_influence",
    "divided",
    "fleiss_chance",
    "fleiss_influence",
    "fleiss_null_se",
    "gwet_chance",
    "gwet_influence",
    "linearised_se",
    "unit_agreement",
]


def divided(above: Floats, below: Floats) -> Floats:
    """The quotient above / below, NaN where below is 0."""
    above, below = np.broadcast_arrays(above, below)
    return np.divide(above, below, out=np.full(above.shape, np.nan), where=below != 0)


def unit_agreement(counts: Floats, weights: Floats) -> Floats:
    """Mean agreement weight over the pairs of scores of each unit; 0 for a unit without a pair.

    counts: scores by level, shape (n, k); weights: (k, k). Shape (n,).
    """
    given = counts.sum(axis=1)
    same = ((counts @ weights) * counts).sum(axis=1) - counts @ np.diag(weights)
    return np.divide(same, given * (given - 1), out=np.zeros(len(given)), where=given >= 2)


def beyond_chance(observed: Floats, chance: Floats | float) -> Floats:
    """(observed - chance) / (1 - chance); NaN where chance alone is full agreement."""
    room = 1.0 - np.asarray(chance, dtype=np.float64)
    return divided(np.asarray(observed) - chance, np.where(room > 1e-12, room, 0.0))


def fleiss_chance(shares: Floats, weights: Floats) -> Floats:
    """Two scores drawn from the shares of levels, shape (b, k) -> (b,). Source: Fleiss (1971), Psychol. Bull. 76."""
    return np.asarray(((shares @ weights) * shares).sum(axis=-1))


def gwet_chance(shares: Floats, weights: Floats) -> Floats:
    """Chance of agreeing on a thing that is hard to score, shape (b, k) -> (b,).

    Source: Gwet (2008), Br. J. Math. Stat. Psychol. 61, 29-48 (AC1); Gwet (2014), ch. 3 (AC2).
    """
    k = weights.shape[0]
    return np.asarray(weights.sum() / (k * (k - 1)) * (shares * (1 - shares)).sum(axis=-1))


def brennan_prediger_chance(weights: Floats) -> float:
    """Two levels of the scale drawn at random. Source: Brennan & Prediger (1981), Educ. Psychol. Meas. 41."""
    return float(weights.sum() / weights.shape[0] ** 2)


def conger_chance(given: Floats, weights: Floats) -> Floats:
    """Two different assessors, each drawing from their own habit; shape (b, r, k) -> (b,).

    given: how often each assessor gave each level. An assessor without a score in a resample is left out of it;
    NaN with fewer than two.
    Source: Conger (1980), Psychol. Bull. 88, 322-328; Gwet (2014), ch. 2.
    """
    totals = given.sum(axis=2)
    habits = np.divide(given, totals[:, :, None], out=np.zeros_like(given), where=totals[:, :, None] > 0)
    all_habits = habits.sum(axis=1)
    everyone = ((all_habits @ weights) * all_habits).sum(axis=1)
    alone = ((habits @ weights) * habits).sum(axis=(1, 2))
    r = (totals > 0).sum(axis=1).astype(np.float64)
    return divided(everyone - alone, r * (r - 1))


@dataclass(frozen=True, eq=False)
class Linear:
    """What a linearised standard error needs, by distinct unit.

    observed: agreement of the unit; comparable: 1 with two scores or more; influence: what the unit adds to chance
    agreement, less chance agreement itself; times: how many units are like that.
    """

    observed: Floats
    comparable: Floats
    influence: Floats
    times: Ints


def linearised_se(linear: Linear, estimate: float, chance: float) -> float | None:
    """Standard error of a coefficient by linearisation over units taken as independent; None for one unit.

    The variance is the sum of (kappa_i - kappa)^2 / (n (n - 1)) over the n units, of which n' have a pair, with
    kappa_i = n/n' (pa_i - pe) / (1 - pe) - 2 (1 - kappa) (pe_i - pe) / (1 - pe).
    Source: Gwet (2014), ch. 5.
    """
    n = int(linear.times.sum())
    if n < 2:
        return None
    compared = float(linear.comparable @ linear.times)
    own = n / compared * (linear.observed - chance * linear.comparable) / (1 - chance)
    own = own - 2 * (1 - estimate) * linear.influence / (1 - chance)
    return float(np.sqrt(((own - estimate) ** 2 @ linear.times) / (n * (n - 1))))


def fleiss_influence(counts: Floats, shares: Floats, weights: Floats) -> Floats:
    """What each unit adds to Fleiss's chance agreement, less that agreement; counts (n, k), shares (k,) -> (n,)."""
    pull = (weights + weights.T) @ shares / 2
    return np.asarray(counts @ pull / counts.sum(axis=1) - shares @ pull)


def gwet_influence(counts: Floats, shares: Floats, weights: Floats) -> Floats:
    """What each unit adds to Gwet's chance agreement, less that agreement; counts (n, k), shares (k,) -> (n,)."""
    k = weights.shape[0]
    size = weights.sum() / (k * (k - 1))
    own = counts @ (1 - shares) / counts.sum(axis=1)
    return np.asarray(size * (own - shares @ (1 - shares)))


def conger_influence(unit: Ints, assessor: Ints, level: Ints, given: Floats, weights: Floats) -> Floats:
    """What each unit adds to Conger's chance agreement, less that agreement, shape (n_units,).

    unit, assessor, level: per score; given: how often each assessor gave each level, shape (r, k).
    """
    r, n = len(given), int(unit.max()) + 1
    totals = given.sum(axis=1)
    habits = given / totals[:, None]
    others = (habits.sum(axis=0) - habits) @ weights
    usual = (habits * others).sum(axis=1)
    effect = n / totals[:, None] * (others - usual[:, None])
    return np.asarray(np.bincount(unit, weights=effect[assessor, level], minlength=n) / (r * (r - 1)))


def fleiss_null_se(counts: Floats, times: Ints) -> float | None:
    """Standard error of Fleiss's kappa where scores are given by chance; None when units differ in their scores.

    Source: Fleiss, Nee & Landis (1979), Psychol. Bull. 86, 974-977.
    """
    given = counts.sum(axis=1)
    m = float(given[0])
    if m < 2 or (given != m).any():
        return None
    n = float(times.sum())
    share = times @ counts / (n * m)
    spread = share * (1 - share)
    total = float(spread.sum())
    inner = total**2 - float((spread * (1 - 2 * share)).sum())
    return float(np.sqrt(2 * max(inner, 0.0) / (n * m * (m - 1))) / total) if total > 0 else None
