"""Measures of a demonstration from its turns: evidence for the assessor, never a score by itself.

Every measure comes with its noise floor: how large it would read were there nothing but measuring error. The floors
of rhythm are sqrt 2 sigma / mean turn time; the others follow from the same error carried through each formula.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import sqrt
from statistics import fmean, stdev

from assess.lesson.measures import coefficient_of_variation, least_squares_slope, symmetry_index, theil_sen, within_side_cv
from assess.lesson.results import MeasureReading
from assess.lesson.rounding import rounded
from assess.lesson.turns import METHODS, Precision, Turn, TurnKind, by_run, checked_turns

__all__ = ["MEASURES", "read_demonstration"]

Targets = Mapping[str, tuple[float, float]]
SAME_SLOPE = 2.0
ROUND_LOW, ROUND_HIGH, Z_SHARE = 0.25, 0.40, 0.60
WEDGE = (
    "not computed for wedge turns: turn detection found about half of them in the published study;"
    " mark the turns by film instead"
)
