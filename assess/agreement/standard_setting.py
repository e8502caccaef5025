"""Where a pass line could lie, by judges of each item (Angoff); a panel decides on it, not the number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.jackknife import around
from assess.agreement.results import Interval
from assess.agreement.scores import Floats, ScoreError, scores_of

__all__ = ["Angoff", "angoff"]

Named = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Angoff:
    """A line from judges' chances that a candidate just good enough meets each item.

    cut: in items; share: cut by the number of items. judge_totals: the cut each judge alone would set (those who
    judged all items). item_means: mean chance of each item. sd_judges: of the totals. se_judges: error of the cut
    if other judges were asked about these items; se_both: if the items were other ones too. variances: judges,
    items, rest, of one chance; a negative one is shown, and counts as 0 in se_both. ci95: around the cut, over
    judges.
    """

    cut: float | None
    share: float | None = None
    median_cut: float | None = None
    judge_totals: Named = ()
    item_means: Named = ()
    sd_judges: float | None = None
    se_judges: float | None = None
    se_both: float | None = None
    variances: tuple[float, float, float] | None = None
    ci95: Interval | None = None
    interval: str = ""
    undefined: str | None = None
    warnings: tuple[str, ...] = ()
    sentence: str = ""


def angoff(items: Sequence[str], judges: Sequence[str], chances: ArrayLike) -> Angoff:
    """The line from long records: one row per item and judge, the chance from 0 to 1; NaN or no row is missing.

    Where judgements are missing the cut is the sum of the item means, and there is no error.
    Raises ScoreError for a chance outside 0 to 1 or a judge with two for one item.
    Source: Angoff (1971), in Educational Measurement, 2nd ed., 514-515; errors: Brennan (2001), Generalizability
    Theory, judges by items random effects (both from memory).
    """
    values = np.asarray(chances, dtype=np.float64)
    outside = np.flatnonzero((values < 0) | (values > 1))
    if len(outside):
        raise ScoreError(f"{values[outside[0]]:g} is no chance from 0 to 1", int(outside[0]))
    judged = scores_of(items, judges, values)
    table = judged.matrix
    if not table.size:
        why = "Nobody has judged an item."
        return Angoff(None, undefined=why, sentence=why)
    n_items, n_judges = table.shape
    means = np.nanmean(table, axis=1)
    complete = ~np.isnan(table).any(axis=0)
    sums = zip(judged.assessors, table.sum(axis=0), complete, strict=True)
    totals = tuple((name, float(total)) for name, total, whole in sums if whole)
    cut = float(means.sum())
    warnings = _angoff_warnings(judged.assessors, complete)
    errors = None if warnings else _angoff_errors(table)
    median = float(np.median([total for _, total in totals])) if totals else None
    item_means = tuple((name, float(mean)) for name, mean in zip(judged.candidates, means, strict=True))
    says = f"The judges put the line at {cut:.2f} of {n_items} items ({100 * cut / n_items:.0f} %)"
    if errors is None:
        sentence = " ".join([*warnings, says + "."])
        return Angoff(cut, cut / n_items, median, totals, item_means, warnings=warnings, sentence=sentence)
    sd, se, both, variances = errors
    ci95 = around(cut, se, n_judges - 1, low=0.0, high=float(n_items))
    return Angoff(
        cut, cut / n_items, median, totals, item_means, sd, se, both, variances, ci95,
        f"t over {n_judges} judges", None, (),
        f"{says}; other judges like these {n_judges} could put it between {ci95[0]:.2f} and {ci95[1]:.2f}.",
    )  # fmt: skip


def _angoff_warnings(names: tuple[str, ...], complete: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[str, ...]:
    lacking = [name for name, whole in zip(names, complete, strict=True) if not whole]
    if lacking:
        return (f"{', '.join(lacking)} did not judge every item: the error of the line is not known.",)
    if len(names) == 1:
        return ("There is one judge: how far another would differ is not known.",)
    return ()


def _angoff_errors(table: Floats) -> tuple[float, float, float, tuple[float, float, float]]:
    """SD of totals, error over judges, error over both, variances; complete table (items, judges), >= 2 judges."""
    i, j = table.shape
    grand = table.mean()
    by_judge = i * float(((table.mean(axis=0) - grand) ** 2).sum()) / (j - 1)
    se_judges = sqrt(i * by_judge / j)
    sd = sqrt(i * by_judge)
    if i == 1:
        # One item: judges and rest cannot be told apart, and nothing is known of other items.
        return sd, se_judges, se_judges, (by_judge, 0.0, 0.0)
    by_item = j * float(((table.mean(axis=1) - grand) ** 2).sum()) / (i - 1)
    away = table - table.mean(axis=0) - table.mean(axis=1)[:, None] + grand
    rest = float((away**2).sum()) / ((i - 1) * (j - 1))
    judge, item = (by_judge - rest) / i, (by_item - rest) / j
    both = i * sqrt(max(judge, 0.0) / j + max(item, 0.0) / i + rest / (i * j))
    return sd, se_judges, both, (judge, item, rest)
