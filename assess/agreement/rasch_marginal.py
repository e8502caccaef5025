"""Marginal maximum likelihood: candidates come from a normal distribution with a mean and a spread of their own.

The likelihood is that of rasch_likelihood.py. Newton from the information of a sample of candidates, quasi-Newton on
all of them, and one information of all at the end.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.bootstrap import Progress, tell
from assess.agreement.rasch_likelihood import (
    WIDEST,
    At,
    Case,
    at_place,
    case_of,
    grid,
    information_at,
    nodes_for,
    posterior_of,
)
from assess.agreement.rasch_model import Model
from assess.agreement.scores import Floats

__all__ = ["Marginal", "fit_marginal"]

# Nodes apart, in the smallest posterior spread: half of it in the sum that is told, which has twice as many nodes.
_SPACING, _ROUGH = 0.98, 1.4
_PROOF = 1e-6
_SAMPLE = 400
# Numbers beyond run off. In logits: the longest step of Newton, and of quasi-Newton.
_FAR, _LONGEST, _NEAR = 30.0, 2.0, 0.5
_SETTLED = 1e-12
_NO_SPREAD = 1e-4


@dataclass(frozen=True, eq=False)
class Marginal:
    """mean, sd: of the candidates. free: the model's numbers. covariance: of (mean, sd, free), inverse information.

    clustered: the same with candidates as clusters (sandwich). ability, ability_sd: expected a posteriori and its
    error. nodes: of the sum; doubled: what twice as many change in the log-likelihood.
    """

    mean: float
    sd: float
    free: Floats
    log_likelihood: float
    covariance: Floats
    clustered: Floats
    ability: Floats
    ability_sd: Floats
    nodes: int
    doubled: float
    converged: bool


def fit_marginal(model: Model, progress: Progress | None = None) -> Marginal | None:
    """Maximum of the marginal likelihood with errors, or None when the numbers run off or do not settle.

    progress: told the share of the work that is done; raises Cancelled when it answers False.
    """
    case = case_of(model)
    tell(progress, 0.05)
    x, z = _start(case)
    tell(progress, 0.4)
    for share in (_SPACING, _SPACING / 2, _SPACING / 4):
        z = nodes_for(at_place(case, x, z), z, share)
        polished = _newton(case, x, z)
        if polished is None:
            return None
        x, at, information, slopes = polished
        tell(progress, 0.9)
        # What is told is the sum with twice as many nodes, at most half a spread apart; both must be the same.
        z = np.linspace(z[0], z[-1], 2 * len(z) - 1)
        doubled = abs(at_place(case, x, z).value - at.value)
        if doubled < _PROOF:
            x, at = _climb(case, x, z, information)
            tell(progress, 0.95)
            return _result(case, x, z, at, information, slopes, doubled)
    return None


def _result(
    case: Case, x: Floats, z: Floats, at: At, information: Floats, slopes: Floats, doubled: float
) -> Marginal | None:
    eigenvalues = np.linalg.eigvalsh(information)
    if eigenvalues[0] <= 1e-9 * eigenvalues[-1]:
        return None
    model, sign = case.model, np.ones(len(x))
    # The likelihood is the same for either sign of the spread.
    sign[1] = -1.0 if x[1] < 0 else 1.0
    covariance = sign[:, None] * np.linalg.inv(information) * sign
    each = slopes[case.patterns.of_candidate]
    each[:, 0] += model.total
    each[:, 2:] += model.observed_each
    each *= sign
    n = int((model.n_each > 0).sum())
    clustered = covariance @ (each.T @ each) @ covariance * (n / max(1, n - 1))
    ability, sd = posterior_of(case, at, x, z)
    return Marginal(
        float(x[0]), abs(float(x[1])), x[2:], at.value, covariance, clustered, ability, sd, len(z), doubled, True
    )


def _start(case: Case) -> tuple[Floats, Floats]:
    """Where to begin, and the nodes there: of many candidates, near the maximum, by way of a sample of them.

    The information of the sample, scaled up, serves for all to begin with: a step then costs one look at the
    likelihood, where the information of all costs ten.
    """
    n = case.model.n_candidates
    x, z = np.concatenate([[0.0, 1.0], np.zeros(case.model.n_free)]), grid(-WIDEST, WIDEST, 0.1)
    part = case
    if n > 2 * _SAMPLE:
        part = case_of(case.model.of_candidates(np.unique(np.linspace(0, n - 1, _SAMPLE).astype(np.int64))))
    # Spreads, and with them the nodes that are needed, change on the way; to begin with few will do.
    z = nodes_for(at_place(part, x, z), z, _ROUGH)
    found = _newton(part, x, z, settled=1.0 if part is not case else 0.01)
    if found is None:
        return x, z
    x, _, information, _ = found
    z = nodes_for(at_place(case, x, z), z, _SPACING)
    return _climb(case, x, z, information * (n / part.model.n_candidates))[0], z


def _climb(case: Case, x: Floats, z: Floats, information: Floats) -> tuple[Floats, At]:
    """Quasi-Newton steps from an information that is only about right, made better by what each step shows.

    Source: Nocedal & Wright (2006), Numerical Optimization, eq. 6.17 (BFGS).
    """
    values, vectors = np.linalg.eigh(information)
    inverse = (vectors / np.maximum(np.abs(values), 1e-8 * abs(values).max())) @ vectors.T
    at = at_place(case, x, z)
    for _ in range(40):
        step = inverse @ at.slope
        if step @ at.slope < _SETTLED or np.abs(step).max() > _NEAR:
            break
        new = at_place(case, x + step, z)
        if not np.isfinite(new.value) or _worse(new, at):
            break
        bend = at.slope - new.slope
        x, at = x + step, new
        curved = float(bend @ step)
        if curved > 0:
            turn = np.eye(len(x)) - np.outer(step, bend) / curved
            inverse = turn @ inverse @ turn.T + np.outer(step, step) / curved
    return x, at


def _worse(new: At, old: At) -> bool:
    """Whether the likelihood fell by more than its last digits."""
    return not new.value >= old.value - 1e-13 * abs(old.value)


def _newton(case: Case, x: Floats, z: Floats, settled: float = _SETTLED) -> tuple[Floats, At, Floats, Floats] | None:
    """Newton with step halving until less than `settled` of likelihood is to be had; information and slopes there.

    Twice what a whole step would gain is compared with `settled`.
    """
    at = at_place(case, x, z)
    for _ in range(80):
        information, slopes = information_at(case, at, z)
        values, vectors = np.linalg.eigh(information)
        step = vectors @ ((vectors.T @ at.slope) / np.maximum(np.abs(values), 1e-8 * abs(values).max()))
        if abs(step @ at.slope) < settled:
            if abs(x[1]) > _NO_SPREAD or values[0] > -1e-6 * values[-1]:
                return x, at, information, slopes
            # By symmetry no spread at all is stationary, even where it is the worst place of its neighbourhood.
            step = 0.5 * _unit(1, len(x))
        size = min(1.0, _LONGEST / float(np.abs(step).max()), _shrinking(x[1], step[1]))
        while size > 1e-4:
            new = at_place(case, x + size * step, z)
            if not _worse(new, at):
                break
            size /= 2
        if size <= 1e-4 or np.abs(x + size * step).max() > _FAR:
            return (x, at, information, slopes) if abs(step @ at.slope) < 1e-7 else None
        x, at = x + size * step, new
    return None


def _unit(i: int, n: int) -> Floats:
    return np.asarray(np.eye(n)[i])


def _shrinking(spread: float, step: float) -> float:
    """The longest step that leaves a tenth of the spread: a leap to the other sign would be lost ground."""
    return 0.9 * spread / -step if spread * step < 0 and abs(spread) > _NO_SPREAD else np.inf
