"""How else many-facet Rasch would be maximised: scipy on the marginal likelihood, dense Newton on the joint one.

Both work on the same model as ours and are written as one would write them: the first over all candidates and nodes,
with its slope from expected counts, the second with one row and column of the information for every number.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import minimize
from scipy.sparse import csr_array

from assess.agreement.rasch_model import Model, chances, model_of
from assess.agreement.rasch_usable import usable_of
from assess.agreement.scores import Floats, Scores
from tests.bench.severity import scored

__all__ = ["dense_joint", "direct_marginal", "drawn_for_rasch", "rasch_model"]


def drawn_for_rasch(n: int) -> Scores:
    """About n scores: each candidate by 3 of 20 assessors on 5 criteria, 5 levels."""
    rng = np.random.default_rng(n)
    candidates = max(4, n // 15)
    teams = np.argsort(rng.random((candidates, 20)), axis=1)[:, :3]
    hard = rng.normal(0.0, 0.5, 20)
    return scored(rng, rng.normal(0.0, 1.3, candidates), hard - hard.mean(), teams, 5, 0.0).scores


def rasch_model(scores: Scores, joint: bool) -> Model:
    """The model of these scores."""
    return model_of(scores, usable_of(scores, candidates=joint), False)


def direct_marginal(model: Model, z: Floats) -> float:
    """The log-likelihood that L-BFGS ends at, the integral a sum over the nodes z."""
    k, n = len(model.weights), model.n_candidates
    given = csr_array(
        (np.ones(len(model.cell)), (model.candidate, model.cell * k + model.category)), shape=(n, model.n_cells * k)
    )
    met = csr_array((np.ones(len(model.cell)), (model.candidate, model.cell)), shape=(n, model.n_cells))
    weight = -0.5 * z**2 - 0.5 * np.log(2 * np.pi) + np.log(z[1] - z[0])
    category = np.bincount(model.cell * k + model.category, minlength=model.n_cells * k)

    def negative(x: Floats) -> tuple[float, Floats]:
        logits = model.logits(x[2:], x[0] + x[1] * z)
        log_chance = logits - np.logaddexp.reduce(logits, axis=2, keepdims=True)
        like = given @ log_chance.transpose(0, 2, 1).reshape(-1, len(z)) + weight
        value = np.logaddexp.reduce(like, axis=1)
        posterior = np.exp(like - value[:, None])
        counts = (met.T @ posterior)[:, :, None] * np.exp(log_chance)
        seen = (given.T @ posterior).reshape(model.n_cells, k, len(z)).transpose(0, 2, 1)
        left = seen - counts
        by_node = (left @ model.weights).sum(axis=0)
        by_category = category.reshape(-1, k) - counts.sum(axis=1)
        slope = -(by_category @ model.weights) @ model.location
        slope -= np.einsum("ck,ckf->f", by_category, model.offset[model.group])
        return -float(value.sum()), -np.concatenate([[by_node.sum(), by_node @ z], slope])

    start = np.concatenate([[0.0, 1.0], np.zeros(model.n_free)])
    found = minimize(
        negative, start, jac=True, method="L-BFGS-B",
        options={"maxiter": 2000, "maxfun": 5000, "ftol": 1e-13, "gtol": 1e-4},
    )  # fmt: skip
    return -float(found.fun)


def dense_joint(model: Model) -> float:
    """The joint log-likelihood that Newton with a dense information ends at; the errors would be its inverse."""
    n = model.n_candidates
    x = np.zeros(n + model.n_free)
    number = np.arange(len(model.cell))
    who = csr_array((np.ones(len(number)), (number, model.candidate)), shape=(len(number), n))
    offset = model.offset[model.group[model.cell]]
    value = -np.inf
    for _ in range(50):
        chance, log_whole = chances(model.logits(x[n:], x[:n][model.candidate], model.cell))
        before, value = value, float(x[:n] @ model.total + model.observed @ x[n:] - log_whole.sum())
        if value - before < 1e-9:
            break
        # Of every score the derivative of each category's logit by the free numbers.
        by_free = -model.weights[None, :, None] * model.location[model.cell][:, None, :] - offset
        mean = np.einsum("ks,skf->sf", chance, by_free)
        level = model.weights @ chance
        information = np.zeros((len(x), len(x)))
        variance = model.weights**2 @ chance - level**2
        # Who is left out has no scores: a one keeps the rest from being singular.
        information[np.arange(n), np.arange(n)] = np.bincount(model.candidate, variance, minlength=n) + (
            model.n_each == 0
        )
        with_level = np.einsum("ks,k,skf->sf", chance, model.weights, by_free) - level[:, None] * mean
        information[:n, n:] = who.T @ with_level
        information[n:, :n] = information[:n, n:].T
        information[n:, n:] = np.einsum("ks,skf,skg->fg", chance, by_free, by_free, optimize=True) - mean.T @ mean
        slope = np.concatenate([model.total - np.bincount(model.candidate, level, minlength=n), model.observed])
        slope[n:] -= mean.sum(axis=0)
        x = x + np.linalg.solve(information, slope)
    return value
