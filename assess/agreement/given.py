"""Numbers as they were given, checked once: missing ones left out, the rest in an order of their own."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.scores import Floats, ScoreError

__all__ = ["columns_given", "numbers_given", "share_problem"]

LARGEST = 1e100
SAME = 1e-11


def numbers_given(values: ArrayLike) -> Floats:
    """The numbers that are not missing (NaN), rising, shape (n,): sums over them do not depend on the row order.

    Raises ScoreError if the input is no single column or holds an infinite number (or one beyond 1e100).
    """
    return columns_given(values)[0]


def columns_given(*columns: ArrayLike) -> tuple[Floats, ...]:
    """Equally long columns without the rows that miss a number in any of them, sorted by the first, then the next.

    Numbers of a column that differ by rounding only are made the same.
    Raises ScoreError for columns of unequal length or an infinite number (or one beyond 1e100).
    """
    arrays = [np.asarray(column, dtype=np.float64) for column in columns]
    if any(array.ndim != 1 or len(array) != len(arrays[0]) for array in arrays):
        raise ScoreError("the columns are not equally long, or one is not a column")
    table = np.vstack(arrays)
    too_large = np.flatnonzero((np.abs(table) > LARGEST).any(axis=0))
    if len(too_large):
        raise ScoreError("a number is infinite, or too large to be squared", int(too_large[0]))
    table = table[:, ~np.isnan(table).any(axis=0)]
    table = np.vstack([_joined(row) for row in table])
    table = table[:, np.lexsort(table[::-1])]
    return tuple(table[row].copy() for row in range(len(arrays)))


def _joined(column: Floats) -> Floats:
    """The column with numbers that differ by rounding only (0.1 + 0.2 and 0.3) made the same, the smallest of them."""
    if not len(column):
        return column
    order = np.argsort(column, kind="stable")
    rising = column[order]
    first = np.concatenate([[True], np.diff(rising) > SAME * np.abs(column).max()])
    joined = np.empty_like(column)
    joined[order] = rising[np.maximum.accumulate(np.where(first, np.arange(len(column)), 0))]
    return joined


def share_problem(name: str, value: float, *, ends: Sequence[float] = (0.0, 1.0)) -> str | None:
    """Why `value` cannot be a share strictly between the ends, as a sentence; None when it can."""
    low, high = ends
    if low < value < high:
        return None
    return f"{name} is {value:g}; it must lie between {low:g} and {high:g}, both excluded."
