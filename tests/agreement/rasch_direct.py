"""The likelihoods of many-facet Rasch written score by score, and maximised by scipy: a second way to the estimates.

Nothing here uses the model's own sums: the likelihood is the formula, its slope a complex step (Squire & Trapp 1998,
SIAM Rev. 40, 110-112), the integral over candidates a sum over points a fortieth of their spread apart: a Gauss-Hermite
sum of 61 points is off by 1e-5 and more where candidates lie far apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import minimize

from assess.agreement.scores import Floats, Scores

__all__ = ["Direct", "conditional_log_likelihood", "maximised"]

_STEP = 1e-30


@dataclass(frozen=True, eq=False)
class Direct:
    """What scipy found: severities, difficulties, steps by group; of the candidates mean and sd, or abilities."""

    log_likelihood: float
    severity: Floats
    difficulty: Floats
    steps: Floats
    mean: float
    sd: float
    ability: Floats


def maximised(scores: Scores, *, joint: bool, partial_credit: bool) -> Direct:
    """The maximum of the likelihood. Every level must occur (on every criterion), joint: nobody may be at an end."""
    n = len(scores.candidates)
    free = (n if joint else 2) + len(scores.assessors) - 1 + len(scores.criteria) - 1
    free += (len(scores.levels) - 2) * (len(scores.criteria) if partial_credit else 1)

    def negative(x: Floats) -> tuple[float, Floats]:
        value = _log_likelihood(x.astype(np.complex128), scores, joint, partial_credit).real
        steps = 1j * _STEP * np.eye(free)
        slope = [_log_likelihood(x + step, scores, joint, partial_credit).imag / _STEP for step in steps]
        return -float(value), -np.array(slope)

    start = np.zeros(free)
    if not joint:
        start[1] = 1.0
    found = minimize(negative, start, jac=True, method="BFGS", options={"gtol": 1e-9, "maxiter": 500})
    parts = _split(found.x, scores, joint, partial_credit)
    whose, severity, difficulty, steps = parts
    mean, sd = (0.0, 0.0) if joint else (float(whose[0]), abs(float(whose[1])))
    return Direct(-float(found.fun), severity, difficulty, steps, mean, sd, whose if joint else np.empty(0))


def _split(x: Any, scores: Scores, joint: bool, partial_credit: bool) -> tuple[Any, Any, Any, Any]:
    n, j, i = len(scores.candidates) if joint else 2, len(scores.assessors) - 1, len(scores.criteria) - 1
    whose, severity, difficulty, steps = np.split(x, [n, n + j, n + j + i])
    steps = steps.reshape(len(scores.criteria) if partial_credit else 1, -1)
    last = -steps.sum(axis=1, keepdims=True)
    return (
        whose,
        np.append(severity, -severity.sum()),
        np.append(difficulty, -difficulty.sum()),
        np.concatenate([steps, last], axis=1),
    )


def _log_likelihood(x: Any, scores: Scores, joint: bool, partial_credit: bool) -> Any:
    whose, severity, difficulty, steps = _split(x, scores, joint, partial_credit)
    level = np.arange(len(scores.levels))
    group = scores.criterion if partial_credit else np.zeros(scores.n_scores, dtype=np.int64)
    offset = np.concatenate([np.zeros((len(steps), 1)), np.cumsum(steps, axis=1)], axis=1)[group]
    place = severity[scores.assessor] + difficulty[scores.criterion]
    row = np.arange(scores.n_scores)
    if joint:
        power = level * (whose[scores.candidate] - place)[:, None] - offset
        return (power[row, scores.level] - _log_sum(power)).sum()
    node = np.linspace(-10.0, 10.0, 801)
    weight = np.exp(-(node**2) / 2)
    ability = whose[0] + whose[1] * node
    power = level * (ability[:, None, None] - place[:, None]) - offset
    each = power[:, row, scores.level] - _log_sum(power)
    person = np.zeros((len(scores.candidates), len(node)), dtype=np.complex128)
    np.add.at(person, scores.candidate, each.T)
    return _log_sum(person + np.log(weight / weight.sum())).sum()


def _log_sum(power: Any) -> Any:
    most = power.real.max(axis=-1, keepdims=True)
    return np.log(np.exp(power - most).sum(axis=-1)) + most[..., 0]


def conditional_log_likelihood(place: Any, level: Any) -> Any:
    """Of persons who all answered the same items, given their totals. place: items by levels; level: persons by items.

    place is what an item takes from the logarithm of a level's chance. Source: Andersen (1970), J. R. Stat. Soc. B
    32, 283-301.
    """
    total = np.ones(1, dtype=place.dtype)
    for item in place:
        total = np.convolve(total, np.exp(-item))
    own = -place[np.arange(len(place))[None, :], level].sum(axis=1)
    return (own - np.log(total[level.sum(axis=1)])).sum()
