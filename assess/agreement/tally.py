"""Units by how often each level was given to them, equal units held once: what makes a million scores small."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, cast

import numpy as np

from assess.agreement.bootstrap import Patterns, Resampled
from assess.agreement.results import Estimate
from assess.agreement.scores import Floats, Ints, Scores

if TYPE_CHECKING:
    from scipy.sparse import csr_array

__all__ = [
    "MOST_CELLS",
    "MOST_LEVELS",
    "Tally",
    "distinct_rows",
    "estimated",
    "no_comparison",
    "one_level",
    "tally_of",
    "undefined",
]

MOST_CELLS = 50_000_000
"""Units times levels that are still counted; beyond it the values are measurements, not levels."""
MOST_LEVELS = 2000
"""Likewise the levels themselves."""


@dataclass(frozen=True, eq=False)
class Tally:
    """Distinct units. counts: scores by level, shape (n_patterns, n_levels); times: how many units are like that.

    pattern: for every unit the index of its row in counts, shape (n_units,). unit_candidate: the candidate of each
    unit; n_candidates: how many there are.
    """

    counts: Floats
    times: Ints
    pattern: Ints
    unit_candidate: Ints
    n_candidates: int

    @cached_property
    def n_scores(self) -> Floats:
        """Scores of a unit, by pattern, shape (n_patterns,)."""
        return np.asarray(self.counts.sum(axis=1))

    @cached_property
    def comparable(self) -> Floats:
        """1 for a pattern of at least two scores, else 0, shape (n_patterns,)."""
        return (self.n_scores >= 2).astype(np.float64)

    @property
    def n_comparable(self) -> int:
        """How many units have at least two scores."""
        return int(self.comparable @ self.times)

    @cached_property
    def n_candidates_compared(self) -> int:
        """How many candidates have a unit with at least two scores."""
        return len(np.unique(self.unit_candidate[self.comparable[self.pattern] > 0]))

    @property
    def n_pairs(self) -> int:
        """How many pairs of scores of the same unit there are."""
        return int((self.n_scores * (self.n_scores - 1) / 2) @ self.times)

    @property
    def one_unit_each(self) -> bool:
        """Whether no candidate has more than one unit, so that units are independent."""
        return len(self.pattern) == self.n_candidates

    def per_candidate(self, columns: Floats | csr_array) -> Patterns:
        """Sums over the units of each candidate of what `columns` says per pattern, shape (n_patterns, c)."""
        if self.one_unit_each:
            return Patterns(columns, self.times)
        from scipy.sparse import csr_array

        shape = (self.n_candidates, len(self.times))
        ones = np.ones(len(self.pattern))
        held = csr_array((ones, (self.unit_candidate, self.pattern)), shape=shape)
        return Patterns(cast("Floats | csr_array", held @ columns), np.ones(self.n_candidates, dtype=np.int64))


def tally_of(scores: Scores) -> Tally:
    """The distinct units of a set of scores, in an order that does not depend on names or on the input's order.

    Of scores that are measurements (see MOST_CELLS, MOST_LEVELS) nothing is counted, and the tally is empty.
    """
    if len(scores.levels) > MOST_LEVELS or scores.n_units * len(scores.levels) > MOST_CELLS:
        nothing = np.zeros(0, dtype=np.int64)
        return Tally(np.zeros((0, len(scores.levels))), nothing, nothing, nothing, 0)
    counts = scores.counts
    kept, pattern, times = distinct_rows(counts.astype(np.int64))
    return Tally(counts[kept], times, pattern, scores.unit_candidate, len(scores.candidates))


def no_comparison(scores: Scores, tally: Tally) -> str | None:
    """Why these scores say nothing about agreement, or None when they do."""
    if scores.n_scores == 0:
        return "there are no scores"
    if len(scores.assessors) == 1:
        return "there is only one assessor, and nobody to compare with"
    if len(tally.pattern) == 0:
        return f"there are {len(scores.levels)} different values, too many to be levels of a scale"
    if tally.n_comparable == 0:
        return "no two assessors scored the same thing"
    return None


def one_level(scores: Scores, tally: Tally) -> str:
    """The sentence for scores that leave agreement no room above chance."""
    used = np.flatnonzero((tally.counts * tally.comparable[:, None]).any(axis=0))
    if len(used) == 1:
        level = scores.levels[int(used[0])]
        return f"every score is {level:g}: they agree in 100 %, and so would scores given by chance"
    return "scores given by chance would agree just as fully, so there is nothing to measure above chance"


def undefined(name: str, scores: Scores, why: str, tally: Tally | None = None) -> Estimate:
    """An estimate that does not exist, with the reason."""
    n, candidates = (tally.n_comparable, tally.n_candidates_compared) if tally is not None else (0, 0)
    return Estimate(
        name, None, n=n, n_candidates=candidates, n_assessors=len(scores.assessors), n_scores=scores.n_scores,
        undefined=why, interval="none",
    )  # fmt: skip


def estimated(
    name: str,
    scores: Scores,
    tally: Tally,
    value: float,
    how: Resampled,
    null_se: float | None = None,
) -> Estimate:
    """An estimate with its error and interval and the numbers it rests on: units of at least two scores."""
    return Estimate(
        name, value, se=how.se, ci95=how.ci95, interval=how.interval, n=tally.n_comparable,
        n_candidates=tally.n_candidates_compared, n_assessors=len(scores.assessors),
        n_scores=int((tally.n_scores * tally.comparable) @ tally.times), warnings=how.warnings, null_se=null_se,
    )  # fmt: skip


def distinct_rows(rows: Ints) -> tuple[Ints, Ints, Ints]:
    """Rows to keep, for every row the index of its like among them, and how often each occurs.

    rows: whole numbers from 0 up, shape (n, c). The order is by value. Very wide rows are all kept as they are.
    """
    n, width = rows.shape
    base = int(rows.max(initial=0)) + 1
    if width * np.log2(max(2, base)) > 62:
        every = np.arange(n)
        return every, every, np.ones(n, dtype=np.int64)
    key = rows @ (base ** np.arange(width, dtype=np.int64))
    if base**width > 4 * n + 20_000:
        _, kept, pattern, times = np.unique(key, return_index=True, return_inverse=True, return_counts=True)
        return kept, pattern, times
    occurs = np.bincount(key, minlength=base**width)
    present = np.flatnonzero(occurs)
    place = np.zeros(len(occurs), dtype=np.int64)
    place[present] = np.arange(len(present))
    pattern = place[key]
    kept = np.zeros(len(present), dtype=np.int64)
    kept[pattern] = np.arange(n)
    return kept, pattern, occurs[present]
