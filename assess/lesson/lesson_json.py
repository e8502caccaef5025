"""The readings of lessons as other programs read them.

Keys are never renamed or dropped. A value that is void or not judged is null, with the reason in `void`. Values
have three decimals, those of a change two (more where the measure's limit is finer), halves away from zero.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from math import floor, log10
from typing import Any

from assess.lesson.results import (
    ChangeReading,
    DiagnosisReading,
    DrillFitReading,
    LessonReadings,
    SafetyReading,
)  # fmt: skip
from assess.lesson.rounding import rounded, rounded_or_none
from assess.records.reading_settings import Settings

__all__ = ["change_json", "to_json"]


def to_json(readings: Sequence[LessonReadings], settings: Settings) -> dict[str, Any]:
    """`{"settings": {...}, "lessons": [...]}` of plain values, ready for `json.dumps`."""
    return {
        "settings": settings.model_dump(mode="json"),
        "lessons": [
            {
                "id": read.lesson,
                "diagnosis": _diagnosis(read),
                "drill_fit": _drill_fit(read.drill_fit),
                "progression": _progression(read),
                "safety": _safety(read.safety),
                "change": change_json(read.change),
            }
            for read in readings
        ],
    }


def _diagnosis(readings: LessonReadings) -> dict[str, Any]:
    read = readings.diagnosis
    beside = [f"{other.learner}: {sentence}" for other in readings.other_learners for sentence in _short(other)]
    group = readings.group.why if readings.group else ()
    return {
        "score": rounded_or_none(read.score),
        "recall": rounded_or_none(read.recall),
        "ndcg": rounded_or_none(read.ndcg),
        "precision": rounded_or_none(read.precision),
        "false_alarms": list(read.false_alarms),
        "harmful": list(read.harmful),
        "confusions": [{"named": pair.named, "taken_for": pair.taken_for} for pair in read.confusions],
        "chance_mean": rounded_or_none(read.chance_mean),
        "chance_p95": rounded_or_none(read.chance_p95),
        "stock_answer": rounded_or_none(read.stock_answer),
        "void": read.void,
        "why": [*readings.unknown, *read.why, *group, *beside],
    }


def _short(read: DiagnosisReading) -> tuple[str, ...]:
    if read.void is not None:
        return (read.void,)
    return (f"found, of what mattered, {rounded(read.recall or 0.0, 2):.2f}", *read.why)


def _drill_fit(read: DrillFitReading) -> dict[str, Any]:
    return {
        "value": rounded_or_none(read.value),
        "own_value": rounded_or_none(read.own_value),
        "void": read.void,
        "drills": [{"id": drill.id, "fit": rounded(drill.fit)} for drill in read.drills],
        "why": list(read.why),
    }


def _progression(readings: LessonReadings) -> dict[str, Any]:
    read = readings.progression
    parts = asdict(read.parts) if read.parts is not None else {}
    return {
        "value": rounded_or_none(read.value),
        "parts": {name: rounded_or_none(value) for name, value in parts.items()},
        "void": read.void,
        "why": [*readings.inconsistent, *read.why],
    }


def _safety(read: SafetyReading) -> dict[str, Any]:
    return {
        "value": rounded_or_none(read.value),
        "hazard_recall": rounded_or_none(read.hazard_recall),
        "possible_breaches": list(read.possible_breaches),
        "critical_missed": list(read.critical_missed),
        "void": read.void,
        "why": list(read.why),
    }


def change_json(read: ChangeReading) -> dict[str, Any]:
    """The change of one measure: the `change` object of a lesson, and all of the two-file comparison."""
    digits = min(9, max(2, 1 - floor(log10(read.mdc95)))) if read.mdc95 else 2
    return {
        "delta": rounded_or_none(read.delta, digits),
        "net": rounded_or_none(read.net, digits),
        "mdc95": read.mdc95,
        "limit": rounded_or_none(read.limit, digits),
        "hedges_g": rounded_or_none(read.hedges_g, 2),
        "cliff_delta": rounded_or_none(read.cliff_delta, 2),
        "verdict": read.verdict,
        "void": read.void,
        "why": list(read.why),
    }
