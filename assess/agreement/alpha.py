"""Krippendorff's alpha from coincidences, for one set of sums over candidates or a thousand at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from assess.agreement.bootstrap import UP_TO_ONE, Bootstrap, Patterns, jackknife_variance
from assess.agreement.chance import divided
from assess.agreement.results import Estimate
from assess.agreement.scores import Floats, Ints, Scores
from assess.agreement.tally import Tally, estimated, no_comparison, one_level, undefined
from assess.agreement.weights import distance_table

if TYPE_CHECKING:
    from scipy.sparse import csr_array

__all__ = ["Alpha", "effective_criteria", "krippendorff_alpha"]


class Alpha:
    """Alpha of a tally. columns: what each distinct unit adds, (n_patterns, k + pairs of levels that ever meet).

    The first k columns are pairable scores by level, the others coincidences of two different levels. `statistics`
    takes sums of such rows.
    Source: Krippendorff (2011), Computing Krippendorff's Alpha-Reliability; Hayes & Krippendorff (2007).
    """

    def __init__(self, tally: Tally, levels: Sequence[float], metric: str) -> None:
        self.levels = len(levels)
        self.metric = metric
        row, low, high, met = _coincidences(tally)
        cell = low * self.levels + high
        # Marking the cells that occur is ten times faster than sorting them.
        occurs = np.zeros(self.levels**2, dtype=bool)
        occurs[cell] = True
        there = np.flatnonzero(occurs)
        self.low, self.high = there // self.levels, there % self.levels
        self.columns = _columns(tally, row, (np.cumsum(occurs) - 1)[cell], len(there), met)
        self.table = None if metric == "ordinal" else distance_table(metric, levels)

    def statistics(self, sums: Floats) -> Floats:
        """Alpha of each set of sums, shape (b, k + pairs) -> (b, 1); NaN where only one level occurs."""
        given, met = sums[:, : self.levels], sums[:, self.levels :]
        if self.table is None:
            seen, foreseen = self._ordinal(given, met)
        else:
            seen = met @ self.table[self.low, self.high]
            foreseen = ((given @ self.table) * given).sum(axis=1) / 2
        return np.asarray((1.0 - (given.sum(axis=1) - 1) * divided(seen, foreseen))[:, None])

    def _ordinal(self, given: Floats, met: Floats) -> tuple[Floats, Floats]:
        """The ordinal distance is the gap of two levels' mean ranks, so it is made anew for every set of sums."""
        n = given.sum(axis=1, keepdims=True)
        rank = np.cumsum(given, axis=1) - given / 2 - n / 2
        seen = (met * (rank[:, self.low] - rank[:, self.high]) ** 2).sum(axis=1)
        return np.asarray(seen), np.asarray(n[:, 0] * (given * rank**2).sum(axis=1))


def _coincidences(tally: Tally) -> tuple[Ints, Ints, Ints, Floats]:
    """Per distinct unit and pair of different levels in it: the unit, the lower, the higher, and their weight."""
    counts, given = tally.counts, tally.n_scores
    unit, level = np.nonzero(counts)
    often = counts[unit, level]
    parts = []
    apart = 1
    while len(unit) > apart and (same := np.flatnonzero(unit[:-apart] == unit[apart:])).size:
        row = unit[same]
        weight = often[same] * often[same + apart] / (given[row] - 1)
        parts.append((row, level[same], level[same + apart], weight))
        apart += 1
    if not parts:
        none = np.zeros(0, dtype=np.int64)
        return none, none, none, np.zeros(0)
    row, low, high, weight = (np.concatenate(column) for column in zip(*parts, strict=True))
    return row, low, high, weight


def _columns(tally: Tally, row: Ints, column: Ints, pairs: int, met: Floats) -> Floats | csr_array:
    pairable = tally.counts * tally.comparable[:, None]
    shape = (len(pairable), pairs)
    if pairable.shape[0] * (pairable.shape[1] + pairs) <= 4_000_000:
        dense = np.zeros(shape)
        dense[row, column] = met
        return np.hstack([pairable, dense])
    from scipy.sparse import csr_array, hstack

    return csr_array(hstack([csr_array(pairable), csr_array((met, (row, column)), shape=shape)]))


def krippendorff_alpha(scores: Scores, tally: Tally, metric: str, bootstrap: Bootstrap) -> Estimate:
    """Krippendorff's alpha with its standard error and interval from resampled candidates.

    None where it does not exist: nothing to compare, one level throughout, a ratio distance of negative scores.
    """
    name = "krippendorff_alpha"
    if (why := no_comparison(scores, tally)) is not None:
        return undefined(name, scores, why, tally)
    if metric == "ratio" and min(scores.levels) < 0:
        return undefined(name, scores, "the ratio distance has no meaning for scores below 0", tally)
    alpha = Alpha(tally, scores.levels, metric)
    patterns = tally.per_candidate(alpha.columns).saying()
    value = float(alpha.statistics(patterns.total())[0, 0])
    if not np.isfinite(value):
        return undefined(name, scores, one_level(scores, tally), tally)
    return estimated(name, scores, tally, value, bootstrap.intervals(patterns, alpha.statistics, UP_TO_ONE)[0])


def effective_criteria(scores: Scores, tally: Tally, metric: str) -> float | None:
    """Of how many independent units the units of one candidate are worth, for alpha.

    The mean number of units per candidate divided by the design effect, which is the jackknife variance of alpha by
    candidate over that by unit; kept between 1 and the mean number. None where alpha does not exist, a candidate
    is needed for it to exist, or no candidate has more than one unit.
    Source: Kish (1965), Survey Sampling, ch. 5 and 8 (design effect).
    """
    if tally.one_unit_each or tally.n_candidates < 2 or no_comparison(scores, tally) is not None:
        return None
    alpha = Alpha(tally, scores.levels, metric)
    by_candidate = float(jackknife_variance(tally.per_candidate(alpha.columns).saying(), alpha.statistics)[0])
    by_unit = float(jackknife_variance(Patterns(alpha.columns, tally.times).saying(), alpha.statistics)[0])
    if not (np.isfinite(by_candidate) and np.isfinite(by_unit)) or by_candidate <= 0:
        return None
    each = tally.n_comparable / tally.n_candidates_compared
    return float(np.clip(each * by_unit / by_candidate, 1.0, each))
