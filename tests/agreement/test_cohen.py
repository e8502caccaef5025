"""Cohen's kappa with any weights, and its two errors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assess.agreement.cohen import cohen, kappa_max, kappa_of_tables
from assess.agreement.scores import Floats
from assess.agreement.weights import agreement_from_disagreement, weight_table
from tests.agreement.score_tables import reference, value

NAMES = ("abstractors3x3", "paradox_a", "paradox_b", "sas_table10", "sexual_fun")


@pytest.mark.parametrize("name", NAMES)
def test_check_sets_are_reproduced_with_both_errors(name: str) -> None:
    check = reference(f"cohen_kappa__{name}")
    table = np.array(check["table"], dtype=np.float64)
    for kind, key in (("none", "unweighted"), ("linear", "linear"), ("quadratic", "quadratic")):
        want = check["expected"][key]
        got = cohen(table, weight_table(kind, range(len(table))))
        assert got.kappa == pytest.approx(want["kappa"], abs=1e-9)
        assert got.se == pytest.approx(want["se"], abs=1e-9)
        assert got.null_se == pytest.approx(want["se0"], abs=1e-9)
    plain = cohen(table)
    assert plain.kappa_max == pytest.approx(check["expected"]["kappa_max"], abs=1e-9)
    assert plain.observed == pytest.approx(check["expected"]["percent_agreement"], abs=1e-9)


def test_cohens_own_weighted_example_is_reproduced() -> None:
    # Cohen (1968), Psychol. Bull. 70, 213-220: kappa .492, weighted .348 with disagreement weights 0 1 3 / 0 6 / 0.
    check = reference("weighted_kappa__cohen1968")
    want = check["expected"]["weighted"]
    got = cohen(check["table"], agreement_from_disagreement(check["disagreement_weights"]))
    assert got.kappa == pytest.approx(want["kappa"], abs=1e-9)
    assert got.se == pytest.approx(want["se"], abs=1e-9)
    assert got.null_se == pytest.approx(want["se0"], abs=1e-9)
    assert round(value(got.kappa), 3) == 0.348
    assert round(value(cohen(check["table"]).kappa), 3) == 0.492


def test_the_worked_table_is_0_40() -> None:
    # 50 cases: observed 35/50 = .70, chance .5 * .6 + .5 * .4 = .50, so (.70 - .50) / (1 - .50) = .40.
    got = cohen([[20, 5], [10, 15]])
    assert got.observed == pytest.approx(0.7)
    assert got.chance == pytest.approx(0.5)
    assert got.kappa == pytest.approx(0.4)


def test_the_large_sample_errors_are_what_simulation_gives() -> None:
    # Second answer to Fleiss, Cohen & Everitt (1969), for a weight table of no special form.
    weights = np.array([[1, 0.2, 0], [0.2, 1, 0.6], [0, 0.6, 1]])
    share = np.array([[0.3, 0.1, 0.05], [0.05, 0.15, 0.05], [0.0, 0.1, 0.2]])
    rng, n = np.random.default_rng(0), 2000
    drawn = rng.multinomial(n, share.ravel(), size=4000).reshape(-1, 3, 3).astype(float)
    got = cohen(share * n, weights)
    assert got.se == pytest.approx(kappa_of_tables(drawn, weights).std(), rel=0.04)
    null = np.outer(share.sum(axis=1), share.sum(axis=0))
    drawn = rng.multinomial(n, null.ravel(), size=4000).reshape(-1, 3, 3).astype(float)
    assert cohen(share * n, weights).null_se == pytest.approx(kappa_of_tables(drawn, weights).std(), rel=0.04)


tables = st.lists(st.integers(0, 6), min_size=16, max_size=16).map(lambda cells: np.array(cells).reshape(4, 4))
kinds = st.sampled_from(["none", "linear", "quadratic", "ordinal"])


@settings(max_examples=60, deadline=None)
@given(tables, kinds)
def test_changing_places_and_turning_the_scale_change_nothing(table: Floats, kind: str) -> None:
    weights = weight_table(kind, range(4))
    first = cohen(table, weights)
    for other in (cohen(table.T, weights), cohen(table[::-1, ::-1], weights)):
        for name in ("kappa", "se", "null_se", "kappa_max"):
            a, b = getattr(first, name), getattr(other, name)
            assert (a is None) == (b is None)
            assert a is None or a == pytest.approx(b, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(tables, kinds)
def test_no_rearrangement_of_the_same_habits_beats_kappa_max(table: Floats, kind: str) -> None:
    weights = weight_table(kind, range(4))
    got = cohen(table, weights)
    assume(got.kappa is not None)
    assert value(got.kappa) <= value(got.kappa_max) + 1e-9
    # The same scores of both, put in the same order, are one such rearrangement.
    first, second = (np.repeat(np.arange(4), table.sum(axis=axis)) for axis in (1, 0))
    alike = np.zeros((4, 4))
    np.add.at(alike, (first, second), 1)
    assert value(cohen(alike, weights).kappa) <= value(got.kappa_max) + 1e-9


@settings(max_examples=30, deadline=None)
@given(tables, kinds)
def test_kappa_max_is_the_answer_of_the_transport_problem(table: Floats, kind: str) -> None:
    # A weight moved by a hair is of no known form, so the general road is taken; the answer must be next to it.
    weights = weight_table(kind, range(4))
    assume(cohen(table, weights).kappa is not None)
    row, column = table.sum(axis=1) / table.sum(), table.sum(axis=0) / table.sum()
    moved = weights.copy()
    moved[1, 2] = moved[2, 1] = moved[1, 2] - 1e-7
    moved[0, 2] = moved[2, 0] = moved[0, 2] + 1e-7
    assert kappa_max(row, column, moved) == pytest.approx(value(kappa_max(row, column, weights)), abs=1e-4)


@pytest.mark.parametrize("table", [[[7, 0], [0, 0]], [[0, 0], [0, 0]]])
def test_no_difference_and_no_score_give_no_kappa(table: list[list[int]]) -> None:
    got = cohen(table)
    assert (got.kappa, got.se, got.null_se, got.kappa_max) == (None, None, None, None)


def test_two_constant_assessors_who_differ_agree_no_better_than_chance() -> None:
    got = cohen([[0, 9], [0, 0]])
    assert got.kappa == 0.0
    assert got.kappa_max == 0.0


@pytest.mark.parametrize(("table", "weights"), [([[1, 2]], None), ([[1, 2], [3, 4]], np.eye(3))])
def test_shapes_that_do_not_fit_are_refused(table: list[list[int]], weights: Floats | None) -> None:
    with pytest.raises(ValueError, match="the"):
        cohen(table, weights)
