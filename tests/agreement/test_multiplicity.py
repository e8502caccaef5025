"""How many flags of a family hold: the published example, scipy, and what Benjamini and Hochberg promise."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from assess.agreement.multiplicity import benjamini_hochberg
from assess.agreement.scores import ScoreError

REFERENCE = json.loads(
    (Path(__file__).parent.parent / "data" / "agreement" / "benjamini_hochberg__1995.json").read_text("utf-8")
)
P = {f"t{n:02}": p for n, p in enumerate(REFERENCE["data"]["p"])}
CHANCES = st.dictionaries(st.text("abcdef", min_size=1, max_size=4), st.one_of(st.none(), st.floats(0, 1)), max_size=15)


def test_the_published_example_gives_the_check_values() -> None:
    got = benjamini_hochberg("thrombolysis", P)
    want = REFERENCE["expected"]
    assert [test.adjusted for test in got.tests] == pytest.approx(want["BH"], abs=REFERENCE["tolerance"])
    assert sum(test.flagged for test in got.tests) == got.n_flagged == want["rejected_bh_q05"]
    assert "4 of 15" in got.sentence


@given(st.lists(st.floats(0, 1), min_size=1, max_size=20))
@settings(deadline=None)
def test_adjusted_values_are_those_of_scipy(chances) -> None:
    got = benjamini_hochberg("f", {f"{n:03}": p for n, p in enumerate(chances)})
    assert [test.adjusted for test in got.tests] == pytest.approx(stats.false_discovery_control(chances), abs=1e-12)
    assert all(test.p is not None and test.adjusted is not None and test.p <= test.adjusted <= 1 for test in got.tests)


@given(CHANCES, st.sampled_from([0.01, 0.05, 0.2]))
@settings(deadline=None)
def test_the_flags_are_those_of_the_step_up_rule(chances, rate) -> None:
    # The rule of the paper: the largest k with P(k) <= k/m q; the k smallest are flagged.
    known = sorted(p for p in chances.values() if p is not None)
    m = len(known)
    k = max((i for i, p in enumerate(known, 1) if p <= i / m * rate * (1 + 1e-12)), default=0)
    got = benjamini_hochberg("f", chances, rate=rate)
    assert got.n_flagged == k
    assert got.n_tests == m
    for test in got.tests:
        assert test.flagged == (test.p is not None and k > 0 and test.p <= known[k - 1])


@given(CHANCES)
@settings(deadline=None)
def test_order_does_not_matter_and_a_test_that_does_not_exist_counts_for_nothing(chances) -> None:
    got = benjamini_hochberg("f", chances)
    assert benjamini_hochberg("f", dict(reversed(chances.items()))) == got
    with_nothing = benjamini_hochberg("f", {**chances, "zzzzz": None})
    assert with_nothing.tests[:-1] == got.tests
    assert with_nothing.tests[-1].adjusted is None
    assert not with_nothing.tests[-1].flagged


def test_on_clean_courses_a_false_flag_comes_about_once_in_twenty() -> None:
    rng = np.random.default_rng(28)
    alone = together = 0
    for _ in range(400):
        chances = {str(n): float(p) for n, p in enumerate(rng.random(28))}
        alone += min(chances.values()) <= 0.05
        together += benjamini_hochberg("course", chances).n_flagged > 0
    assert alone > 270  # 1 - .95^28 = .76
    assert together < 40


def test_an_empty_family_says_so_and_a_p_value_that_is_none_is_refused() -> None:
    assert benjamini_hochberg("halo", {}).sentence.startswith("halo: nothing was tested")
    for wrong in (-0.1, 1.1, math.nan):
        with pytest.raises(ScoreError, match="A1"):
            benjamini_hochberg("halo", {"A1": wrong})
    with pytest.raises(ScoreError, match="rate"):
        benjamini_hochberg("halo", {"A1": 0.5}, rate=0)
