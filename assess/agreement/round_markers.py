"""Simulated markers of a calibration round: what they would give on its lessons.

A marker sees what the panel saw on average, and is off by an error that all criteria of a sheet share and one of
each score alone, both normal; severity is added; the sum is rounded to a level of the scale. A flat marker sees the
same and gives one level, that of the whole sheet, on every criterion.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.results.rounds import PanelError
from assess.agreement.round_scores import RoundScores
from assess.agreement.scores import Floats, Ints

__all__ = ["MarkerModel", "simulated"]

ROUNDED = 1 / 12
"""What rounding to whole levels adds to the variance of a score (Sheppard 1898, from memory)."""
LEAST_SD = 0.1


@dataclass(frozen=True, slots=True)
class MarkerModel:
    """A kind of marker. error: standard deviation of one score; shared: the share of its variance a sheet shares.

    severity: levels above what the panel sees (plus gives more). drift: levels more with every lesson, about the middle
    of the order. flat: one level on a whole sheet.
    """

    error: float
    shared: float
    severity: float = 0.0
    drift: float = 0.0
    flat: bool = False

    @classmethod
    def like(cls, panel: PanelError, error: float | None = None) -> MarkerModel:
        """As good as a member of the panel, or with the error that is stated. Raises ValueError without either."""
        score = panel.score if error is None else error
        if score is None:
            raise ValueError(panel.undefined or "the panel's error is not known")
        whole = (panel.sheet or 0.0) ** 2 + (panel.rest or 0.0) ** 2
        return cls(score, (panel.sheet or 0.0) ** 2 / whole if whole > 0 else 0.0)


def simulated(scores: RoundScores, lesson: Ints, model: MarkerModel, n: int, rng: np.random.Generator) -> Floats:
    """The levels n such markers give, shape (n, sheets, criteria); NaN where there is no reference."""
    place = np.arange(len(lesson)) - (len(lesson) - 1) / 2
    truth = scores.panel_means()[lesson] + model.severity + model.drift * place[:, None]
    variance = max(model.error**2 - ROUNDED, LEAST_SD**2)
    sheet = rng.normal(0.0, (variance * model.shared) ** 0.5, size=(n, len(lesson), 1))
    own = rng.normal(0.0, (variance * (1 - model.shared)) ** 0.5, size=(n, *truth.shape))
    seen = truth + sheet + own
    if model.flat:
        there = ~np.isnan(seen)
        whole = np.where(there, seen, 0.0).sum(axis=2, keepdims=True) / np.maximum(there.sum(axis=2, keepdims=True), 1)
        seen = np.where(there, whole, np.nan)
    return np.asarray(np.clip(np.rint(seen), scores.low, scores.high))
