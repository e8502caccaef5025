"""Made-up measures and runs for readings of a change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from assess.lesson.change import read_change
from assess.lesson.results import ChangeReading
from assess.records.measure import Measure
from assess.records.practice import EndedForSafety, Measured, Outcome
from tests.lesson.samples import catalogue

__all__ = ["measure", "read", "side"]


def measure(
    value: float = 5.4, pairs: int = 12, untaught: float = 0.6, better: str = "higher", turns: int = 3
) -> Measure:
    return Measure.model_validate({
        "id": "made-up", "better": better, "what": "points",
        "mdc95": {
            "value": float(value), "of": "difference of two run means", "turns_per_run": turns, "retest_pairs": pairs,
            "ci95": [1.0, 9.0], "untaught_change": float(untaught),
        },
    })  # fmt: skip


def side(*runs: Sequence[float], place: str = "marked lane", slope: float = 13, snow: str = "hard") -> Measured:
    return Measured.model_validate({
        "place": place, "slope": float(slope), "snow": snow, "runs": [[float(value) for value in run] for run in runs],
    })  # fmt: skip


def read(before: Measured, after: Measured, ability: float = 5.0, **more: Any) -> ChangeReading:
    """more: as of `measure`, and `ended` (minute at which the lesson was ended for safety)."""
    minute = more.pop("ended", None)
    ended = minute and EndedForSafety.model_validate({"minute": minute, "why": "fog", "judged": "open"})
    outcome = Outcome.model_validate({"before": before, "after": after})
    return read_change(measure(**more), outcome, ability, catalogue().settings, ended=ended)
