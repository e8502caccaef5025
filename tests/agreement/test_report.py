"""The whole report: everything there, the same for the same input, and never a number out of nothing."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.agreement_json import agreement_json
from assess.agreement.bootstrap import Cancelled
from assess.agreement.report import agreement
from assess.agreement.results import Sem
from assess.agreement.scores import Scores, scores_of
from tests.agreement.score_tables import Table, alike_table, columns_of, reference, scores_of_table, tables

ESTIMATES = (
    "percent_agreement", "within_one", "krippendorff_alpha", "fleiss_kappa", "conger_kappa", "gwet_ac",
    "brennan_prediger", "kendall_w",
)  # fmt: skip

DEGENERATE: dict[str, tuple[str, str, list[float]]] = {
    "no score": ("", "", []),
    "one score": ("a", "x", [2]),
    "all equal": ("aabbccdd", "xyxyxyxy", [3] * 8),
    "one unit": ("aa", "xy", [3, 4]),
    "one unit, equal": ("aa", "xy", [3, 3]),
    "one assessor": ("abc", "xxx", [1, 2, 3]),
    "nobody shares a unit": ("abcd", "xxyy", [1, 2, 3, 4]),
    "a single score each": ("abc", "xyz", [1, 2, 3]),
    "a constant assessor": ("aabbccddeeff", "xy" * 6, [3, 1, 3, 2, 3, 3, 3, 4, 3, 5, 3, 2]),
    "two constant assessors who differ": ("aabbccdd", "xy" * 4, [1, 2] * 4),
    "full agreement": ("aabbccddee", "xy" * 5, [1, 1, 2, 2, 3, 3, 4, 4, 5, 5]),
    "opposite": ("aabbccdd", "xy" * 4, [1, 5, 5, 1, 1, 5, 5, 1]),
    "three assessors in a chain": ("aabb", "xyyz", [1, 2, 3, 3]),
}


def finite(thing: Any) -> None:
    if isinstance(thing, dict):
        for part in thing.values():
            finite(part)
    elif isinstance(thing, list):
        for part in thing:
            finite(part)
    elif isinstance(thing, float):
        assert math.isfinite(thing)


def sound(scores: Scores, **options: Any) -> dict[str, Any]:
    document = agreement_json(agreement(scores, replicates=30, **options))
    finite(document)
    json.dumps(document, allow_nan=False)
    for name in ESTIMATES:
        made = document[name]
        assert (made["estimate"] is None) == (made["undefined"] is not None), name
        assert made["sentence"], name
        assert made["interval"], name
        if made["ci95"] is not None:
            assert made["ci95"][0] < made["ci95"][1], name
    return document


@pytest.mark.parametrize("name", DEGENERATE)
@pytest.mark.parametrize("declared", [True, False])
def test_sets_that_say_little_give_sentences_and_no_invented_numbers(name: str, declared: bool) -> None:
    candidates, assessors, values = DEGENERATE[name]
    for metric, weights, line in (
        ("nominal", "none", None),
        ("ordinal", "quadratic", 3.0),
        ("interval", "linear", 9.0),
        ("ratio", "ordinal", 3.0),
    ):
        levels = range(1, 6) if declared else None
        scores = scores_of(list(candidates), list(assessors), values, levels=levels, line=line)
        sound(scores, metric=metric, weights=weights)


@pytest.mark.parametrize(
    "name", ["no score", "one score", "one assessor", "nobody shares a unit", "a single score each"]
)
def test_where_nobody_can_be_compared_every_statistic_says_so(name: str) -> None:
    candidates, assessors, values = DEGENERATE[name]
    document = sound(scores_of(list(candidates), list(assessors), values, levels=range(1, 6)))
    for estimate in ESTIMATES:
        assert document[estimate]["estimate"] is None
    assert all(pair["n"] == 0 and pair["percent_agreement"] is None for pair in document["pairs"])


@settings(max_examples=80, deadline=None)
@given(tables(), st.integers(1, 3), st.booleans())
def test_whatever_the_table_every_number_is_finite_or_explained(table: Table, each: int, declared: bool) -> None:
    # The intraclass correlations are a hundred times slower than all the rest, and have such a test of their own.
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("assess.agreement.icc.icc", lambda _, **__: ())
        patch.setattr("assess.agreement.icc.sem", lambda _: Sem(None, None, None, None, "not asked for"))
        sound(scores_of_table(table, [1, 2, 3, 4] if declared else None, units_each=each, line=2.5))


def course(seed: int = 1) -> Table:
    table = alike_table(np.random.default_rng(seed), 48, 4)
    table[np.random.default_rng(seed).random(table.shape) < 0.25] = np.nan
    return table


def test_the_same_input_gives_the_same_bytes_whatever_the_order_of_its_rows() -> None:
    unit, assessor = np.nonzero(~np.isnan(course()))
    rows = [(f"c{u // 4}", f"k{u % 4}", f"a{a}", course()[u, a]) for u, a in zip(unit, assessor, strict=True)]

    def document(order: list[int]) -> str:
        c, k, a, v = zip(*(rows[i] for i in order), strict=True)
        scores = scores_of(c, a, v, criterion=k, levels=range(1, 6), line=3.5)
        return json.dumps(agreement_json(agreement(scores, replicates=100, seed=4)))

    plain = list(range(len(rows)))
    mixed = list(np.random.default_rng(9).permutation(len(rows)))
    assert document(plain) == document(plain) == document(mixed)


def test_another_seed_moves_intervals_and_nothing_else() -> None:
    scores = scores_of_table(course(), range(1, 6), units_each=2)
    first, second = (agreement(scores, replicates=100, seed=seed) for seed in (1, 2))
    assert first.krippendorff_alpha.ci95 != second.krippendorff_alpha.ci95
    for name in ESTIMATES:
        assert getattr(first, name).estimate == getattr(second, name).estimate


def test_weights_reach_every_kappa_and_leave_plain_agreement_and_alpha_alone() -> None:
    scores = scores_of_table(course(), range(1, 6), units_each=4)
    plain, weighted = (agreement(scores, replicates=20, weights=kind) for kind in ("none", "quadratic"))
    assert (plain.gwet_form, weighted.gwet_form) == ("AC1", "AC2")
    for name in ("fleiss_kappa", "conger_kappa", "gwet_ac", "brennan_prediger"):
        assert getattr(plain, name).estimate < getattr(weighted, name).estimate
    for name in ("percent_agreement", "within_one", "krippendorff_alpha"):
        assert getattr(plain, name) == getattr(weighted, name)
    for a, b in zip(plain.pairs, weighted.pairs, strict=True):
        assert a.cohen_kappa.estimate != b.cohen_kappa.estimate


def test_with_two_assessors_conger_is_cohen() -> None:
    for name in ("abstractors3x3", "sas_table10", "paradox_b"):
        check = reference(f"cohen_kappa__{name}")
        found = agreement(scores_of(*columns_of(check), levels=range(1, len(check["table"]) + 1)), replicates=20)
        want = check["expected"]
        assert found.conger_kappa.estimate == pytest.approx(want["unweighted"]["kappa"], abs=1e-9)
        assert found.pairs[0].cohen_kappa.se == pytest.approx(want["unweighted"]["se"], abs=1e-9)
        assert found.pairs[0].cohen_kappa.null_se == pytest.approx(want["unweighted"]["se0"], abs=1e-9)
        assert found.pairs[0].kappa_max == pytest.approx(want["kappa_max"], abs=1e-9)
        assert found.gwet_ac.estimate == pytest.approx(want["gwet_ac1"], abs=1e-9)
        assert found.brennan_prediger.estimate == pytest.approx(want["brennan_prediger"], abs=1e-9)
        assert found.fleiss_kappa.estimate == pytest.approx(want["scott_pi"], abs=1e-9)
        assert found.percent_agreement.estimate == pytest.approx(want["percent_agreement"], abs=1e-9)


def test_counts_say_what_was_there_and_what_was_not_used() -> None:
    table = np.array([[1, 2, 2], [3, np.nan, 3], [np.nan, 4, np.nan], [2, 2, 1]])
    found = agreement(scores_of_table(table, range(1, 6)), replicates=20)
    assert (found.n_units, found.n_candidates, found.n_assessors, found.n_scores) == (4, 4, 3, 9)
    assert found.not_used == 1
    assert found.percent_agreement.n == 3
    assert any("1 of 9 scores stand alone" in warning for warning in found.warnings)


def test_warnings_name_an_undeclared_scale_few_candidates_swapped_columns_and_constant_assessors() -> None:
    few = agreement(scores_of_table(np.array([[1, 2], [2, 4.0]])), replicates=20)
    assert any("the values seen (1, 2, 4)" in warning for warning in few.warnings)
    assert any("2 candidates are few" in warning for warning in few.warnings)
    swapped = agreement(scores_of_table(alike_table(np.random.default_rng(1), 3, 14), range(1, 6)), replicates=20)
    assert any("swapped?" in warning for warning in swapped.warnings)
    table = alike_table(np.random.default_rng(1), 12, 3)
    table[:, 1] = 3
    constant = agreement(scores_of_table(table, range(1, 6)), replicates=20)
    assert "a01 gave the same level to everything" in constant.warnings


def test_icc_and_error_of_measurement_are_in_the_report() -> None:
    found = agreement(scores_of_table(alike_table(np.random.default_rng(2), 15, 3), range(1, 6)), replicates=20)
    assert [name for name, _ in found.icc] == ["ICC(1)", "ICC(A,1)", "ICC(C,1)", "ICC(k)", "ICC(A,k)", "ICC(C,k)"]
    assert found.sem.absolute is not None


def test_progress_is_told_up_to_the_end_and_can_stop() -> None:
    seen: list[float] = []

    def told(share: float) -> bool:
        seen.append(share)
        return True

    scores = scores_of_table(course(), range(1, 6), units_each=4)
    agreement(scores, replicates=20, progress=told)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert len(seen) > 10
    with pytest.raises(Cancelled):
        agreement(scores, replicates=20, progress=lambda share: share < 0.5)


@pytest.mark.parametrize("options", [{"metric": "cubic"}, {"weights": "heavy"}])
def test_unknown_words_are_refused_with_the_known_ones(options: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="ordinal"):
        agreement(scores_of(["a"], ["x"], [1]), **options)
