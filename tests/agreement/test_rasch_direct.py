"""Many-facet Rasch against its likelihood written out and maximised by scipy, and against the plain models it holds."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from assess.agreement.rasch_joint import fit_joint
from assess.agreement.rasch_likelihood import log_likelihood
from assess.agreement.rasch_marginal import fit_marginal
from assess.agreement.rasch_model import Model
from assess.agreement.rasch_patterns import patterns_of
from assess.agreement.scores import Floats, Scores, scores_of
from tests.agreement.rasch_direct import conditional_log_likelihood, maximised
from tests.agreement.rasch_tables import error_of, simulated, value_of, whole
from tests.agreement.score_tables import reference
from tests.bench.rasch_alternatives import direct_marginal

CLOSE = 1e-5


def told(model: Model, free: Floats) -> tuple[Floats, Floats, Floats]:
    """Severities, difficulties and steps by group."""
    severity, difficulty = (value_of(facet, free) for facet in model.facets[:2])
    return severity, difficulty, np.diff(model.offset @ free, axis=1)


def compare(scores: Scores, joint: bool, partial_credit: bool) -> None:
    """Ours against scipy's, where both exist: measures within CLOSE logits, log-likelihoods within 1e-7."""
    model = whole(scores, partial_credit, joint)
    direct = maximised(scores, joint=joint, partial_credit=partial_credit)
    if joint:
        by_joint = fit_joint(model)
        assert by_joint is not None
        assert by_joint.ability == pytest.approx(direct.ability, abs=CLOSE)
        free, value = by_joint.free, by_joint.log_likelihood
    else:
        found = fit_marginal(model)
        assert found is not None
        assert (found.mean, found.sd) == pytest.approx((direct.mean, direct.sd), abs=CLOSE)
        free, value = found.free, found.log_likelihood
    assert value == pytest.approx(direct.log_likelihood, abs=1e-7)
    severity, difficulty, steps = told(model, free)
    assert severity == pytest.approx(direct.severity, abs=CLOSE)
    assert difficulty == pytest.approx(direct.difficulty, abs=CLOSE)
    assert steps == pytest.approx(direct.steps, abs=CLOSE)


def every_level_on_every_criterion(scores: Scores) -> bool:
    k = len(scores.levels)
    counts = np.bincount(scores.criterion * k + scores.level, minlength=k * len(scores.criteria))
    return bool((counts > 0).all())


@pytest.mark.parametrize("joint", [False, True], ids=["marginal", "joint"])
@pytest.mark.parametrize("partial_credit", [False, True], ids=["rating scale", "partial credit"])
@pytest.mark.parametrize("each", [2, 4], ids=["half", "complete"])
def test_a_direct_maximisation_ends_at_the_same_place(joint: bool, partial_credit: bool, each: int) -> None:
    scores = simulated(17, candidates=10, criteria=2, each=each, levels=4)
    assert every_level_on_every_criterion(scores) and whole(scores, joint=joint).usable.extreme == ()
    compare(scores, joint, partial_credit)


@settings(max_examples=10, deadline=None)
@given(st.lists(st.integers(1, 3), min_size=36, max_size=36), st.booleans(), st.booleans())
def test_it_does_so_on_any_small_table(drawn: list[int], joint: bool, partial_credit: bool) -> None:
    p, a, k = (index.ravel() for index in np.indices((6, 3, 2)))
    scores = scores_of(
        [f"C{v}" for v in p], [f"A{v}" for v in a], [float(v) for v in drawn], criterion=[f"k{v}" for v in k],
        levels=(1, 2, 3),
    )  # fmt: skip
    assume(every_level_on_every_criterion(scores))
    model = whole(scores, partial_credit, joint)
    assume(model.usable.extreme == ())
    # Not every table has a maximum; where ours says so nothing is compared here.
    assume((fit_joint(model) if joint else fit_marginal(model)) is not None)
    compare(scores, joint, partial_credit)


def one_assessor(name: str) -> tuple[Scores, list[str], dict[str, Any]]:
    """A check set of persons and items as the scores of one assessor; the items in the order of the file."""
    check = reference(name)
    person, item, score = zip(*check["data"], strict=True)
    names = list(dict.fromkeys(str(name) for name in item))
    scores = scores_of(person, ["A1"] * len(score), [float(v) for v in score], criterion=[str(v) for v in item])
    return scores, [scores.criteria[i] for i in np.argsort(np.argsort(names))], check


def conditional(model: Model, scores: Scores) -> tuple[float, Floats]:
    """The conditional maximum by scipy, over the free numbers of our model and through its own maps."""
    level = np.empty((len(scores.candidates), len(scores.criteria)), dtype=np.int64)
    level[scores.candidate, scores.criterion] = scores.level
    item = next(facet for facet in model.facets if facet.name == "criterion")
    of_item = np.argsort(item.of_cell)

    def value(free: Any) -> Any:
        place = (model.location @ free)[:, None] * model.weights + (model.offset @ free)[model.group]
        return conditional_log_likelihood(place[of_item], level)

    def negative(free: Floats) -> tuple[float, Floats]:
        slope = [value(free + 1e-30j * unit).imag / 1e-30 for unit in np.eye(model.n_free)]
        return -float(value(free)), -np.array(slope)

    found = minimize(negative, np.zeros(model.n_free), jac=True, method="BFGS", options={"gtol": 1e-8})
    return -float(found.fun), found.x


@pytest.mark.parametrize(
    ("name", "part", "partial_credit"),
    [("rasch_cml__raschdat1_8", None, False), ("rasch_cml__verbal_aggression_6", "rsm", False),
     ("rasch_cml__verbal_aggression_6", "pcm", True)],
)  # fmt: skip
def test_with_one_assessor_it_is_the_plain_rating_scale_or_partial_credit_model(
    name: str, part: str | None, partial_credit: bool
) -> None:
    """The model's own maps in a conditional likelihood give the published estimates; the marginal ones are near."""
    scores, order, check = one_assessor(name)
    want = check["expected"] if part is None else check["expected"][part]
    model = whole(scores, partial_credit)
    names = list(model.facets[1].ids)
    rows = [names.index(item) for item in order]
    value, free = conditional(model, scores)
    assert value == pytest.approx(want["loglik"], abs=1e-6)
    difficulty, steps = told(model, free)[1:]
    item = np.array(want["item"]) - np.mean(want["item"])
    assert difficulty[rows] == pytest.approx(item, abs=check["tolerance"])
    marginal = fit_marginal(model)
    assert marginal is not None
    # Another estimator on the same scores: apart by far less than either knows the value.
    near = told(model, marginal.free)[1][rows]
    assert (np.abs(near - item) < 0.4 * error_of(model.facets[1], marginal.covariance[2:, 2:])[rows]).all()
    if part is not None:
        groups = [model.groups.index((names[row],)) if partial_credit else 0 for row in rows]
        threshold = difficulty[rows][:, None] + steps[groups]
        assert threshold == pytest.approx(np.array([want["thresh"][item] for item in order]), abs=check["tolerance"])


def test_with_many_candidates_the_way_by_a_sample_ends_at_the_maximum_of_all() -> None:
    model = whole(simulated(5, candidates=1000, assessors=6, criteria=2, each=2))
    found = fit_marginal(model)
    assert found is not None
    # A second way over the same sums, and the slope by differences: nothing is left to climb.
    assert found.log_likelihood == pytest.approx(direct_marginal(model, np.linspace(-8.0, 8.0, 241)), abs=1e-5)
    for i in range(model.n_free):
        ends = (
            log_likelihood(model, found.mean, found.sd, found.free + step * np.eye(model.n_free)[i])
            for step in (1e-4, -1e-4)
        )
        high, low = ends
        assert (high - low) / 2e-4 == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("model", [whole(simulated(2, candidates=30)), whole(simulated(3, candidates=30, each=2))])
def test_patterns_count_every_candidate_with_its_cells_and_its_total(model: Model) -> None:
    found = patterns_of(model)
    cells = found.incidence.toarray()[:, found.column]
    assert (cells[found.of_candidate] == model.incidence.toarray()).all()
    assert (found.total[found.of_candidate] == model.total).all()
    assert found.times.sum() == 30 and len(found.times) < 30
    assert found.n_columns == 4
    again = np.column_stack([cells, found.total])
    assert len(np.unique(again, axis=0)) == len(again)


def test_cells_of_sheets_that_are_not_whole_stay_apart() -> None:
    scores = simulated(4, candidates=12)
    keep = np.ones(scores.n_scores, dtype=bool)
    keep[0] = False
    names = [np.array(ids)[index][keep].tolist() for ids, index in (
        (scores.candidates, scores.candidate), (scores.assessors, scores.assessor), (scores.criteria, scores.criterion),
    )]  # fmt: skip
    some = scores_of(names[0], names[1], scores.value[keep], criterion=names[2], levels=scores.levels)
    model = whole(some)
    found = patterns_of(model)
    assert found.n_columns == 3 + 3
    cells = found.incidence.toarray()[:, found.column]
    assert (cells[found.of_candidate] == model.incidence.toarray()).all()
