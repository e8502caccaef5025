"""Resampled candidates."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.sparse import csr_array

from assess.agreement.bootstrap import FEW, FEWEST, Bootstrap, Cancelled, Patterns, jackknife_variance
from assess.agreement.scores import Floats


def mean(sums: Floats) -> Floats:
    return np.asarray(sums[:, 1:] / np.maximum(sums[:, :1], 1.0))


def rows_of(values: Floats) -> Patterns:
    return Patterns(np.column_stack([np.ones(len(values)), values]), np.ones(len(values), dtype=np.int64))


def test_the_interval_is_scipys_bca_within_the_noise_of_resampling() -> None:
    values = np.random.default_rng(3).exponential(size=40)
    (got,) = Bootstrap(20_000, 1).intervals(rows_of(values), mean)
    want = stats.bootstrap((values,), np.mean, n_resamples=20_000, method="BCa", random_state=2)
    assert got.ci95 == pytest.approx(tuple(want.confidence_interval), abs=0.01)
    assert got.se == pytest.approx(want.standard_error, rel=0.03)
    assert got.interval == "BCa bootstrap over 40 candidates, 20000 resamples"
    assert got.warnings == ()


def test_equal_candidates_held_once_resample_like_themselves() -> None:
    values = np.repeat([1.0, 2.0, 5.0], [30, 20, 10])
    once = Patterns(np.array([[1.0, 1.0], [1.0, 2.0], [1.0, 5.0]]), np.array([30, 20, 10]))
    (a,), (b,) = (Bootstrap(20_000, 1).intervals(patterns, mean) for patterns in (rows_of(values), once))
    assert a.ci95 == pytest.approx(b.ci95, abs=0.02)
    assert a.se == pytest.approx(b.se, rel=0.03)


def test_sparse_rows_give_the_same_as_dense_ones() -> None:
    dense = rows_of(np.round(np.random.default_rng(1).normal(size=30), 1))
    sparse = Patterns(csr_array(dense.rows), dense.times)
    (a,), (b,) = (Bootstrap(200, 7).intervals(patterns, mean) for patterns in (dense, sparse))
    assert a.ci95 == pytest.approx(b.ci95, rel=1e-12)


def test_the_same_seed_gives_the_same_and_another_seed_another_interval() -> None:
    patterns = rows_of(np.random.default_rng(1).normal(size=25))
    first, again, other = (Bootstrap(300, seed).intervals(patterns, mean)[0].ci95 for seed in (5, 5, 6))
    assert first == again
    assert first != other


def test_with_few_candidates_the_interval_is_students_t_with_the_jackknife_error() -> None:
    values = np.array([1.0, 2.0, 2.5, 4.0, 7.0])
    (got,) = Bootstrap().intervals(rows_of(values), mean)
    # For a mean the jackknife error is s / sqrt(n), so this is the textbook interval.
    want = stats.t.interval(0.95, 4, loc=values.mean(), scale=stats.sem(values))
    assert got.ci95 == pytest.approx(want, abs=1e-9)
    assert got.warnings == ("only 5 candidates: the interval is rough",)
    assert "Student" in got.interval


def test_an_interval_is_cut_to_where_the_statistic_can_be() -> None:
    patterns = rows_of(np.array([1.0, 1.0, 0.0, 1.0]))
    (got,) = Bootstrap().intervals(patterns, mean, (0.0, 1.0))
    assert got.ci95 is not None
    assert got.ci95[1] == 1.0


@pytest.mark.parametrize("n", range(1, FEWEST))
def test_fewer_than_the_fewest_candidates_have_no_interval(n: int) -> None:
    (got,) = Bootstrap().intervals(rows_of(np.arange(float(n))), mean)
    assert (got.ci95, got.se) == (None, None)
    assert "fewer than" in got.interval


@pytest.mark.parametrize("n", [5, 20])
def test_candidates_who_all_say_the_same_give_no_interval_of_no_width(n: int) -> None:
    (got,) = Bootstrap(50).intervals(rows_of(np.full(n, 0.7)), mean)
    assert got.ci95 is None
    assert got.interval == "none: every candidate says the same"


def first_over_third(sums: Floats) -> Floats:
    return np.divide(sums[:, :1], sums[:, 2:3], out=np.full((len(sums), 1), np.nan), where=sums[:, 2:3] != 0)


@pytest.mark.parametrize("n", [FEW - 2, FEW + 5])
def test_resamples_without_the_statistic_are_left_out_and_counted(n: int) -> None:
    rows = np.ones((n, 3)) * np.arange(1.0, n + 1)[:, None]
    rows[1:, 2] = 0.0
    (got,) = Bootstrap(400).intervals(Patterns(rows, np.ones(n, dtype=np.int64)), first_over_third)
    assert any("did not exist in" in warning for warning in got.warnings)
    assert got.interval.startswith("percentile bootstrap")


def test_a_statistic_that_does_not_exist_has_no_interval_and_spoils_no_other() -> None:
    def half(sums: Floats) -> Floats:
        return np.column_stack([mean(sums)[:, 0], np.full(len(sums), np.nan)])

    there, gone = Bootstrap(100).intervals(rows_of(np.arange(20.0)), half)
    assert there.ci95 is not None
    assert gone.ci95 is None


def test_without_resamples_there_is_no_interval_and_no_error() -> None:
    (got,) = Bootstrap(0).intervals(rows_of(np.arange(20.0)), mean)
    assert (got.ci95, got.interval) == (None, "none: no resamples asked for")


def test_progress_rises_and_can_stop_the_work() -> None:
    seen: list[float] = []

    def told(share: float) -> bool:
        seen.append(share)
        return True

    work = Bootstrap(50, progress=told, steps=2)
    for _ in range(2):
        work.intervals(rows_of(np.arange(20.0)), mean)
    work.finish()
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    with pytest.raises(Cancelled):
        Bootstrap(50, progress=lambda _: False).intervals(rows_of(np.arange(20.0)), mean)


def test_the_jackknife_variance_of_a_mean_is_the_textbook_one() -> None:
    values = np.array([1.0, 1.0, 3.0, 6.0])
    once = Patterns(np.array([[1.0, 1.0], [1.0, 3.0], [1.0, 6.0]]), np.array([2, 1, 1]))
    assert jackknife_variance(once, mean) == pytest.approx([values.var(ddof=1) / 4])
