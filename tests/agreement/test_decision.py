"""Would the same candidate get the same outcome again: against a check set, the papers' formulas and simulation."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from assess.agreement.count_consistency import huynh, peng_subkoviak, subkoviak
from assess.agreement.decision import Decisions, normal_decisions
from assess.agreement.livingston_lewis import livingston_lewis
from assess.agreement.scores import ScoreError

DATA = Path(__file__).parent.parent / "data" / "agreement"
REFERENCE = json.loads((DATA / "decision_consistency__sim600.json").read_text("utf-8"))
TOTALS = REFERENCE["data"]
EXPECTED = REFERENCE["expected"]
OTHERS = REFERENCE["tolerance"]["others"]
LL = REFERENCE["tolerance"]["ll"]
COUNT: dict[str, Any] = {"reliability": 0.75, "line": 24, "highest": 40}


def value(number: float | None) -> float:
    assert number is not None
    return number


# ---- normal error


def test_observed_scores_as_true_scores_give_the_check_values() -> None:
    got = normal_decisions(TOTALS, reliability=0.75, line=24, true_scores="observed")
    want = EXPECTED["normal_sem"]
    assert got.accuracy.estimate == pytest.approx(want["accuracy_rudner_2001"], abs=OTHERS)
    assert got.consistency.estimate == pytest.approx(want["consistency"], abs=OTHERS)
    assert got.kappa.estimate == pytest.approx(want["kappa"], abs=OTHERS)


@pytest.mark.parametrize(("reliability", "z"), [(0.75, 0.0), (0.75, -1.0), (0.5, -0.7), (0.9, 0.5)])
def test_on_a_normal_population_shrunken_scores_give_what_is_true_of_it(reliability: float, z: float) -> None:
    # Two parallel measurements correlate by the reliability, a measurement and the true score by its root.
    scores = stats.norm.ppf((np.arange(4000) + 0.5) / 4000)

    def same_side(correlation: float, other: float) -> float:
        both = stats.multivariate_normal.cdf([z, other], cov=[[1, correlation], [correlation, 1]])
        return float(1 - stats.norm.cdf(z) - stats.norm.cdf(other) + 2 * both)

    got = normal_decisions(scores, reliability=reliability, line=z)
    assert got.consistency.estimate == pytest.approx(same_side(reliability, z), abs=2e-3)
    root = math.sqrt(reliability)
    assert got.accuracy.estimate == pytest.approx(same_side(root, z / root), abs=2e-3)


def test_observed_scores_promise_more_than_is_true_near_the_line() -> None:
    scores = np.random.default_rng(5).normal(0, 1, 400)
    observed = normal_decisions(scores, reliability=0.75, line=0.0, true_scores="observed")
    shrunken = normal_decisions(scores, reliability=0.75, line=0.0)
    truth = 0.5 + math.asin(0.75) / math.pi
    assert abs(value(shrunken.consistency.estimate) - truth) < abs(value(observed.consistency.estimate) - truth)
    assert value(observed.consistency.estimate) > truth + 0.01


def test_the_consistency_of_one_candidate_is_the_integral_over_where_the_true_score_may_lie() -> None:
    scores = [2.0, 3.0, 3.5, 4.0, 5.0]
    r, line = 0.6, 3.4
    mean, sd = np.mean(scores), np.std(scores, ddof=1)
    sem = sd * math.sqrt(1 - r)

    def same(score: float) -> float:
        middle = mean + r * (score - mean)
        posterior = stats.norm(middle, sem * math.sqrt(r))

        def both(true: float) -> float:
            on = stats.norm.sf(line, true, sem)
            return float(posterior.pdf(true) * (on**2 + (1 - on) ** 2))

        return float(integrate.quad(both, middle - 9 * sem, middle + 9 * sem, epsabs=1e-11)[0])

    want = np.mean([same(score) for score in scores])
    got = normal_decisions(scores, reliability=r, line=line)
    assert got.consistency.estimate == pytest.approx(want, abs=1e-9)


def test_the_interval_by_candidates_holds_the_truth_about_as_often_as_it_says() -> None:
    rng = np.random.default_rng(11)
    truth = 0.5 + math.asin(0.75) / math.pi
    held = 0
    for _ in range(200):
        got = normal_decisions(rng.normal(0.0, 1.0, 40), reliability=0.75, line=0.0)
        low, high = got.consistency.ci95 or (0.0, 0.0)
        held += low <= truth <= high
    assert 180 <= held <= 200


@given(
    st.lists(st.integers(0, 40), min_size=4, max_size=30).filter(lambda x: len(set(x)) > 1),
    st.floats(0.05, 0.95),
    st.integers(1, 39),
    st.randoms(use_true_random=False),
)
@settings(max_examples=60, deadline=None)
def test_row_order_shift_and_unit_of_the_scores_do_not_matter(scores, reliability, line, random) -> None:
    plain = normal_decisions(scores, reliability=reliability, line=line)
    mixed = list(scores)
    random.shuffle(mixed)
    assert normal_decisions(mixed, reliability=reliability, line=line) == plain
    moved = normal_decisions([2 * score + 7 for score in scores], reliability=reliability, line=2 * line + 7)
    for one, other in ((plain.accuracy, moved.accuracy), (plain.consistency, moved.consistency)):
        assert other.estimate == pytest.approx(value(one.estimate), abs=1e-9)
        assert 0.5 - 1e-12 <= value(plain.consistency.estimate) <= 1
        assert 0 <= value(one.estimate) <= 1


# ---- Livingston and Lewis


@pytest.mark.parametrize("shape", ["four", "two"])
@pytest.mark.parametrize("convention", ["expected_ceil_convention", "expected_round_convention"])
def test_livingston_and_lewis_give_the_check_values(shape, convention) -> None:
    got = livingston_lewis(TOTALS, **COUNT, shape=shape)
    entry = EXPECTED["livingston_lewis_4P" if shape == "four" else "livingston_lewis_2P"]
    want, fit = entry[convention], entry["second_source"]
    assert got.effective_length == pytest.approx(fit["etl"], abs=LL)
    assert got.alpha == pytest.approx(fit["alpha"], abs=LL)
    assert got.beta == pytest.approx(fit["beta"], abs=LL)
    assert (got.lower, got.upper) == (fit["l"], fit["u"])
    assert (got.whole_length, got.pass_from) == (want["N_rounded"], want["pass_if_X_at_least"])
    (right_fail, wrong_pass), (wrong_fail, right_pass) = got.table or ((0.0, 0.0), (0.0, 0.0))
    assert right_pass == pytest.approx(want["true_pass_class_pass"], abs=LL)
    assert right_fail == pytest.approx(want["true_fail_class_fail"], abs=LL)
    assert wrong_pass == pytest.approx(want["false_positive"], abs=LL)
    assert wrong_fail == pytest.approx(want["false_negative"], abs=LL)
    decisions = got.decisions
    assert decisions.accuracy.estimate == pytest.approx(want["accuracy"], abs=LL)
    assert decisions.consistency.estimate == pytest.approx(want["consistency"], abs=LL)
    assert decisions.chance == pytest.approx(want["chance"], abs=LL)
    assert decisions.kappa.estimate == pytest.approx(want["kappa"], abs=LL)
    assert decisions.pass_rate == pytest.approx(want["pass_rate_model"], abs=LL)


def test_two_parameters_agree_with_the_closed_form_of_the_beta_binomial() -> None:
    got = livingston_lewis(TOTALS, **COUNT, shape="two")
    n, c, a, b = got.whole_length, got.pass_from, value(got.alpha), value(got.beta)
    counts = np.arange(c, n + 1)
    weights = stats.betabinom.pmf(counts, n, a, b)
    above = stats.beta.sf(0.6, counts + a, n - counts + b)
    assert got.table is not None
    assert got.table[1][1] == pytest.approx(float(np.sum(weights * above)), abs=1e-8)
    assert got.decisions.pass_rate == pytest.approx(float(np.sum(weights)), abs=1e-8)


def test_four_parameters_are_found_again_and_agree_with_direct_integration() -> None:
    # True scores .25 + .6 Beta(2, 3), 60 tasks right or wrong each: a spread two parameters cannot follow.
    rng = np.random.default_rng(3)
    true = 0.25 + 0.6 * rng.beta(2, 3, 4000)
    totals = rng.binomial(60, true)
    reliability = float(np.var(60 * true) / np.var(totals))
    got = livingston_lewis(totals, reliability=reliability, line=30, highest=60, shape="four")
    lower, upper = value(got.lower), value(got.upper)
    assert lower == pytest.approx(0.25, abs=0.06)
    assert upper == pytest.approx(0.85, abs=0.1)
    n, c = got.whole_length, got.pass_from
    density = stats.beta(value(got.alpha), value(got.beta), lower, upper - lower)

    def both(p: float) -> float:
        on = stats.binom.sf(c - 1, n, p)
        return float(density.pdf(p) * (on**2 + (1 - on) ** 2))

    want = sum(integrate.quad(both, *ends, epsabs=1e-10)[0] for ends in ((lower, 0.5), (0.5, upper)))
    assert got.decisions.consistency.estimate == pytest.approx(want, abs=1e-6)


def test_turning_the_scale_round_turns_the_true_scores_round() -> None:
    rng = np.random.default_rng(8)
    totals = rng.binomial(60, 0.25 + 0.6 * rng.beta(2, 4, 3000))
    plain = livingston_lewis(totals, reliability=0.6, line=25, highest=60)
    turned = livingston_lewis(60 - totals, reliability=0.6, line=36, highest=60)
    assert value(plain.lower) > 0
    assert (turned.alpha, turned.beta) == pytest.approx((plain.beta, plain.alpha), rel=1e-6)
    assert (turned.lower, turned.upper) == pytest.approx((1 - value(plain.upper), 1 - value(plain.lower)), abs=1e-9)


def test_the_rounding_is_stated_with_what_all_roundings_would_give() -> None:
    got = livingston_lewis(TOTALS, **COUNT)
    low, high = got.consistency_by_rounding or (0.0, 0.0)
    assert low <= value(got.decisions.consistency.estimate) <= high
    assert low < high
    assert "31.45" in got.rounding
    assert "19 of 31" in got.rounding
    assert f"{low:.3f}" in got.rounding


def test_scores_almost_without_error_are_no_test_of_so_many_tasks() -> None:
    got = livingston_lewis([4, 9, 12, 17], reliability=1 - 1e-12, line=10, highest=20)
    nothing(got.decisions)
    assert "2000" in (got.decisions.undefined or "")


def test_a_score_outside_what_can_be_scored_is_refused() -> None:
    with pytest.raises(ScoreError, match="41"):
        livingston_lewis([3, 41], reliability=0.7, line=24, highest=40)
    with pytest.raises(ScoreError, match=r"2\.5"):
        subkoviak([3, 2.5], **COUNT)


# ---- counts of right tasks


def test_subkoviak_gives_the_check_values() -> None:
    got = subkoviak(TOTALS, **COUNT)
    want = EXPECTED["subkoviak1976"]
    assert got.consistency.estimate == pytest.approx(want["p0"], abs=OTHERS)
    assert got.chance == pytest.approx(want["pc"], abs=OTHERS)
    assert got.kappa.estimate == pytest.approx(want["kappa"], abs=OTHERS)
    assert got.accuracy.estimate is None
    assert got.accuracy.undefined


def test_subkoviak_is_the_formula_of_the_paper_with_plain_binomials() -> None:
    totals, n, c, r = [3, 5, 5, 8, 9], 10, 6, 0.4
    mean = sum(totals) / len(totals)
    shares = [r * x / n + (1 - r) * mean / n for x in totals]
    on = [sum(math.comb(n, k) * p**k * (1 - p) ** (n - k) for k in range(c, n + 1)) for p in shares]
    got = subkoviak(totals, reliability=r, line=c, highest=n)
    assert got.consistency.estimate == pytest.approx(sum(p * p + (1 - p) ** 2 for p in on) / 5, abs=1e-12)


def test_huynh_gives_the_check_values() -> None:
    got, want = huynh(TOTALS, line=24, highest=40), EXPECTED["huynh1976"]
    assert got.consistency.estimate == pytest.approx(want["p0"], abs=OTHERS)
    assert got.chance == pytest.approx(want["pc"], abs=OTHERS)
    assert got.kappa.estimate == pytest.approx(want["kappa"], abs=OTHERS)


def test_huynh_is_the_double_sum_of_the_bivariate_beta_binomial() -> None:
    # P(x, y) = C(n,x) C(n,y) B(a + x + y, b + 2n - x - y) / B(a, b), Huynh (1976) eq. 3.
    want = EXPECTED["huynh1976"]
    a, b, n, c = want["alpha"], want["beta"], 40, 24

    def log_beta(p: float, q: float) -> float:
        return math.lgamma(p) + math.lgamma(q) - math.lgamma(p + q)

    same = sum(
        math.comb(n, x) * math.comb(n, y) * math.exp(log_beta(a + x + y, b + 2 * n - x - y) - log_beta(a, b))
        for x in range(n + 1)
        for y in range(n + 1)
        if (x >= c) == (y >= c)
    )
    assert huynh(TOTALS, line=24, highest=40).consistency.estimate == pytest.approx(same, abs=1e-8)


@pytest.mark.parametrize(("correction", "key"), [(False, "no_cc"), (True, "cc")])
def test_peng_and_subkoviak_give_the_check_values(correction, key) -> None:
    got = peng_subkoviak(TOTALS, **COUNT, continuity=correction)
    want = EXPECTED["peng_subkoviak1980"][key]
    assert got.consistency.estimate == pytest.approx(want["p0"], abs=OTHERS)
    assert got.kappa.estimate == pytest.approx(want["kappa"], abs=OTHERS)


def test_under_a_hundred_candidates_the_count_methods_say_so_first() -> None:
    few = subkoviak(TOTALS[:30], **COUNT)
    assert few.warnings
    assert few.sentence.startswith("30 candidates")
    assert not subkoviak(TOTALS, **COUNT).warnings


# ---- what does not exist

ALL = [
    lambda scores, r: normal_decisions(scores, reliability=r, line=24),
    lambda scores, r: livingston_lewis(scores, reliability=r, line=24, highest=40).decisions,
    lambda scores, r: subkoviak(np.round(scores), reliability=r, line=24, highest=40),
    lambda scores, r: peng_subkoviak(np.round(scores), reliability=r, line=24, highest=40),
]


@pytest.mark.parametrize("method", ALL)
@pytest.mark.parametrize("scores", [[], [30], [30, 30, 30], [math.nan, 12], [3.0, 3 + 1e-13, 3.0]])
def test_without_spread_there_is_no_number_but_a_reason(method, scores) -> None:
    nothing(method(scores, 0.7))


@pytest.mark.parametrize("method", ALL)
@pytest.mark.parametrize("reliability", [0.0, 1.0, -0.2, 1.3, math.nan])
def test_a_reliability_that_is_none_gives_a_reason(method, reliability) -> None:
    nothing(method([10, 20, 30], reliability))


def nothing(got: Decisions) -> None:
    for estimate in (got.accuracy, got.consistency, got.kappa):
        assert estimate.estimate is None
        assert estimate.se is None
        assert estimate.ci95 is None
        assert estimate.undefined
    assert got.sentence


def test_a_share_that_rounds_to_more_than_all_is_all() -> None:
    got = subkoviak([20, 0, 20, 20], reliability=1e-9, line=4, highest=20)
    assert got.consistency.se is None or math.isfinite(got.consistency.se)
    assert got.consistency.estimate == pytest.approx(1.0, abs=1e-6)


def test_candidates_with_all_or_nothing_do_not_fit_a_beta_distribution() -> None:
    nothing(huynh([0, 20, 20], line=4, highest=20))


def test_everybody_on_one_side_has_no_kappa_but_a_consistency() -> None:
    got = subkoviak([40, 40, 39, 40], reliability=0.5, line=0, highest=40)
    assert got.consistency.estimate == 1.0
    assert got.kappa.estimate is None
    assert got.kappa.undefined


@given(
    st.lists(st.integers(0, 20), min_size=0, max_size=15),
    st.floats(0.01, 0.99),
    st.integers(0, 21),
)
@settings(max_examples=120, deadline=None)
def test_no_input_gives_nan_or_a_share_outside_0_and_1(scores, reliability, line) -> None:
    everything = [
        normal_decisions(scores, reliability=reliability, line=line),
        livingston_lewis(scores, reliability=reliability, line=line, highest=20).decisions,
        subkoviak(scores, reliability=reliability, line=line, highest=20),
        huynh(scores, line=line, highest=20),
        peng_subkoviak(scores, reliability=reliability, line=line, highest=20),
    ]
    for decisions in everything:
        for estimate in (decisions.accuracy, decisions.consistency):
            assert (estimate.estimate is None) == (estimate.undefined is not None)
            for number in (estimate.estimate, *(estimate.ci95 or ())):
                assert number is None or 0 <= number <= 1
        kappa = decisions.kappa.estimate
        assert kappa is None or (math.isfinite(kappa) and kappa <= 1)
