"""Where the differences between scores come from, and how far a result would repeat: G and D study."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from assess.agreement.anova import mean_squares, variances_of
from assess.agreement.bootstrap import Progress, tell
from assess.agreement.d_study import Weights, as_seen, phi_at, planned, ratios, weights_for
from assess.agreement.dependability_words import sentences
from assess.agreement.facets import ASSESSOR, CANDIDATE, TASK, Design, design_of
from assess.agreement.profile_limits import variance_limits
from assess.agreement.redraw import Redrawn, of_complete, of_model
from assess.agreement.reml import Model, Reml, TooMany, fit, model_of, told_apart
from assess.agreement.results import Component, Dependability, Estimate, Interval, Planned
from assess.agreement.scores import Floats, Scores

__all__ = ["METHODS", "dependability"]

METHODS = ("reml", "anova")
_MOST_PROFILED = 40_000
_NOT_APART = "The pattern of scores does not let the sources of differences be told apart: too few meet too few others."
_NO_ERROR = "Nothing is left beside the sources: these scores fit without any error, which no estimate can rest on."
_NOT_COMPLETE = (
    "Analysis of variance wants every assessor to score every candidate (and task); scores are missing here or unevenly"
    " spread. Restricted maximum likelihood (method reml) can use them."
)


@dataclass(frozen=True, eq=False)
class _Fitted:
    """Variances of the sources, with what intervals and the pass line need."""

    variances: Floats
    se: Floats | None
    minus_two: float | None
    mean: float
    mean_variance: float
    drawn: Redrawn
    model: Model | None = None
    reml: Reml | None = None


def dependability(
    scores: Scores,
    *,
    method: str = "reml",
    assessors: Iterable[int] = range(1, 7),
    tasks: Iterable[int] = range(1, 7),
    replicates: int = 10_000,
    seed: int = 0,
    progress: Progress | None = None,
) -> Dependability:
    """Variance of every source, dependability of the means as they are here, and what other numbers would give.

    method: "reml", restricted maximum likelihood, or "anova", expected mean squares, for complete designs only.
    assessors, tasks: the numbers to plan with. replicates, seed: of the redraws the intervals of g and phi rest on.
    progress: see bootstrap.py; raises Cancelled when it answers False. With scores.line, phi at that line is given
    too. Raises ValueError for another method, or for numbers to plan with below 1.
    """
    if method not in METHODS:
        raise ValueError(f"method must be one of {', '.join(METHODS)}, not {method}")
    several, each = tuple(assessors), tuple(tasks)
    if min(*several, *each, 1) < 1:
        raise ValueError("numbers of assessors and tasks to plan with start at 1")
    tell(progress, 0.0)
    design = design_of(scores)
    fitted = design.undefined or _fitted(design, method, replicates, seed)
    if isinstance(fitted, str):
        return _refused(scores, design, method, fitted)
    tell(progress, 0.2)
    components = _components(design, fitted, progress)
    grid = [(a, t) for a in several for t in (each if design.facet else (1,))]
    found = Dependability(
        design.text, method, design.facet, fitted.minus_two, components,
        *_ratios(scores, design, fitted), tuple(_planned(design, fitted, a, t) for a, t in grid),
        len(scores.candidates), len(scores.assessors), scores.n_scores, (),
        (*design.warnings, *_warnings(design, fitted)), None, design.levels[TASK] if design.facet else 0, fitted.mean,
    )  # fmt: skip
    tell(progress, 1.0)
    return replace(found, sentences=sentences(found, scores.line))


def _refused(scores: Scores, design: Design, method: str, reason: str) -> Dependability:
    n = (scores.n_scores, len(scores.candidates), len(scores.assessors), scores.n_scores)
    g, phi, at_line = (
        Estimate(name, None, None, None, "", *n, reason, (), reason) for name in ("g", "phi", "phi at the pass line")
    )
    return Dependability(
        design.text, method, design.facet, None, (), g, phi, at_line if scores.line is not None else None, None, None,
        (), len(scores.candidates), len(scores.assessors), scores.n_scores, (reason,), design.warnings, reason,
        design.levels[TASK] if design.facet else 0,
    )  # fmt: skip


def _fitted(design: Design, method: str, replicates: int, seed: int) -> _Fitted | str:
    if method == "anova":
        return _by_anova(design, replicates, seed) if design.complete else _NOT_COMPLETE
    sources = [source.index for source in design.sources[:-1]]
    if not told_apart(sources, len(design.value)):
        return _NOT_APART
    try:
        model = model_of(sources, [source.facets for source in design.sources[:-1]], design.value)
    except TooMany as many:
        return f"Too large for this analysis: {many}."
    reml = fit(model)
    if not reml.converged:
        return _NO_ERROR
    drawn = of_model(model, reml, replicates, seed)
    return _Fitted(reml.variances, reml.se, reml.minus_two, reml.mean, reml.mean_variance, drawn, model, reml)


def _by_anova(design: Design, replicates: int, seed: int) -> _Fitted:
    ms = mean_squares(design)
    variances = variances_of(ms, ms.values)
    mean_variance = float(ms.mean_weights @ np.maximum(variances, 0.0))
    return _Fitted(variances, None, None, ms.mean, mean_variance, of_complete(ms, replicates, seed))


def _components(design: Design, fitted: _Fitted, progress: Progress | None) -> tuple[Component, ...]:
    found = []
    for k, source in enumerate(design.sources):
        limits, how = _component_limits(fitted, k)
        se = None if fitted.se is None or fitted.variances[k] <= 0 else float(fitted.se[k])
        found.append(Component(source.name, float(fitted.variances[k]), limits, how if limits else "", se))
        tell(progress, 0.2 + 0.7 * (k + 1) / len(design.sources))
    return tuple(found)


def _component_limits(fitted: _Fitted, k: int) -> tuple[Interval | None, str]:
    model = fitted.model
    if model is None or fitted.reml is None or model.blocks.size * len(fitted.variances) > _MOST_PROFILED:
        return fitted.drawn.component(k), fitted.drawn.how
    return variance_limits(model, fitted.reml, k), "profile of the restricted likelihood"


def _ratios(
    scores: Scores, design: Design, fitted: _Fitted
) -> tuple[Estimate, Estimate, Estimate | None, float, float]:
    weights = as_seen(design)
    g, phi, relative, absolute = ratios(fitted.variances, weights)
    parts = (
        ("g", g, fitted.drawn.share(weights, absolute=False)),
        ("phi", phi, fitted.drawn.share(weights, absolute=True)),
    )
    both = [_estimate(scores, name, value, limits, fitted.drawn.how) for name, value, limits in parts]
    at_line = None if scores.line is None else _at_line(scores, scores.line, fitted, weights)
    return both[0], both[1], at_line, float(np.sqrt(relative)), float(np.sqrt(absolute))


def _at_line(scores: Scores, line: float, fitted: _Fitted, weights: Weights) -> Estimate:
    kept = np.maximum(fitted.variances, 0.0)
    value = phi_at(
        float(weights.signal @ kept), float(weights.absolute @ kept), fitted.mean, fitted.mean_variance, line
    )
    found = _estimate(scores, "phi at the pass line", value, fitted.drawn.share_at(weights, line), fitted.drawn.how)
    if (fitted.mean - line) ** 2 < fitted.mean_variance:
        near = "the mean is as near the line as it is uncertain: the correction for that lowers the value"
        found = replace(found, warnings=(near,))
    return found


def _estimate(scores: Scores, name: str, value: float | None, limits: Interval | None, how: str) -> Estimate:
    reason = None if value is not None else "Nothing varies between candidates and there is no error."
    return Estimate(
        name, value, None, limits if value is not None else None, how if value is not None else "", scores.n_scores,
        len(scores.candidates), len(scores.assessors), scores.n_scores, reason,
    )  # fmt: skip


def _planned(design: Design, fitted: _Fitted, assessors: int, tasks: int) -> Planned:
    weights = weights_for(design.sources, assessors, tasks)
    plan = planned(fitted.variances, design.sources, assessors, tasks)
    relative, absolute = (fitted.drawn.share(weights, absolute=which) for which in (False, True))
    return replace(plan, g_ci95=None if plan.g is None else relative, phi_ci95=None if plan.phi is None else absolute)


def _warnings(design: Design, fitted: _Fitted) -> tuple[str, ...]:
    told = []
    negative = [s.name for s, v in zip(design.sources, fitted.variances, strict=True) if v < 0]
    if negative:
        told.append(f"negative variance of {', '.join(negative)}: shown as it is, counted as 0 in g, phi and the plans")
    if fitted.variances[-1] == 0:
        told.append("these scores leave no error at all: nothing says how sure the other numbers are")
    zero = [s.name for s, v in zip(design.sources[:-1], fitted.variances, strict=False) if v == 0]
    if zero:
        told.append(f"no variance is left for {', '.join(zero)}: with so few of them it may be there and not be seen")
    names = {
        CANDIDATE: "candidates",
        TASK: "criteria" if design.facet == "criterion" else "tasks",
        ASSESSOR: "assessors",
    }
    for f, n in zip((CANDIDATE, TASK, ASSESSOR), design.levels, strict=True):
        if 1 < n < 5:
            told.append(f"only {n} {names[f]}: how much {names[f]} differ is known very roughly")
    return tuple(told)
