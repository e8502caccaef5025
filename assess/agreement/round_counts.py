"""What a qualification rule reads of many simulated markers at once; counted as `marking.qualification` counts it."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from assess.agreement.round_scores import MarkerScores, RoundScores
from assess.agreement.scores import Floats, Ints
from assess.records.round_figures import Figures

__all__ = ["count_figures"]

Bools = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]

# Levels are whole and a reference may lie between two of them: everything is counted in halves, as whole numbers.
_EXACT, _WITHIN_ONE = 1, 3


def count_figures(scores: RoundScores, lesson: Ints, levels: Floats) -> list[Figures]:
    """The figures of each marker in `levels`, shape (n, sheets, criteria), the sheets in the order of marking."""
    gap = np.rint(2 * (levels - scores.reference[lesson]))
    there = ~np.isnan(gap)
    gap = np.where(there, gap, 0.0).astype(np.int64)
    several = there.sum(axis=2) > 1
    flat = np.where(there, levels, -np.inf).max(axis=2) == np.where(there, levels, np.inf).min(axis=2)
    side, sheets = _same_side(scores, lesson, levels)
    pairs = MarkerScores(lesson, levels[0]).pairs()
    again = [2 * np.abs(levels[:, second] - levels[:, first]) for first, second in pairs]
    twice = np.stack(again, axis=1) if again else np.full((len(levels), 1, levels.shape[2]), np.nan)
    half = len(lesson) // 2
    counts = {
        "possible": np.full(len(levels), int((~np.isnan(scores.reference[lesson])).sum())),
        "scores": _over(there),
        "exact": _over(there & (np.abs(gap) <= _EXACT)),
        "within_one": _over(there & (np.abs(gap) <= _WITHIN_ONE)),
        "sheets": sheets,
        "same_side": side,
        "several": several.sum(axis=1),
        "flat": (flat & several).sum(axis=1),
        "repeated": _over(~np.isnan(twice)),
        "repeated_exact": _over(twice < 1),
        "repeated_within_one": _over(twice < 3),
        "early_scores": _over(there[:, :half]),
        "late_scores": _over(there[:, half:]),
    }
    halves = {
        "distance": _over(np.abs(gap)),
        "above": _over(gap),
        "early": _over(gap[:, :half]),
        "late": _over(gap[:, half:]),
    }
    made = []
    for row in range(len(levels)):
        told: dict[str, Any] = {name: int(column[row]) for name, column in counts.items()}
        told |= {name: Fraction(int(column[row]), 2) for name, column in halves.items()}
        made.append(Figures(**told))
    return made


def _over(values: Floats | Ints | Bools) -> Ints:
    """Sums over sheets and criteria, one for each marker."""
    return np.asarray(values.sum(axis=(1, 2)), dtype=np.int64)


def _same_side(scores: RoundScores, lesson: Ints, levels: Floats) -> tuple[Ints, Ints]:
    """Sheets on the reference's side of the pass line, and in all; in whole numbers, as a line is met exactly."""
    reference, weights = scores.reference[lesson], scores.weights[lesson]
    line = Fraction(scores.line).limit_denominator(1_000_000)
    both = ~np.isnan(levels) & ~np.isnan(reference)
    weight = np.where(both, weights, 0)
    total = weight.sum(axis=2)

    def over(values: Floats) -> Floats:
        doubled = np.where(both, np.rint(2 * values), 0).astype(np.int64)
        return np.asarray((weight * doubled).sum(axis=2) * line.denominator >= 2 * line.numerator * total)

    counted = total > 0
    same = (over(levels) == over(np.broadcast_to(reference, levels.shape))) & counted
    return np.asarray(same.sum(axis=1)), np.asarray(counted.sum(axis=1))
