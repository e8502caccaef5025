"""Severity as other programs read it: keys are added, never renamed or dropped; what is not is null."""

from __future__ import annotations

from typing import Any

from assess.agreement.results import Ability, Beside, Interval, Measure, Severity, Step, Together, WithinSheet

__all__ = ["severity_json"]


def severity_json(found: Severity) -> dict[str, Any]:
    """Plain values, ready for `json.dumps`; without estimates the reason is in `undefined`."""
    loglik = found.log_likelihood
    return {
        "model": found.model,
        "method": found.method,
        "levels": [_plain(level) for level in found.levels],
        "linked": found.linked,
        "groups": [list(group) for group in found.groups],
        "deviance": None if loglik is None else -2 * loglik,
        "log_likelihood": loglik,
        "converged": found.converged,
        "assessors": [_measure(m, "severity") | _sheet(m) for m in found.assessors],
        "criteria": [_measure(m, "difficulty") for m in found.criteria],
        "tasks": [_measure(m, "difficulty") for m in found.tasks],
        "steps": [_step(step) for step in found.steps],
        "candidates": [_ability(person) for person in found.candidates],
        "population": None if found.sd is None else {"mean": found.mean, "sd": found.sd},
        "told_apart": {
            name: {"separation": apart.separation, "reliability": apart.reliability} for name, apart in found.told_apart
        },
        "equal_scores": {"seen": found.equal_seen, "foreseen": found.equal_foreseen},
        "interactions": [_together(pair) for pair in found.interactions],
        "nodes": found.nodes,
        "n_candidates": found.n_candidates,
        "n_assessors": found.n_assessors,
        "n_scores": found.n_scores,
        "undefined": found.undefined,
        "sentences": list(found.sentences),
        "warnings": list(found.warnings),
    }


def _plain(level: float) -> float | int:
    return int(level) if level == int(level) else level


def _measure(measure: Measure, name: str) -> dict[str, Any]:
    return {
        "id": measure.id,
        name: measure.value,
        "se": measure.se,
        "se_clustered": measure.se_clustered,
        "ci95": _limits(measure.ci95),
        "interval": measure.interval,
        "in_levels": measure.levels,
        "in_levels_ci95": _limits(measure.levels_ci95),
        "infit": measure.infit,
        "outfit": measure.outfit,
        "infit_z": measure.infit_z,
        "outfit_z": measure.outfit_z,
        "n": measure.n,
        "n_candidates": measure.n_candidates,
        "undefined": measure.undefined,
    }


def _sheet(measure: Measure) -> dict[str, Any]:
    return {
        "sentence": measure.sentence,
        "within_sheet": _within(measure.within_sheet),
        "joint": _beside(measure.beside),
    }


def _beside(beside: Beside | None) -> dict[str, Any] | None:
    if beside is None:
        return None
    return {
        "severity": beside.value,
        "se": beside.se,
        "ci95": _limits(beside.ci95),
        "in_levels": beside.levels,
        "in_levels_ci95": _limits(beside.levels_ci95),
    }


def _within(within: WithinSheet | None) -> dict[str, Any] | None:
    if within is None:
        return None
    return {"seen": within.seen, "foreseen": within.foreseen, "n": within.n, "p": within.p, "little": within.little}


def _together(pair: Together) -> dict[str, Any]:
    return {
        "assessor": pair.assessor,
        "other": pair.other,
        "extra_severity": pair.value,
        "se": pair.se,
        "n": pair.n,
        "flagged": pair.flagged,
    }


def _step(step: Step) -> dict[str, Any]:
    return {
        "level": _plain(step.level),
        "threshold": step.threshold,
        "se": step.se,
        "criteria": list(step.criteria),
    }


def _ability(person: Ability) -> dict[str, Any]:
    return {
        "id": person.id,
        "ability": person.value,
        "se": person.se,
        "at_average_assessor": person.at_average_assessor,
        "mean_as_given": person.mean_as_given,
        "extreme": person.extreme,
        "n": person.n,
    }


def _limits(limits: Interval | None) -> list[float] | None:
    return None if limits is None else [float(limits[0]), float(limits[1])]
