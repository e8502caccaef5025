"""All agreement statistics of one set of scores."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from assess.agreement.alpha import effective_criteria, krippendorff_alpha
from assess.agreement.bootstrap import FEW, Bootstrap, Progress
from assess.agreement.coefficients import conger_kappa, family
from assess.agreement.kendall import kendall_w
from assess.agreement.pairs import common_units, every_pair
from assess.agreement.plain import pass_line, plain_agreement
from assess.agreement.results import Agreement, Pair, PassLine
from assess.agreement.scores import Scores
from assess.agreement.tally import Tally, tally_of
from assess.agreement.weights import METRICS, WEIGHTS, weight_table
from assess.agreement.words import told

__all__ = ["agreement"]


def agreement(
    scores: Scores,
    *,
    metric: str = "ordinal",
    weights: str = "none",
    replicates: int = 1000,
    seed: int = 0,
    progress: Progress | None = None,
) -> Agreement:
    """How alike assessors score, by every statistic that is asked for, each with interval, numbers and a sentence.

    metric: the distance of Krippendorff's alpha (nominal, ordinal, interval, ratio). weights: of Fleiss, Conger,
    Gwet (AC1 without, AC2 with), Brennan-Prediger and Cohen (none, linear, quadratic, ordinal); plain agreement has
    none. replicates, seed: of the bootstrap over candidates. progress: told the share done, and answers False to stop.
    Raises ValueError for an unknown metric or kind of weights, Cancelled when stopped.
    """
    if metric not in METRICS or weights not in WEIGHTS:
        raise ValueError(f"metric is one of {', '.join(METRICS)}; weights is one of {', '.join(WEIGHTS)}")
    tally = tally_of(scores)
    common = common_units(scores)
    bootstrap = Bootstrap(replicates, seed, progress, steps=6 + 2 * len(common))
    pairs = every_pair(scores, common, weights, bootstrap)
    made = _made(scores, tally, pairs, metric, weights, bootstrap)
    bootstrap.finish()
    return made


def _made(
    scores: Scores, tally: Tally, pairs: tuple[Pair, ...], metric: str, weights: str, bootstrap: Bootstrap
) -> Agreement:
    from assess.agreement.icc import icc, sem

    table = weight_table(weights, scores.levels) if len(tally.pattern) else np.zeros((0, 0))
    equal, near, side = plain_agreement(scores, tally, bootstrap)
    at_line = pass_line(scores, tally, side, bootstrap)
    three = family(scores, tally, table, bootstrap)
    form = "AC1" if weights == "none" else "AC2"
    return Agreement(
        n_units=scores.n_units, n_candidates=len(scores.candidates), n_assessors=len(scores.assessors),
        n_scores=scores.n_scores, levels=scores.levels, not_used=_alone(scores),
        percent_agreement=told(equal, tally.n_pairs), within_one=told(near, tally.n_pairs),
        at_pass_line=_told_line(at_line, tally.n_pairs),
        krippendorff_alpha=told(krippendorff_alpha(scores, tally, metric, bootstrap)),
        fleiss_kappa=told(three.fleiss), conger_kappa=told(conger_kappa(scores, tally, table, bootstrap)),
        gwet_ac=told(three.gwet, form=form), gwet_form=form, brennan_prediger=told(three.brennan_prediger),
        kendall_w=told(kendall_w(scores, bootstrap)), pairs=pairs,
        icc=icc(scores, replicates=bootstrap.replicates, seed=bootstrap.seed), sem=sem(scores),
        effective_criteria=effective_criteria(scores, tally, metric), warnings=_warnings(scores, tally, pairs),
    )  # fmt: skip


def _told_line(at_line: PassLine | None, pairs: int) -> PassLine | None:
    if at_line is None:
        return None
    return replace(at_line, agreement=told(at_line.agreement, pairs), kappa=told(at_line.kappa))


def _alone(scores: Scores) -> int:
    """Scores of units nobody else scored."""
    return int(np.count_nonzero(np.bincount(scores.unit, minlength=scores.n_units) == 1))


def _warnings(scores: Scores, tally: Tally, pairs: tuple[Pair, ...]) -> tuple[str, ...]:
    found = []
    if not scores.declared and scores.n_scores:
        seen = f"{len(scores.levels)} values" if len(scores.levels) > 12 else _listed(scores.levels)
        found.append(
            f"the scale was not declared: the values seen ({seen}) are taken for it, and some statistics depend on it"
        )
    if 0 < len(scores.candidates) < FEW:
        found.append(
            f"{len(scores.candidates)} candidates are few: intervals are rough, and most differences are chance"
        )
    if (alone := _alone(scores)) and len(scores.assessors) > 1:
        found.append(f"{alone} of {scores.n_scores} scores stand alone on their unit and say nothing about agreement")
    if len(scores.assessors) > max(10, scores.n_units):
        found.append(
            f"there are more assessors ({len(scores.assessors)}) than units ({scores.n_units}): "
            "are the columns of assessors and candidates swapped?"
        )
    apart = [f"{pair.a} and {pair.b}" for pair in pairs if pair.n == 0]
    if apart and scores.n_scores:
        more = f" and {len(apart) - 3} more pairs" if len(apart) > 3 else ""
        found.append(f"never scored the same thing: {', '.join(apart[:3])}{more}")
    found += [f"{name} gave the same level to everything" for name in _constant(scores, tally)]
    return tuple(found)


def _constant(scores: Scores, tally: Tally) -> list[str]:
    """Assessors with five scores or more, all alike, where scores as a whole differ."""
    if len(tally.pattern) == 0 or np.count_nonzero(tally.counts.any(axis=0)) < 2:
        return []
    k = len(scores.levels)
    given = np.bincount(scores.assessor * k + scores.level, minlength=len(scores.assessors) * k).reshape(-1, k)
    alike = (np.count_nonzero(given, axis=1) == 1) & (given.sum(axis=1) >= 5)
    return [scores.assessors[int(index)] for index in np.flatnonzero(alike)]


def _listed(levels: tuple[float, ...]) -> str:
    return ", ".join(f"{level:g}" for level in levels)
