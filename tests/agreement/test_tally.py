"""Units held once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.scores import scores_of
from assess.agreement.tally import MOST_LEVELS, distinct_rows, no_comparison, tally_of
from tests.agreement.score_tables import Table, scores_of_table, tables


@settings(max_examples=60, deadline=None)
@given(tables())
def test_the_distinct_units_are_the_units(table: Table) -> None:
    scores = scores_of_table(table, [1, 2, 3, 4])
    tally = tally_of(scores)
    assert np.array_equal(tally.counts[tally.pattern], scores.counts)
    assert np.array_equal(np.bincount(tally.pattern, minlength=len(tally.times)), tally.times)
    assert len(np.unique(tally.counts, axis=0)) == len(tally.counts)
    seen = (~np.isnan(table)).sum(axis=1)
    assert tally.n_comparable == (seen >= 2).sum()
    assert tally.n_pairs == (seen * (seen - 1) // 2).sum()


@settings(max_examples=40, deadline=None)
@given(tables(), st.integers(1, 4))
def test_sums_by_candidate_add_up_to_the_sums_of_all(table: Table, units_each: int) -> None:
    scores = scores_of_table(table, [1, 2, 3, 4], units_each=units_each)
    tally = tally_of(scores)
    patterns = tally.per_candidate(tally.counts)
    assert patterns.n == len(scores.candidates)
    assert patterns.total()[0] == pytest.approx(scores.counts.sum(axis=0))
    if not tally.one_unit_each:
        assert isinstance(patterns.rows, np.ndarray)
        for index in range(len(scores.candidates)):
            own = np.bincount(scores.level[scores.candidate == index], minlength=4)
            assert patterns.rows[index] == pytest.approx(own)


@pytest.mark.parametrize("width", [3, 25, 70])
@pytest.mark.parametrize("most", [1, 9])
def test_rows_are_told_apart_however_wide(width: int, most: int) -> None:
    rng = np.random.default_rng(width)
    rows = rng.integers(0, most + 1, size=(5, width))[rng.integers(0, 5, size=60)]
    kept, pattern, times = distinct_rows(rows)
    assert np.array_equal(rows[kept][pattern], rows)
    assert times.sum() == 60
    assert np.array_equal(np.bincount(pattern, minlength=len(times)), times)


def test_the_order_and_the_names_of_units_leave_the_distinct_ones_as_they_are() -> None:
    table = np.array([[1, 2], [3, 3], [1, 2], [2, 1.0]])
    first, second = (tally_of(scores_of_table(t, [1, 2, 3])) for t in (table, table[::-1]))
    assert np.array_equal(first.counts, second.counts)
    assert np.array_equal(first.times, second.times)


def test_measurements_are_not_counted_as_levels() -> None:
    values = np.arange(MOST_LEVELS + 2) / 7
    scores = scores_of([f"{i // 2:05d}" for i in range(len(values))], ["a", "b"] * (len(values) // 2), values)
    tally = tally_of(scores)
    assert len(tally.pattern) == 0
    assert "too many to be levels" in (no_comparison(scores, tally) or "")
