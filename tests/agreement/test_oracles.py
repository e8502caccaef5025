"""Against libraries of other hands, on random tables with missing scores."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest

from assess.agreement.bootstrap import Bootstrap
from assess.agreement.coefficients import conger_kappa, family
from assess.agreement.cohen import cohen
from assess.agreement.kendall import concordance
from assess.agreement.paired import rank_correlation
from assess.agreement.scores import scores_of
from assess.agreement.tally import tally_of
from assess.agreement.weights import weight_table
from tests.agreement.score_tables import Table, alike_table, random_table, scores_of_table, value
from tests.agreement.test_alpha import alpha

pytestmark = pytest.mark.needs_oracles
TABLES = 320
LEVELS = [1.0, 2.0, 3.0, 4.0, 5.0]
IRR_NAMES = {"none": "identity", "linear": "linear", "quadratic": "quadratic", "ordinal": "ordinal"}


def random_tables(seed: int) -> list[Table]:
    rng = np.random.default_rng(seed)
    return [random_table(rng, missing=float(rng.choice([0.0, 0.15, 0.4]))) for _ in range(TABLES)]


@pytest.mark.parametrize("metric", ["nominal", "ordinal", "interval", "ratio"])
def test_alpha_is_that_of_krippendorff(metric: str) -> None:
    krippendorff = pytest.importorskip("krippendorff")
    compared = 0
    for table in random_tables(1):
        got = alpha(scores_of_table(table, LEVELS), metric).estimate
        if got is not None:
            compared += 1
            want = krippendorff.alpha(reliability_data=table.T, value_domain=LEVELS, level_of_measurement=metric)
            assert got == pytest.approx(float(want), abs=1e-9)
    assert compared >= 300


def irr(table: Table, kind: str) -> Any:
    import pandas as pd

    raw = pytest.importorskip("irrCAC.raw")
    frame = pd.DataFrame(table).dropna(how="all").dropna(how="all", axis=1)
    return raw.CAC(frame, weights=IRR_NAMES[kind], categories=LEVELS, digits=14)


@pytest.mark.parametrize("kind", ["none", "linear", "quadratic", "ordinal"])
def test_the_kappa_family_and_its_errors_are_those_of_irrcac(kind: str) -> None:
    pytest.importorskip("irrCAC")
    weights, compared = weight_table(kind, LEVELS), 0
    # Its own weights, given as numbers, spare the library the time of building them; 80 tables for each kind.
    for table in random_tables(2)[["none", "linear", "quadratic", "ordinal"].index(kind) :: 4]:
        scores = scores_of_table(table, LEVELS)
        tally = tally_of(scores)
        if tally.n_comparable == 0:
            continue
        three = family(scores, tally, weights, Bootstrap())
        conger = conger_kappa(scores, tally, weights, Bootstrap())
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", FutureWarning)  # the library's use of pandas
            oracle = irr(table, kind)
            answers = [(three.fleiss, oracle.fleiss()), (three.gwet, oracle.gwet())]
            answers.append((three.brennan_prediger, oracle.bp()))
            # With two assessors ours is Cohen's over the units both scored, by promise; the library takes the habits
            # of each from all their scores. The two are the same where nothing is missing.
            if len(scores.assessors) > 2 or not np.isnan(table).any():
                answers.append((conger, oracle.conger()))
        assert np.allclose(oracle.weights_mat, weights)
        for got, answer in answers:
            if got.estimate is None:
                continue
            compared += 1
            assert got.estimate == pytest.approx(answer["est"]["coefficient_value"], abs=1e-9)
            assert got.se == pytest.approx(answer["est"]["se"], abs=1e-9)
            if got.ci95 is not None:
                assert got.ci95 == pytest.approx(answer["est"]["confidence_interval"], abs=1e-9)
    assert compared >= 280


def test_fleiss_is_that_of_statsmodels_where_all_scored_all() -> None:
    inter_rater = pytest.importorskip("statsmodels.stats.inter_rater")
    rng, compared = np.random.default_rng(3), 0
    for _ in range(TABLES):
        table = alike_table(rng, int(rng.integers(4, 16)), int(rng.integers(2, 7)))
        scores = scores_of_table(table, LEVELS)
        tally = tally_of(scores)
        got = family(scores, tally, np.eye(5), Bootstrap()).fleiss.estimate
        if got is not None:
            compared += 1
            assert got == pytest.approx(float(inter_rater.fleiss_kappa(scores.counts, method="fleiss")), abs=1e-9)
    assert compared >= 300


@pytest.mark.parametrize(("kind", "name"), [("none", None), ("linear", "linear"), ("quadratic", "quadratic")])
def test_cohen_and_its_two_errors_are_those_of_statsmodels(kind: str, name: str | None) -> None:
    inter_rater = pytest.importorskip("statsmodels.stats.inter_rater")
    rng, compared = np.random.default_rng(4), 0
    for _ in range(TABLES):
        k = int(rng.integers(2, 6))
        table = rng.integers(0, 9, size=(k, k)).astype(float) + np.diag(rng.integers(0, 9, k))
        table *= rng.random(size=table.shape) > 0.2
        got = cohen(table, weight_table(kind, range(k)))
        if got.kappa is None:
            continue
        compared += 1
        with np.errstate(invalid="ignore"):  # the library takes roots of variances that are 0 but for rounding
            want = inter_rater.cohens_kappa(table, wt=name)
        assert got.kappa == pytest.approx(float(want.kappa), abs=1e-9)
        assert value(got.se) ** 2 == pytest.approx(float(want.var_kappa), abs=1e-12)
        assert value(got.null_se) ** 2 == pytest.approx(float(want.var_kappa0), abs=1e-12)
        if kind == "none":
            assert got.kappa_max == pytest.approx(float(want.kappa_max), abs=1e-9)
    assert compared >= 300


def test_ranks_are_those_of_scipy() -> None:
    stats = pytest.importorskip("scipy.stats")
    rng, compared = np.random.default_rng(5), 0
    for _ in range(TABLES):
        n, tied = int(rng.integers(3, 25)), bool(rng.integers(0, 2))
        x, y = (rng.integers(1, 5, n) if tied else rng.normal(size=n) for _ in range(2))
        got = rank_correlation(x, y)
        if got.spearman is None:
            continue
        compared += 1
        rho, tau = stats.spearmanr(x, y), stats.kendalltau(x, y)
        assert got.spearman == pytest.approx(float(rho.statistic), abs=1e-9)
        assert got.spearman_p == pytest.approx(float(rho.pvalue), abs=1e-9)
        assert got.tau_b == pytest.approx(float(tau.statistic), abs=1e-9)
        assert got.tau_p == pytest.approx(float(tau.pvalue), abs=1e-9)
    assert compared >= 300


def test_kendalls_chi_squared_is_friedmans_of_scipy() -> None:
    stats = pytest.importorskip("scipy.stats")
    rng, compared = np.random.default_rng(6), 0
    for _ in range(TABLES):
        table = alike_table(rng, int(rng.integers(8, 16)), int(rng.integers(3, 7)))
        got = concordance(table)
        if got.w is not None:
            compared += 1
            want = stats.friedmanchisquare(*table)
            assert got.chi2 == pytest.approx(float(want.statistic), abs=1e-9)
            assert got.p == pytest.approx(float(want.pvalue), abs=1e-9)
    assert compared >= 300


def test_a_large_set_gives_what_the_libraries_give() -> None:
    krippendorff, rng = pytest.importorskip("krippendorff"), np.random.default_rng(7)
    table = alike_table(rng, 4000, 5)
    table[rng.random(table.shape) < 0.3] = np.nan
    unit, assessor = np.nonzero(~np.isnan(table))
    values = table[unit, assessor]
    scores = scores_of([f"{u:04d}" for u in unit], [str(a) for a in assessor], values, levels=LEVELS)
    want = krippendorff.alpha(reliability_data=table.T, value_domain=LEVELS, level_of_measurement="ordinal")
    assert value(alpha(scores, "ordinal").estimate) == pytest.approx(float(want), abs=1e-9)
