"""Kendall's W: how far assessors who scored the same units put them in the same order."""

from __future__ import annotations

from dataclasses import dataclass
from math import factorial

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.bootstrap import Bootstrap, Patterns, Resampled
from assess.agreement.chance import divided
from assess.agreement.results import Estimate
from assess.agreement.scores import Floats, Ints, Scores
from assess.agreement.tally import distinct_rows

__all__ = ["Concordance", "concordance", "kendall_w"]

_MOST_RANKINGS = 4000
_MOST_ORDERS = 50_000


@dataclass(frozen=True, slots=True)
class Concordance:
    """Kendall's W corrected for equal values, and tests of no agreement for independent units; None if undefined.

    w_uncorrected: as if there were no equal values. p: by chi2 where more than 7 units are ranked; else from all
    orders, or random ones where they are too many (method says which); chi2_p: by chi2 in any case. f with f_df and
    f_p: the F test. mean_spearman: mean rank correlation of two assessors.
    """

    w: float | None
    w_uncorrected: float | None = None
    chi2: float | None = None
    df: int | None = None
    chi2_p: float | None = None
    p: float | None = None
    method: str = "none"
    f: float | None = None
    f_df: tuple[float, float] | None = None
    f_p: float | None = None
    mean_spearman: float | None = None


def concordance(values: ArrayLike, seed: int = 0) -> Concordance:
    """Kendall's W of complete values, shape (n units, m assessors).

    Source: Kendall & Babington Smith (1939), Ann. Math. Stat. 10, 275-287; Kendall & Gibbons (1990), ch. 6
    (correction for equal values, chi2 for n > 7); Legendre (2005), J. Agric. Biol. Environ. Stat. 10, 226-245 (F).
    """
    table = np.asarray(values, dtype=np.float64)
    n, m = table.shape
    if n < 2 or m < 2:
        return Concordance(None)
    ranks = np.column_stack([_mean_ranks(column) for column in table.T])
    spread = float((ranks**2).sum())
    if np.count_nonzero(ranks.any(axis=0)) < 2:
        return Concordance(None)
    total = float((ranks.sum(axis=1) ** 2).sum())
    w = total / (m * spread)
    chi2 = m * (n - 1) * w
    chi2_p = _chi2_p(chi2, n - 1)
    p, method = (chi2_p, "chi-squared") if n > 7 else _order_p(ranks, seed)
    f_df = (n - 1 - 2 / m, (m - 1) * (n - 1 - 2 / m))
    f = (m - 1) * w / (1 - w) if w < 1 - 1e-12 else None
    return Concordance(
        w,
        12 * total / (m**2 * (n**3 - n)),
        chi2,
        n - 1,
        chi2_p,
        p,
        method,
        f,
        f_df,
        _f_p(f, f_df),
        (m * w - 1) / (m - 1),
    )


def _mean_ranks(column: Floats) -> Floats:
    """Ranks less their mean, equal values sharing theirs."""
    _, place, times = np.unique(column, return_inverse=True, return_counts=True)
    return np.asarray((np.cumsum(times) - times / 2 - len(column) / 2)[place])


def _f_p(f: float | None, df: tuple[float, float]) -> float | None:
    from scipy.special import fdtrc

    return float(fdtrc(*df, f)) if f is not None and df[0] > 0 else None


def _chi2_p(chi2: float, df: int) -> float:
    from scipy.special import chdtrc

    return float(chdtrc(df, chi2))


def _order_p(ranks: Floats, seed: int) -> tuple[float, str]:
    """The p that follows from the orders assessors could have given, all of them or random ones."""
    n, m = ranks.shape
    seen = float((ranks.sum(axis=1) ** 2).sum()) * (1 - 1e-9)
    if factorial(n) ** (m - 1) <= _MOST_ORDERS:
        return float(((_all_orders(ranks) ** 2).sum(axis=1) >= seen).mean()), "all orders"
    rng = np.random.default_rng(seed)
    mixed = rng.permuted(np.broadcast_to(ranks.T, (9999, m, n)), axis=2).sum(axis=1)
    return (1 + int(((mixed**2).sum(axis=1) >= seen).sum())) / 10_000, "9,999 random orders"


def _all_orders(ranks: Floats) -> Floats:
    """Sums of ranks for every way the assessors but the first could have ordered the units."""
    from itertools import permutations

    n, m = ranks.shape
    orders = np.array(list(permutations(range(n))))
    sums = ranks[None, :, 0]
    for g in range(1, m):
        sums = (sums[:, None, :] + ranks[orders, g][None, :, :]).reshape(-1, n)
    return np.asarray(sums)


def kendall_w(scores: Scores, bootstrap: Bootstrap) -> Estimate:
    """Kendall's W over the units every assessor scored, with an interval from resampled candidates.

    Units not scored by all are left out and counted in the warnings. None with the reason where fewer than two
    units were scored by all or fewer than two assessors told units apart.
    """
    complete = _complete_units(scores)
    m = len(scores.assessors)
    if (why := _why_not(scores, len(complete))) is not None:
        return _none(scores, why)
    place = np.full(scores.n_units, -1, dtype=np.int64)
    place[complete] = np.arange(len(complete))
    kept = place[scores.unit] >= 0
    rows = np.zeros((len(complete), m), dtype=np.int64)
    rows[place[scores.unit[kept]], scores.assessor[kept]] = scores.level[kept]
    first, pattern, times = distinct_rows(rows)
    ranked = _Ranked(rows[first])
    if sum(ranked.told_apart) < 2:
        return _none(scores, "fewer than two assessors told units apart, so there are no orders to compare")
    value = float(ranked.statistic(times[None, :].astype(np.float64))[0, 0])
    owner = scores.unit_candidate[complete]
    how = _resampled(ranked, owner, pattern, times, bootstrap)
    left = scores.n_units - len(complete)
    notes = (f"{left} of {scores.n_units} units were not scored by all and are left out",) if left else ()
    return Estimate(
        "kendall_w", value, se=how.se, ci95=how.ci95, interval=how.interval, n=len(complete),
        n_candidates=len(np.unique(owner)), n_assessors=m, n_scores=len(complete) * m, warnings=(*how.warnings, *notes),
    )  # fmt: skip


def _complete_units(scores: Scores) -> Ints:
    given = np.bincount(scores.unit, minlength=scores.n_units)
    return np.flatnonzero(given == len(scores.assessors))


def _why_not(scores: Scores, complete: int) -> str | None:
    if scores.n_scores == 0:
        return "there are no scores"
    if len(scores.assessors) == 1:
        return "there is only one assessor, and nobody to compare with"
    if complete < 2:
        return "it needs at least two units that every assessor scored" + (", and there is one" if complete else "")
    return None


def _none(scores: Scores, why: str) -> Estimate:
    return Estimate(
        "kendall_w", None, interval="none", n_assessors=len(scores.assessors), n_scores=scores.n_scores, undefined=why
    )


def _resampled(ranked: _Ranked, owner: Ints, pattern: Ints, times: Ints, bootstrap: Bootstrap) -> Resampled:
    if len(times) > _MOST_RANKINGS:
        return Resampled(None, None, f"none: more than {_MOST_RANKINGS} different rows of scores")
    _, candidate = np.unique(owner, return_inverse=True)
    n, p = int(candidate.max()) + 1, len(times)
    if n == len(owner):
        return bootstrap.intervals(Patterns(np.eye(p), times), ranked.statistic, (0.0, 1.0))[0]
    from scipy.sparse import csr_array

    rows = csr_array((np.ones(len(owner)), (candidate, pattern)), shape=(n, p))
    return bootstrap.intervals(Patterns(rows, np.ones(n, dtype=np.int64)), ranked.statistic, (0.0, 1.0))[0]


class _Ranked:
    """W of distinct rows of levels, shape (p, m), each taken so often."""

    def __init__(self, levels: Ints) -> None:
        self.places = [np.unique(column, return_inverse=True)[1] for column in levels.T]
        self.told_apart = [bool(place.any()) for place in self.places]

    def statistic(self, often: Floats) -> Floats:
        """W for each set of counts of the rows, shape (b, p) -> (b, 1); ranks are made anew in every set."""
        n = often.sum(axis=1, keepdims=True)
        sums, spread = np.zeros_like(often), np.zeros(len(often))
        for place in self.places:
            held = np.zeros((often.shape[1], int(place.max()) + 1))
            held[np.arange(len(place)), place] = 1.0
            given = often @ held
            rank = np.cumsum(given, axis=1) - given / 2 - n / 2
            sums += rank[:, place]
            spread += (given * rank**2).sum(axis=1)
        return divided((often * sums**2).sum(axis=1), len(self.places) * spread)[:, None]
