"""Restricted maximum likelihood: check values, the likelihood written out in full, derivatives, identities."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.anova import mean_squares, variances_of
from assess.agreement.facets import Design, design_of
from assess.agreement.likelihood import at
from assess.agreement.profile_limits import share_limits, variance_limits
from assess.agreement.reml import Model, Reml, TooMany, fit, model_of, told_apart
from assess.agreement.scores import Floats, Scores
from tests.agreement.designs import SETS, check_set, crossed, named, three_way

SEEDS = st.integers(0, 10_000)


def fitted(scores: Scores) -> tuple[Design, Model, Reml]:
    design = design_of(scores)
    assert design.undefined is None
    sources = design.sources[:-1]
    model = model_of([s.index for s in sources], [s.facets for s in sources], design.value)
    return design, model, fit(model)


def expected_order(design: Design, check: dict[str, float], columns: dict[int, str]) -> list[float]:
    """The check's variances in the order of the design's sources; its keys join the facets in any order."""
    by_facets = {frozenset(key.split(":")): value for key, value in check.items()}
    found = []
    for source in design.sources[:-1]:
        letters = frozenset(columns[f] for f in source.facets)
        short = frozenset(columns[f] for f in source.facets if f == max(source.facets))
        found.append(by_facets[letters] if letters in by_facets else by_facets[short])
    return [*found, check["Residual"]]


@pytest.mark.parametrize("name", SETS)
def test_likelihood_variances_and_errors_are_those_of_the_check_sets(name: str) -> None:
    scores, check = check_set(name)
    design, _, reml = fitted(scores)
    p, r, t, _ = SETS[name]
    want, tolerance = check["expected"]["reml"], check["tolerance"]
    columns = {0: p, 1: t or "", 2: r}
    least = want["minus_two_restricted_log_likelihood_refined"]
    assert reml.minus_two == pytest.approx(least, abs=tolerance["minus_two_restricted_log_likelihood_abs"])
    variances = expected_order(design, want["vc_refined"], columns)
    assert reml.variances == pytest.approx(variances, rel=tolerance["vc_refined_rel"], abs=1e-12)
    errors = expected_order(design, want["vc_refined_se_expected_information"], columns)
    assert reml.se == pytest.approx(errors, rel=1e-6, abs=1e-12)
    assert reml.converged
    assert reml.mean == pytest.approx(want["intercept"], rel=1e-8)
    assert np.sqrt(reml.mean_variance) == pytest.approx(want["intercept_se"], rel=1e-6)


def written_out(design: Design, variances: Floats) -> float:
    """Minus two restricted log-likelihood with the covariance of all scores as one matrix."""
    n = len(design.value)
    covariance = variances[-1] * np.eye(n)
    for source, variance in zip(design.sources, variances[:-1], strict=False):
        covariance += variance * (source.index[:, None] == source.index[None, :])
    solved = np.linalg.solve(covariance, np.column_stack([np.ones(n), design.value]))
    weight, mean = solved[:, 0].sum(), solved[:, 1].sum() / solved[:, 0].sum()
    squares = design.value @ (solved[:, 1] - mean * solved[:, 0])
    return float((n - 1) * np.log(2 * np.pi) + np.linalg.slogdet(covariance)[1] + np.log(weight) + squares)


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.sampled_from([(8, 1, 3), (6, 3, 3), (3, 2, 7), (4, 5, 2)]), st.sampled_from([0.0, 0.25]))
def test_the_likelihood_by_blocks_is_the_likelihood_written_out(
    seed: int, shape: tuple[int, int, int], missing: float
) -> None:
    rng = np.random.default_rng(seed)
    scores = three_way(rng, shape, missing)
    design = design_of(scores)
    if design.undefined is not None:
        return
    sources = design.sources[:-1]
    model = model_of([s.index for s in sources], [s.facets for s in sources], design.value)
    variances = rng.exponential(size=len(design.sources)) + 0.05
    variances[rng.random(len(variances)) < 0.2] = 0.0
    variances[-1] += 0.1
    got = at(model.blocks, model.sums, variances / model.scale**2).value
    got += (len(design.value) - 1) * np.log(model.scale**2)
    assert got == pytest.approx(written_out(design, variances), abs=1e-7)


@settings(max_examples=15, deadline=None)
@given(SEEDS)
def test_slopes_and_curvatures_are_those_of_the_likelihood(seed: int) -> None:
    rng = np.random.default_rng(seed)
    _, model, _ = fitted(three_way(rng, (6, 3, 3), 0.15))
    variances = rng.exponential(size=len(model.start)) + 0.2
    here, step = at(model.blocks, model.sums, variances), 1e-5
    for k in range(len(variances)):
        up, down = (at(model.blocks, model.sums, variances + s * step * np.eye(len(variances))[k]) for s in (1, -1))
        assert here.slope[k] == pytest.approx((up.value - down.value) / (2 * step), rel=1e-5, abs=1e-5)
        assert here.curvature[k] == pytest.approx((up.slope - down.slope) / (2 * step), rel=1e-5, abs=1e-4)
    assert np.linalg.eigvalsh(here.expected)[0] > 0


@settings(max_examples=20, deadline=None)
@given(SEEDS, st.sampled_from([0.0, 0.3]))
def test_nothing_nearby_is_more_likely(seed: int, missing: float) -> None:
    rng = np.random.default_rng(seed)
    _, model, reml = fitted(three_way(rng, (8, 1, 4), missing))
    best = reml.variances / model.scale**2
    least = at(model.blocks, model.sums, best).value
    for _ in range(20):
        other = np.maximum(
            best * np.exp(0.1 * rng.normal(size=len(best))) + 0.01 * rng.random(len(best)) * (best == 0), 0
        )
        assert at(model.blocks, model.sums, other).value >= least - 1e-9


@settings(max_examples=20, deadline=None)
@given(SEEDS)
def test_for_complete_scores_it_is_analysis_of_variance_when_no_variance_is_negative(seed: int) -> None:
    design, _, reml = fitted(three_way(np.random.default_rng(seed), (8, 3, 3)))
    ms = mean_squares(design)
    variances = variances_of(ms, ms.values)
    if (variances > 0).all():
        assert reml.variances == pytest.approx(variances, rel=1e-6)


@settings(max_examples=15, deadline=None)
@given(SEEDS, st.sampled_from([0.01, 3.0, 1000.0]))
def test_another_unit_multiplies_variances_by_its_square_and_another_origin_changes_nothing(
    seed: int, unit: float
) -> None:
    scores = crossed(np.random.default_rng(seed), 12, 5, 3)
    if design_of(scores).undefined is not None:
        return
    _, _, here = fitted(scores)
    there = fitted(named(scores.candidate, scores.assessor, 50 + unit * scores.value))[2]
    assert there.variances == pytest.approx(unit**2 * here.variances, rel=1e-6, abs=1e-9 * unit**2)
    assert there.minus_two == pytest.approx(here.minus_two + (scores.n_scores - 1) * np.log(unit**2), abs=1e-6)


def test_a_profile_limit_lies_where_the_likelihood_has_dropped_by_the_quantile() -> None:
    _, model, reml = fitted(crossed(np.random.default_rng(3), 15, 5, 4))
    size = len(reml.variances)
    for k in range(size):
        limits = variance_limits(model, reml, k)
        assert limits is not None and limits[0] < reml.variances[k] < limits[1]
        for limit in limits:
            if limit > 0:
                assert profile(model, k, limit / model.scale**2) - least(model, reml) == pytest.approx(
                    3.8415, abs=0.001
                )


def least(model: Model, reml: Reml) -> float:
    return at(model.blocks, model.sums, reml.variances / model.scale**2).value


def profile(model: Model, k: int, value: float) -> float:
    """The least deviance with variance k held, by a general minimiser."""
    from scipy.optimize import minimize

    def deviance(logs: Floats) -> float:
        return at(model.blocks, model.sums, np.insert(np.exp(logs), k, value)).value

    start = np.zeros(len(model.start) - 1) - 1
    return float(minimize(deviance, start, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-10}).fun)


def test_the_profile_of_a_one_way_share_is_near_the_exact_interval_when_there_is_much_data() -> None:
    from assess.agreement.icc import icc

    scores = crossed(np.random.default_rng(4), 200, 3, 3, (1.0, 0.0, 0.6))
    model = model_of([scores.candidate], [frozenset({0})], scores.value)
    assert share_limits(model, fit(model), 0, np.array([0.0, 1.0])) == pytest.approx(
        dict(icc(scores))["ICC(1)"].ci95, abs=0.005
    )


def test_a_hundred_thousand_scores_are_fitted_at_once_and_a_maximum_is_found() -> None:
    _, model, reml = fitted(crossed(np.random.default_rng(1), 20_000, 20, 5))
    assert reml.converged
    assert reml.variances[[0, 2]] == pytest.approx([1.0, 0.6], abs=0.03)
    slope = at(model.blocks, model.sums, reml.variances / model.scale**2).slope
    assert np.abs(slope * reml.variances / model.scale**2).max() < 1e-4


def test_sources_that_the_pattern_cannot_separate_are_known() -> None:
    p = np.repeat(np.arange(6), 2)
    assert told_apart([p, np.tile(np.arange(2), 6)], 12)
    assert not told_apart([p, p], 12)
    assert not told_apart([np.arange(12)], 12)


def test_too_many_small_levels_are_refused_and_not_tried() -> None:
    p = np.arange(6000) % 2500
    with pytest.raises(TooMany, match="2000"):
        model_of(
            [p, (p * 7 + np.arange(6000) // 2500) % 2400], [frozenset({0}), frozenset({2})], np.sin(np.arange(6000.0))
        )
