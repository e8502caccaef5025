"""Check sets and invented scores with sources of variance, for the tests of dependability."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from hypothesis import strategies as st

from assess.agreement.scores import Floats, Ints, Scores, scores_of
from tests.agreement.score_tables import reference

__all__ = ["SETS", "check_set", "crossed", "drawn_crossed", "named", "three_way"]

# name: the columns that are candidate, assessor, task; whether assessors of one name are different people.
SETS: dict[str, tuple[str, str, str | None, bool]] = {
    "reml_oneway__dyestuff": ("p", "r", None, True),
    "reml_crossed__penicillin": ("plate", "sample", None, False),
    "gtheory_pxr__shrout_fleiss": ("p", "r", None, False),
    "gtheory_pxr__sim404_unbalanced": ("p", "r", None, False),
    "gtheory_pxrxt__sim400": ("p", "r", "t", False),
    "gtheory_px_r_in_t__brennan2001": ("p", "r", "t", False),
}


def check_set(name: str, line: float | None = None) -> tuple[Scores, dict[str, Any]]:
    """Scores of a check set, and what it must give."""
    check = reference(name)
    p, r, t, own = SETS[name]
    column = {title: [row[i] for row in check["data"]] for i, title in enumerate(check["columns"])}
    assessor = [f"{a}:{b}" if own else str(b) for a, b in zip(column[p], column[r], strict=True)]
    value = [np.nan if v is None else float(v) for v in column["value"]]
    task = None if t is None else [str(v) for v in column[t]]
    return scores_of([str(v) for v in column[p]], assessor, value, task=task, line=line), check


def crossed(
    rng: np.random.Generator, candidates: int, assessors: int, each: int, variances: Sequence[float] = (1.0, 0.3, 0.6)
) -> Scores:
    """Every candidate scored by so many of the assessors, drawn by chance."""
    p = np.repeat(np.arange(candidates), each)
    r = np.argsort(rng.random((candidates, assessors)), axis=1)[:, :each].ravel()
    sd = np.sqrt(variances)
    value = sd[0] * rng.normal(size=candidates)[p] + sd[1] * rng.normal(size=assessors)[r]
    return named(p, r, 3 + value + sd[2] * rng.normal(size=len(p)))


def named(p: Ints, r: Ints, value: Floats, t: Ints | None = None) -> Scores:
    """Scores from numbers of candidates, assessors and tasks."""
    task = None if t is None else [f"t{i:03d}" for i in t]
    return scores_of([f"c{i:05d}" for i in p], [f"a{i:03d}" for i in r], value, task=task)


def three_way(rng: np.random.Generator, shape: tuple[int, int, int], missing: float = 0.0) -> Scores:
    """Candidates, tasks (if more than one) and assessors crossed, with every interaction and some scores missing."""
    value = np.zeros(shape) + 3
    for axes, sd in (((0,), 1.0), ((1,), 0.3), ((2,), 0.5), ((0, 1), 0.5), ((0, 2), 0.3), ((1, 2), 0.3)):
        value = value + sd * rng.normal(size=[n if i in axes else 1 for i, n in enumerate(shape)])
    value = value + 0.6 * rng.normal(size=shape)
    kept = rng.random(shape) >= missing
    p, t, r = (index[kept] for index in np.indices(shape))
    return named(p, r, value[kept], t if shape[1] > 1 else None)


@st.composite
def drawn_crossed(draw: st.DrawFn) -> tuple[Ints, Ints, Floats, Ints | None]:
    """Small sets of scores, crossed, with or without tasks, some missing: candidate, assessor, score, task."""
    shape = (draw(st.integers(3, 6)), draw(st.sampled_from([1, 2, 3])), draw(st.integers(2, 4)))
    rng = np.random.default_rng(draw(st.integers(0, 10_000)))
    kept = rng.random(shape) >= draw(st.sampled_from([0.0, 0.0, 0.2]))
    value = np.asarray(np.round(3 + rng.normal(size=(shape[0], 1, 1)) + rng.normal(size=shape), 1), dtype=np.float64)
    places: list[Ints] = [index[kept] for index in np.indices(shape)]
    p, t, r = places
    return p, r, value[kept], t if shape[1] > 1 else None
