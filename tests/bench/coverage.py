"""How often the 95 % intervals hold the value they are about, by seeded simulation: 95 in 100 is what they promise.

A score is a true value, the assessor's severity and an error, rounded to a level of 1 to 6. A candidate's criteria
share a part of their true values. What alpha and AC2 are about is the value with the same assessors and no end of
candidates; what intraclass correlation and g are about takes other assessors, too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from assess.agreement.alpha import krippendorff_alpha
from assess.agreement.bootstrap import Bootstrap
from assess.agreement.coefficients import family
from assess.agreement.dependability import dependability
from assess.agreement.icc import icc
from assess.agreement.results import Estimate
from assess.agreement.scores import Scores, scores_of
from assess.agreement.tally import tally_of
from assess.agreement.weights import weight_table

__all__ = ["rows"]

SIZES = ((8, 3, 100), (24, 4, 60), (200, 10, 20))
"""Candidates, assessors, and how many data sets are drawn."""
LEVELS = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
CANDIDATE, CRITERION, SEVERITY, ERROR = 0.7, 0.4, 0.3, 0.6
MANY = 4000
NAMES = ("alpha", "AC2", "ICC(A,1)", "g")


@dataclass
class _Count:
    held: int = 0
    of: int = 0
    width: float = 0.0

    def add(self, estimate: Estimate, true: float) -> None:
        if estimate.ci95 is not None:
            low, high = estimate.ci95
            self.of += 1
            self.held += low <= true <= high
            self.width += high - low

    def __str__(self) -> str:
        if not self.of:
            return "-"
        return f"{self.held:3d} of {self.of:3d}, wide {self.width / self.of:.2f}"


def rows(sets: int | None = None) -> Iterator[str]:
    """One line for each size and number of criteria; sets: how many data sets of each, else as `SIZES` says."""
    yield f"{'coverage of 95 % intervals':32}" + "".join(f"{name:>24}" for name in NAMES)
    for candidates, assessors, many in SIZES:
        for criteria in (1, 4):
            counts = {name: _Count() for name in NAMES}
            for seed in range(sets or many):
                _one(candidates, assessors, criteria, seed, counts)
            told = f"{candidates} x {assessors}, {criteria} {'criterion' if criteria == 1 else 'criteria'}"
            yield f"{told:32}" + "".join(f"{counts[name]!s:>24}" for name in NAMES)


def _one(candidates: int, assessors: int, criteria: int, seed: int, counts: dict[str, _Count]) -> None:
    rng = np.random.default_rng([seed, candidates, criteria])
    severity = rng.normal(0.0, SEVERITY, assessors)
    scores = _drawn(rng, candidates, severity, criteria)
    with_these = _drawn(np.random.default_rng([seed, 1]), MANY // criteria, severity, criteria)
    # Of no end of candidates only the values are wanted.
    for name, found, true in zip(NAMES, _beyond_chance(scores, 500, seed), _beyond_chance(with_these, 0), strict=False):
        counts[name].add(found, _value(true))
    anybody = _with_anybody(assessors, criteria)
    counts["ICC(A,1)"].add(dict(icc(scores))["ICC(A,1)"], anybody[0])
    counts["g"].add(dependability(scores, replicates=500, seed=seed).g, anybody[1])


def _beyond_chance(scores: Scores, replicates: int, seed: int = 0) -> tuple[Estimate, Estimate]:
    tally, draws = tally_of(scores), Bootstrap(replicates, seed)
    alpha = krippendorff_alpha(scores, tally, "ordinal", draws)
    return alpha, family(scores, tally, weight_table("quadratic", LEVELS), draws).gwet


def _value(estimate: Estimate) -> float:
    if estimate.estimate is None:
        raise RuntimeError(f"{estimate.name} has no value in the simulated population")
    return estimate.estimate


@cache
def _with_anybody(assessors: int, criteria: int) -> tuple[float, float]:
    """ICC(A,1) and g of this many assessors drawn anew, from 200 assessors and 500 candidates."""
    rng = np.random.default_rng([assessors, criteria])
    scores = _drawn(rng, 500, rng.normal(0.0, SEVERITY, 200), criteria)
    found = dependability(scores, method="anova", assessors=[assessors], tasks=[criteria], replicates=2)
    planned = found.d_study[0].g
    if planned is None:
        raise RuntimeError("g has no value in the simulated population")
    return _value(dict(icc(scores, replicates=2))["ICC(A,1)"]), planned


def _drawn(rng: np.random.Generator, candidates: int, severity: Any, criteria: int) -> Scores:
    shape = (candidates, criteria, len(severity))
    true = 3.5 + rng.normal(0.0, CANDIDATE, shape[:1])[:, None] + rng.normal(0.0, CRITERION, shape[:2])
    value = np.clip(np.rint(true[:, :, None] + severity + rng.normal(0.0, ERROR, shape)), 1, 6)
    c, k, a = (index.ravel() for index in np.indices(shape))
    names = [f"k{n}" for n in k] if criteria > 1 else None
    return scores_of([f"C{n:05d}" for n in c], [f"A{n:03d}" for n in a], value.ravel(), criterion=names, levels=LEVELS)
