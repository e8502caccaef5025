"""Many-facet Rasch against check sets, and against its likelihood maximised by other means."""

from __future__ import annotations

import numpy as np
import pytest

from assess.agreement.rasch import severity
from assess.agreement.rasch_fit import equal_scores, expected_at, fit_by, told_apart
from assess.agreement.rasch_joint import fit_joint
from assess.agreement.rasch_likelihood import log_likelihood
from assess.agreement.rasch_marginal import fit_marginal
from assess.agreement.scores import Floats
from tests.agreement.rasch_tables import MFRM, error_of, facets_set, items_set, simulated, value_of, whole


@pytest.mark.parametrize("name", MFRM)
def test_marginal_estimates_are_those_of_the_check_sets(name: str) -> None:
    scores, check = facets_set(name)
    model = whole(scores, check["model"] == "pcm")
    found, want = fit_marginal(model), check["expected"]["marginal"]
    assert found is not None
    close = check["tolerance"]["marginal"] if "tolerance" in check else 1e-4
    assessors, criteria = model.facets[:2]
    assert value_of(assessors, found.free) == pytest.approx(want["C"], abs=close)
    assert value_of(criteria, found.free) == pytest.approx(want["D"], abs=close)
    inner = found.covariance[2:, 2:]
    assert error_of(assessors, inner) == pytest.approx(want["se_C"], abs=close)
    assert error_of(criteria, inner) == pytest.approx(want["se_D"], abs=close)
    assert np.diff(model.offset @ found.free, axis=1) == pytest.approx(np.array(want["F"]), abs=close)
    assert (found.mean, found.sd**2) == pytest.approx((want["mu"], want["sigma2"]), abs=close)
    assert -2 * found.log_likelihood == pytest.approx(want["deviance"], abs=1e-5)
    assert np.sqrt(found.covariance[0, 0]) == pytest.approx(want["se_mu"], abs=close)


@pytest.mark.parametrize("name", MFRM[1:])
def test_abilities_are_those_of_a_second_source(name: str) -> None:
    scores, check = facets_set(name)
    found = fit_marginal(whole(scores, check["model"] == "pcm"))
    want = check["expected"]["marginal_second_source"]
    assert found is not None
    assert found.ability == pytest.approx(list(want["eap"].values()), abs=2e-3)
    assert found.ability_sd == pytest.approx(list(want["eap_sd"].values()), abs=2e-3)


@pytest.mark.parametrize("name", MFRM)
def test_joint_estimates_errors_and_fit_are_those_of_the_check_sets(name: str) -> None:
    scores, check = facets_set(name)
    model = whole(scores, check["model"] == "pcm", joint=True)
    found, want = fit_joint(model), check["expected"]["joint"]
    assert found is not None
    # The source stopped where its own slope was near zero: one candidate near the end is known to 8e-6.
    close = 2e-5
    assert found.log_likelihood == pytest.approx(want["loglik"], abs=1e-6)
    assert found.ability == pytest.approx(want["B"], abs=close)
    assert found.ability_se == pytest.approx(want["se_full"]["B"], abs=close)
    expected = expected_at(model, found.free, found.ability)
    for facet, letter, title in zip(model.facets[:2], "CD", ("fit_rater", "fit_item"), strict=True):
        assert value_of(facet, found.free) == pytest.approx(want[letter], abs=close)
        assert error_of(facet, found.covariance) == pytest.approx(want["se_full"][letter], abs=close)
        fit = fit_by(model, expected, facet.of_cell[model.cell], len(facet.ids))
        for part in ("infit", "outfit", "infit_z", "outfit_z"):
            assert getattr(fit, part) == pytest.approx(want[title][part], abs=close)
    seen, foreseen = equal_scores(model, scores, expected)
    assert seen == pytest.approx(check["expected"]["equal_scores"]["observed"], abs=1e-9)
    assert foreseen == pytest.approx(check["expected"]["equal_scores"]["expected"], abs=1e-5)


@pytest.mark.parametrize("name", MFRM)
def test_separation_and_reliability_follow_from_values_and_errors(name: str) -> None:
    """The check set takes the customary diagonal errors; the results here take those of the full inverse."""
    joint = facets_set(name)[1]["expected"]["joint"]
    for title, letter, fit in (("rater", "C", "fit_rater"), ("item", "D", "fit_item"), ("person", "B", "fit_person")):
        want = joint["separation"][title]
        found = told_apart(joint[letter], joint[fit]["diag_se"])
        assert found.separation == pytest.approx(want["separation_sample"], rel=1e-6)
        assert found.reliability == pytest.approx(want["reliability_sample"], rel=1e-6)


@pytest.mark.parametrize("name", MFRM[:2])
def test_extra_severity_of_pairs_is_that_of_the_check_set(name: str) -> None:
    scores, check = facets_set(name)
    found = severity(scores, method="joint").interactions
    want = check["expected"]["rater_by_item_interaction"]["values"]
    assert [pair.n for pair in found] == [row[5] for row in want]
    assert [pair.value for pair in found] == pytest.approx([row[2] for row in want], abs=2e-5)
    assert [pair.se for pair in found] == pytest.approx([row[3] for row in want], abs=2e-5)


@pytest.mark.parametrize("name", MFRM[:2])
def test_the_score_at_the_average_assessor_is_that_of_the_check_set(name: str) -> None:
    scores, check = facets_set(name)
    found = severity(scores, method="joint")
    want = check["expected"]["joint"]["score_at_average_assessor_person"]
    assert [person.at_average_assessor for person in found.candidates] == pytest.approx(want, abs=2e-5)


@pytest.mark.parametrize("name", ["rasch_cml__raschdat1_8", "rasch_cml__verbal_aggression_6"])
def test_conditional_estimates_of_the_check_sets_are_near(name: str) -> None:
    """Another estimator without any distribution of persons: the same up to how far that is not normal."""
    scores, check = items_set(name)
    found = severity(scores)
    want = check["expected"]["item"] if "item" in check["expected"] else check["expected"]["rsm"]["item"]
    # Items in the order of the file, assessors in that of their names.
    order = list(dict.fromkeys(str(row[1]) for row in check["data"]))
    value = {measure.id: measure.value for measure in found.assessors}
    centred = np.array(want) - np.mean(want)
    assert [value[item] for item in order] == pytest.approx(centred, abs=0.03)


@pytest.mark.parametrize("name", MFRM)
def test_more_nodes_and_a_wider_grid_change_nothing(name: str) -> None:
    scores, check = facets_set(name)
    model = whole(scores, check["model"] == "pcm")
    found = fit_marginal(model)
    assert found is not None and found.doubled < 1e-6
    wide = log_likelihood(model, found.mean, found.sd, found.free, nodes=1601, wide=12.0)
    assert wide == pytest.approx(found.log_likelihood, abs=1e-6)


def test_errors_are_the_inverse_of_the_curvature_of_the_likelihood() -> None:
    model = whole(simulated(5))
    found = fit_marginal(model)
    assert found is not None
    x, step = np.concatenate([[found.mean, found.sd], found.free]), 1e-3
    curvature = np.empty((len(x), len(x)))
    for i in range(len(x)):
        for j in range(len(x)):
            corners = [
                log_likelihood(model, *_split(x + step * (a * _unit(i, len(x)) + b * _unit(j, len(x)))))
                for a, b in ((1, 1), (1, -1), (-1, 1), (-1, -1))
            ]
            curvature[i, j] = -(corners[0] - corners[1] - corners[2] + corners[3]) / (4 * step**2)
    assert np.linalg.inv(curvature) == pytest.approx(found.covariance, rel=1e-3, abs=1e-5)


def _split(x: Floats) -> tuple[float, float, Floats]:
    return float(x[0]), float(x[1]), x[2:]


def _unit(i: int, n: int) -> Floats:
    return np.asarray(np.eye(n)[i])


def test_with_much_data_severities_come_out_as_they_were_put_in() -> None:
    """Slope of estimated on true severity and coverage; joint exaggerates, as its warning says."""
    found, truth, held = [], [], 0
    for seed in range(12):
        scores = simulated(seed, candidates=60, assessors=6, criteria=4, each=3)
        rng = np.random.default_rng(seed)
        rng.normal(0, 1.3, 60)
        true = rng.normal(0, 0.5, 6)
        true -= true.mean()
        for measure, real in zip(severity(scores).assessors, true, strict=True):
            assert measure.value is not None and measure.ci95 is not None
            found.append(measure.value)
            truth.append(real)
            held += measure.ci95[0] <= real <= measure.ci95[1]
    assert np.polyfit(truth, found, 1)[0] == pytest.approx(1.0, abs=0.06)
    # 72 intervals at 95 %, less three standard errors.
    assert held >= 63
