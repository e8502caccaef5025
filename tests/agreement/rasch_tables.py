"""Check sets and simulated scores for the tests of many-facet Rasch."""

from __future__ import annotations

from typing import Any

import numpy as np

from assess.agreement.rasch_model import Facet, Model, model_of
from assess.agreement.rasch_usable import usable_of
from assess.agreement.scores import Floats, Scores, scores_of
from tests.agreement.score_tables import reference

__all__ = ["MFRM", "error_of", "facets_set", "items_set", "simulated", "value_of", "whole"]

MFRM = ("mfrm_rsm__guilford", "mfrm_rsm__sim500", "mfrm_pcm__sim501")


def facets_set(name: str) -> tuple[Scores, dict[str, Any]]:
    """A check set of candidates, assessors and criteria, on the scale from 0."""
    check = reference(name)
    candidate, assessor, criterion, score = zip(*check["data"], strict=True)
    levels = range(check["n_categories"])
    return scores_of(candidate, assessor, [float(v) for v in score], criterion=criterion, levels=levels), check


def items_set(name: str) -> tuple[Scores, dict[str, Any]]:
    """A check set of persons and items, the items in the place of assessors; persons of one end alone left out."""
    check = reference(name)
    candidate, assessor, score = zip(*check["data"], strict=True)
    return scores_of(candidate, assessor, [float(v) for v in score]), check


def whole(scores: Scores, partial_credit: bool = False, joint: bool = False) -> Model:
    """The model for these scores."""
    return model_of(scores, usable_of(scores, candidates=joint), partial_credit)


def value_of(facet: Facet, free: Floats) -> Floats:
    """Values of a facet's ids."""
    return np.asarray(facet.basis @ free[facet.columns])


def error_of(facet: Facet, covariance: Floats) -> Floats:
    """Standard errors of a facet's ids."""
    part = facet.basis @ covariance[facet.columns, facet.columns] @ facet.basis.T
    return np.asarray(np.sqrt(np.diag(part)))


def simulated(
    seed: int, candidates: int = 12, assessors: int = 4, criteria: int = 3, each: int = 4, levels: int = 5
) -> Scores:
    """Scores by the model itself, levels from 1; each candidate is scored by `each` assessors drawn by chance."""
    rng = np.random.default_rng(seed)
    ability, severity = rng.normal(0, 1.3, candidates), rng.normal(0, 0.5, assessors)
    difficulty = rng.normal(0, 0.5, criteria)
    p = np.repeat(np.arange(candidates), each * criteria)
    drawn = np.argsort(rng.random((candidates, assessors)), axis=1)[:, :each]
    a, i = np.repeat(drawn.ravel(), criteria), np.tile(np.arange(criteria), candidates * each)
    steps = np.concatenate([[0.0], np.cumsum(np.linspace(-1.5, 1.5, levels - 1))])
    logits = (ability[p] - severity[a] - difficulty[i])[:, None] * np.arange(levels) - steps
    chance = np.exp(logits) / np.exp(logits).sum(axis=1, keepdims=True)
    score = (rng.random(len(p))[:, None] > chance.cumsum(axis=1)).sum(axis=1) + 1.0
    return scores_of(
        [f"C{v:03d}" for v in p], [f"A{v}" for v in a], score, criterion=[f"k{v}" for v in i],
        levels=range(1, levels + 1),
    )  # fmt: skip
