"""How hard each assessor marks: many-facet Rasch from scores to a finished result, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from assess.agreement.bootstrap import Progress, tell
from assess.agreement.multiplicity import benjamini_hochberg
from assess.agreement.rasch_fit import equal_scores, expected_at, told_apart
from assess.agreement.rasch_interaction import interactions
from assess.agreement.rasch_joint import Joint, fit_joint
from assess.agreement.rasch_links import Links, links_of
from assess.agreement.rasch_marginal import Marginal, fit_marginal
from assess.agreement.rasch_measures import Fitted, abilities, measures, steps
from assess.agreement.rasch_model import ASSESSOR, CRITERION, TASK, Model, model_of
from assess.agreement.rasch_usable import usable_of
from assess.agreement.rasch_words import assessor_sentence, beside_warning, sentences, warnings_of
from assess.agreement.results import Beside, Measure, Severity, ToldApart
from assess.agreement.scores import Scores, scores_of

__all__ = ["METHODS", "MODELS", "severity"]

METHODS = ("marginal", "joint")
MODELS = ("rating_scale", "partial_credit")
_MOST_LEVELS = 40
_FEWEST = 3


def severity(
    scores: Scores,
    *,
    method: Literal["marginal", "joint"] = "marginal",
    model: Literal["rating_scale", "partial_credit"] = "rating_scale",
    progress: Progress | None = None,
) -> Severity:
    """Severity of assessors, difficulty of criteria and tasks, steps of the scale and abilities of candidates.

    method: marginal (candidates from a normal distribution) or joint (no such assumption; exaggerates differences).
    model: steps shared by all, or of each criterion (of each task without criteria). Raises ValueError for another.
    progress: told the share of the work that is done; raises Cancelled when it answers False.
    """
    if method not in METHODS or model not in MODELS:
        raise ValueError(f"method is one of {METHODS}, model one of {MODELS}")
    empty = Severity(
        model, method, scores.levels, True, (scores.assessors,) if scores.assessors else (), len(scores.candidates),
        len(scores.assessors), scores.n_scores,
    )  # fmt: skip
    reason = _nothing(scores)
    if reason is not None:
        return _without(empty, reason)
    links = links_of(scores)
    empty = replace(empty, linked=links.reason is None, groups=links.groups)
    if links.reason is not None:
        return _without(empty, links.reason)
    # Sums of floats depend on their order: the order of the rows must not.
    ordered = _rows(scores, np.lexsort((scores.assessor, scores.unit)))
    found = _estimated(ordered, empty, links, method, model, progress)
    tell(progress, 1.0)
    return found


def _without(empty: Severity, reason: str) -> Severity:
    return replace(empty, undefined=reason, sentences=(reason,))


def _nothing(scores: Scores) -> str | None:
    if scores.n_scores == 0:
        return "There are no scores."
    if len(scores.assessors) < 2:
        return "There is one assessor only: severity is a difference between assessors."
    if len(scores.candidates) < _FEWEST:
        return f"There are fewer than {_FEWEST} candidates: severity cannot be told from chance."
    if len(np.unique(scores.value)) == 1:
        return "All scores are equal: nobody is stricter, and nothing else can be told from them."
    if len(np.unique(scores.value)) > _MOST_LEVELS:
        return (
            f"There are more than {_MOST_LEVELS} different scores: this is for levels of a scale, not for measurements."
        )
    return None


@dataclass(frozen=True, eq=False)
class _Result:
    fitted: Fitted
    log_likelihood: float
    mean: float | None
    sd: float | None
    nodes: int


def _estimated(
    scores: Scores,
    empty: Severity,
    links: Links,
    method: str,
    kind: Literal["rating_scale", "partial_credit"],
    progress: Progress | None,
) -> Severity:
    usable = usable_of(scores, candidates=method == "joint")
    if len(np.unique(scores.assessor[usable.keep])) < 2 or len(usable.used) < 2:
        left = ", ".join(extreme.id for extreme in usable.extreme)
        return _without(empty, f"Without those at one end of the scale alone ({left}) nobody is left to compare.")
    model = model_of(scores, usable, kind == "partial_credit")
    if usable.extreme:
        again = links_of(_only(scores, usable.keep))
        if again.reason is not None:
            names = ", ".join(extreme.id for extreme in usable.extreme)
            why = f"Scores at one end of the scale alone ({names}) say nothing about severity; without them:"
            why += f" {again.reason}"
            return _without(replace(empty, linked=False, groups=again.groups), why)
        links = again if again.loose else links
    fit = _joint(model, progress) if method == "joint" else _marginal(model, progress)
    if fit is None:
        return _without(
            empty,
            "The estimates run off or do not settle: these scores hold too little variety for this model. Look at"
            " the agreement of pairs instead.",
        )
    beside = severity(scores, method="joint", model=kind) if links.loose and method == "marginal" else None
    told = (*links.warnings, *(beside_warning(beside) if beside else ()))
    return _finished(scores, replace(empty, warnings=told), model, fit, beside)


def _rows(scores: Scores, rows: Any) -> Scores:
    """These of the scores, in this order, with all names kept."""
    return replace(
        scores,
        candidate=scores.candidate[rows],
        task=scores.task[rows],
        criterion=scores.criterion[rows],
        assessor=scores.assessor[rows],
        unit=scores.unit[rows],
        value=scores.value[rows],
    )


def _only(scores: Scores, keep: Any) -> Scores:
    """These of the scores, and of the names those that have one."""

    def names(ids: tuple[str, ...], index: Any) -> list[str]:
        return [ids[i] for i in index[keep]]

    return scores_of(
        names(scores.candidates, scores.candidate),
        names(scores.assessors, scores.assessor),
        scores.value[keep],
        task=names(scores.tasks, scores.task),
        criterion=names(scores.criteria, scores.criterion),
        levels=scores.levels,
    )


def _marginal(model: Model, progress: Progress | None) -> _Result | None:
    found: Marginal | None = fit_marginal(model, progress)
    if found is None:
        return None
    inner = slice(2, None)
    fitted = Fitted(
        found.free, found.covariance[inner, inner], found.clustered[inner, inner], found.ability, found.ability_sd
    )
    return _Result(fitted, found.log_likelihood, found.mean, found.sd, found.nodes)


def _joint(model: Model, progress: Progress | None) -> _Result | None:
    found: Joint | None = fit_joint(model, progress)
    if found is None:
        return None
    fitted = Fitted(found.free, found.covariance, found.clustered, found.ability, found.ability_se)
    return _Result(fitted, found.log_likelihood, None, None, 0)


def _finished(scores: Scores, empty: Severity, model: Model, fit: _Result, beside: Severity | None) -> Severity:
    expected = expected_at(model, fit.fitted.free, fit.fitted.ability)
    by_facet = {f.name: measures(model, scores, fit.fitted, expected, f) for f in model.facets}
    people = abilities(model, scores, fit.fitted)
    seen, foreseen = equal_scores(model, scores, expected)
    apart = [(f"{name}", _apart(by_facet[key])) for name, key in _FACETS if len(by_facet[key]) > 1]
    shrunken = empty.method == "marginal"
    of_people = told_apart([p.value for p in people], [p.se for p in people], shrunken=shrunken)
    found = replace(
        empty,
        log_likelihood=fit.log_likelihood,
        converged=True,
        assessors=_flagged(by_facet[ASSESSOR], beside),
        criteria=by_facet[CRITERION] if scores.criteria != ("",) else (),
        tasks=by_facet[TASK] if scores.tasks != ("",) else (),
        steps=steps(model, fit.fitted),
        candidates=people,
        mean=fit.mean,
        sd=fit.sd,
        told_apart=(*apart, ("candidates", of_people)),
        equal_seen=seen,
        equal_foreseen=foreseen,
        interactions=interactions(model, fit.fitted.free, fit.fitted.ability),
        nodes=fit.nodes,
    )
    found = replace(found, warnings=(*warnings_of(found, model, scores), *found.warnings))
    return replace(found, sentences=sentences(found))


_FACETS = (("assessors", ASSESSOR), ("criteria", CRITERION), ("tasks", TASK))


def _apart(found: tuple[Measure, ...]) -> ToldApart:
    return told_apart([m.value for m in found], [m.se for m in found], centred=True)


def _flagged(found: tuple[Measure, ...], beside: Severity | None) -> tuple[Measure, ...]:
    """The assessors with their sentences; who differs is said of the whole family at once, not one by one.

    Loosely joined, somebody differs only where the joint estimate says so too.
    """
    flagged = _differ(found)
    if beside is not None:
        flagged &= _differ(beside.assessors)
        other = {m.id: m for m in beside.assessors}
        found = tuple(replace(m, beside=_as_beside(other[m.id])) if m.id in other else m for m in found)
    return tuple(replace(m, sentence=assessor_sentence(m, m.id in flagged)) for m in _halo(found))


def _differ(found: tuple[Measure, ...]) -> set[str]:
    family = benjamini_hochberg("severity", {m.id: _p(m) for m in found})
    return {tested.name for tested in family.tests if tested.flagged}


def _as_beside(joint: Measure) -> Beside | None:
    if joint.value is None:
        return None
    return Beside(joint.value, joint.se, joint.ci95, joint.levels, joint.levels_ci95)


def _halo(found: tuple[Measure, ...]) -> tuple[Measure, ...]:
    """The assessors, marked where the criteria of a sheet are closer together than chance makes likely."""
    p = {m.id: m.within_sheet.p for m in found if m.within_sheet is not None}
    little = {tested.name for tested in benjamini_hochberg("spread within a sheet", p).tests if tested.flagged}
    return tuple(
        replace(m, within_sheet=replace(m.within_sheet, little=True)) if m.within_sheet and m.id in little else m
        for m in found
    )


def _p(measure: Measure) -> float | None:
    from scipy.special import stdtr

    if measure.value is None or measure.se is None:
        return None
    error = max(measure.se, measure.se_clustered or 0.0)
    return float(2 * stdtr(max(1, measure.n_candidates - 1), -abs(measure.value) / error)) if error > 0 else None
