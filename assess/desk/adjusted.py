"""Severity-adjusted module means of an open course: for a director, once every sheet is locked, in no rule."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assess.agreement.results.adjusted import AdjustedMeans
    from assess.desk.outcomes import OutcomeBoard
    from assess.desk.session import Desk

__all__ = ["adjusted_of", "with_adjusted"]


def adjusted_of(desk: Desk, board: OutcomeBoard) -> AdjustedMeans | None:
    """The adjusted means of the course; None for anybody but a director, and while a sheet is not locked.

    Of an open module the mean of what was seen is adjusted, as it is shown.
    """
    if desk.role != "director" or not _all_locked(desk):
        return None
    from assess.agreement.adjusted import ModuleMean, adjusted_means
    from assess.agreement.results.adjusted import AdjustedMeans
    from assess.desk.rater_sheets import rater_sheets
    from assess.marking.results import ModuleResult
    from assess.records.errors import Refusal

    try:
        sheets, source = rater_sheets(desk)
    except Refusal as reason:
        # Without a level, or on several scales, nothing can be compared: that is said, and the outcomes stand.
        return AdjustedMeans(undefined=f"Severity cannot be taken out: {reason.sentence}.")
    modules = [
        ModuleMean(who, name, float(found.mean), tuple(s.assessor for s in found.sheets if s.value is not None))
        for who, held in board.candidates
        for name, found in held.items()
        if isinstance(found, ModuleResult) and found.mean is not None
    ]
    return adjusted_means(sheets, source.levels or (), modules)


def _all_locked(desk: Desk) -> bool:
    slots = desk.course.allocation
    return bool(slots) and all(desk.sight.slot_open(slot.task, slot.candidate) for slot in slots)


def with_adjusted(document: dict[str, Any], adjusted: AdjustedMeans | None) -> dict[str, Any]:
    """A results document with the adjusted means in it; as it was where there are none to be shown."""
    if adjusted is None:
        return document
    candidates = [
        {**one, "modules": {name: {**held, **_of(adjusted, one["id"], name)} for name, held in one["modules"].items()}}
        for one in document["candidates"]
    ]
    taken_out = {
        "assessors": [
            {"id": one.assessor, "gives_more": one.levels, "ci95": list(one.ci95) if one.ci95 else None, "n": one.n,
             "n_candidates": one.n_candidates}
            for one in adjusted.shifts
        ],
        "interval": adjusted.interval,
        "sentence": adjusted.sentence,
        "undefined": adjusted.undefined,
    }  # fmt: skip
    return {**document, "candidates": candidates, "severity_taken_out": taken_out}


def _of(adjusted: AdjustedMeans, candidate: str, module: str) -> dict[str, Any]:
    from fractions import Fraction

    from assess.marking.rounding import fair

    found = adjusted.of(candidate, module)
    if found is None:
        return {"adjusted_mean": None, "adjusted_ci95": None}
    ends = [fair(Fraction(end)) for end in found.ci95] if found.ci95 else None
    return {"adjusted_mean": fair(Fraction(found.mean)), "adjusted_ci95": ends}
