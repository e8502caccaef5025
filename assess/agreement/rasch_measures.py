"""From fitted numbers to results: measures of a facet with their errors, steps of the scale, candidates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from assess.agreement.rasch_fit import Expected, Fit, fit_by, within_sheets
from assess.agreement.rasch_model import ASSESSOR, Facet, Model
from assess.agreement.results import Ability, Measure, Step
from assess.agreement.scores import Floats, Scores

__all__ = ["Fitted", "abilities", "measures", "steps"]

_MIDDLE = 101


@dataclass(frozen=True, eq=False)
class Fitted:
    """free: the model's numbers, covariance and clustered: theirs; ability, ability_se: of candidates, NaN without."""

    free: Floats
    covariance: Floats
    clustered: Floats
    ability: Floats
    ability_se: Floats


def measures(model: Model, scores: Scores, fitted: Fitted, expected: Expected, facet: Facet) -> tuple[Measure, ...]:
    """Every id of a facet, those without a value too, in the order of their names."""
    own = facet.of_cell[model.cell]
    size = len(facet.ids)
    value = facet.basis @ fitted.free[facet.columns]
    se, clustered = (_errors(facet, table) for table in (fitted.covariance, fitted.clustered))
    fit = fit_by(model, expected, own, size)
    pairs = np.unique(own * model.n_candidates + model.candidate) // model.n_candidates
    met, n = np.bincount(pairs, minlength=size), np.bincount(own, minlength=size)
    within = within_sheets(model, scores, expected) if facet.name == ASSESSOR else (None,) * size
    several = _several(model, scores)
    lost = _levels_lost(model, fitted, facet)
    found = {}
    people = int((model.n_each > 0).sum())
    # The sandwich is that of a mean over all candidates; about this id only those who met it say anything.
    clustered = clustered * np.sqrt(np.maximum(met, 1) / np.maximum(met - 1, 1) * max(1, people - 1) / people)
    for i, name in enumerate(facet.ids):
        # Alone, or alone in its group, it is zero by definition and not by measurement.
        free = bool(facet.basis[i].any())
        ends, how = _interval(value[i], se[i], clustered[i], int(met[i]), several) if free else (None, "")
        own_se, own_clustered = (float(part[i]) if free else None for part in (se, clustered))
        found[name] = Measure(
            name, float(value[i]), own_se, own_clustered, ends, how, lost(float(value[i])), *_fit(fit, i),
            int(n[i]), int(met[i]), None, within[i], levels_ci95=(lost(ends[0]), lost(ends[1])) if ends else None,
        )  # fmt: skip
    for extreme in model.usable.extreme:
        if extreme.facet == facet.name:
            found[extreme.id] = _without(extreme.id, extreme.top, extreme.n, facet.name)
    return tuple(found[name] for name in sorted(found))


def _without(name: str, top: bool, n: int, facet: str) -> Measure:
    end = "highest" if top else "lowest"
    reason = f"only the {end} level in use was {'given' if facet == ASSESSOR else 'given on it'}: no finite value fits"
    return Measure(name, None, None, None, None, "", None, None, None, None, None, n, 0, reason)


def _errors(facet: Facet, table: Floats) -> Floats:
    part = facet.basis @ table[facet.columns, facet.columns] @ facet.basis.T
    return np.asarray(np.sqrt(np.maximum(np.diag(part), 0.0)))


def _several(model: Model, scores: Scores) -> bool:
    """Whether a sheet (a candidate, a task, an assessor) has several scores."""
    keep = model.usable.keep
    shape = (len(scores.candidates), len(scores.tasks), len(scores.assessors))
    sheet = np.ravel_multi_index((scores.candidate[keep], scores.task[keep], scores.assessor[keep]), shape)
    return len(np.unique(sheet)) < len(sheet)


def _interval(
    value: float, se: float, clustered: float, candidates: int, several: bool
) -> tuple[tuple[float, float] | None, str]:
    from scipy.special import ndtri, stdtrit

    if not several:
        return (float(value - ndtri(0.975) * se), float(value + ndtri(0.975) * se)), "full inverse information"
    half = float(stdtrit(max(1, candidates - 1), 0.975)) * max(se, clustered)
    how = (
        "candidates as clusters, so that the criteria of a sheet do not count as independent (sandwich, t with one"
        " fewer than the candidates met), and never narrower than by the full inverse information"
    )
    return (float(value - half), float(value + half)), how


def _fit(fit: Fit, i: int) -> tuple[float | None, float | None, float | None, float | None]:
    a, b, c, d = (
        float(part[i]) if np.isfinite(part[i]) else None for part in (fit.infit, fit.outfit, fit.infit_z, fit.outfit_z)
    )
    return a, b, c, d


def _levels_lost(model: Model, fitted: Fitted, facet: Facet) -> Callable[[float], float]:
    """How many levels lower the scores of an average candidate of this course are with a value than with zero."""
    known = np.sort(fitted.ability[np.isfinite(fitted.ability)])
    places = np.quantile(known, np.linspace(0.005, 0.995, min(_MIDDLE, max(2, len(known)))))
    severity = model.facets[0]
    location = _locations(model, fitted, facet if facet.name != ASSESSOR else severity)
    offset = (model.offset @ fitted.free)[model.group]
    # Cells that differ only in this facet are one and the same here.
    rows = np.unique(np.concatenate([location[:, None], offset], axis=1).round(12), axis=0)
    scale = model.values

    def mean(shift: float) -> float:
        logits = (places[None, :, None] - rows[:, :1, None] - shift) * model.weights - rows[:, None, 1:]
        chance = np.exp(logits - logits.max(axis=2, keepdims=True))
        return float((chance @ scale / chance.sum(axis=2)).mean())

    zero = mean(0.0)
    return lambda value: zero - mean(value)


def _locations(model: Model, fitted: Fitted, without: Facet) -> Floats:
    """Difficulty and severity of each cell, this facet aside."""
    location = model.location @ fitted.free
    return np.asarray(location - (without.basis @ fitted.free[without.columns])[without.of_cell])


def steps(model: Model, fitted: Fitted) -> tuple[Step, ...]:
    """The steps of every group, each at the level it leads to."""
    found = []
    inner = model.facets[-1].columns.stop
    for group, criteria in zip(model.offset, model.groups, strict=True):
        for k in range(1, len(model.weights)):
            row = (group[k] - group[k - 1]) / (model.weights[k] - model.weights[k - 1])
            free = bool(np.any(row[inner:]))
            error = float(np.sqrt(max(0.0, float(row @ fitted.covariance @ row)))) if free else None
            found.append(Step(float(model.values[k]), float(row @ fitted.free), error, criteria))
    return tuple(found)


def abilities(model: Model, scores: Scores, fitted: Fitted) -> tuple[Ability, ...]:
    """Every candidate: ability, and what an average assessor would have given for the same things."""
    n = len(scores.candidates)
    given = np.bincount(scores.candidate, minlength=n)
    mean = np.bincount(scores.candidate, scores.value, minlength=n) / np.maximum(given, 1)
    average = _at_average(model, fitted)
    lowest = np.full(n, np.inf)
    highest = np.full(n, -np.inf)
    np.minimum.at(lowest, scores.candidate, scores.value)
    np.maximum.at(highest, scores.candidate, scores.value)
    one_end = (lowest == highest) & ((lowest == scores.value.min()) | (lowest == scores.value.max()))
    return tuple(
        Ability(
            name, _or_none(fitted.ability[i]), _or_none(fitted.ability_se[i]), _or_none(average[i]), float(mean[i]),
            bool(one_end[i]), int(given[i]),
        )
        for i, name in enumerate(scores.candidates)
    )  # fmt: skip


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _at_average(model: Model, fitted: Fitted) -> Floats:
    """What the model expects, in levels, of an assessor of severity zero on a criterion and a task of difficulty zero.

    Where criteria have steps of their own, the mean over the criteria.
    """
    known = np.isfinite(fitted.ability)
    ability = np.where(known, fitted.ability, 0.0)
    total, criteria = np.zeros(len(ability)), 0
    for offset, names in zip(model.offset @ fitted.free, model.groups, strict=True):
        logits = ability[:, None] * model.weights - offset
        chance = np.exp(logits - logits.max(axis=1, keepdims=True))
        many = max(1, len(names))
        total += many * (chance @ model.values) / chance.sum(axis=1)
        criteria += many
    return np.where(known, total / criteria, np.nan)
