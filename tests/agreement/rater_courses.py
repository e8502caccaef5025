"""Simulated courses with known effects of one assessor; what every value is about is written beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from assess.agreement.scores import Floats
from assess.agreement.sheets import MarkedSheet

LEVELS = (1, 2, 3, 4, 5, 6)
LINE = 3.5
PAIRS = (((0, 1), (2, 3)), ((0, 2), (1, 3)), ((0, 3), (1, 2)))
"""Two pairs without a common assessor, another pairing from task to task, as on the sample course."""


@dataclass(frozen=True)
class Made:
    """What a course is made of.

    In levels: spread of candidates, of a candidate's tasks, of a task's criteria, error of a sheet, error of a mark.
    Effects of assessor A1: levels more at all, for each place, for each day, for each level of the candidate before;
    share of sheets with one digit; how far marks are drawn to 4 (0 not, 1 wholly). twice: sheets of each assessor
    that are marked again, with an error of A1's own on top.
    """

    candidates: int = 10
    tasks: int = 6
    criteria: int = 4
    assessors: int = 4
    ability: float = 0.7
    task: float = 0.45
    criterion: float = 0.35
    sheet: float = 0.35
    mark: float = 0.45
    severity: float = 0.0
    drift: float = 0.0
    days: float = 0.0
    contrast: float = 0.0
    flat: float = 0.0
    central: float = 0.0
    twice: int = 0
    twice_error: float = 0.0


CLEAN = Made()


def made_course(seed: int, made: Made = CLEAN) -> list[MarkedSheet]:
    """The sheets of one course; the same seed gives the same."""
    rng = np.random.default_rng(seed)
    ability = 4.0 + rng.normal(0, made.ability, made.candidates)
    records = []
    for task in range(made.tasks):
        order = rng.permutation(made.candidates)
        true = ability[:, None] + rng.normal(0, made.task, (made.candidates, 1))
        true = true + rng.normal(0, made.criterion, (made.candidates, made.criteria))
        before = np.full(made.assessors, np.nan)
        for place, candidate in enumerate(order, 1):
            for who in _markers(task, place, made.assessors):
                moved = _moved(made, place, 1 + task // 2, before[who]) if who == 0 else 0.0
                marks = _marks(rng, made, true[candidate] + moved, who)
                before[who] = float(true[candidate].mean())
                records.append(_sheet(task, place, candidate, who, marks))
    return records + _twice(rng, made, records)


def _markers(task: int, place: int, assessors: int) -> tuple[int, ...]:
    if assessors != 4:
        return tuple(range(assessors))
    return PAIRS[task % 3][place % 2]


def _moved(made: Made, place: int, day: int, before: float) -> float:
    """What is added to the marks of the assessor with the effects."""
    middle = (made.candidates + 1) / 2
    return (
        made.severity + made.drift * (place - middle) + made.days * (day - 2)
        + (0.0 if np.isnan(before) else made.contrast * (before - 4.0))
    )  # fmt: skip


def _marks(rng: np.random.Generator, made: Made, true: Floats, who: int) -> list[float]:
    seen = true + rng.normal(0, made.sheet) + rng.normal(0, made.mark, made.criteria)
    if who == 0:
        seen = seen + made.central * (4.0 - seen)
        if rng.random() < made.flat:
            seen = np.full(made.criteria, seen.mean())
    return [float(mark) for mark in np.clip(np.rint(seen), 1, 6)]


def _sheet(task: int, place: int, candidate: int, who: int, marks: list[float]) -> MarkedSheet:
    value = float(np.mean(marks))
    return MarkedSheet(
        f"C{candidate + 1:02d}", f"T{task + 1}", f"A{who + 1}", tuple(marks), value, value >= LINE, place, 1 + task // 2
    )


def _twice(rng: np.random.Generator, made: Made, records: list[MarkedSheet]) -> list[MarkedSheet]:
    """The first sheets of each assessor once more, each mark moved by an error; A1's error has its own size on top."""
    again = []
    for who in range(made.assessors):
        own = [record for record in records if record.assessor == f"A{who + 1}"][: made.twice]
        for record in own:
            error = rng.normal(0, 0.4 + (made.twice_error if who == 0 else 0.0), len(record.marks))
            marks = tuple(float(mark) for mark in np.clip(np.rint(np.asarray(record.marks) + error), 1, 6))
            again.append(replace(record, marks=marks, value=float(np.mean(marks)), look=2))
    return again
