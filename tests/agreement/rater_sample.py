"""The sheets of the sample course K-2026-01, from its table of score rows."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import numpy as np

from assess.agreement.sheets import MarkedSheet
from tests.agreement.rater_courses import LINE

TABLE = Path(__file__).parent.parent / "data" / "marking" / "course_scores.csv"


@cache
def sample_sheets() -> tuple[MarkedSheet, ...]:
    """Observed sheets: three or four of four criteria scored (coverage .75)."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    marks: dict[tuple[str, str, str], list[float]] = {}
    at: dict[tuple[str, str, str], tuple[int, int]] = {}
    for row in rows:
        key = (row["candidate"], row["task"], row["assessor"])
        at[key] = (int(row["order"]), int(row["day"]))
        if row["status"] == "scored":
            marks.setdefault(key, []).append(float(row["score"]))
    return tuple(
        MarkedSheet(*key, tuple(given), float(np.mean(given)), bool(np.mean(given) >= LINE), *at[key])
        for key, given in marks.items()
        if len(given) >= 3
    )
