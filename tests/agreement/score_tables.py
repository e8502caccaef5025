"""Check sets and invented score tables for the agreement tests."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from assess.agreement.scores import Scores, scores_of

__all__ = ["alike_table", "columns_of", "random_table", "reference", "scores_of_table", "tables", "value"]

DATA = Path(__file__).parent.parent / "data" / "agreement"
Table = NDArray[np.float64]


def reference(name: str) -> dict[str, Any]:
    """A check set: data with its source and what it must give."""
    loaded: dict[str, Any] = json.loads((DATA / f"{name}.json").read_text("utf-8"))
    return loaded


def columns_of(check: dict[str, Any]) -> tuple[list[str], list[str], list[float]]:
    """Units, assessors and scores of a check set, missing ones left out."""
    rows = [row for row in check["data"] if row[2] is not None]
    return [str(row[0]) for row in rows], [str(row[1]) for row in rows], [float(row[2]) for row in rows]


def scores_of_table(
    table: Table,
    levels: Sequence[float] | None = None,
    units_each: int = 1,
    line: float | None = None,
) -> Scores:
    """Scores from units by assessors, NaN missing; so many units in a row belong to one candidate."""
    unit, assessor = np.nonzero(~np.isnan(table))
    return scores_of(
        [f"c{u // units_each:05d}" for u in unit],
        [f"a{a:02d}" for a in assessor],
        table[unit, assessor],
        criterion=[f"k{u % units_each:02d}" for u in unit],
        levels=levels,
        line=line,
    )


def random_table(rng: np.random.Generator, levels: int = 5, most_assessors: int = 6, missing: float = 0.2) -> Table:
    """Units by assessors with a common ability, so that agreement is neither none nor full; some scores missing."""
    units, assessors = int(rng.integers(4, 16)), int(rng.integers(2, most_assessors + 1))
    ability = rng.normal(size=(units, 1)) + rng.normal(size=(1, assessors)) * 0.3
    table = np.clip(np.round(levels / 2 + 0.5 + ability + rng.normal(size=(units, assessors)) * 0.6), 1, levels)
    table[rng.random(table.shape) < missing] = np.nan
    return table.astype(np.float64)


def alike_table(rng: np.random.Generator, units: int, assessors: int, noise: float = 0.7) -> Table:
    """A complete table of levels 1 to 5 by assessors who see the same ability with some noise."""
    seen = 3 + rng.normal(size=(units, 1)) + rng.normal(size=(units, assessors)) * noise
    return np.asarray(np.clip(np.round(seen), 1, 5), dtype=np.float64)


@st.composite
def tables(draw: st.DrawFn, least: int = 2, missing: bool = True) -> Table:
    """Small tables of levels 1 to 4, any pattern, some scores missing."""
    units, assessors = draw(st.integers(2, 8)), draw(st.integers(least, 4))
    cell = st.sampled_from([1.0, 2.0, 3.0, 4.0] + ([np.nan] if missing else []))
    return np.array(
        draw(st.lists(st.lists(cell, min_size=assessors, max_size=assessors), min_size=units, max_size=units))
    )


def value(number: float | None) -> float:
    """A number that must be there."""
    assert number is not None
    return number
