"""Marking error of one sheet value, from turns that two or more marked: what the borderline band of a rubric rests on.

It is the error between assessors as they come, severity included; it knows nothing of another task or another day.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.bootstrap import Bootstrap, Patterns
from assess.agreement.results import Estimate
from assess.agreement.scores import Floats, ScoreError

__all__ = ["FEWEST_TURNS", "sheet_error"]

FEWEST_TURNS = 10
ENOUGH_TURNS = 30


def sheet_error(
    candidate: Sequence[str],
    turn: Sequence[str],
    value: ArrayLike,
    *,
    name: str = "sheet error",
    around: float | None = None,
    within: float = 0.5,
    replicates: int = 1000,
    seed: int = 0,
) -> Estimate:
    """Standard deviation of sheet values about what many markers of the same turn would give, in levels.

    One row for each observed sheet: whose, in which turn, its value. Turns with one sheet say nothing and are left
    out. around: only turns whose mean lies `within` of it, such as the pass line; the mean of two values and their
    difference are unrelated as long as the error is the same along the scale, so this choice by itself lowers nothing.
    n: turns; n_scores: sheets. Raises ScoreError for columns of unequal length.
    Source: the within-class standard deviation, sqrt(sum d^2 / 2n) for pairs: Bland & Altman (1996), BMJ 313, 744
    (from memory). The interval resamples candidates on the scale of the logarithm.
    """
    values = np.asarray(value, dtype=np.float64)
    if not len(candidate) == len(turn) == len(values):
        raise ScoreError("the columns are not equally long")
    sums: dict[str, Floats] = {}
    for who, held in _turns(candidate, turn, values):
        if len(held) > 1 and (around is None or abs(float(held.mean()) - around) <= within):
            squares = float(((held - held.mean()) ** 2).sum())
            sums[who] = sums.get(who, np.zeros(4)) + np.array([squares, len(held) - 1, 1, len(held)])
    total = sum(sums.values(), np.zeros(4))
    turns, sheets = int(total[2]), int(total[3])
    if turns < FEWEST_TURNS:
        why = f"not estimable (n={turns} turns marked twice): at least {FEWEST_TURNS} are needed"
        return Estimate(name, None, n=turns, n_candidates=len(sums), n_scores=sheets, undefined=why)
    if total[0] == 0:
        why = f"not estimable (n={turns} turns marked twice): all markers agreed to the last digit"
        return Estimate(name, None, n=turns, n_candidates=len(sums), n_scores=sheets, undefined=why)
    [spread] = Bootstrap(replicates, seed).intervals(_patterns(sums), _log_error)
    error = sqrt(float(total[0]) / float(total[1]))
    ci95 = None if spread.ci95 is None else (float(np.exp(spread.ci95[0])), float(np.exp(spread.ci95[1])))
    se = None if spread.se is None else error * spread.se
    few = (f"{turns} turns are fewer than {ENOUGH_TURNS}: known roughly",) if turns < ENOUGH_TURNS else ()
    return Estimate(
        name, error, se, ci95, spread.interval, turns, len(sums), 0, sheets, None, (*few, *spread.warnings)
    )  # fmt: skip


def _turns(candidate: Sequence[str], turn: Sequence[str], values: Floats) -> list[tuple[str, Floats]]:
    held: dict[tuple[str, str], list[float]] = {}
    for who, where, value in zip(candidate, turn, values, strict=True):
        if not np.isnan(value):
            held.setdefault((who, where), []).append(float(value))
    return [(who, np.sort(np.array(found))) for (who, _), found in sorted(held.items())]


def _patterns(sums: dict[str, Floats]) -> Patterns:
    rows = np.array([sums[who][:2] for who in sorted(sums)])
    return Patterns(rows, np.ones(len(rows), dtype=np.int64))


def _log_error(sums: Floats) -> Floats:
    """Logarithm of the error of each row of sums (squares, degrees of freedom); NaN without any difference."""
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.log(sums[:, :1] / sums[:, 1:2]) / 2
    return np.where(np.isfinite(found), found, np.nan)
