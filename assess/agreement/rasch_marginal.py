"""Marginal maximum likelihood: candidates come from a normal distribution with a mean and a spread of their own.

Given the totals, candidates' scores say nothing more about ability: the likelihood of candidate n at ability t is
exp(t total_n - sum of the log-denominators of the candidate's cells), so all candidates at all nodes are one sparse
product. Source: Bock & Aitkin (1981), Psychometrika 46, 443-459; the information is Louis (1982), J. R. Stat. Soc. B
44, 226-233, eq. 3.1. The integral is a trapezoid sum, which for such functions gains digits exponentially.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assess.agreement.rasch_model import Model
from assess.agreement.scores import Floats

__all__ = ["Marginal", "fit_marginal", "log_likelihood"]

_WIDEST = 9.0
_MOST_NODES = 3001
_PROOF = 1e-6
_SAMPLE = 400
_FAR = 30.0


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


@dataclass(frozen=True, eq=False)
class _At:
    """The likelihood at one place: value, slope, chances of every cell's categories, posterior weights."""

    value: float
    slope: Floats
    chance: Floats
    posterior: Floats


def _grid(low: float, high: float, spacing: float) -> Floats:
    # More would be needed only where a spread runs off; the proof by twice as many then refuses the result.
    return np.linspace(low, high, min(_MOST_NODES, max(9, int(np.ceil((high - low) / spacing)) + 1)))


def _at(model: Model, x: Floats, z: Floats) -> _At:
    """Log-likelihood of (mean, sd, free) with nodes z, in standard deviations from the mean."""
    ability = x[0] + x[1] * z
    logits = model.logits(x[2:], ability)
    top = logits.max(axis=2, keepdims=True)
    chance = np.exp(logits - top)
    denominator = chance.sum(axis=2, keepdims=True)
    chance /= denominator
    log_denominator = (np.log(denominator) + top)[:, :, 0]
    weight = -0.5 * z**2 - 0.5 * np.log(2 * np.pi) + np.log(z[1] - z[0])
    posterior = model.incidence @ -log_denominator
    posterior += model.total[:, None] * ability + weight
    most = posterior.max(axis=1, keepdims=True)
    posterior -= most
    np.exp(posterior, out=posterior)
    whole = posterior.sum(axis=1, keepdims=True)
    posterior /= whole
    value = float((np.log(whole) + most).sum() + model.observed @ x[2:])
    counts = model.incidence.T @ posterior
    expected = counts * (chance @ model.weights)
    pull = model.total @ posterior - expected.sum(axis=0)
    by_category = np.einsum("cq,cqk->ck", counts, chance)
    of_group = np.zeros((len(model.groups), len(model.weights)))
    np.add.at(of_group, model.group, by_category)
    slope = model.observed + expected.sum(axis=1) @ model.location
    slope += of_group.ravel() @ model.offset.reshape(-1, model.n_free)
    return _At(value, np.concatenate([[pull.sum(), pull @ z], slope]), chance, posterior)


def log_likelihood(model: Model, mean: float, sd: float, free: Floats, *, nodes: int = 401, wide: float = 9.0) -> float:
    """The marginal log-likelihood on an even grid of nodes, so many standard deviations wide to both sides."""
    return _at(model, np.concatenate([[mean, sd], free]), np.linspace(-wide, wide, nodes)).value


def _information(model: Model, at: _At, z: Floats, rows: NDArray[np.int64] | None = None) -> tuple[Floats, Floats]:
    """Observed information of (mean, sd, free), and the slope of each candidate's log-likelihood; rows: of these."""
    posterior = at.posterior if rows is None else at.posterior[rows]
    incidence = model.incidence if rows is None else model.incidence[rows]
    total = model.total if rows is None else model.total[rows]
    observed = model.observed_each if rows is None else model.observed_each[rows]
    p, offset = model.n_free + 2, model.offset[model.group]
    counts = incidence.T @ posterior
    mean, found = np.zeros((model.n_cells, len(z), p)), np.zeros((p, p))
    for q, place in enumerate(z):
        statistic = np.empty((*offset.shape[:2], p))
        statistic[:, :, 0] = model.weights
        statistic[:, :, 1] = place * model.weights
        statistic[:, :, 2:] = -model.weights[:, None] * model.location[:, None, :] - offset
        chance = at.chance[:, q]
        mean[:, q] = np.einsum("ck,cka->ca", chance, statistic)
        flat = (statistic - mean[:, q, None, :]).reshape(-1, p)
        found += flat.T @ (flat * (counts[:, q, None] * chance).reshape(-1, 1))
    slopes = np.empty((len(total), p))
    order = np.argsort(posterior @ z, kind="stable")
    step = max(1, int(4e6 / (len(z) * p)))
    for start in range(0, len(order), step):
        mine = order[start : start + step]
        near = np.flatnonzero(posterior[mine].max(axis=0) > 1e-13)
        weight = posterior[np.ix_(mine, near)]
        slope = -(incidence[mine] @ mean[:, near].reshape(model.n_cells, -1)).reshape(len(mine), len(near), p)
        slope[:, :, 1] += total[mine, None] * z[near]
        centre = np.einsum("nq,nqa->na", weight, slope)
        slopes[mine] = centre
        slope -= centre[:, None, :]
        flat = slope.reshape(-1, p)
        found -= flat.T @ (flat * weight.reshape(-1, 1))
    slopes[:, 0] += total
    slopes[:, 2:] += observed
    return found, slopes


def _posterior(at: _At, x: Floats, z: Floats) -> tuple[Floats, Floats]:
    centre = at.posterior @ z
    spread = np.sqrt(np.maximum(at.posterior @ z**2 - centre**2, 0.0))
    return x[0] + x[1] * centre, abs(x[1]) * spread


def _nodes_for(at: _At, z: Floats, share: float) -> Floats:
    """Nodes no wider apart than a share of the smallest posterior spread, over all that posteriors reach."""
    centre = at.posterior @ z
    spread = np.sqrt(np.maximum(at.posterior @ z**2 - centre**2, 1e-8))
    low, high = float((centre - 8 * spread).min()), float((centre + 8 * spread).max())
    return _grid(max(-_WIDEST, low), min(_WIDEST, high), share * float(spread.min()))


def fit_marginal(model: Model) -> Marginal | None:
    """Maximum of the marginal likelihood with errors, or None when the numbers run off or do not settle."""
    x = np.concatenate([[0.0, 1.0], np.zeros(model.n_free)])
    z = _grid(-_WIDEST, _WIDEST, 0.1)
    for _ in range(2):
        z = _nodes_for(_at(model, x, z), z, 0.8)
        x = _climb(model, x, z)
        if not np.isfinite(x).all() or np.abs(x).max() > _FAR:
            return None
    for share in (0.49, 0.24, 0.12):
        z = _nodes_for(_at(model, x, z), z, share)
        polished = _newton(model, x, z)
        if polished is None:
            return None
        x, at, information, slopes = polished
        finer = np.linspace(z[0] - (z[1] - z[0]), z[-1] + (z[1] - z[0]), 2 * len(z) + 3)
        doubled = abs(_at(model, x, finer).value - at.value)
        if doubled < _PROOF:
            return _result(model, x, z, at, information, slopes, doubled)
    return None


def _result(
    model: Model, x: Floats, z: Floats, at: _At, information: Floats, slopes: Floats, doubled: float
) -> Marginal | None:
    eigenvalues = np.linalg.eigvalsh(information)
    if eigenvalues[0] <= 1e-9 * eigenvalues[-1]:
        return None
    # The likelihood is the same for either sign of the spread.
    sign = np.ones(len(x))
    sign[1] = -1.0 if x[1] < 0 else 1.0
    covariance = sign[:, None] * np.linalg.inv(information) * sign
    slopes = slopes * sign
    n = int((model.n_each > 0).sum())
    clustered = covariance @ (slopes.T @ slopes) @ covariance * (n / max(1, n - 1))
    ability, sd = _posterior(at, x, z)
    return Marginal(
        float(x[0]), abs(float(x[1])), x[2:], at.value, covariance, clustered, ability, sd, len(z), doubled, True
    )


def _climb(model: Model, x: Floats, z: Floats) -> Floats:
    """L-BFGS in coordinates in which the information of a sample of candidates is the identity."""
    from scipy.optimize import minimize

    n = model.n_candidates
    rows = np.unique(np.linspace(0, n - 1, min(n, _SAMPLE)).astype(np.int64))
    information, _ = _information(model, _at(model, x, z), z, rows)
    values, vectors = np.linalg.eigh(information * (n / len(rows)))
    root = np.sqrt(np.maximum(np.abs(values), 1e-3 * abs(values).max()))
    to_x = vectors / root

    def negative(y: Floats) -> tuple[float, Floats]:
        at = _at(model, x + to_x @ y, z)
        return -at.value, -(to_x.T @ at.slope)

    found = minimize(negative, np.zeros(len(x)), jac=True, method="L-BFGS-B", options={"maxiter": 60, "gtol": 1e-3})
    return np.asarray(x + to_x @ found.x)


def _newton(model: Model, x: Floats, z: Floats) -> tuple[Floats, _At, Floats, Floats] | None:
    """Newton with step halving until the step is nothing; the information and the slopes are those of the end."""
    at = _at(model, x, z)
    for _ in range(30):
        information, slopes = _information(model, at, z)
        values, vectors = np.linalg.eigh(information)
        step = vectors @ ((vectors.T @ at.slope) / np.maximum(np.abs(values), 1e-8 * abs(values).max()))
        if abs(step @ at.slope) < 1e-10:
            return x, at, information, slopes
        size = 1.0
        while size > 1e-4:
            new = _at(model, x + size * step, z)
            if new.value >= at.value:
                break
            size /= 2
        if size <= 1e-4 or np.abs(x + size * step).max() > _FAR:
            return (x, at, information, slopes) if abs(step @ at.slope) < 1e-7 else None
        x, at = x + size * step, new
    return None
