"""A module's result as other programs read it: keys are only ever added."""

from __future__ import annotations

from typing import Any

from assess.marking.results import BreachState, ModuleResult, SheetFigure, SlotDifference, WaivedMarkers
from assess.marking.rounding import fair

__all__ = ["to_json"]

NO_BAND = "the rubric gives no sheet error for this module, so no band"


def to_json(result: ModuleResult) -> dict[str, Any]:
    """The value of one module in `assess results --json`, keys in a fixed order; the same result, the same bytes.

    mean: two decimals, on its own side of the line; mean_exact and line: exact, "27/8" or "4"; band: three
    decimals; reach: lowest and highest mean a third look can lead to, while the outcome is `third_look`.
    """
    line, edges = result.line, (result.line, *([result.minimum] if result.minimum is not None else []))
    least, values = result.least, result.values
    return {
        "outcome": result.outcome,
        "mean": None if result.mean is None else fair(result.mean, line),
        "mean_exact": None if result.mean is None else str(result.mean),
        "line": str(line),
        "band": result.band,
        "n_sheets": result.n_sheets,
        "reasons": list(result.reasons),
        "open_needs": list(result.open_needs),
        "breach": _breach(result.breach),
        "moderation_due": list(result.moderation_due),
        "reach": [fair(end, line) for end in (result.reach.lowest, result.reach.highest)] if result.reach else None,
        "flips_with": result.flips_with,
        "band_note": NO_BAND if result.mean is not None and result.band is None else None,
        "min_value": None if least is None else fair(least.value, *edges),
        "min_value_at": None if least is None else f"{least.task} {least.criterion}",
        "below_line": f"{len(result.below_line)} of {len(values)}" if values else None,
        "listed": list(result.listed),
        "differences": [_difference(item) for item in result.differences],
        "reach_over": list(result.reach.tasks) if result.reach else None,
        "third_look": result.third_look,
        "not_locked": list(result.not_locked),
        "sheets": [_sheet(sheet) for sheet in result.sheets],
        "rubric": result.rubric or None,
        "shadows": [{"task": item.task, "assessor": item.assessor, "why": item.why} for item in result.shadows],
        "waived": _waived(result.waived),
    }


def _waived(waived: WaivedMarkers | None) -> dict[str, Any] | None:
    return {"assessors": list(waived.assessors), "without_them": waived.alone} if waived else None


def _sheet(sheet: SheetFigure) -> dict[str, Any]:
    value = None if sheet.value is None else str(sheet.value)
    return {"task": sheet.task, "assessor": sheet.assessor, "value": value, "third": sheet.third}


def _breach(breach: BreachState | None) -> dict[str, Any] | None:
    if breach is None:
        return None
    return {"must_not": breach.must_not, "state": breach.state, "modules": list(breach.modules)}


def _difference(item: SlotDifference) -> dict[str, Any]:
    return {
        "task": item.task,
        "due": item.due,
        "because": list(item.because),
        "apart": str(item.apart),
        "criteria": list(item.criteria),
        "across": list(item.across),
        "effect": item.effect,
    }
