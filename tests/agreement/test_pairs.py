"""Every pair of assessors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings

from assess.agreement.bootstrap import Bootstrap
from assess.agreement.cohen import cohen
from assess.agreement.paired import bland_altman, rank_correlation
from assess.agreement.pairs import MOST_EMPTY_PAIRS, common_units, every_pair
from assess.agreement.results import Pair
from assess.agreement.scores import Scores, scores_of
from assess.agreement.weights import weight_table
from tests.agreement.score_tables import Table, alike_table, columns_of, reference, scores_of_table, tables, value


def pairs_of(scores: Scores, weights: str = "none", replicates: int = 200) -> tuple[Pair, ...]:
    return every_pair(scores, common_units(scores), weights, Bootstrap(replicates))


@settings(max_examples=40, deadline=None)
@given(tables())
def test_each_pair_is_that_of_the_units_both_scored(table: Table) -> None:
    scores = scores_of_table(table, [1, 2, 3, 4])
    found = pairs_of(scores, "linear", 0)
    there = [a for a in range(table.shape[1]) if not np.isnan(table[:, a]).all()]
    names = [(f"a{a:02d}", f"a{b:02d}") for i, a in enumerate(there) for b in there[i + 1 :]]
    assert [(pair.a, pair.b) for pair in found] == names
    for pair in found:
        x, y = table[:, int(pair.a[1:])], table[:, int(pair.b[1:])]
        both = ~np.isnan(x) & ~np.isnan(y)
        x, y = x[both], y[both]
        assert pair.n == both.sum() == np.sum(pair.table)
        cells = np.zeros((4, 4))
        np.add.at(cells, (x.astype(int) - 1, y.astype(int) - 1), 1)
        assert np.array_equal(np.array(pair.table), cells)
        if pair.n:
            want = cohen(cells, weight_table("linear", [1, 2, 3, 4]))
            assert pair.percent_agreement == pytest.approx((x == y).mean())
            assert pair.within_one == pytest.approx((abs(x - y) <= 1).mean())
            assert (pair.cohen_kappa.estimate is None) == (want.kappa is None)
            if want.kappa is not None:
                assert pair.cohen_kappa.estimate == pytest.approx(want.kappa, abs=1e-9)
                # Errors are roots: what is 0 but for the last bits of a float comes out as about 1e-8.
                assert pair.cohen_kappa.null_se == pytest.approx(value(want.null_se), abs=1e-7)
                assert pair.kappa_max == pytest.approx(value(want.kappa_max), abs=1e-9)
        ranks, gaps = rank_correlation(x, y), bland_altman(x, y)
        for have, wanted in (
            (pair.spearman, ranks.spearman), (pair.kendall_tau_b, ranks.tau_b), (pair.bland_altman.bias, gaps.bias),
        ):  # fmt: skip
            assert (have is None) == (wanted is None)
            assert have is None or have == pytest.approx(wanted, abs=1e-9)


def test_from_50_candidates_with_one_unit_each_kappa_has_the_normal_interval_of_its_published_error() -> None:
    for name in ("abstractors3x3", "sexual_fun"):
        check = reference(f"cohen_kappa__{name}")
        scores = scores_of(*columns_of(check), levels=range(1, len(check["table"]) + 1))
        for kind, key in (("none", "unweighted"), ("linear", "linear"), ("quadratic", "quadratic")):
            (pair,) = pairs_of(scores, kind)
            want = check["expected"][key]
            assert pair.cohen_kappa.ci95 == pytest.approx(want["ci95"], abs=1e-9)
            assert pair.cohen_kappa.se == pytest.approx(want["se"], abs=1e-9)
            assert "Fleiss-Cohen-Everitt" in pair.cohen_kappa.interval


def test_with_fewer_candidates_kappa_is_resampled() -> None:
    scores = scores_of(*columns_of(reference("cohen_kappa__sas_table10")), levels=[1, 2, 3])
    (pair,) = pairs_of(scores)
    assert pair.cohen_kappa.interval == "BCa bootstrap over 19 candidates, 200 resamples"
    low, high = pair.cohen_kappa.ci95 or (1, 0)
    assert low < value(pair.cohen_kappa.estimate) < high


def test_several_units_of_a_candidate_are_resampled_together() -> None:
    table = np.repeat(alike_table(np.random.default_rng(3), 20, 2), 4, axis=0)
    (single,), (several,) = (pairs_of(scores_of_table(table, range(1, 6), units_each=each)) for each in (1, 4))
    assert (several.n, several.n_candidates, single.n_candidates) == (80, 20, 80)
    assert several.cohen_kappa.estimate == pytest.approx(value(single.cohen_kappa.estimate), abs=1e-12)
    for name in ("percent_ci95", "spearman_ci95", "kendall_tau_b_ci95"):
        narrow, wide = getattr(single, name), getattr(several, name)
        assert wide[1] - wide[0] > 1.4 * (narrow[1] - narrow[0])
    assert any("takes units" in w or "take units" in w for w in several.cohen_kappa.warnings)


def test_prevalence_and_bias_are_of_the_sides_of_the_line() -> None:
    # Byrt, Bishop & Carlin (1993): both on 3, both below 1, only a on 2, only b on 0 of 6.
    table = np.array([[4, 4], [3, 4], [4, 3], [1, 2], [3, 2], [4, 1.0]])
    (pair,) = pairs_of(scores_of_table(table, [1, 2, 3, 4], line=3))
    assert pair.prevalence_index == pytest.approx((3 - 1) / 6)
    assert pair.bias_index == pytest.approx((2 - 0) / 6)
    assert pairs_of(scores_of_table(table, [1, 2, 3, 4]))[0].prevalence_index is None


def test_a_scale_of_two_levels_is_its_own_line() -> None:
    check = reference("cohen_kappa__paradox_b")  # [[80, 10], [5, 5]]: (80 - 5) / 100 apart, the upper level rare
    (pair,) = pairs_of(scores_of(*columns_of(check), levels=[1, 2]))
    assert pair.prevalence_index == pytest.approx((5 - 80) / 100)
    assert pair.bias_index == pytest.approx((5 - 10) / 100)


def test_assessors_who_never_met_are_a_pair_without_numbers() -> None:
    table = np.array([[1, 2, np.nan], [2, np.nan, 2], [3, 3, np.nan]])
    found = {(pair.a, pair.b): pair for pair in pairs_of(scores_of_table(table, [1, 2, 3]))}
    apart = found["a01", "a02"]
    assert (apart.n, apart.percent_agreement, apart.spearman, apart.cohen_kappa.estimate) == (0, None, None, None)
    assert apart.cohen_kappa.undefined == "they scored nothing in common"
    assert apart.sentence == "a01 and a02 never scored the same thing, so nothing can be said about the two."


def test_of_very_many_assessors_only_pairs_who_met_are_listed() -> None:
    r = 60
    assert r * (r - 1) // 2 > MOST_EMPTY_PAIRS
    table = np.full((r // 2, r), np.nan)
    for u in range(r // 2):
        table[u, 2 * u : 2 * u + 2] = [1, 2]
    assert [(pair.a, pair.b) for pair in pairs_of(scores_of_table(table, [1, 2]), replicates=0)] == [
        (f"a{2 * u:02d}", f"a{2 * u + 1:02d}") for u in range(r // 2)
    ]


def test_measurements_have_differences_and_ranks_but_no_kappa() -> None:
    rng = np.random.default_rng(4)
    first = rng.normal(size=700)
    second = first + rng.normal(size=700)
    names = [f"c{i:04d}" for i in range(700)]
    scores = scores_of(names * 2, ["a"] * 700 + ["b"] * 700, np.concatenate([first, second]))
    (pair,) = pairs_of(scores)
    assert pair.cohen_kappa.estimate is None
    assert "1400 different values" in (pair.cohen_kappa.undefined or "")
    assert pair.table == ()
    assert pair.bland_altman.limits_ci95 is not None
    hundred = [i for i in range(1400) if i % 700 < 100]
    few = scores_of([(names * 2)[i] for i in hundred], ["a"] * 100 + ["b"] * 100, scores.value[hundred])
    assert pairs_of(few)[0].spearman == pytest.approx(rank_correlation(first[:100], second[:100]).spearman)
