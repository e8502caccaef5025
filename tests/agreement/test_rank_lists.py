"""Orders compared with the top counting most: check sets, scipy, the papers' sums written out, and bounds by trial."""

from __future__ import annotations

import json
import math
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from assess.agreement.rank_lists import rank_biased_overlap
from assess.agreement.scores import ScoreError
from assess.agreement.weighted_tau import weighted_tau

DATA = Path(__file__).parent.parent / "data" / "agreement"
TAU, EQUAL, UNEVEN = (
    json.loads((DATA / f"{name}.json").read_text("utf-8"))
    for name in ("weighted_tau__scipy_doc", "rbo__faults_equal_len", "rbo__uneven")
)
LISTS = st.lists(st.sampled_from("abcdefghij"), unique=True, min_size=1, max_size=8)
VALUES = st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=2, max_size=15)
PERSISTENCE = st.sampled_from([0.5, 0.8, 0.9, 0.98])


def value(number: float | None) -> float:
    assert number is not None
    return number


def overlap_sum(first: list[str], second: list[str], p: float) -> float:
    """(1 - p) sum of p^(d-1) overlap(d)/d over the depths both lists have: the definition, eq. 4."""
    total = 0.0
    seen_first: set[str] = set()
    seen_second: set[str] = set()
    for depth, (one, other) in enumerate(zip(first, second, strict=True), 1):
        seen_first.add(one)
        seen_second.add(other)
        total += (1 - p) * p ** (depth - 1) * len(seen_first & seen_second) / depth
    return total


# ---- weighted tau


def test_weighted_tau_gives_the_check_values() -> None:
    x, y, want, exact = TAU["data"]["x"], TAU["data"]["y"], TAU["expected"], TAU["tolerance"]
    assert weighted_tau(x, y).tau == pytest.approx(want["weightedtau_symmetric"], abs=exact)
    assert weighted_tau(x, y, weighing="product").tau == pytest.approx(want["additive_false"], abs=exact)
    assert weighted_tau(x, y).tau == pytest.approx(want["published"]["scipy_doc_default"], abs=exact)


@given(VALUES, st.booleans())
@settings(deadline=None)
def test_weighted_tau_is_that_of_scipy_ties_and_all(rows, add) -> None:
    x, y = zip(*rows, strict=True)
    got = weighted_tau(x, y, weighing="sum" if add else "product", permutations=0)
    if len(set(x)) == 1 or len(set(y)) == 1:
        assert got.tau is None
        assert got.undefined
    else:
        assert got.tau == pytest.approx(stats.weightedtau(x, y, additive=add).statistic, abs=1e-12)


def test_without_ties_weighted_tau_is_the_papers_sum_over_pairs() -> None:
    # Larger is more important; weight of a pair: 1/(place of one) + 1/(place of the other), places from 1.
    x, y = [9, 7, 5, 3, 1], [5, 9, 7, 1, 3]

    def one_way(by: list[int]) -> float:
        place = {i: 1 + sum(other > by[i] for other in by) for i in range(5)}
        pairs = [(i, j, 1 / place[i] + 1 / place[j]) for i in range(5) for j in range(i)]
        signed = sum(math.copysign(w, (x[i] - x[j]) * (y[i] - y[j])) for i, j, w in pairs)
        return signed / sum(w for _, _, w in pairs)

    assert weighted_tau(x, y).tau == pytest.approx((one_way(x) + one_way(y)) / 2, abs=1e-12)


def test_an_exchange_at_the_top_weighs_more_than_one_at_the_bottom() -> None:
    order = [6, 5, 4, 3, 2, 1]
    top = weighted_tau(order, [5, 6, 4, 3, 2, 1]).tau
    bottom = weighted_tau(order, [6, 5, 4, 3, 1, 2]).tau
    assert value(top) < value(bottom) < 1


@given(VALUES, st.randoms())
@settings(deadline=None, max_examples=40)
def test_tau_is_symmetric_turns_its_sign_and_does_not_see_row_order(rows, random) -> None:
    x, y = zip(*rows, strict=True)
    got = weighted_tau(x, y, permutations=50, seed=4)
    mixed = list(rows)
    random.shuffle(mixed)
    assert weighted_tau(*zip(*mixed, strict=True), permutations=50, seed=4) == got
    assume(got.tau is not None)
    assert weighted_tau(y, x, permutations=0).tau == pytest.approx(value(got.tau), abs=1e-12)
    assert -1 - 1e-12 <= value(got.tau) <= 1 + 1e-12
    assert 0 < value(got.p) <= 1
    assert weighted_tau(x, x, permutations=0).tau == pytest.approx(1)


def test_the_chance_of_five_places_is_that_of_all_120_orders() -> None:
    x, y = [5, 4, 3, 2, 1], [5, 4, 2, 3, 1]
    seen = abs(stats.weightedtau(x, y).statistic)
    every = [abs(stats.weightedtau(x, order).statistic) for order in permutations(y)]
    got = weighted_tau(x, y)
    assert got.p == pytest.approx(sum(one >= seen - 1e-12 for one in every) / 120)
    assert "all" in got.p_from


def test_drawn_orders_come_near_the_chance_of_all_orders() -> None:
    x, y = [8, 7, 6, 5, 4, 3, 2, 1], [8, 5, 7, 6, 2, 4, 3, 1]
    seen = abs(stats.weightedtau(x, y).statistic)
    rough = weighted_tau(x, y, permutations=1000, seed=2)
    assert "1000" in rough.p_from
    assert value(rough.p) < 0.05
    assert rough.tau == pytest.approx(seen)
    assert weighted_tau(x, y, permutations=1000, seed=2) == rough


@pytest.mark.parametrize("rows", [([], []), ([1], [2]), ([math.nan, 1], [2, 3]), ([2, 2, 2], [1, 2, 3])])
def test_an_order_of_nothing_has_a_reason(rows) -> None:
    got = weighted_tau(*rows)
    assert got.tau is None
    assert got.p is None
    assert got.undefined
    assert got.sentence


# ---- rank-biased overlap


@pytest.mark.parametrize("reference", [EQUAL, UNEVEN], ids=["equal", "uneven"])
@pytest.mark.parametrize("p", [0.8, 0.9, 0.98])
def test_rank_biased_overlap_gives_the_check_values(reference, p) -> None:
    want, exact = reference["expected"][f"p={p:g}"], reference["tolerance"]
    got = rank_biased_overlap(reference["data"]["S"], reference["data"]["T"], p=p)
    assert got.extrapolated == pytest.approx(want["rbo_ext"], abs=exact)
    assert got.least == pytest.approx(want["rbo_min_depth_k"], abs=exact)


@pytest.mark.parametrize("p", [0.8, 0.9, 0.98])
def test_the_residual_of_the_check_set_is_more_than_all_unseen_depths_weigh_and_ours_is_not(p) -> None:
    # Depths after k weigh p^k altogether, so no residual can be more. The check value is eq. 13 without the factor k
    # of 2k sum p^d/d, as is shown here; with it the equation gives what the definition gives (next but one test).
    first, second = EQUAL["data"]["S"], EQUAL["data"]["T"]
    check, k, shared, f = EQUAL["expected"][f"p={p:g}"]["rbo_residual"], 7, 2, 12

    def equation_13(factor: int) -> float:
        harmonic = [p**d / d for d in range(1, f + 1)]
        rest = shared * (-math.log(1 - p) - sum(harmonic))
        return float(2 * p**k - p**f - (1 - p) / p * (2 * factor * sum(harmonic[k:]) + rest))

    assert check > p**k
    assert check == pytest.approx(equation_13(1), abs=EQUAL["tolerance"])
    ours = value(rank_biased_overlap(first, second, p=p).residual)
    assert ours == pytest.approx(equation_13(k), abs=1e-12)
    assert ours < p**k


@given(LISTS, LISTS, PERSISTENCE)
@settings(deadline=None, max_examples=50)
def test_the_least_is_what_comes_of_nothing_in_common_further_down(first, second, p) -> None:
    depth = 1100
    one = first + [f"x{n}" for n in range(depth - len(first))]
    other = second + [f"y{n}" for n in range(depth - len(second))]
    got = rank_biased_overlap(first, second, p=p)
    assert got.least == pytest.approx(overlap_sum(one, other, p), abs=1e-9)


@given(LISTS, LISTS, PERSISTENCE)
@settings(deadline=None, max_examples=50)
def test_least_and_residual_are_what_comes_of_the_best_that_could_follow(first, second, p) -> None:
    depth = 1100
    one = first + [name for name in second if name not in first]
    other = second + [name for name in first if name not in second]
    one += [f"x{n}" for n in range(depth - len(one))]
    other += [f"x{n}" for n in range(depth - len(other))]
    got = rank_biased_overlap(first, second, p=p)
    assert value(got.least) + value(got.residual) == pytest.approx(overlap_sum(one, other, p), abs=1e-9)


@given(LISTS, LISTS, st.permutations("abcdefghij"), st.permutations("abcdefghij"), PERSISTENCE)
@settings(deadline=None)
def test_whatever_follows_stays_within_least_and_residual(first, second, after_first, after_second, p) -> None:
    one = first + [name for name in after_first if name not in first]
    other = second + [name for name in after_second if name not in second]
    # The tail that is left out adds at most p^10 and at least nothing.
    reached = overlap_sum(one, other, p)
    got = rank_biased_overlap(first, second, p=p)
    assert reached <= value(got.least) + value(got.residual) + 1e-9
    assert reached + p**10 >= value(got.least) - 1e-9


@given(LISTS, LISTS, PERSISTENCE)
@settings(deadline=None)
def test_the_extrapolated_value_lies_between_the_bounds_and_is_symmetric(first, second, p) -> None:
    got = rank_biased_overlap(first, second, p=p)
    assert value(got.least) - 1e-12 <= value(got.extrapolated) <= value(got.least) + value(got.residual) + 1e-12
    turned = rank_biased_overlap(second, first, p=p)
    assert turned.extrapolated == got.extrapolated
    assert turned.residual == got.residual
    assert rank_biased_overlap(first, first, p=p).extrapolated == pytest.approx(1, abs=1e-12)
    assert rank_biased_overlap(first, [f"{name}'" for name in second], p=p).extrapolated == 0


@given(LISTS, LISTS, PERSISTENCE)
@settings(deadline=None)
def test_lists_of_equal_length_follow_equation_23(first, second, p) -> None:
    k = min(len(first), len(second))
    first, second = first[:k], second[:k]
    at_k = len(set(first) & set(second)) / k
    want = overlap_sum(first, second, p) + at_k * p**k
    assert rank_biased_overlap(first, second, p=p).extrapolated == pytest.approx(want, abs=1e-12)


def test_the_weight_of_the_first_places_is_the_sum_of_the_weights_of_places() -> None:
    # A place i counts in every depth from i on: (1 - p)/p times the sum of p^d/d.
    p = 0.9
    weight = sum((1 - p) / p * p**d / d for i in range(1, 11) for d in range(i, 2000))
    got = rank_biased_overlap([*"abcdefghij"], [*"abcdefghij"], p=p)
    assert got.weight_of_places == pytest.approx(weight, abs=1e-9)
    assert weight == pytest.approx(0.86, abs=0.005)  # Webber et al. (2010) sec. 4.3: "86% of the evaluation"


@pytest.mark.parametrize(("first", "second"), [([], []), ([], ["a"]), (["a"], [])])
def test_an_empty_list_has_a_reason(first, second) -> None:
    got = rank_biased_overlap(first, second)
    assert (got.extrapolated, got.least, got.residual) == (None, None, None)
    assert got.undefined


def test_a_name_twice_or_a_weight_that_is_none_is_refused() -> None:
    with pytest.raises(ScoreError, match="stance"):
        rank_biased_overlap(["stance", "edge", "stance"], ["edge"])
    for p in (0.0, 1.0, math.nan):
        with pytest.raises(ScoreError, match="p must"):
            rank_biased_overlap(["a"], ["a"], p=p)
