"""Dependability as other programs read it: keys are added, never renamed or dropped; what is not is null."""

from __future__ import annotations

from typing import Any

from assess.agreement.results import Component, Dependability, Estimate, Interval, Planned

__all__ = ["dependability_json"]


def dependability_json(found: Dependability) -> dict[str, Any]:
    """Plain values, ready for `json.dumps`; a result that does not exist is null with the reason in `undefined`."""
    at_line = found.phi_at_line
    return {
        "design": found.design,
        "method": found.method,
        "minus_two_restricted_log_likelihood": found.minus_two_restricted_log_likelihood,
        "components": [_component(component) for component in found.components],
        "g": found.g.estimate,
        "g_ci95": _limits(found.g.ci95),
        "phi": found.phi.estimate,
        "phi_ci95": _limits(found.phi.ci95),
        "phi_at_line": None if at_line is None else at_line.estimate,
        "phi_at_line_ci95": None if at_line is None else _limits(at_line.ci95),
        "interval": found.phi.interval,
        "sem_relative": found.sem_relative,
        "sem_absolute": found.sem_absolute,
        "d_study": [_planned(plan) for plan in found.d_study],
        "mean": found.mean,
        "n_candidates": found.n_candidates,
        "n_assessors": found.n_assessors,
        "n_tasks": found.n_tasks,
        "n_scores": found.n_scores,
        "facet": found.facet,
        "undefined": found.undefined,
        "sentences": list(found.sentences),
        "warnings": [*found.warnings, *_own(at_line)],
    }


def _own(estimate: Estimate | None) -> tuple[str, ...]:
    return () if estimate is None else tuple(f"{estimate.name}: {warning}" for warning in estimate.warnings)


def _component(component: Component) -> dict[str, Any]:
    return {
        "source": component.source,
        "variance": component.variance,
        "ci95": _limits(component.ci95),
        "interval": component.interval,
        "se": component.se,
    }


def _planned(plan: Planned) -> dict[str, Any]:
    return {
        "assessors": plan.assessors,
        "tasks": plan.tasks,
        "g": plan.g,
        "phi": plan.phi,
        "sem_relative": plan.sem_relative,
        "sem_absolute": plan.sem_absolute,
        "g_ci95": _limits(plan.g_ci95),
        "phi_ci95": _limits(plan.phi_ci95),
    }


def _limits(limits: Interval | None) -> list[float] | None:
    return None if limits is None else [float(limits[0]), float(limits[1])]
