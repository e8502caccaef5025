"""The same numbers from other libraries: pingouin for intraclass correlation, statsmodels for crossed effects."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from assess.agreement.icc import icc
from assess.agreement.reml import fit, model_of
from tests.agreement.designs import crossed
from tests.agreement.score_tables import random_table, scores_of_table

pytestmark = pytest.mark.needs_oracles
NAMES = {
    "ICC(1,1)": "ICC(1)", "ICC(A,1)": "ICC(A,1)", "ICC(C,1)": "ICC(C,1)", "ICC(1,k)": "ICC(k)", "ICC(A,k)": "ICC(A,k)",
    "ICC(C,k)": "ICC(C,k)",
}  # fmt: skip


def test_all_forms_and_intervals_are_those_of_pingouin_on_300_complete_tables(monkeypatch: pytest.MonkeyPatch) -> None:
    pingouin, pandas = pytest.importorskip("pingouin"), pytest.importorskip("pandas")
    # Unless told otherwise it rounds intervals to two decimals.
    monkeypatch.setitem(pingouin.options, "round.column.CI95", 12)
    rng, compared = np.random.default_rng(300), 0
    for _ in range(300):
        table = random_table(rng, missing=0.0) + 0.1 * rng.integers(0, 5, size=(1, 1))
        rows, columns = np.indices(table.shape)
        long = pandas.DataFrame({"unit": rows.ravel(), "rater": columns.ravel(), "value": table.ravel()})
        found = dict(icc(scores_of_table(table)))
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            want = pingouin.intraclass_corr(long, targets="unit", raters="rater", ratings="value").set_index("Type")
        for theirs, ours in NAMES.items():
            value, (low, high) = want.loc[theirs, "ICC"], want.loc[theirs, "CI95"]
            assert found[ours].estimate == pytest.approx(value, abs=1e-8)
            if found[ours].ci95 is not None:
                assert found[ours].ci95 == pytest.approx((low, high), abs=1e-6)
                compared += 1
    assert compared > 1700


def test_crossed_variances_and_likelihood_are_those_of_statsmodels() -> None:
    mixed = pytest.importorskip("statsmodels.regression.mixed_linear_model")
    pandas = pytest.importorskip("pandas")
    for seed in range(3):
        scores = crossed(np.random.default_rng(seed), 25, 6, 3)
        facets = [frozenset({0}), frozenset({2})]
        ours = fit(model_of([scores.candidate, scores.assessor], facets, scores.value))
        long = pandas.DataFrame({"value": scores.value, "p": scores.candidate, "r": scores.assessor, "all": 1})
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            model = mixed.MixedLM.from_formula(
                "value ~ 1", groups="all", vc_formula={"p": "0 + C(p)", "r": "0 + C(r)"}, re_formula="0", data=long
            )
            theirs = model.fit(reml=True, method="lbfgs")
        assert -2 * theirs.llf == pytest.approx(ours.minus_two, abs=2e-3)
        assert ours.minus_two <= -2 * theirs.llf + 1e-7
        assert [*theirs.vcomp, theirs.scale] == pytest.approx(ours.variances, rel=0.02, abs=2e-3)
