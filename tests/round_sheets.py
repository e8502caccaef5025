"""Folded sheets of a calibration round, made without any file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from assess.marking.reference import Reference, ReferenceLesson, ReferenceLevel
from assess.marking.results import EntryRef, Mark, Sheet
from assess.records.rubric import Rubric
from assess.store.validate import as_model
from assess.store.yaml_file import read_yaml
from tests.rounds import CRITERIA
from tests.rounds import RUBRIC as FILE

__all__ = ["CRITERIA", "RUBRIC", "reference_of_levels", "sheet"]

RUBRIC = as_model(read_yaml(FILE, what="rubric"), Rubric)
PANEL = ("P1", "P2", "P3", "P4", "P5")


def sheet(who: str, slot: str, levels: Sequence[int | None], at: str = "2026-02-02T09:00:00.000Z") -> Sheet:
    """A locked sheet of T5; None is not observed."""
    marks = tuple(
        Mark(
            key,
            "scored" if level is not None else "not-observed",
            level,
            None,
            1,
            EntryRef(f"T5.{slot}.{who}.d", n),
            at,
        )
        for n, (key, level) in enumerate(zip(CRITERIA, levels, strict=True), 1)
    )
    return Sheet("T5", slot, who, "sha256:0", marks=marks, locked=True, origin="marked")


def reference_of_levels(lessons: Mapping[str, Sequence[int | Fraction]]) -> Reference:
    """A reference that is these levels, on which all of the panel agreed (halves: two on either side)."""
    found = []
    for lesson, levels in lessons.items():
        told = tuple(
            ReferenceLevel(key, Fraction(level), dict.fromkeys(PANEL, Fraction(level)))
            for key, level in zip(CRITERIA, levels, strict=True)
        )
        value = sum((item.level for item in told), Fraction(0)) / len(told)
        near = abs(value - RUBRIC.scale.pass_line) <= Fraction(1, 2)
        found.append(ReferenceLesson(lesson, "T5", told, value, near, ()))
    return Reference(tuple(found), PANEL)
