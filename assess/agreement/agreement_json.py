"""The agreement statistics as one JSON document for other programs; keys are never renamed or dropped."""

from __future__ import annotations

from typing import Any

from assess.agreement.results import Agreement, BlandAltman, Estimate, Pair, PassLine, Sem

__all__ = ["agreement_json", "estimate_json"]


def agreement_json(made: Agreement) -> dict[str, Any]:
    """Plain dicts, lists, numbers and strings. A statistic that does not exist is null with its reason beside it."""
    return {
        "n_units": made.n_units,
        "n_candidates": made.n_candidates,
        "n_assessors": made.n_assessors,
        "n_scores": made.n_scores,
        "levels": [int(level) if level == int(level) else level for level in made.levels],
        "not_used": made.not_used,
        "effective_criteria": made.effective_criteria,
        "warnings": list(made.warnings),
        "percent_agreement": estimate_json(made.percent_agreement),
        "within_one": estimate_json(made.within_one),
        "at_pass_line": _line(made.at_pass_line),
        "krippendorff_alpha": estimate_json(made.krippendorff_alpha),
        "fleiss_kappa": estimate_json(made.fleiss_kappa),
        "conger_kappa": estimate_json(made.conger_kappa),
        "gwet_ac": {**estimate_json(made.gwet_ac), "form": made.gwet_form},
        "brennan_prediger": estimate_json(made.brennan_prediger),
        "kendall_w": estimate_json(made.kendall_w),
        "icc": {name: estimate_json(estimate) for name, estimate in made.icc},
        "sem": _sem(made.sem),
        "pairs": [_pair(pair) for pair in made.pairs],
    }


def estimate_json(estimate: Estimate) -> dict[str, Any]:
    """One statistic: the number or null, its errors, interval, numbers of cases, warnings and sentence."""
    return {
        "estimate": estimate.estimate,
        "se": estimate.se,
        "se_null": estimate.null_se,
        "ci95": _listed(estimate.ci95),
        "interval": estimate.interval,
        "n": estimate.n,
        "n_candidates": estimate.n_candidates,
        "n_assessors": estimate.n_assessors,
        "n_scores": estimate.n_scores,
        "undefined": estimate.undefined,
        "warnings": list(estimate.warnings),
        "sentence": estimate.sentence,
    }


def _listed(interval: tuple[float, float] | None) -> list[float] | None:
    return None if interval is None else list(interval)


def _line(at_line: PassLine | None) -> dict[str, Any] | None:
    if at_line is None:
        return None
    table = [list(row) for row in at_line.table]
    return {**estimate_json(at_line.agreement), "table": table, "kappa": estimate_json(at_line.kappa)}


def _sem(sem: Sem) -> dict[str, Any]:
    return {
        "consistency": sem.consistency,
        "absolute": sem.absolute,
        "mdc95_consistency": sem.mdc95_consistency,
        "mdc95_absolute": sem.mdc95_absolute,
        "undefined": sem.undefined,
    }


def _pair(pair: Pair) -> dict[str, Any]:
    return {
        "a": pair.a,
        "b": pair.b,
        "n": pair.n,
        "n_candidates": pair.n_candidates,
        "percent_agreement": pair.percent_agreement,
        "percent_agreement_ci95": _listed(pair.percent_ci95),
        "within_one": pair.within_one,
        "cohen_kappa": estimate_json(pair.cohen_kappa),
        "kappa_max": pair.kappa_max,
        "prevalence_index": pair.prevalence_index,
        "bias_index": pair.bias_index,
        "bland_altman": _bland_altman(pair.bland_altman),
        "spearman": pair.spearman,
        "spearman_ci95": _listed(pair.spearman_ci95),
        "kendall_tau_b": pair.kendall_tau_b,
        "kendall_tau_b_ci95": _listed(pair.kendall_tau_b_ci95),
        "interval": pair.interval,
        "table": [list(row) for row in pair.table],
        "sentence": pair.sentence,
    }


def _bland_altman(gaps: BlandAltman) -> dict[str, Any]:
    limits, older = gaps.limits_ci95, gaps.limits_ci95_1986
    return {
        "bias": gaps.bias,
        "bias_ci95": _listed(gaps.bias_ci95),
        "sd": gaps.sd,
        "limits": _listed(gaps.limits),
        "limits_ci95": None if limits is None else [list(limit) for limit in limits],
        "limits_ci95_1986": None if older is None else [list(limit) for limit in older],
        "interval": gaps.interval,
        "slope": gaps.slope,
        "slope_p": gaps.slope_p,
        "slope_ci95": _listed(gaps.slope_ci95),
        "n": gaps.n,
        "undefined": gaps.undefined,
    }
