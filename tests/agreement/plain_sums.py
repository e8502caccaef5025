"""Second answers: each coefficient written out as sums over every pair of scores, as its paper defines it."""

from __future__ import annotations

from collections.abc import Callable
from itertools import permutations

import numpy as np

from tests.agreement.score_tables import Table

__all__ = [
    "alpha_by_pairs",
    "brennan_prediger_by_pairs",
    "conger_by_pairs",
    "fleiss_by_pairs",
    "gwet_by_pairs",
    "observed",
]

Weight = Callable[[float, float], float]


def _units(table: Table) -> list[list[float]]:
    return [[float(x) for x in row if not np.isnan(x)] for row in table if not np.isnan(row).all()]


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


def observed(table: Table, weight: Weight) -> float:
    """Mean over units of the mean over their pairs (Gwet 2014, ch. 2)."""
    return _mean([_mean([weight(x, y) for x, y in permutations(u, 2)]) for u in _units(table) if len(u) > 1])


def _corrected(seen: float, chance: float) -> float:
    return (seen - chance) / (1 - chance)


def fleiss_by_pairs(table: Table, weight: Weight) -> float:
    """Chance: two scores of two units drawn with replacement (Fleiss 1971)."""
    units = _units(table)
    chance = _mean([_mean([weight(x, y) for x in u for y in v]) for u in units for v in units])
    return _corrected(observed(table, weight), chance)


def gwet_by_pairs(table: Table, weight: Weight, levels: list[float]) -> float:
    """Chance: sum of weights / (q (q - 1)) times sum of share (1 - share) (Gwet 2008, 2014)."""
    units, q = _units(table), len(levels)
    shares = [_mean([u.count(level) / len(u) for u in units]) for level in levels]
    size = sum(weight(x, y) for x in levels for y in levels) / (q * (q - 1))
    return _corrected(observed(table, weight), size * sum(p * (1 - p) for p in shares))


def brennan_prediger_by_pairs(table: Table, weight: Weight, levels: list[float]) -> float:
    """Chance: two levels of the scale drawn blindly (Brennan & Prediger 1981)."""
    return _corrected(observed(table, weight), _mean([weight(x, y) for x in levels for y in levels]))


def conger_by_pairs(table: Table, weight: Weight) -> float:
    """Chance: mean over ordered pairs of assessors of their scores drawn independently (Conger 1980)."""
    given = [[float(x) for x in column if not np.isnan(x)] for column in table.T if not np.isnan(column).all()]
    chance = _mean([_mean([weight(x, y) for x in g for y in h]) for g, h in permutations(given, 2)])
    return _corrected(observed(table, weight), chance)


def alpha_by_pairs(table: Table, metric: str) -> float:
    """1 - observed / expected disagreement over all pairable values (Krippendorff 2011)."""
    units = [u for u in _units(table) if len(u) > 1]
    values = sorted(x for u in units for x in u)
    n = len(values)

    def distance(x: float, y: float) -> float:
        if metric == "nominal":
            return float(x != y)
        if metric == "interval":
            return (x - y) ** 2
        if metric == "ratio":
            return ((x - y) / (x + y)) ** 2 if x + y else 0.0
        low, high = min(x, y), max(x, y)
        between = sum(1 for v in values if low <= v <= high)
        return (between - (values.count(x) + values.count(y)) / 2) ** 2 if x != y else 0.0

    seen = sum(sum(distance(x, y) for x, y in permutations(u, 2)) / (len(u) - 1) for u in units) / n
    foreseen = sum(distance(x, y) for x, y in permutations(values, 2)) / (n * (n - 1))
    return 1 - seen / foreseen
