"""Fleiss's kappa, Conger's kappa, Gwet's AC and Brennan-Prediger's coefficient of a set of scores, with intervals."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from assess.agreement.bootstrap import UP_TO_ONE, Bootstrap, Patterns, Resampled
from assess.agreement.chance import (
    Linear,
    beyond_chance,
    brennan_prediger_chance,
    conger_chance,
    conger_influence,
    divided,
    fleiss_chance,
    fleiss_influence,
    fleiss_null_se,
    gwet_chance,
    gwet_influence,
    linearised_se,
    unit_agreement,
)
from assess.agreement.results import Estimate
from assess.agreement.scores import Floats, Ints, Scores
from assess.agreement.tally import Tally, estimated, no_comparison, one_level, undefined

__all__ = ["Family", "conger_kappa", "family"]

_ALIKE = "none: every unit says the same"
_TRIVIAL = "all scores are the same level, so this says nothing about how well assessors tell levels apart"
_BY_UNIT = "the standard error is the published formula, which takes units as independent; the interval does not"


@dataclass(frozen=True, slots=True)
class Family:
    """The three coefficients that need no names of assessors."""

    fleiss: Estimate
    gwet: Estimate
    brennan_prediger: Estimate


@dataclass(frozen=True, eq=False)
class _Shared:
    """What the three have in common: sums over candidates [units, comparable units, agreement, shares of levels]."""

    tally: Tally
    weights: Floats

    @cached_property
    def agreement(self) -> Floats:
        return unit_agreement(self.tally.counts, self.weights)

    @cached_property
    def patterns(self) -> Patterns:
        tally = self.tally
        shares = tally.counts / tally.n_scores[:, None]
        columns = np.column_stack([np.ones(len(shares)), tally.comparable, self.agreement, shares])
        return tally.per_candidate(columns)

    def statistics(self, sums: Floats) -> Floats:
        """Fleiss, Gwet, Brennan-Prediger, shape (b, 3 + k) -> (b, 3)."""
        observed = divided(sums[:, 2], sums[:, 1])
        shares = sums[:, 3:] / np.maximum(sums[:, :1], 1.0)
        chances = (
            fleiss_chance(shares, self.weights),
            gwet_chance(shares, self.weights),
            brennan_prediger_chance(self.weights),
        )
        return np.stack([beyond_chance(observed, chance) for chance in chances], axis=1)


def family(scores: Scores, tally: Tally, weights: Floats, bootstrap: Bootstrap) -> Family:
    """Fleiss's kappa, Gwet's AC1 (AC2 with weights) and Brennan-Prediger, each None with a reason where undefined.

    weights: agreement weights, shape (k, k). se: Gwet's linearised error over units; null_se: that of Fleiss, Nee &
    Landis for an unweighted Fleiss's kappa with equally many scores. ci95: by Student's t with n - 1 degrees of
    freedom, cut at 1, where every candidate has one unit; otherwise by the bootstrap over candidates.
    """
    names = ("fleiss_kappa", "gwet_ac", "brennan_prediger")
    why = no_comparison(scores, tally)
    if why is None and len(scores.levels) < 2:
        why = one_level(scores, tally)
    if why is not None:
        return Family(*(undefined(name, scores, why, tally) for name in names))
    shared = _Shared(tally, weights)
    values = shared.statistics(shared.patterns.total())[0]
    resampled = None if tally.one_unit_each else bootstrap.intervals(shared.patterns, shared.statistics, UP_TO_ONE)
    made = []
    for s, name in enumerate(names):
        if not np.isfinite(values[s]):
            made.append(undefined(name, scores, one_level(scores, tally), tally))
            continue
        value = float(values[s])
        se = _linearised(name, shared, value)
        how = student_interval(value, se, len(tally.pattern)) if resampled is None else by_formula(resampled[s], se)
        plain = name == "fleiss_kappa" and np.array_equal(weights, np.eye(len(weights)))
        null_se = fleiss_null_se(tally.counts, tally.times) if plain else None
        made.append(_told_if_trivial(estimated(name, scores, tally, value, how, null_se), tally))
    return Family(*made)


def _linearised(name: str, shared: _Shared, value: float) -> float | None:
    tally, weights = shared.tally, shared.weights
    shares = tally.times @ (tally.counts / tally.n_scores[:, None]) / tally.times.sum()
    chance, influence = brennan_prediger_chance(weights), np.zeros(len(tally.times))
    if name == "fleiss_kappa":
        chance, influence = float(fleiss_chance(shares, weights)), fleiss_influence(tally.counts, shares, weights)
    elif name == "gwet_ac":
        chance, influence = float(gwet_chance(shares, weights)), gwet_influence(tally.counts, shares, weights)
    return linearised_se(Linear(shared.agreement, tally.comparable, influence, tally.times), value, chance)


def student_interval(value: float, se: float | None, n: int) -> Resampled:
    """Interval by Student's t over n independent units, cut at 1."""
    if se is None or n < 2:
        return Resampled(se, None, "none: one unit")
    if se < 1e-12:
        return Resampled(se, None, _ALIKE)
    from scipy.special import stdtrit

    reach = float(stdtrit(n - 1, 0.975)) * se
    return Resampled(se, (value - reach, min(1.0, value + reach)), f"Student's t, {n - 1} degrees of freedom, cut at 1")


def by_formula(how: Resampled, se: float | None) -> Resampled:
    """An interval from resamples beside the published standard error."""
    return replace(how, se=se, warnings=(*how.warnings, _BY_UNIT))


def _told_if_trivial(estimate: Estimate, tally: Tally) -> Estimate:
    one = np.count_nonzero(tally.counts.any(axis=0)) == 1
    return replace(estimate, warnings=(*estimate.warnings, _TRIVIAL)) if one else estimate


def conger_kappa(
    scores: Scores, tally: Tally, weights: Floats, bootstrap: Bootstrap, name: str = "conger_kappa"
) -> Estimate:
    """Conger's kappa: Cohen's for more than two assessors, each with their own habit of giving levels.

    With two assessors it is Cohen's kappa, over the units both scored. Error and interval as for `family`.
    Source: Conger (1980), Psychol. Bull. 88, 322-328; unequal numbers of scores after Gwet (2014).
    """
    if (why := no_comparison(scores, tally)) is not None:
        return undefined(name, scores, why, tally)
    by_name = _ByName(scores, tally, weights)
    value = float(by_name.statistics(by_name.total())[0, 0])
    if not np.isfinite(value):
        return undefined(name, scores, one_level(scores, tally), tally)
    se = by_name.error(value)
    if tally.one_unit_each:
        return estimated(name, scores, tally, value, student_interval(value, se, by_name.units))
    how = bootstrap.intervals(by_name.patterns(), by_name.statistics, UP_TO_ONE)[0]
    return estimated(name, scores, tally, value, by_formula(how, se))


class _ByName:
    """Sums over candidates with the names of assessors: [comparable units, agreement, scores by assessor and level]."""

    def __init__(self, scores: Scores, tally: Tally, weights: Floats) -> None:
        self.tally, self.weights = tally, weights
        self.shape = (len(scores.assessors), len(scores.levels))
        used = np.ones(len(tally.pattern), dtype=bool)
        if len(scores.assessors) == 2:
            used = tally.comparable[tally.pattern] > 0
        self.used = np.flatnonzero(used)
        self.units = len(self.used)
        place = np.full(len(used), -1, dtype=np.int64)
        place[self.used] = np.arange(self.units)
        kept = used[scores.unit]
        self.unit: Ints = place[scores.unit[kept]]
        self.assessor, self.level = scores.assessor[kept], scores.level[kept]
        self.candidate = scores.candidate[kept]
        self.agreement = unit_agreement(tally.counts, weights)[tally.pattern[self.used]]
        self.comparable = tally.comparable[tally.pattern[self.used]]

    def given(self) -> Floats:
        """How often each assessor gave each level, shape (r, k)."""
        cells = np.bincount(self.assessor * self.shape[1] + self.level, minlength=self.shape[0] * self.shape[1])
        return cells.reshape(self.shape).astype(np.float64)

    def total(self) -> Floats:
        """The sums over all candidates, shape (1, 2 + r k)."""
        head = [self.comparable.sum(), self.agreement.sum()]
        return np.concatenate([head, self.given().ravel()])[None, :]

    def patterns(self) -> Patterns:
        """The same sums for each candidate."""
        from scipy.sparse import csr_array

        owner = self.tally.unit_candidate[self.used]
        row = np.concatenate([owner, owner, self.candidate])
        cell = self.assessor * self.shape[1] + self.level + 2
        column = np.concatenate([np.zeros(self.units, np.int64), np.ones(self.units, np.int64), cell])
        value = np.concatenate([self.comparable, self.agreement, np.ones(len(cell))])
        width = 2 + self.shape[0] * self.shape[1]
        sparse = csr_array((value, (row, column)), shape=(self.tally.n_candidates, width))
        small = self.tally.n_candidates * width <= 4_000_000
        rows = np.asarray(sparse.toarray()) if small else sparse
        return Patterns(rows, np.ones(self.tally.n_candidates, dtype=np.int64)).saying()

    def statistics(self, sums: Floats) -> Floats:
        """Conger's kappa, shape (b, 2 + r k) -> (b, 1)."""
        chance = conger_chance(sums[:, 2:].reshape(-1, *self.shape), self.weights)
        return beyond_chance(divided(sums[:, 1], sums[:, 0]), chance)[:, None]

    def error(self, value: float) -> float | None:
        """Standard error by linearisation over units."""
        given = self.given()
        chance = float(conger_chance(given[None], self.weights)[0])
        influence = conger_influence(self.unit, self.assessor, self.level, given, self.weights)
        once = np.ones(self.units, dtype=np.int64)
        return linearised_se(Linear(self.agreement, self.comparable, influence, once), value, chance)
