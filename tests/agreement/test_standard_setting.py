"""Where the line could lie: against a check set, the papers' formulas and direct maximisation."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from assess.agreement.borderline import borderline_group, borderline_regression
from assess.agreement.contrasting_groups import ContrastingGroups, contrasting_groups
from assess.agreement.scores import Floats, ScoreError
from assess.agreement.standard_setting import angoff

REFERENCE = json.loads(
    (Path(__file__).parent.parent / "data" / "agreement" / "standard_setting__sim360.json").read_text("utf-8")
)
EXPECTED, EXACT = REFERENCE["expected"], REFERENCE["tolerance"]
ITEMS, JUDGES, CHANCES = (list(column) for column in zip(*REFERENCE["data"]["angoff"], strict=True))
_, SCORES, IMPRESSIONS = (list(column) for column in zip(*REFERENCE["data"]["scores"], strict=True))
PASSED = [impression >= 3 for impression in IMPRESSIONS]


def value(number: float | None) -> float:
    assert number is not None
    return number


# ---- Angoff


def test_angoff_gives_the_check_values() -> None:
    got, want = angoff(ITEMS, JUDGES, CHANCES), EXPECTED["angoff"]
    assert got.cut == pytest.approx(want["panel_cut_raw"], abs=EXACT)
    assert 100 * value(got.share) == pytest.approx(want["cut_pct"], abs=EXACT)
    assert got.median_cut == pytest.approx(want["median_cut"], abs=EXACT)
    assert got.sd_judges == pytest.approx(want["sd_judges"], abs=EXACT)
    assert got.se_judges == pytest.approx(want["se_judges"], abs=EXACT)
    assert value(got.se_judges) / 12 == pytest.approx(want["se_cut_proportion_random_judges_fixed_items"], abs=EXACT)
    assert value(got.se_both) / 12 == pytest.approx(want["se_cut_proportion_random_both"], abs=EXACT)
    assert got.variances == pytest.approx((want["var_judge"], want["var_item"], want["var_resid"]), abs=EXACT)
    assert dict(got.judge_totals) == {
        f"J{n}": pytest.approx(total, abs=EXACT) for n, total in enumerate(want["judge_totals"], 1)
    }
    means = dict(got.item_means)
    assert [means[f"item{n}"] for n in range(1, 13)] == [pytest.approx(mean, abs=EXACT) for mean in want["item_means"]]


def test_the_angoff_interval_is_t_over_judges() -> None:
    got = angoff(ITEMS, JUDGES, CHANCES)
    low, high = stats.t.interval(0.95, 4, loc=6.988, scale=EXPECTED["angoff"]["se_judges"])
    assert got.ci95 == pytest.approx((low, high), abs=1e-6)


def test_a_missing_judgement_leaves_a_cut_without_an_error() -> None:
    got = angoff(ITEMS[1:], JUDGES[1:], CHANCES[1:])
    assert got.cut == pytest.approx(6.988 - 0.678 + (0.64 + 0.73 + 0.67 + 0.66) / 4)
    assert got.se_judges is None
    assert got.ci95 is None
    assert "did not judge" in got.warnings[0]
    assert "J1" not in dict(got.judge_totals)


@pytest.mark.parametrize(
    ("row", "words"),
    [(("item1", "J1", 1.2), "1.2"), (("item1", "J1", -0.1), "-0.1"), (("item2", "J1", 0.5), "twice")],
)
def test_a_wrong_judgement_is_refused_with_its_row(row, words) -> None:
    with pytest.raises(ScoreError, match=words) as caught:
        angoff(["item2", row[0]], ["J1", row[1]], [0.5, row[2]])
    assert caught.value.row == 1


def test_no_judgement_or_one_judge_gives_no_error_but_a_reason() -> None:
    assert angoff([], [], []).cut is None
    assert angoff([], [], []).undefined
    one = angoff(["a", "b"], ["J", "J"], [0.5, 0.7])
    assert one.cut == pytest.approx(1.2)
    assert one.se_judges is None
    assert one.warnings


@given(st.lists(st.lists(st.floats(0, 1), min_size=4, max_size=4), min_size=2, max_size=5), st.randoms())
@settings(deadline=None, max_examples=60)
def test_the_cut_is_the_mean_judge_and_row_order_does_not_matter(table, random) -> None:
    rows = [(f"i{i}", f"j{j}", p) for j, row in enumerate(table) for i, p in enumerate(row)]
    mixed = list(rows)
    random.shuffle(mixed)
    got = angoff(*zip(*rows, strict=True))
    assert angoff(*zip(*mixed, strict=True)) == got
    assert got.cut == pytest.approx(np.mean([sum(row) for row in table]), abs=1e-9)
    assert value(got.se_both) >= 0


# ---- borderline


@pytest.mark.parametrize(("at", "key"), [(2, "cut_at_2"), (2.5, "cut_at_2_5"), (3, "cut_at_3")])
def test_borderline_regression_gives_the_check_values(at, key) -> None:
    got, want = borderline_regression(SCORES, IMPRESSIONS, borderline=at), EXPECTED["borderline_regression"]
    assert got.cut == pytest.approx(want[key], abs=EXACT)
    assert got.intercept == pytest.approx(want["intercept"], abs=EXACT)
    assert got.slope == pytest.approx(want["slope"], abs=EXACT)
    assert got.r_squared == pytest.approx(want["r2"], abs=EXACT)
    assert got.rmse == pytest.approx(want["rmse"], abs=EXACT)
    if at == 2:
        assert got.se == pytest.approx(want["se_cut_at_2"], abs=EXACT)


def test_borderline_regression_is_the_line_of_scipy() -> None:
    got, line = borderline_regression(SCORES, IMPRESSIONS, borderline=0), stats.linregress(IMPRESSIONS, SCORES)
    assert got.cut == pytest.approx(line.intercept)
    assert got.se == pytest.approx(line.intercept_stderr)
    assert "outside" in got.warnings[0]


def test_the_borderline_group_gives_the_check_values() -> None:
    got, want = borderline_group(SCORES, IMPRESSIONS, borderline=3), EXPECTED["borderline_group"]
    assert got.n == want["n"]
    assert got.mean == pytest.approx(want["mean"], abs=EXACT)
    assert got.median == pytest.approx(want["median"], abs=EXACT)
    nobody = borderline_group(SCORES, IMPRESSIONS, borderline=3.5)
    assert (nobody.mean, nobody.median) == (None, None)
    assert nobody.undefined


@pytest.mark.parametrize(
    ("scores", "impressions"), [([], []), ([5], [2]), ([5, 6], [2, 3]), ([5, 6, 7], [3, 3, 3]), ([1, 2, 3], [3, 2, 1])]
)
def test_a_line_that_cannot_be_drawn_or_falls_has_a_reason(scores, impressions) -> None:
    got = borderline_regression(scores, impressions, borderline=2)
    assert got.cut is None
    assert got.undefined
    assert got.sentence


@given(
    st.lists(st.tuples(st.integers(0, 100), st.integers(1, 5)), min_size=3, max_size=20),
    st.integers(-20, 20),
)
@settings(deadline=None, max_examples=80)
def test_adding_points_to_every_score_moves_the_cut_by_as_much(rows, more) -> None:
    scores, impressions = zip(*rows, strict=True)
    got = borderline_regression(scores, impressions, borderline=3)
    moved = borderline_regression([score + more for score in scores], impressions, borderline=3)
    assert (got.undefined is None) == (moved.undefined is None)
    if got.cut is not None:
        assert value(moved.cut) == pytest.approx(got.cut + more, abs=1e-8)
        assert math.isfinite(value(got.se))


# ---- contrasting groups


def test_contrasting_groups_give_the_check_values() -> None:
    got, want = contrasting_groups(SCORES, PASSED), EXPECTED["contrasting_groups_pass_ge3"]
    assert (got.n_below, got.n_on) == (want["n_fail"], want["n_pass"])
    assert got.mean_below == pytest.approx(want["mean_fail"], abs=EXACT)
    assert got.sd_below == pytest.approx(want["sd_fail"], abs=EXACT)
    assert got.mean_on == pytest.approx(want["mean_pass"], abs=EXACT)
    assert got.sd_on == pytest.approx(want["sd_pass"], abs=EXACT)
    assert got.midpoint_of_means.cut == pytest.approx(want["midpoint_means"], abs=EXACT)
    assert got.midpoint_of_medians.cut == pytest.approx(want["midpoint_medians"], abs=EXACT)
    assert got.normal_intersection.cut == pytest.approx(want["normal_intersection"], abs=EXACT)
    assert got.logistic.cut == pytest.approx(want["logistic_p50_cut"], abs=EXACT)
    assert got.intercept == pytest.approx(want["logit_b0"], abs=EXACT)
    assert got.slope == pytest.approx(want["logit_b1"], abs=EXACT)


def test_the_logistic_cut_and_its_error_are_those_of_direct_maximisation() -> None:
    x, y = np.array(SCORES), np.array(PASSED)

    def loss(parts: Floats) -> float:
        cut, steep = parts
        return float(np.logaddexp(0, np.where(y, -1, 1) * steep * (x - cut)).sum())

    best = optimize.minimize(loss, [55.0, 0.3], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-13})
    got = contrasting_groups(SCORES, PASSED)
    assert got.logistic.cut == pytest.approx(best.x[0], abs=1e-5)
    # Its error from the curvature by the cut itself, by differences: the inverse information of (cut, steepness).
    step = np.array([1e-3, 1e-4])
    moves = np.eye(2) * step

    def curvature(a: int, b: int) -> float:
        plus, minus = moves[a] + moves[b], moves[a] - moves[b]
        ends = loss(best.x + plus) - loss(best.x + minus) - loss(best.x - minus) + loss(best.x - plus)
        return float(ends / (4 * step[a] * step[b]))

    information = np.array([[curvature(a, b) for b in (0, 1)] for a in (0, 1)])
    assert got.logistic.se == pytest.approx(math.sqrt(np.linalg.inv(information)[0, 0]), rel=1e-3)


def test_the_normal_intersection_is_where_the_two_densities_are_equal() -> None:
    got = contrasting_groups([1, 2, 4, 5, 3, 6, 9, 9.5], [False] * 4 + [True] * 4)
    cut = value(got.normal_intersection.cut)
    below = stats.norm.pdf(cut, value(got.mean_below), value(got.sd_below))
    assert below == pytest.approx(stats.norm.pdf(cut, value(got.mean_on), value(got.sd_on)))
    assert value(got.mean_below) < cut < value(got.mean_on)


@pytest.mark.parametrize(("highest_below", "lowest_on", "cut"), [(4.0, 5.0, 4.5), (4.0, 4.0, 4.0)])
def test_separated_groups_fall_back_to_the_gap_and_say_so(highest_below, lowest_on, cut) -> None:
    got = contrasting_groups([1, 2, highest_below, lowest_on, 7, 8], [False] * 3 + [True] * 3)
    assert got.separated
    assert got.slope is None
    assert got.logistic.cut == pytest.approx(cut)
    assert "do not overlap" in got.logistic.sentence
    assert got.logistic.se is None


def test_a_cut_on_the_last_score_seen_is_a_cut_in_every_unit() -> None:
    # At 3 two of three are not good enough, at 12 one of two is: the fitted curve is even exactly at 12.
    for times in (1.0, 2.5, 0.1):
        scores = [times * score for score in (3, 3, 3, 12, 12)]
        got = contrasting_groups(scores, [False, False, True, False, True])
        assert got.logistic.cut == pytest.approx(12 * times)


def test_an_overlap_too_narrow_for_the_range_gives_a_reason() -> None:
    got = contrasting_groups([0, 1.05, 1, 1e9], [False, False, True, True])
    assert not got.separated
    assert got.logistic.cut is None
    assert "cannot be fitted" in (got.logistic.undefined or "")


def test_groups_the_wrong_way_round_give_no_cut() -> None:
    got = contrasting_groups([7, 8, 9, 1, 2, 3], [False] * 3 + [True] * 3)
    cuts = [got.midpoint_of_means, got.midpoint_of_medians, got.normal_intersection, got.logistic]
    assert [cut.cut for cut in cuts] == [None] * 4
    assert all(cut.undefined for cut in cuts)


@pytest.mark.parametrize("scores", [[], [3.0], [3.0, 4.0]])
@pytest.mark.parametrize("side", [True, False])
def test_an_empty_group_gives_a_reason(scores, side) -> None:
    got = contrasting_groups(scores, [side] * len(scores))
    assert got.logistic.cut is None
    assert got.midpoint_of_means.undefined


@given(st.lists(st.tuples(st.integers(0, 12), st.booleans()), max_size=18), st.randoms())
@settings(deadline=None, max_examples=200)
def test_every_cut_is_a_number_between_the_scores_or_has_a_reason(rows, random) -> None:
    def of(some: list[tuple[int, bool]]) -> ContrastingGroups:
        return contrasting_groups([score for score, _ in some], [side for _, side in some])

    got = of(rows)
    mixed = list(rows)
    random.shuffle(mixed)
    assert of(mixed) == got
    for cut in (got.midpoint_of_means, got.midpoint_of_medians, got.normal_intersection, got.logistic):
        assert (cut.cut is None) == (cut.undefined is not None)
        assert cut.sentence
        if cut.cut is not None:
            assert min(score for score, _ in rows) <= cut.cut <= max(score for score, _ in rows)


@given(st.lists(st.tuples(st.integers(0, 12), st.booleans()), min_size=4, max_size=18))
@settings(deadline=None, max_examples=100)
def test_measuring_in_another_unit_measures_the_cut_in_that_unit(rows) -> None:
    got = contrasting_groups([score for score, _ in rows], [side for _, side in rows])
    assume(got.logistic.cut is not None)
    moved = contrasting_groups([2.5 * score + 10 for score, _ in rows], [side for _, side in rows])
    assert value(moved.logistic.cut) == pytest.approx(2.5 * value(got.logistic.cut) + 10, abs=1e-6)
