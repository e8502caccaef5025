"""Invented calibration rounds as arrays: lessons, a panel, and markers with habits one knows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from assess.agreement.round_scores import MarkerScores, RoundScores
from assess.agreement.scores import Floats, Ints

__all__ = ["GOOD", "HABITS", "Habit", "simulated_round"]

N_CRITERIA, LOW, HIGH = 4, 1, 6
LINE = 3.5
ERROR, SHARED = 0.48, 0.35
WITHIN = 0.45
"""Spread of what there is to see on the criteria of one lesson."""
MEANS = (2.3, 2.7, 3.1, 3.2, 3.3, 3.55, 3.7, 3.8, 4.2, 4.6, 5.0, 5.2)


@dataclass(frozen=True)
class Habit:
    """How a marker marks: levels more; more with every lesson about the middle; one level on a sheet; how far off.

    narrow: what is seen is drawn towards the middle of the scale by this factor.
    """

    severity: float = 0.0
    drift: float = 0.0
    flat: bool = False
    error: float = ERROR
    narrow: float = 1.0


GOOD = Habit()
HABITS: dict[str, Habit] = {
    "mild": Habit(severity=0.7),
    "drifting": Habit(drift=-0.13),
    "flat": Habit(flat=True),
    "narrow": Habit(narrow=0.45),
    "erratic": Habit(error=1.0),
}


def simulated_round(
    rng: np.random.Generator, markers: Mapping[str, Habit], *, n_lessons: int = 12, n_repeats: int = 4,
    n_panel: int = 5, spread: float = 0.0,
) -> tuple[RoundScores, dict[str, MarkerScores]]:  # fmt: skip
    """A round with fresh lessons, panel and markers. spread: of the severity of the panel and of the good markers."""
    means = np.resize(np.array(MEANS), n_lessons)
    seen = means[:, None] + rng.normal(0.0, WITHIN, (n_lessons, N_CRITERIA))
    panel = np.stack([_marked(rng, seen, Habit(severity=rng.normal(0.0, spread))) for _ in range(n_panel)])
    weights = np.ones(seen.shape, dtype=np.int64)
    scores = RoundScores(np.median(panel, axis=0), panel, weights, LINE, LOW, HIGH)
    given = {}
    for who, habit in markers.items():
        own = Habit(severity=rng.normal(0.0, spread)) if habit == GOOD else habit
        order = _order(rng, n_lessons, n_repeats)
        given[who] = MarkerScores(order, _marked(rng, seen[order], own))
    return scores, given


def _order(rng: np.random.Generator, n_lessons: int, n_repeats: int) -> Ints:
    """A shuffled order; some lessons of its first half come again at its end, shuffled."""
    first = rng.permutation(n_lessons)
    return np.concatenate([first, rng.permutation(first[: n_lessons // 2])[:n_repeats]])


def _marked(rng: np.random.Generator, seen: Floats, habit: Habit) -> Floats:
    n = len(seen)
    middle = (LOW + HIGH) / 2
    place = np.arange(n)[:, None] - (n - 1) / 2
    shared = rng.normal(0.0, habit.error * SHARED**0.5, (n, 1))
    own = rng.normal(0.0, habit.error * (1 - SHARED) ** 0.5, seen.shape)
    value = middle + habit.narrow * (seen - middle) + habit.severity + habit.drift * place + shared + own
    if habit.flat:
        value = np.repeat(value.mean(axis=1, keepdims=True), seen.shape[1], axis=1)
    return np.asarray(np.clip(np.rint(value), LOW, HIGH))
