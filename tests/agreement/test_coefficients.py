"""Fleiss, Conger, Gwet and Brennan-Prediger: check sets, sums over pairs, and what must not change them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assess.agreement.bootstrap import Bootstrap
from assess.agreement.chance import fleiss_null_se
from assess.agreement.coefficients import conger_kappa, family
from assess.agreement.cohen import cohen
from assess.agreement.results import Estimate
from assess.agreement.scores import Scores, scores_of
from assess.agreement.tally import tally_of
from assess.agreement.weights import weight_table
from tests.agreement.plain_sums import (
    brennan_prediger_by_pairs,
    conger_by_pairs,
    fleiss_by_pairs,
    gwet_by_pairs,
)
from tests.agreement.score_tables import (
    Table,
    alike_table,
    columns_of,
    random_table,
    reference,
    scores_of_table,
    tables,
    value,
)

KINDS = ("none", "linear", "quadratic", "ordinal")
NAMES = ("fleiss_kappa", "gwet_ac", "brennan_prediger", "conger_kappa")


def all_four(scores: Scores, kind: str = "none", replicates: int = 0) -> dict[str, Estimate]:
    tally, weights = tally_of(scores), weight_table(kind, scores.levels)
    three = family(scores, tally, weights, Bootstrap(replicates))
    conger = conger_kappa(scores, tally, weights, Bootstrap(replicates))
    return {e.name: e for e in (three.fleiss, three.gwet, three.brennan_prediger, conger)}


@pytest.mark.parametrize(
    "name", ["krippendorff_alpha__krippendorff2011", "multi__sim_public3x8", "fleiss_kappa__fleiss1971"]
)
def test_check_sets_are_reproduced_with_their_errors_and_intervals(name: str) -> None:
    check = reference(name)
    scores = scores_of(*columns_of(check), levels=range(1, 6))
    for kind, wanted in check["expected"]["agreement"].items():
        got = all_four(scores, kind)
        for coefficient in NAMES:
            want, have = wanted[coefficient], got[coefficient]
            assert have.estimate == pytest.approx(want["value"], abs=1e-9)
            assert have.se == pytest.approx(want["se"], abs=1e-9)
            assert have.ci95 == pytest.approx(want["ci95"], abs=1e-9)
            assert have.interval.startswith("Student's t")


def test_fleisss_own_kappa_and_its_error_by_chance_are_reproduced() -> None:
    # Fleiss (1971), Psychol. Bull. 76: .430; null error after Fleiss, Nee & Landis (1979).
    check = reference("fleiss_kappa__fleiss1971")
    got = all_four(scores_of(*columns_of(check), levels=range(1, 6)))["fleiss_kappa"]
    assert round(value(got.estimate), 3) == 0.430
    assert got.null_se == pytest.approx(check["expected"]["fleiss_null"]["se0_fleiss1979"], abs=1e-9)


def test_a_table_of_counts_gives_the_same() -> None:
    check = reference("fleiss_kappa__wikipedia_counts")
    counts = np.array(check["data"], dtype=np.float64)
    unit, level = np.nonzero(counts)
    often = counts[unit, level].astype(int)
    units, levels = np.repeat(unit, often), np.repeat(level, often) + 1.0
    assessors = np.concatenate([np.arange(int(row.sum())) for row in counts])
    scores = scores_of([str(u) for u in units], [f"{a:02d}" for a in assessors], levels, levels=range(1, 6))
    want = check["expected"]["fleiss"]
    got = all_four(scores)
    assert got["fleiss_kappa"].estimate == pytest.approx(want["kappa"], abs=1e-9)
    assert got["fleiss_kappa"].null_se == pytest.approx(want["se0_fleiss1979"], abs=1e-9)
    assert got["brennan_prediger"].estimate == pytest.approx(want["randolph_free"], abs=1e-9)


def test_the_null_error_is_not_given_for_weights_or_unequal_numbers_of_scores() -> None:
    assert fleiss_null_se(np.array([[2.0, 0], [2, 1]]), np.array([1, 1])) is None
    table = np.array([[1, 2, 2], [3, 3, 3], [1, 1, 2.0]])
    assert all_four(scores_of_table(table, [1, 2, 3]))["fleiss_kappa"].null_se is not None
    assert all_four(scores_of_table(table, [1, 2, 3]), "linear")["fleiss_kappa"].null_se is None


@pytest.mark.parametrize("kind", KINDS)
def test_sums_over_all_pairs_give_the_same(kind: str) -> None:
    rng, levels = np.random.default_rng(12), [1.0, 2.0, 3.0, 4.0, 5.0]
    weights = weight_table(kind, levels)

    def weight(x: float, y: float) -> float:
        return float(weights[int(x) - 1, int(y) - 1])

    compared = 0
    for _ in range(30):
        table = random_table(rng)
        got = all_four(scores_of_table(table, levels, units_each=int(rng.integers(1, 4))), kind, 20)
        if any(e.estimate is None for e in got.values()):
            continue
        compared += 1
        want = {
            "fleiss_kappa": fleiss_by_pairs(table, weight),
            "gwet_ac": gwet_by_pairs(table, weight, levels),
            "brennan_prediger": brennan_prediger_by_pairs(table, weight, levels),
        }
        if table.shape[1] > 2:
            want["conger_kappa"] = conger_by_pairs(table, weight)
        for name, number in want.items():
            assert got[name].estimate == pytest.approx(number, abs=1e-9), name
    assert compared > 20


def numbers(table: Table, kind: str, levels: Sequence[float] = (1, 2, 3, 4)) -> list[float]:
    got = all_four(scores_of_table(table, levels), kind)
    assume(all(e.estimate is not None for e in got.values()))
    return [value(got[name].estimate) for name in NAMES]


@settings(max_examples=50, deadline=None)
@given(tables(), st.sampled_from(KINDS), st.integers(0, 999))
def test_the_order_of_assessors_and_units_does_not_matter(table: Table, kind: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    mixed = rng.permutation(rng.permutation(table), axis=1)
    assert numbers(mixed, kind) == pytest.approx(numbers(table, kind), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(tables(), st.permutations([1.0, 2.0, 3.0, 4.0]))
def test_names_of_levels_do_not_matter_without_weights(table: Table, names: list[float]) -> None:
    renamed = np.where(np.isnan(table), np.nan, np.array(names)[np.nan_to_num(table, nan=1).astype(int) - 1])
    assert numbers(renamed, "none") == pytest.approx(numbers(table, "none"), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(tables(), st.sampled_from(KINDS))
def test_turning_the_scale_round_does_not_matter(table: Table, kind: str) -> None:
    assert numbers(5 - table, kind) == pytest.approx(numbers(table, kind), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(tables(), st.sampled_from(KINDS))
def test_the_same_units_twice_give_the_same_coefficients(table: Table, kind: str) -> None:
    assert numbers(np.vstack([table, table]), kind) == pytest.approx(numbers(table, kind), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(tables(least=2).filter(lambda table: table.shape[1] == 2), st.sampled_from(KINDS))
def test_with_two_assessors_conger_is_cohen_over_the_units_both_scored(table: Table, kind: str) -> None:
    both = table[~np.isnan(table).any(axis=1)]
    scores = scores_of_table(table, [1, 2, 3, 4])
    assume(len(scores.assessors) == 2 and len(both) > 0)
    cells = np.zeros((4, 4))
    for x, y in both:
        cells[int(x) - 1, int(y) - 1] += 1
    got = all_four(scores, kind)["conger_kappa"].estimate
    want = cohen(cells, weight_table(kind, [1, 2, 3, 4])).kappa
    assert got == (None if want is None else pytest.approx(want, abs=1e-9))


def test_the_declared_scale_counts_and_not_the_levels_seen() -> None:
    # On one and the same set, levels 2 to 5 against 1 to 5 move AC1 and ordinal AC2 while alpha stays.
    table = random_table(np.random.default_rng(2), missing=0.0)
    table = np.clip(table, 2, 5)
    narrow, wide = (all_four(scores_of_table(table, levels)) for levels in ([2, 3, 4, 5], [1, 2, 3, 4, 5]))
    assert value(narrow["gwet_ac"].estimate) < value(wide["gwet_ac"].estimate)
    assert narrow["fleiss_kappa"].estimate == pytest.approx(wide["fleiss_kappa"].estimate, abs=1e-12)


def test_several_units_per_candidate_move_the_interval_to_candidates_and_keep_the_published_error() -> None:
    rng = np.random.default_rng(9)
    table = alike_table(rng, 15, 3, 0.8)
    single = all_four(scores_of_table(np.repeat(table, 3, axis=0), range(1, 6)))
    several = all_four(scores_of_table(np.repeat(table, 3, axis=0), range(1, 6), units_each=3), replicates=400)
    for name in NAMES:
        assert several[name].se == pytest.approx(single[name].se, abs=1e-12)
        assert "over 15 candidates" in several[name].interval
        assert any("takes units as independent" in warning for warning in several[name].warnings)
        widths = [value(e.ci95 and e.ci95[1] - e.ci95[0]) for e in (single[name], several[name])]
        assert widths[1] > 1.2 * widths[0]


def test_one_level_of_a_declared_scale_leaves_only_what_the_scale_defines_with_a_warning() -> None:
    got = all_four(scores_of_table(np.full((4, 2), 3.0), [1, 2, 3]))
    assert got["fleiss_kappa"].estimate is None
    assert got["conger_kappa"].estimate is None
    assert "100 %" in (got["fleiss_kappa"].undefined or "")
    assert got["gwet_ac"].estimate == 1.0
    assert "says nothing about how well" in got["gwet_ac"].warnings[0]
    assert got["gwet_ac"].ci95 is None


def test_full_agreement_has_no_interval_of_no_width() -> None:
    got = all_four(scores_of_table(np.array([[1, 1], [2, 2], [3, 3], [2, 2.0]]), [1, 2, 3]))
    assert [e.estimate for e in got.values()] == pytest.approx([1.0] * 4)
    assert {e.ci95 for e in got.values()} == {None}


def test_many_assessors_take_the_sparse_road_to_the_same_number() -> None:
    rng = np.random.default_rng(3)
    table = np.full((3000, 700), np.nan)
    for u in range(3000):
        table[u, rng.choice(700, 3, replace=False)] = rng.integers(1, 5, 3)
    scores = scores_of_table(table, [1, 2, 3, 4], units_each=2)
    got = all_four(scores, "linear", 10)["conger_kappa"]
    given = np.stack([(table == level).sum(axis=0) for level in (1, 2, 3, 4)], axis=1).astype(float)
    habits = given[given.sum(axis=1) > 0]
    habits /= habits.sum(axis=1, keepdims=True)
    every = habits @ weight_table("linear", [1, 2, 3, 4]) @ habits.T
    r = len(habits)
    chance = (every.sum() - np.trace(every)) / (r * (r - 1))
    seen = value(all_four(scores, "linear", 10)["brennan_prediger"].estimate)
    bp_chance = weight_table("linear", [1, 2, 3, 4]).mean()
    observed = seen * (1 - bp_chance) + bp_chance
    assert got.estimate == pytest.approx((observed - chance) / (1 - chance), abs=1e-9)
    assert got.ci95 is not None
    assert got.ci95[0] < value(got.estimate) < got.ci95[1]
