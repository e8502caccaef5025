"""Severity, and what the gap to partners follows: the place in the running order, the day, the candidate before.

The gap is a sheet's value less the mean of the partners' of the same performance, the partners' severities taken
out; so the candidate's ability is out of it, and so is whatever both do alike.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from assess.agreement.chance import divided
from assess.agreement.network import in_pieces
from assess.agreement.rater_partners import Partners, Question, severities, severity_features
from assess.agreement.results.raters import EffectName
from assess.agreement.scores import Floats, Ints

__all__ = ["contrast", "days", "drift", "severity"]

ALONE = "nobody else marked a performance that {who} marked"
FEWEST = 3


def severity(partners: Partners) -> Question:
    """Levels above the mean of the group: least squares, slot + assessor, on sheet values."""
    j = partners.n_assessors
    n, n_candidates = partners.counted()
    why = partners.why_none(n, ALONE)
    if len(partners.pieces) > 1:
        names = [[partners.sheets.assessors[number] for number in piece] for piece in partners.pieces]
        apart = in_pieces(names, "performance").rstrip(".")
        why = tuple(reason or apart[0].lower() + apart[1:] for reason in why)

    def numbers(sums: Floats) -> Floats:
        return _alone(severities(sums.reshape(len(sums), j, 1 + j), partners))

    return Question("severity", partners.summed(severity_features(partners)), numbers, n, n_candidates, why)


def _alone(estimate: Floats) -> Floats:
    nothing = np.full_like(estimate, np.nan)
    return np.stack([estimate, nothing, nothing], axis=1)


def drift(partners: Partners) -> Question:
    """Levels more for each place further back in a task's running order."""
    place = partners.sheets.place[partners.at]
    return _slope("drift", partners, place, "all places in the running order of {who}'s sheets are the same or unknown")


def days(partners: Partners) -> Question:
    """Levels more for each later day of the course."""
    day = partners.sheets.day[partners.at]
    return _slope("days", partners, day, "all sheets of {who} that can be compared are of one day")


def contrast(partners: Partners) -> Question:
    """Levels more for each level this assessor gave the candidate before, in their own order of one task."""
    before = _value_before(partners)[partners.at]
    return _slope("contrast", partners, before, "{who} marked too few candidates one after another in one task")


def _value_before(partners: Partners) -> Floats:
    """The value of the sheet before in the same assessor's order of the same task; NaN for the first."""
    sheets = partners.sheets
    known = sheets.first[np.isfinite(sheets.place[sheets.first])]
    order = known[np.lexsort((sheets.place[known], sheets.task[known], sheets.assessor[known]))]
    before = np.full(sheets.n, np.nan)
    same = (np.diff(sheets.task[order]) == 0) & (np.diff(sheets.assessor[order]) == 0)
    before[order[1:][same]] = sheets.value[order[:-1][same]]
    return before


def _slope(name: EffectName, partners: Partners, regressor: Floats, unmoved: str) -> Question:
    """The gap on something, one line for each assessor, severities estimated anew from the same candidates."""
    some = np.flatnonzero(np.isfinite(regressor))
    r, gap, share = regressor[some], partners.gap[some], partners.share[some]
    features = np.column_stack([np.ones(len(r)), r, r * r, gap, r * gap, share, r[:, None] * share])
    rows = np.hstack([partners.summed(severity_features(partners)), partners.summed(features, some)])
    n, n_candidates = partners.counted(some)
    alone = partners.why_none(partners.counted()[0], ALONE)
    moved = _spread_of(r, partners.assessor[some], partners.n_assessors)
    told = partners.why_none(((n >= FEWEST) & moved).astype(np.int64), unmoved)
    why = tuple(first or second for first, second in zip(alone, told, strict=True))
    return Question(name, rows, _line_through(partners), n, n_candidates, why)


def _spread_of(values: Floats, assessor: Ints, j: int) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    found = [values[assessor == number] for number in range(j)]
    return np.asarray([len(of) > 0 and float(np.ptp(of)) > 0 for of in found], dtype=np.bool_)


def _line_through(partners: Partners) -> Callable[[Floats], Floats]:
    j = partners.n_assessors

    def numbers(sums: Floats) -> Floats:
        b = len(sums)
        mine = severities(sums[:, : j * (1 + j)].reshape(b, j, 1 + j), partners)
        at = sums[:, j * (1 + j) :].reshape(b, j, 5 + 2 * j)
        n, r, rr, gap, r_gap = np.moveaxis(at[:, :, :5], 2, 0)
        known = np.where(np.isfinite(mine), mine, 0.0)
        gap = gap + (at[:, :, 5 : 5 + j] @ known[:, :, None])[:, :, 0]
        r_gap = r_gap + (at[:, :, 5 + j :] @ known[:, :, None])[:, :, 0]
        square = n * rr - r * r
        slope = divided(n * r_gap - r * gap, np.where((n >= FEWEST) & (square > 1e-9 * n * n), square, 0.0))
        return _alone(np.where(np.isfinite(mine), slope, np.nan))

    return numbers
