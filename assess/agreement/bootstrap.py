"""The one bootstrap: candidates drawn again with their assessors kept, and intervals from what that gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from assess.agreement.scores import Floats, Ints

if TYPE_CHECKING:
    from scipy.sparse import csr_array

__all__ = [
    "FEW",
    "FEWEST",
    "RESAMPLED_FROM",
    "Bootstrap",
    "Cancelled",
    "Patterns",
    "Progress",
    "Resampled",
    "Statistics",
    "jackknife_variance",
    "tell",
]

Progress = Callable[[float], bool]
"""Told the share that is done, 0 to 1; answers False to stop."""
Statistics = Callable[[Floats], Floats]
"""From sums over candidates, shape (b, c), to s statistics of each, shape (b, s); NaN where one does not exist."""

FEW = 10
"""Below so many candidates an interval is called rough."""
RESAMPLED_FROM = 16
"""Below so many candidates resamples are too alike to make an interval of."""
FEWEST = 3
"""Below so many candidates there is no interval."""
ANYWHERE = (-np.inf, np.inf)
UP_TO_ONE = (-np.inf, 1.0)
_CELLS = 4_000_000


class Cancelled(Exception):
    """Whoever asked for the statistics has stopped waiting."""


@dataclass(frozen=True, eq=False)
class Patterns:
    """Candidates by what they add to the sums. rows: one per distinct candidate, shape (p, c), dense or sparse.

    times: how many candidates are like that, shape (p,).
    """

    rows: Floats | csr_array
    times: Ints

    @property
    def n(self) -> int:
        """How many candidates."""
        return int(self.times.sum())

    def sums(self, counts: Floats) -> Floats:
        """Sums over candidates drawn so often, counts of shape (b, p); shape (b, c)."""
        if isinstance(self.rows, np.ndarray):
            return np.asarray(counts @ self.rows)
        return np.asarray((self.rows.T @ counts.T).T)

    def total(self) -> Floats:
        """Sums over the candidates as they are, shape (1, c)."""
        return self.sums(self.times[None, :].astype(np.float64))

    def saying(self) -> Patterns:
        """Without candidates that add nothing: they have no say in the statistic."""
        some = self.rows.any(axis=1) if isinstance(self.rows, np.ndarray) else np.diff(self.rows.indptr) > 0
        return self if some.all() else Patterns(self.rows[some], self.times[some])

    def dense(self, some: slice) -> Floats:
        """Some of the rows, dense."""
        return self.rows[some] if isinstance(self.rows, np.ndarray) else np.asarray(self.rows[some].toarray())


def tell(progress: Progress | None, share: float) -> None:
    """Tell the share of the work that is done; raises Cancelled when the answer is False."""
    if progress is not None and progress(share) is False:
        raise Cancelled


@dataclass(frozen=True, slots=True)
class Resampled:
    """What resampling says of one statistic: its standard error, its 95 % interval and how that was made."""

    se: float | None
    ci95: tuple[float, float] | None
    interval: str
    warnings: tuple[str, ...] = ()


@dataclass(eq=False)
class Bootstrap:
    """Resamples of candidates. replicates: how many; seed: the same seed draws the same; steps: calls to come.

    few: below so many candidates the jackknife takes the place of resamples. `intervals` may raise Cancelled when
    progress answers False.
    """

    replicates: int = 1000
    seed: int = 0
    progress: Progress | None = None
    steps: int = 1
    few: int = RESAMPLED_FROM
    _done: int = 0
    _drawn: dict[int, Floats] = field(default_factory=dict)

    def intervals(
        self, patterns: Patterns, statistics: Statistics, within: tuple[float, float] = ANYWHERE
    ) -> tuple[Resampled, ...]:
        """One result for each statistic; `within` cuts an interval to where the statistic can be.

        From `few` candidates: bias-corrected and accelerated, or percentile where that cannot be made; the acceleration
        is the jackknife's, one distinct candidate left out at a time. With fewer: Student's t with the jackknife's
        standard error, because there resamples are too alike; percentile where a statistic does not exist without some
        candidate. Of simulated 95 % intervals of ordinal alpha and AC2 with 12 candidates and 4 assessors 90 of 100
        held the truth as BCa, 95 as this; with 20 candidates 94 and 96. None with the reason for fewer than FEWEST
        candidates, a statistic that does not exist, or one that no candidate moves.
        Source: Efron (1987), J. Am. Stat. Assoc. 82, 171-185; Efron & Tibshirani (1993), ch. 11; Davison & Hinkley
        (1997), ch. 3.8 for clusters.
        """
        seen = statistics(patterns.total())[0]
        there = np.isfinite(seen)
        why = None
        if not there.any() or patterns.n < FEWEST:
            why = f"none: fewer than {FEWEST} candidates"
        elif patterns.n >= self.few and self.replicates < 2:
            why = "none: no resamples asked for"
        if why is not None:
            self._done += 1
            return (Resampled(None, None, why),) * len(seen)
        left_out = _left_out(patterns, statistics)
        drawn = np.zeros((0, len(seen)))
        if self.replicates > 1 and (patterns.n >= self.few or not np.isfinite(left_out[:, there]).all()):
            parts = [statistics(patterns.sums(counts)) for counts in self._counts(patterns)]
            drawn = np.concatenate([drawn, *parts])
        else:
            self._tell(0.5)
        self._done += 1
        return tuple(
            _summary(float(seen[s]), drawn[:, s], left_out[:, s], patterns.times, within, self.few)
            if there[s]
            else _NOTHING
            for s in range(len(seen))
        )

    def _counts(self, patterns: Patterns) -> Iterator[Floats]:
        times, n, p = patterns.times, patterns.n, len(patterns.times)
        if n == p <= 100 and patterns.rows.shape[1] * self.replicates <= _CELLS:
            # Pairs of assessors mostly share few numbers of candidates: the same draw serves them all.
            if n not in self._drawn:
                self._drawn[n] = _equal_counts(np.random.default_rng(self.seed), n, self.replicates)
            self._tell(0.5)
            yield self._drawn[n]
            return
        rng = np.random.default_rng(self.seed)
        at_once = max(1, _CELLS // max(p, patterns.rows.shape[1]))
        for start in range(0, self.replicates, at_once):
            self._tell(start / self.replicates)
            b = min(at_once, self.replicates - start)
            yield _equal_counts(rng, n, b) if n == p else rng.multinomial(n, times / n, size=b).astype(np.float64)

    def finish(self) -> None:
        """Says that everything is done."""
        self._done = self.steps
        self._tell(0.0)

    def _tell(self, share: float) -> None:
        tell(self.progress, min(1.0, (self._done + share) / self.steps))


_NOTHING = Resampled(None, None, "")


def _equal_counts(rng: np.random.Generator, n: int, b: int) -> Floats:
    chosen = rng.integers(0, n, size=(b, n)) + n * np.arange(b)[:, None]
    return np.bincount(chosen.ravel(), minlength=b * n).reshape(b, n).astype(np.float64)


def _left_out(patterns: Patterns, statistics: Statistics) -> Floats:
    """The statistics with one candidate of each pattern left out, shape (p, s)."""
    total = patterns.total()
    at_once = max(1, _CELLS // total.shape[1])
    starts = range(0, len(patterns.times), at_once)
    return np.concatenate([statistics(total - patterns.dense(slice(start, start + at_once))) for start in starts])


def jackknife_variance(patterns: Patterns, statistics: Statistics) -> Floats:
    """Jackknife variance of each statistic, one candidate (or whatever a row is) left out at a time, shape (s,).

    NaN where a statistic does not exist without some row.
    """
    return _spread(_left_out(patterns, statistics), patterns.times)


def _spread(left_out: Floats, times: Ints) -> Floats:
    n = int(times.sum())
    weights = times[:, None] / n
    mean = (left_out * weights).sum(axis=0)
    return np.asarray((n - 1) * (weights * (left_out - mean) ** 2).sum(axis=0))


def _summary(
    seen: float, drawn: Floats, left_out: Floats, times: Ints, within: tuple[float, float], few: int
) -> Resampled:
    n = int(times.sum())
    if n < few and np.isfinite(left_out).all():
        return _by_student(seen, left_out, times, within)
    kept, asked = drawn[np.isfinite(drawn)], len(drawn)
    warnings = [_rough(n)] if n < FEW else []
    if len(kept) < asked:
        warnings.append(f"did not exist in {asked - len(kept)} of {asked} resamples; they are left out of the interval")
    if len(kept) < max(2, asked // 2):
        why = "none: it does not exist in most resamples" if asked > 1 else "none: no resamples asked for"
        return Resampled(None, None, why, tuple(warnings))
    se = float(np.std(kept, ddof=1))
    if np.ptp(kept) <= 1e-12 * max(1.0, abs(seen)):
        return Resampled(None, None, _UNMOVED, tuple(warnings))
    name, shares = _shares(seen, kept, left_out, times)
    low, high = np.quantile(kept, shares)
    return Resampled(se, (float(low), float(high)), f"{name} over {n} candidates, {asked} resamples", tuple(warnings))


_UNMOVED = "none: every candidate says the same"


def _rough(n: int) -> str:
    return f"only {n} candidates: the interval is rough"


def _by_student(seen: float, left_out: Floats, times: Ints, within: tuple[float, float]) -> Resampled:
    from scipy.special import stdtrit

    n = int(times.sum())
    se = float(_spread(left_out[:, None], times)[0] ** 0.5)
    warnings = (_rough(n),) if n < FEW else ()
    if se <= 1e-12 * max(1.0, abs(seen)):
        return Resampled(None, None, _UNMOVED, warnings)
    reach = float(stdtrit(n - 1, 0.975)) * se
    ends = (max(within[0], seen - reach), min(within[1], seen + reach))
    text = f"Student's t over {n} candidates, jackknife standard error"
    return Resampled(se, ends, text, warnings)


def _shares(seen: float, kept: Floats, left_out: Floats, times: Ints) -> tuple[str, Floats]:
    """Which shares of the resamples the interval lies between, and what that is called."""
    from scipy.special import ndtr

    shift, bend = _bias(seen, kept), _acceleration(left_out, times)
    if shift is not None and bend is not None:
        moved = shift + np.array([-1.0, 1.0]) * 1.959963984540054
        if (1 - bend * moved > 0.1).all():
            return "BCa bootstrap", np.asarray(ndtr(shift + moved / (1 - bend * moved)))
    return "percentile bootstrap", np.array([0.025, 0.975])


def _bias(seen: float, kept: Floats) -> float | None:
    """How far the resamples lie to one side of the estimate, in normal deviates; None when all do."""
    from scipy.special import ndtri

    near = 1e-12 * max(1.0, abs(seen))
    share = float(np.mean(kept < seen - near) + np.mean(np.abs(kept - seen) <= near) / 2)
    return float(ndtri(share)) if 0.0 < share < 1.0 else None


def _acceleration(left_out: Floats, times: Ints) -> float | None:
    """Skewness of the influence of single candidates; None when the statistic does not exist without one of them."""
    if not np.isfinite(left_out).all():
        return None
    gap = (left_out * times).sum() / times.sum() - left_out
    square = float((times * gap**2).sum())
    return float((times * gap**3).sum()) / (6 * square**1.5) if square > 0 else None
