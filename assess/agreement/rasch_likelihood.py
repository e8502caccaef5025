"""The marginal likelihood of many-facet Rasch at one place: value, slope, information.

Given the totals, candidates' scores say nothing more about ability: the likelihood of candidate n at ability t is
exp(t total_n - sum of the log-denominators of the candidate's cells), so all candidates at all nodes are one sparse
product. Source: Bock & Aitkin (1981), Psychometrika 46, 443-459; the information is Louis (1982), J. R. Stat. Soc. B
44, 226-233, eq. 3.1. The integral is a trapezoid sum, which for such functions gains digits exponentially.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.rasch_model import Model
from assess.agreement.rasch_patterns import ScorePatterns, patterns_of
from assess.agreement.scores import Floats, Ints

__all__ = [
    "WIDEST", "At", "Case", "at_place", "case_of", "grid", "information_at", "log_likelihood", "nodes_for",
    "posterior_of",
]  # fmt: skip

WIDEST = 9.0
"""So many standard deviations from the mean no candidate is."""
_MOST_NODES = 3001
_BLOCK = 1e6


@dataclass(frozen=True, eq=False)
class At:
    """The likelihood at one place: value, slope, chances of every cell's categories, posterior weights of patterns."""

    value: float
    slope: Floats
    chance: Floats
    posterior: Floats


@dataclass(frozen=True, eq=False)
class Case:
    """A model and its patterns."""

    model: Model
    patterns: ScorePatterns


def case_of(model: Model) -> Case:
    """The model with its patterns."""
    return Case(model, patterns_of(model))


def grid(low: float, high: float, spacing: float) -> Floats:
    """Even nodes from low to high, at most so far apart."""
    # More would be needed only where a spread runs off; the proof by twice as many then refuses the result.
    return np.linspace(low, high, min(_MOST_NODES, max(9, int(np.ceil((high - low) / spacing)) + 1)))


def at_place(case: Case, x: Floats, z: Floats) -> At:
    """Log-likelihood of (mean, sd, free) with nodes z, in standard deviations from the mean."""
    model, patterns = case.model, case.patterns
    ability = x[0] + x[1] * z
    chance = model.logits(x[2:], ability)
    top = chance.max(axis=2, keepdims=True)
    chance -= top
    np.exp(chance, out=chance)
    denominator = chance.sum(axis=2, keepdims=True)
    chance /= denominator
    log_denominator = patterns.by_column((np.log(denominator) + top)[:, :, 0])
    weight = -0.5 * z**2 - 0.5 * np.log(2 * np.pi) + np.log(z[1] - z[0])
    posterior = patterns.incidence @ -log_denominator
    posterior += patterns.total[:, None] * ability
    posterior += weight
    most = posterior.max(axis=1, keepdims=True)
    posterior -= most
    np.exp(posterior, out=posterior)
    whole = posterior.sum(axis=1, keepdims=True)
    posterior /= whole
    value = float(patterns.times @ (np.log(whole) + most)[:, 0] + model.observed @ x[2:])
    counts = (patterns.counted @ posterior)[patterns.column]
    expected = counts * (chance @ model.weights)
    pull = (patterns.times * patterns.total) @ posterior - expected.sum(axis=0)
    by_category = np.einsum("cq,cqk->ck", counts, chance)
    of_group = np.zeros((len(model.groups), len(model.weights)))
    np.add.at(of_group, model.group, by_category)
    slope = model.observed + expected.sum(axis=1) @ model.location
    slope += of_group.ravel() @ model.offset.reshape(-1, model.n_free)
    return At(value, np.concatenate([[pull.sum(), pull @ z], slope]), chance, posterior)


def log_likelihood(model: Model, mean: float, sd: float, free: Floats, *, nodes: int = 401, wide: float = 9.0) -> float:
    """The marginal log-likelihood on an even grid of nodes, so many standard deviations wide to both sides."""
    return at_place(case_of(model), np.concatenate([[mean, sd], free]), np.linspace(-wide, wide, nodes)).value


def information_at(case: Case, at: At, z: Floats) -> tuple[Floats, Floats]:
    """Observed information of (mean, sd, free), and each pattern's expected slope of its candidates' log-likelihood."""
    patterns, lost = case.patterns, _lost(case, at.chance, z)
    found = _complete(case, at, z)
    slopes = np.empty((len(patterns.total), found.shape[0]))
    order = np.argsort(at.posterior @ z, kind="stable")
    step = max(1, int(_BLOCK / (len(z) * len(found))))
    for start in range(0, len(order), step):
        mine = order[start : start + step]
        slopes[mine], spread = _spread(patterns, lost, at.posterior, mine, z)
        found -= spread
    return found, slopes


def _complete(case: Case, at: At, z: Floats) -> Floats:
    """What the information would be if abilities were known: a logit is level times place, less the level's offset."""
    model, patterns = case.model, case.patterns
    counts = (patterns.counted @ at.posterior)[patterns.column]
    mean = at.chance @ model.weights
    apart = at.chance * (model.weights - mean[:, :, None]) * counts[:, :, None]
    variance = apart @ model.weights
    # Of each cell: sums over nodes of the variance of levels, and of the covariance of levels with each category.
    powers = np.stack([np.ones(len(z)), z, z**2])
    of_level, of_category = variance @ powers.T, np.einsum("cqk,jq->cjk", apart, powers[:2])
    place, offset = model.location, model.offset[model.group]
    found = np.empty((model.n_free + 2,) * 2)
    found[:2, :2] = of_level.sum(axis=0)[[[0, 1], [1, 2]]]
    found[:2, 2:] = -(of_level[:, :2].T @ place) - np.einsum("cjk,ckf->jf", of_category, offset)
    crossed = place.T @ np.einsum("ck,ckf->cf", of_category[:, 0], offset)
    both = -np.einsum("cqk,cql->ckl", at.chance * counts[:, :, None], at.chance)
    k = len(model.weights)
    both[:, range(k), range(k)] += np.einsum("cqk,cq->ck", at.chance, counts)
    of_group = np.zeros((len(model.groups), k, k))
    np.add.at(of_group, model.group, both)
    own = np.einsum("gkf,gkl,glh->fh", model.offset, of_group, model.offset, optimize=True)
    found[2:, 2:] = place.T @ (place * of_level[:, :1]) + crossed + crossed.T + own
    found[2:, :2] = found[:2, 2:].T
    return found


def _lost(case: Case, chance: Floats, z: Floats) -> Floats:
    """What the cells of a column take from the slope of a log-likelihood at each node, (columns, nodes, numbers)."""
    model = case.model
    mean = chance @ model.weights
    found = np.empty((*mean.shape, model.n_free + 2))
    found[:, :, 0], found[:, :, 1] = mean, mean * z
    found[:, :, 2:] = -np.matmul(chance, model.offset[model.group])
    found[:, :, 2:] -= mean[:, :, None] * model.location[:, None, :]
    return case.patterns.by_column(found)


def _spread(patterns: ScorePatterns, lost: Floats, posterior: Floats, mine: Ints, z: Floats) -> tuple[Floats, Floats]:
    """Mean of the slopes of these patterns over their posteriors, and their variance summed over candidates.

    lost: what the cells of each column take from the slope at every node, (columns, nodes, numbers).
    """
    weight = posterior[mine]
    near = np.flatnonzero(weight.max(axis=0) > 1e-13)
    near = np.arange(near[0], near[-1] + 1)
    weight, part, p = weight[:, near], lost[:, near], lost.shape[2]
    slope = -(patterns.incidence[mine] @ part.reshape(len(part), -1)).reshape(len(mine), len(near), p)
    slope[:, :, 1] += patterns.total[mine, None] * z[near]
    centre = np.matmul(weight[:, None, :], slope)[:, 0]
    slope -= centre[:, None, :]
    slope *= np.sqrt(weight * patterns.times[mine, None])[:, :, None]
    flat = slope.reshape(-1, p)
    return centre, flat.T @ flat


def posterior_of(case: Case, at: At, x: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Mean and spread of every candidate's ability."""
    centre = at.posterior @ z
    spread = np.sqrt(np.maximum(at.posterior @ z**2 - centre**2, 0.0))
    each = case.patterns.of_candidate
    return (x[0] + x[1] * centre)[each], (abs(x[1]) * spread)[each]


def nodes_for(at: At, z: Floats, share: float) -> Floats:
    """Nodes no wider apart than a share of the smallest posterior spread, over all that posteriors reach."""
    centre = at.posterior @ z
    spread = np.sqrt(np.maximum(at.posterior @ z**2 - centre**2, 1e-8))
    low, high = float((centre - 8 * spread).min()), float((centre + 8 * spread).max())
    return grid(max(-WIDEST, low), min(WIDEST, high), share * float(spread.min()))
