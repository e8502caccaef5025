"""The quality report as other programs read it: keys are added, never renamed; what does not exist is null.

It is made to be handed on: ids, no names, and no numbers of groups in which fewer than five passed or did not.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from assess.desk.quality_clauses import CLAUSES, FIRST_LINE

if TYPE_CHECKING:
    from assess.agreement.results import Estimate
    from assess.desk.quality import ModuleAgain, QualityReport
    from assess.desk.quality_pass_lines import PassLineSeen
    from assess.desk.quality_reliability import ModuleReliability, PooledError
    from assess.desk.quality_separation import SeparationSeen

__all__ = ["quality_document"]


def quality_document(found: QualityReport) -> dict[str, Any]:
    """Plain values, ready for `json.dumps`."""
    from assess.desk.assessors import assessors_document

    return {
        "note": FIRST_LINE,
        "clauses": {part: [asdict(clause) for clause in clauses] for part, clauses in CLAUSES.items()},
        "on": found.on.isoformat(),
        "courses": [asdict(course) for course in found.courses],
        "quality_files": list(found.files),
        "due": found.due.isoformat() if found.due else None,
        "last_report": found.last.model_dump(mode="json") if found.last else None,
        "overdue": [_plain(asdict(item)) for item in found.overdue],
        "findings": list(found.findings),
        "reliability": [_reliability(module) for module in found.reliability],
        "pooled_sheet_error": [_pooled(one) for one in found.pooled],
        "decision_consistency": [_again(module) for module in found.again],
        "assessors": assessors_document(found.assessors) if found.assessors else None,
        "assessors_undefined": found.no_assessors or None,
        "pass_lines": [_pass_line(line) for line in found.pass_lines],
        "groups": _plain(asdict(found.groups)) if found.groups else None,
        "separation": _separation(found.separation),
        "replicates": found.replicates,
        "seed": found.seed,
    }


def _estimate(estimate: Estimate) -> dict[str, Any]:
    return {
        "estimate": estimate.estimate, "se": estimate.se, "ci95": _ends(estimate.ci95),
        "interval": estimate.interval, "n": estimate.n, "n_candidates": estimate.n_candidates,
        "undefined": estimate.undefined, "warnings": list(estimate.warnings), "sentence": estimate.sentence,
    }  # fmt: skip


def _ends(ci95: tuple[float, float] | None) -> list[float] | None:
    return None if ci95 is None else list(ci95)


def _reliability(module: ModuleReliability) -> dict[str, Any]:
    found = module.dependability
    return {
        "module": module.module,
        "line": str(module.line),
        "sheet_error": _estimate(module.sheet_error),
        "sheet_error_near_line": _estimate(module.near_line),
        "written_sheet_error": {rubric: said.model_dump(mode="json") for rubric, said in module.written},
        "n_sheets": module.n_sheets,
        "mean_error": module.mean_error,
        "mean_error_ci95": _ends(module.mean_ci95),
        "g": _estimate(found.g) if found else None,
        "phi": _estimate(found.phi) if found else None,
        "phi_at_line": _estimate(found.phi_at_line) if found and found.phi_at_line else None,
        "dependability_undefined": module.why or None,
        "sentences": list(module.sentences),
    }


def _pooled(one: PooledError) -> dict[str, Any]:
    return {**_estimate(one.sheet_error), "modules": list(one.modules), "sentence": one.sentence}


def _again(module: ModuleAgain) -> dict[str, Any]:
    again = module.again
    return {
        "module": again.module,
        "within": again.within,
        "overall": _estimate(again.overall),
        "near": _estimate(again.near),
        "in_band": _estimate(again.in_band),
        "clear": _estimate(again.clear),
        "third_looks": again.third_looks,
        "candidates": [asdict(one) for one in again.candidates],
        "spread": asdict(again.spread) if again.spread else None,
        "replicates": again.replicates,
        "seed": again.seed,
        "left_out": dict(module.left_out),
        "undefined": again.undefined,
        "warnings": list(again.warnings),
    }


def _pass_line(line: PassLineSeen) -> dict[str, Any]:
    return {
        "rubric": line.rubric,
        "sha256": line.sha256,
        "line": line.line,
        "courses": list(line.courses),
        "state": line.state,
        "record": line.record.model_dump(mode="json") if line.record else None,
        "sentence": line.sentence,
    }


def _separation(seen: SeparationSeen) -> dict[str, Any]:
    return {
        "waivers": [asdict(waiver) for waiver in seen.waivers],
        "conflicts": seen.conflicts,
        "trained": seen.trained,
        "markings": seen.turns,
        "waived": dict(seen.waived),
        "standing": list(seen.standing),
        "decided_with_waiver": seen.decided,
        "threats": [threat.model_dump(mode="json") for threat in seen.threats],
        "open_threats": len(seen.open_threats),
    }


def _plain(value: Any) -> Any:
    """Days and fractions as text, tuples as lists."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value.isoformat() if isinstance(value, date) else str(value) if isinstance(value, Fraction) else value
