"""Where a pass line could lie, by the scores of candidates of borderline overall impression."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.given import columns_given
from assess.agreement.jackknife import around
from assess.agreement.results import Interval

__all__ = ["BorderlineGroup", "BorderlineRegression", "borderline_group", "borderline_regression"]


@dataclass(frozen=True, slots=True)
class BorderlineRegression:
    """The score at a borderline overall impression, by a straight line; se and ci95 of that point of the line.

    rmse: spread of scores about the line (n - 2); r_squared: share of their variance it explains.
    """

    cut: float | None
    se: float | None = None
    ci95: Interval | None = None
    interval: str = ""
    intercept: float | None = None
    slope: float | None = None
    r_squared: float | None = None
    rmse: float | None = None
    n_candidates: int = 0
    undefined: str | None = None
    warnings: tuple[str, ...] = ()
    sentence: str = ""


def borderline_regression(scores: ArrayLike, impressions: ArrayLike, *, borderline: float) -> BorderlineRegression:
    """The line where scores, fitted to the overall impression of each candidate, meet the borderline impression.

    scores, impressions: a number each per candidate; a candidate with one of them missing is left out.
    Source: Wood, Humphrey-Murto & Norman (2006), Adv. Health Sci. Educ. 11, 115-122 (from memory); the error of a
    fitted mean as in any text on regression.
    """
    x, y = columns_given(impressions, scores)
    borderline, n = float(borderline), len(x)
    if n < 3 or x[0] == x[-1]:
        why = f"{n} candidates, " + ("all with one impression" if n and x[0] == x[-1] else "fewer than three")
        return _no_line(f"{why}: no line can be drawn.", n)
    away = x - x.mean()
    sxx = float(away @ away)
    slope = float(away @ y) / sxx
    rest = y - y.mean() - slope * away
    squares, total = float(rest @ rest), float(((y - y.mean()) ** 2).sum())
    # A rise that is rounding only is no rise.
    if slope * sqrt(sxx) <= 1e-9 * max(1.0, float(np.abs(y).max())):
        return _no_line("The scores do not rise with the overall impression: there is no line to be read from them.", n)
    rmse = sqrt(squares / (n - 2))
    intercept = float(y.mean()) - slope * float(x.mean())
    cut = intercept + slope * borderline
    se = rmse * sqrt(1 / n + (borderline - float(x.mean())) ** 2 / sxx)
    ci95 = around(cut, se, n - 2, low=-np.inf, high=np.inf)
    warnings: tuple[str, ...] = ()
    if not x[0] <= borderline <= x[-1]:
        warnings = (f"Nobody's impression was as far out as {borderline:g}: the line lies outside what was seen.",)
    sentence = f"At the impression {borderline:g} the fitted score is {cut:.2f} ({ci95[0]:.2f} to {ci95[1]:.2f})."
    return BorderlineRegression(
        cut, se, ci95, "t, error of the fitted mean, one score per candidate", intercept, slope, 1 - squares / total,
        rmse, n, None, warnings, " ".join([*warnings, sentence]),
    )  # fmt: skip


def _no_line(why: str, n: int) -> BorderlineRegression:
    return BorderlineRegression(None, n_candidates=n, undefined=why, sentence=why)


@dataclass(frozen=True, slots=True)
class BorderlineGroup:
    """Mean and median score of the n candidates of borderline impression, either of which can be the line."""

    mean: float | None
    median: float | None
    n: int
    undefined: str | None = None
    sentence: str = ""


def borderline_group(scores: ArrayLike, impressions: ArrayLike, *, borderline: float) -> BorderlineGroup:
    """The scores of the candidates whose overall impression is exactly the borderline one; arguments as above.

    Source: Livingston & Zieky (1982), Passing Scores, borderline-group method (from memory).
    """
    x, y = columns_given(impressions, scores)
    group = y[x == borderline]
    if not len(group):
        why = f"No candidate has the impression {borderline:g}."
        return BorderlineGroup(None, None, 0, why, why)
    mean, median = float(group.mean()), float(np.median(group))
    n = len(group)
    sentence = f"{n} borderline candidates: mean score {mean:.2f}, middle score {median:.2f}."
    return BorderlineGroup(mean, median, n, None, sentence)
