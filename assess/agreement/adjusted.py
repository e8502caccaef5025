"""Module means with estimated severity taken out, to be shown beside the means as they are; no rule reads them.

Severity is that of rater_slopes.py: least squares, slot + assessor, on sheet values. An assessor's severity is taken
from each of the sheets that count in the module mean, so that the mean falls by the mean of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assess.agreement.bootstrap import FEWEST, Bootstrap
from assess.agreement.rater_chance import patterns_of
from assess.agreement.rater_partners import partners_of
from assess.agreement.rater_slopes import severity
from assess.agreement.results.adjusted import AdjustedMean, AdjustedMeans, Shift
from assess.agreement.scores import Floats
from assess.agreement.sheets import MarkedSheet, sheets_of

__all__ = ["ModuleMean", "adjusted_means"]

SENTENCE = (
    "Means with the estimated severity of their markers taken out. No rule here reads them: they are for training and"
    " for an appeal. The range is what is not known of the severities; the error of the marks comes on top."
)
INTERVAL = "Student's t, jackknife over candidates; of the severities alone"


@dataclass(frozen=True, slots=True)
class ModuleMean:
    """A module mean and whose sheets it is the mean of, one name for each sheet."""

    candidate: str
    module: str
    mean: float
    assessors: tuple[str, ...]


def adjusted_means(
    sheets: Sequence[MarkedSheet], levels: Sequence[float], modules: Sequence[ModuleMean]
) -> AdjustedMeans:
    """The means without the severities of those who marked; none, with the reason, where these cannot be compared.

    A module with a sheet of somebody whose severity is not known has no adjusted mean. Raises ScoreError for sheets
    that are none.
    """
    partners = partners_of(sheets_of(sheets, levels))
    names, question = partners.sheets.assessors, severity(partners)
    if len(names) < 2 or len(partners.pieces) != 1:
        why = next((reason for reason in question.why if reason), "fewer than two assessors marked the same")
        return AdjustedMeans(undefined=f"Severity cannot be taken out: {why}.")
    patterns = patterns_of(question)
    if patterns.n < FEWEST:
        return AdjustedMeans(
            undefined=f"Severity cannot be taken out: fewer than {FEWEST} candidates were marked by two or more."
        )
    known = {name for name, why in zip(names, question.why, strict=True) if why is None}
    asked = [one for one in modules if one.assessors and set(one.assessors) <= known]
    share = np.array([[one.assessors.count(name) / len(one.assessors) for name in names] for one in asked])
    share = share.reshape(len(asked), len(names))
    mean = np.array([one.mean for one in asked])

    def numbers(sums: Floats) -> Floats:
        levels_more = question.numbers(sums)[:, 0]
        # Who has no severity has no share either.
        taken = np.nan_to_num(levels_more) @ share.T
        lost = np.isnan(levels_more[:, [name in known for name in names]]).any(axis=1)
        return np.concatenate([levels_more, np.where(lost[:, None], np.nan, mean - taken)], axis=1)

    seen = numbers(patterns.total())[0]
    # Student's t from the jackknife whatever the number of candidates: the same input, the same bytes, and quickly.
    hows = Bootstrap(few=patterns.n + 1).intervals(patterns, numbers)
    shifts = tuple(
        Shift(name, float(seen[i]), hows[i].ci95, int(question.n[i]), int(question.n_candidates[i]))
        for i, name in enumerate(names)
        if name in known
    )
    adjusted = tuple(
        AdjustedMean(one.candidate, one.module, float(seen[i]), hows[i].ci95, len(one.assessors))
        for i, one in enumerate(asked, start=len(names))
    )
    there = any(how.ci95 is not None for how in hows)
    return AdjustedMeans(shifts, adjusted, INTERVAL if there else "none", SENTENCE)
