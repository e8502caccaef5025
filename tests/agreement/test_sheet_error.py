"""The error of one sheet value: by hand, by simulation, and what is too little."""

from __future__ import annotations

from math import sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.results import Estimate
from assess.agreement.scores import ScoreError
from assess.agreement.sheet_error import sheet_error


def of_pairs(pairs: list[tuple[float, float]], **more: Any) -> Estimate:
    """Two candidates' worth of turns for every four pairs."""
    candidate = [f"C{number // 2}" for number in range(len(pairs)) for _ in range(2)]
    turn = [f"T{number}" for number in range(len(pairs)) for _ in range(2)]
    return sheet_error(candidate, turn, [value for pair in pairs for value in pair], **more)


def simulated(n: int, error: float, seed: int) -> Estimate:
    rng = np.random.default_rng(seed)
    own = rng.normal(3.8, 0.6, n)
    candidate, turn, value = [], [], []
    for c in range(n):
        for task in range(3):
            for _ in range(2):
                candidate.append(f"C{c}")
                turn.append(f"T{task}")
                value.append(own[c] + 0.2 * task + rng.normal(0, error))
    return sheet_error(candidate, turn, value, replicates=400)


def test_of_pairs_it_is_the_root_of_the_mean_squared_difference_by_two() -> None:
    pairs = [(3.0, 3.5), (4.0, 4.25), (2.5, 3.5), (5.0, 5.0), (3.25, 3.0)] * 2
    found = of_pairs(pairs)
    want = sqrt(sum((a - b) ** 2 for a, b in pairs) / (2 * len(pairs)))
    assert found.estimate == pytest.approx(want, abs=1e-15)
    assert (found.n, found.n_scores, found.n_candidates) == (10, 20, 5)
    assert found.ci95 is not None and 0 < found.ci95[0] < want < found.ci95[1]
    assert any("fewer than 30" in warning for warning in found.warnings)


def test_the_standard_error_of_measurement_of_the_worked_example() -> None:
    # Own worked example: SD 6, reliability .84 -> SEM 6 sqrt(1 - .84) = 2.4000. Two parallel forms of that
    # reliability differ with variance 2 SEM^2; the error found from such differences is the SEM.
    rng = np.random.default_rng(7)
    true = rng.normal(64, 6 * sqrt(0.84), 20_000)
    forms = true[:, None] + rng.normal(0, 6 * sqrt(0.16), (20_000, 2))
    assert np.std(forms[:, 0]) == pytest.approx(6, rel=0.02)
    who = [f"C{number // 2}" for number in range(40_000)]
    found = sheet_error(who, ["T1"] * 40_000, forms.ravel(), replicates=0)
    assert found.estimate == pytest.approx(2.4, abs=0.03)


def test_the_interval_holds_the_error_about_as_often_as_it_says() -> None:
    held = [simulated(20, 0.46, seed).ci95 for seed in range(60)]
    inside = [ci95 is not None and ci95[0] <= 0.46 <= ci95[1] for ci95 in held]
    # 95 % of 60 is 57; 50 or fewer has a chance below 1 in 1000.
    assert sum(inside) > 50


def test_only_turns_near_the_line_count_where_that_is_asked() -> None:
    rng = np.random.default_rng(3)
    far = [(5.0 + a, 5.0 + b) for a, b in rng.normal(0, 0.1, (40, 2))]
    near = [(3.5 + a, 3.5 + b) for a, b in rng.normal(0, 0.2, (40, 2))]
    found = of_pairs(far + near, around=3.5)
    assert found.n == 40
    assert found.estimate == pytest.approx(of_pairs(near).estimate or 0)
    few = of_pairs(far + near[:9], around=3.5)
    assert few.estimate is None and few.undefined is not None and "n=9" in few.undefined


def test_turns_with_one_sheet_and_missing_values_say_nothing() -> None:
    pairs = [(3.0, 3.5), (4.0, 4.25)] * 6
    more = [*pairs, (float("nan"), 4.0)]
    assert of_pairs(more).estimate == of_pairs(pairs).estimate
    assert sheet_error(["C1"] * 20, [f"T{n}" for n in range(20)], [3.0] * 20).undefined


def test_markers_who_always_agree_have_no_error_that_could_be_given() -> None:
    found = of_pairs([(3.0, 3.0), (4.0, 4.0)] * 6)
    assert found.estimate is None and "agreed" in str(found.undefined)


def test_columns_of_unequal_length_are_refused() -> None:
    with pytest.raises(ScoreError):
        sheet_error(["C1"], ["T1", "T1"], [3.0, 4.0])


VALUE = st.integers(4, 24).map(lambda quarter: quarter / 4)


@given(st.lists(st.tuples(VALUE, VALUE), min_size=10, max_size=20), st.randoms(), st.sampled_from([0.5, 2.0, 3.0]))
@settings(deadline=None, max_examples=40)
def test_it_scales_with_the_scale_and_hangs_on_no_order(pairs, pick, factor) -> None:
    found = of_pairs(pairs, replicates=50)
    stretched = of_pairs([(factor * a + 1, factor * b + 1) for a, b in pairs], replicates=50)
    if found.estimate is None:
        assert stretched.estimate is None
        return
    assert stretched.estimate == pytest.approx(factor * found.estimate)
    mixed = [(b, a) if pick.random() < 0.5 else (a, b) for a, b in pairs]
    assert of_pairs(mixed, replicates=50) == found
