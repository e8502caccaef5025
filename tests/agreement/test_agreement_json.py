"""The JSON document: keys other programs rely on."""

from __future__ import annotations

import json

import numpy as np

from assess.agreement.agreement_json import agreement_json
from assess.agreement.report import agreement
from tests.agreement.score_tables import Table, alike_table, scores_of_table

ESTIMATE = {"estimate", "se", "ci95", "interval", "n", "undefined", "sentence"}
KEYS = {
    "n_units", "n_candidates", "n_assessors", "n_scores", "levels", "warnings", "percent_agreement", "within_one",
    "at_pass_line", "krippendorff_alpha", "fleiss_kappa", "conger_kappa", "gwet_ac", "brennan_prediger", "kendall_w",
    "icc", "sem", "pairs",
}  # fmt: skip
PAIR = {"a", "b", "n", "percent_agreement", "cohen_kappa", "bland_altman", "spearman", "kendall_tau_b"}


def table() -> Table:
    return alike_table(np.random.default_rng(1), 24, 3)


def test_every_key_that_is_promised_is_there() -> None:
    made = agreement_json(agreement(scores_of_table(table(), range(1, 6), 2, line=3), replicates=30))
    assert made.keys() >= KEYS
    for name in ("percent_agreement", "krippendorff_alpha", "fleiss_kappa", "conger_kappa", "kendall_w"):
        assert made[name].keys() >= ESTIMATE
    assert made["at_pass_line"].keys() >= ESTIMATE | {"table", "kappa"}
    assert made["gwet_ac"]["form"] == "AC1"
    assert set(made["icc"]) == {"ICC(1)", "ICC(A,1)", "ICC(C,1)", "ICC(k)", "ICC(A,k)", "ICC(C,k)"}
    assert made["sem"].keys() >= {"consistency", "absolute"}
    for pair in made["pairs"]:
        assert pair.keys() >= PAIR
        assert pair["cohen_kappa"].keys() >= {"estimate", "se", "se_null", "ci95"}
        assert pair["bland_altman"].keys() >= {"bias", "sd", "limits", "limits_ci95"}
        assert [len(limit) for limit in pair["bland_altman"]["limits_ci95"]] == [2, 2]


def test_levels_that_are_whole_are_written_so_and_others_as_they_are() -> None:
    made = agreement_json(agreement(scores_of_table(table() / 2, [0.5, 1, 1.5, 2, 2.5]), replicates=0))
    assert made["levels"] == [0.5, 1, 1.5, 2, 2.5]
    assert json.dumps(made["levels"]) == "[0.5, 1, 1.5, 2, 2.5]"


def test_without_a_line_the_pass_line_is_null() -> None:
    assert agreement_json(agreement(scores_of_table(table(), range(1, 6)), replicates=0))["at_pass_line"] is None


def test_numbers_survive_being_written_and_read() -> None:
    made = agreement_json(agreement(scores_of_table(table(), range(1, 6), 2, line=3), replicates=30))
    assert json.loads(json.dumps(made, allow_nan=False)) == made
