"""Every pair of assessors: how often they are equal, how far apart, and how alike they rank."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from assess.agreement.bootstrap import RESAMPLED_FROM, Bootstrap, Patterns, Resampled
from assess.agreement.chance import divided
from assess.agreement.cohen import Cohen, cohen, kappa_of_tables
from assess.agreement.paired import bland_altman, rank_correlation, spearman_of_tables, tau_b_of_tables
from assess.agreement.results import Estimate, Interval, Pair
from assess.agreement.scores import Floats, Ints, Scores
from assess.agreement.weights import weight_table, within_one_table
from assess.agreement.words import pair_sentence

__all__ = ["MOST_EMPTY_PAIRS", "MOST_LEVELS", "Common", "common_units", "every_pair"]

MOST_LEVELS = 40
"""Levels a pair may use so that tables are shown and resampled."""
MANY_PAIRS = 100
MOST_EMPTY_PAIRS = 500
"""So many pairs are all listed; beyond it pairs that share no unit are left out."""
_MOST_VALUES = 1000
_Z = 1.959963984540054


@dataclass(frozen=True, eq=False)
class Common:
    """The units two assessors (by index) both scored: candidate, and the level each gave, by index too."""

    a: int
    b: int
    candidate: Ints
    first: Ints
    second: Ints


def every_pair(scores: Scores, common: tuple[Common, ...], weights: str, bootstrap: Bootstrap) -> tuple[Pair, ...]:
    """One Pair for each of `common` (from `common_units`), in order of names, over the units both scored.

    Cohen's kappa is weighted by `weights`; its interval is the normal one with the error of Fleiss, Cohen & Everitt
    from 50 candidates with one unit each, otherwise from resampled candidates, as are the others; of more than
    MANY_PAIRS pairs from the jackknife over candidates.
    """
    if len(common) > MANY_PAIRS:
        # Resampling hundreds of pairs takes seconds and nobody reads them one by one; the jackknife is as honest.
        bootstrap.few = scores.n_units + 1
    tables = None
    if len(scores.levels) <= _MOST_VALUES:
        near = within_one_table(scores.levels, declared=scores.declared)
        tables = (weight_table(weights, scores.levels), near)
    pairs = tuple(_pair(scores, both, tables, bootstrap) for both in common)
    bootstrap.few = RESAMPLED_FROM
    return pairs


def common_units(scores: Scores) -> tuple[Common, ...]:
    """The common units of every pair, or of each pair that has some where pairs are very many."""
    return tuple(_common(scores))


def _common(scores: Scores) -> Iterator[Common]:
    r = len(scores.assessors)
    order = np.argsort(scores.unit * max(1, r) + scores.assessor, kind="stable")
    unit, assessor, level = scores.unit[order], scores.assessor[order], scores.level[order]
    parts, apart = [], 1
    while len(unit) > apart and (same := np.flatnonzero(unit[:-apart] == unit[apart:])).size:
        parts.append((assessor[same] * r + assessor[same + apart], unit[same], level[same], level[same + apart]))
        apart += 1
    none = np.zeros(0, dtype=np.int64)
    key, at, first, second = (np.concatenate(c) for c in zip(*parts, strict=True)) if parts else (none,) * 4
    sort = np.argsort(key * max(1, scores.n_units) + at, kind="stable")
    key, candidate, first, second = key[sort], scores.unit_candidate[at[sort]], first[sort], second[sort]
    pairs = np.unique(key) if r * (r - 1) // 2 > MOST_EMPTY_PAIRS else [a * r + b for a, b in combinations(range(r), 2)]
    starts, ends = np.searchsorted(key, pairs), np.searchsorted(key, pairs, side="right")
    for pair, start, end in zip(pairs, starts, ends, strict=True):
        some = slice(start, end)
        yield Common(int(pair) // r, int(pair) % r, candidate[some], first[some], second[some])


def _pair(scores: Scores, both: Common, tables: tuple[Floats, Floats] | None, bootstrap: Bootstrap) -> Pair:
    n = len(both.first)
    owner = np.unique(both.candidate, return_inverse=True)[1]
    n_candidates = int(owner.max(initial=-1)) + 1
    values = np.asarray(scores.levels)
    result = Cohen(None, None, None, None, None, None)
    hows: tuple[Resampled, ...] = (_NO_INTERVAL,) * 5
    if n == 0 or tables is None:
        numbers = _measured(values[both.first], values[both.second])
    else:
        used = np.unique(np.concatenate([both.first, both.second]))
        k = len(used)
        cell = np.searchsorted(used, both.first) * k + np.searchsorted(used, both.second)
        table = np.bincount(cell, minlength=k * k).reshape(k, k).astype(np.float64)
        weights, near = (table_of_all[np.ix_(used, used)] for table_of_all in tables)
        measures = _Measures(weights, near)
        result = cohen(table, weights)
        numbers = [_number(value) for value in measures(table.reshape(1, -1))[0]]
        hows = _intervals(measures, _patterns(owner, cell, k, n_candidates), bootstrap)
    equal, within, _, rho, tau = numbers
    prevalence, bias = _sides(scores, both)
    pair = Pair(
        scores.assessors[both.a], scores.assessors[both.b], n, n_candidates, equal, within,
        _kappa(result, hows[2], n, n_candidates, len(scores.levels)), result.kappa_max, prevalence, bias,
        bland_altman(values[both.first], values[both.second], owner, bootstrap), rho, tau, _shown(scores, both),
        _share(hows[0].ci95), hows[3].ci95, hows[4].ci95, hows[0].interval,
    )  # fmt: skip
    return replace(pair, sentence=pair_sentence(pair))


def _measured(first: Floats, second: Floats) -> list[float | None]:
    """The measures of scores that are measurements and no levels: no kappa, and ranks where values are not too many."""
    if len(first) == 0:
        return [None] * 5
    few = len(np.unique(np.concatenate([first, second]))) <= _MOST_VALUES
    ranks = rank_correlation(first, second) if few else None
    gap = np.abs(first - second)
    rho, tau = (ranks.spearman, ranks.tau_b) if ranks is not None else (None, None)
    return [float((gap == 0).mean()), float((gap <= 1).mean()), None, rho, tau]


_NO_INTERVAL = Resampled(None, None, "none")


def _share(ci95: Interval | None) -> Interval | None:
    return None if ci95 is None else (max(0.0, ci95[0]), ci95[1])


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


@dataclass(frozen=True, eq=False)
class _Measures:
    """Equal, within one, kappa, Spearman, tau-b of tables laid flat, shape (b, k k) -> (b, 5)."""

    weights: Floats
    near: Floats

    def __call__(self, sums: Floats) -> Floats:
        k = len(self.weights)
        tables = sums.reshape(-1, k, k)
        n = sums.sum(axis=1)
        equal, near = divided(sums @ np.eye(k).ravel(), n), divided(sums @ self.near.ravel(), n)
        ranked = spearman_of_tables(tables), tau_b_of_tables(tables)
        return np.stack([equal, near, kappa_of_tables(tables, self.weights), *ranked], axis=1)


def _patterns(owner: Ints, cell: Ints, k: int, n_candidates: int) -> Patterns | None:
    """Tables of candidates, laid flat; candidates with one unit are told apart by their cell only."""
    if k > MOST_LEVELS:
        return None
    if n_candidates == len(cell):
        times = np.bincount(cell, minlength=k * k)
        return Patterns(np.eye(k * k)[times > 0], times[times > 0])
    rows = np.bincount(owner * k * k + cell, minlength=n_candidates * k * k).reshape(n_candidates, k * k)
    return Patterns(rows.astype(np.float64), np.ones(n_candidates, dtype=np.int64))


def _intervals(measures: _Measures, patterns: Patterns | None, bootstrap: Bootstrap) -> tuple[Resampled, ...]:
    if patterns is None:
        return (Resampled(None, None, f"none: more than {MOST_LEVELS} different values"),) * 5
    return bootstrap.intervals(patterns, measures, (-1.0, 1.0))


def _kappa(result: Cohen, how: Resampled, n: int, n_candidates: int, levels: int) -> Estimate:
    name = "cohen_kappa"
    if result.kappa is None:
        why = "they scored nothing in common" if n == 0 else "both gave one and the same level throughout"
        if n and levels > _MOST_VALUES:
            why = f"there are {levels} different values, too many to be levels of a scale"
        return Estimate(name, None, interval="none", n=n, n_candidates=n_candidates, n_assessors=2, undefined=why)
    ci95, interval, warnings = how.ci95, how.interval, how.warnings
    if n == n_candidates and n >= 50 and result.se:
        ci95 = (result.kappa - _Z * result.se, min(1.0, result.kappa + _Z * result.se))
        interval, warnings = "normal, Fleiss-Cohen-Everitt standard error", ()
    elif n != n_candidates:
        warnings = (*warnings, "the standard errors are the published formulas, which take units as independent")
    return Estimate(
        name, result.kappa, se=result.se, ci95=ci95, interval=interval, n=n, n_candidates=n_candidates,
        n_assessors=2, n_scores=2 * n, warnings=warnings, null_se=result.null_se,
    )  # fmt: skip


def _sides(scores: Scores, both: Common) -> tuple[float | None, float | None]:
    """Prevalence index (both on less both below) and bias index (only a on less only b on), as shares of pairs.

    Source: Byrt, Bishop & Carlin (1993), J. Clin. Epidemiol. 46, 423-429.
    """
    line = scores.levels[1] if scores.line is None and len(scores.levels) == 2 else scores.line
    if line is None or len(both.first) == 0:
        return None, None
    on = np.asarray(scores.levels) >= line
    a, b = on[both.first].mean(), on[both.second].mean()
    return float(a + b - 1), float(a - b)


def _shown(scores: Scores, both: Common) -> tuple[tuple[int, ...], ...]:
    k = len(scores.levels)
    if k > MOST_LEVELS:
        return ()
    cells = np.bincount(both.first * k + both.second, minlength=k * k).reshape(k, k)
    return tuple(tuple(int(cell) for cell in row) for row in cells)
