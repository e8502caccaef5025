"""From the sheets of a round to arrays, and back: the assessors' numbers, the panel's error, the rule's chances."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING

from assess.desk.rounds import round_of, round_rubric, sheets_of
from assess.records.round import RESULTS

if TYPE_CHECKING:
    from assess.agreement.results.rounds import Chances, MarkerNumbers, PanelError
    from assess.agreement.round_scores import MarkerScores, RoundScores
    from assess.desk.session import Desk
    from assess.marking.reference import Reference
    from assess.marking.results import Sheet

__all__ = ["chances_of", "numbers_of", "panel_error_of", "refused_rule"]

SIMULATED = 2000
STATED_ERROR = Fraction(1, 2)
"""The error of one score of a good marker where neither the file nor the panel says another."""


def numbers_of(
    desk: Desk, reference: Reference, panel: PanelError, assessors: Sequence[str], *, seed: int
) -> dict[str, MarkerNumbers]:
    """Every one of these assessors against the reference, judged as one family."""
    from assess.agreement.round_effects import marker_numbers

    scores = _round_scores(desk, reference)
    markers = {who: _marker_scores(desk, reference, sheets_of(desk, who), scores) for who in assessors}
    return {found.assessor: found for found in marker_numbers(scores, markers, panel, seed=seed)}


def panel_error_of(desk: Desk, reference: Reference) -> PanelError:
    """How far one score of the panel is from the panel's mean."""
    from assess.agreement.round_panel import panel_error

    return panel_error(_round_scores(desk, reference))


def chances_of(desk: Desk, reference: Reference, panel: PanelError, *, seed: int) -> tuple[Chances, ...]:
    """What the rule of the round makes of a good marker and of two poor ones, on these lessons with their repeats."""
    import numpy as np

    from assess.agreement.results.rounds import Chances
    from assess.agreement.round_counts import count_figures
    from assess.agreement.round_markers import MarkerModel, simulated
    from assess.agreement.round_words import chances_sentence
    from assess.marking.qualification import judged

    this, scores = round_of(desk), _round_scores(desk, reference)
    order = {item.lesson: number for number, item in enumerate(reference.lessons)}
    lessons = np.array([order[lesson.id] for slot in this.slots if (lesson := this.lesson(slot)) is not None])
    error = float(this.good.error) if this.good.error is not None else panel.score or float(STATED_ERROR)
    good = MarkerModel.like(panel, error)
    kinds = {
        "good": good,
        "severe": replace(good, severity=-float(this.poor.severity)),
        "drifting": replace(good, drift=-float(this.poor.drift)),
        "flat": replace(good, flat=True),
    }
    found = []
    for name, model in kinds.items():
        levels = simulated(scores, lessons, model, SIMULATED, np.random.default_rng(seed))
        counted = Counter(judged(this.rule, each).result for each in count_figures(scores, lessons, levels))
        shares = tuple((result, counted[result] / SIMULATED) for result in RESULTS)
        made = Chances(name, model.error, model.severity, model.drift, shares, SIMULATED)
        found.append(replace(made, sentence=chances_sentence(made)))
    return tuple(found)


def refused_rule(desk: Desk, panel: PanelError | None) -> str:
    """Why the rule cannot be used, or nothing: it asks that not one score be off by more than a level.

    panel: of the reference where this person may see it; else the chance is told for the stated error alone.
    """
    from assess.marking.qualification import forbids_any_far_score

    this, rubric = round_of(desk), round_rubric(desk)
    n = sum(len(rubric.tasks[lesson.task].criteria) for slot in this.slots if (lesson := this.lesson(slot)) is not None)
    if not any(forbids_any_far_score(each, n) for each in (this.rule.current, this.rule.mark_again) if each):
        return ""
    stated = this.good.error if this.good.error is not None else STATED_ERROR
    error = panel.score if panel is not None and panel.score and this.good.error is None else float(stated)
    fails = none_far_fails(error, n)
    return (
        f"the rule asks that none of {n} scores be off by more than one level, and a good marker fails that:"
        f" of 100 whose scores are off by {error:.2f} levels as a rule, {100 * fails:.0f} would"
    )


def none_far_fails(error: float, n: int) -> float:
    """How likely one of n scores is more than one level off, for a marker without any habit.

    A score is the level nearest to what was seen, which lies normally about the reference; so two levels off means more
    than one and a half away. The n scores are taken as independent.
    """
    from math import erfc, sqrt

    far = erfc(1.5 / (error * sqrt(2)))
    return 1.0 - float((1.0 - far) ** n)


def _round_scores(desk: Desk, reference: Reference) -> RoundScores:
    import numpy as np

    from assess.agreement.round_scores import RoundScores

    this, rubric = round_of(desk), round_rubric(desk)
    criteria = [rubric.tasks[item.task].criteria for item in reference.lessons]
    width = max(len(each) for each in criteria)
    shape = (len(criteria), width)
    middle, weights = np.full(shape, np.nan), np.zeros(shape, dtype=np.int64)
    panel = np.full((len(dict.fromkeys(this.panel)), *shape), np.nan)
    markers = {who: number for number, who in enumerate(dict.fromkeys(this.panel))}
    scale = lcm(*(rubric.weight(key).denominator for each in criteria for key in each))
    for row, (item, keys) in enumerate(zip(reference.lessons, criteria, strict=True)):
        for column, key in enumerate(keys):
            level = item.level(key)
            if level is None:
                continue
            middle[row, column] = float(level.level)
            weights[row, column] = int(rubric.weight(key) * scale)
            for who, given in level.levels.items():
                panel[markers[who], row, column] = float(given)
    line = float(rubric.scale.pass_line)
    return RoundScores(middle, panel, weights, line, rubric.scale.min, rubric.scale.max)


def _marker_scores(desk: Desk, reference: Reference, sheets: Sequence[Sheet], scores: RoundScores) -> MarkerScores:
    import numpy as np

    from assess.agreement.round_scores import MarkerScores
    from assess.marking.values import given_levels
    from assess.records.ids import base_task

    rubric = round_rubric(desk)
    order = {item.lesson: number for number, item in enumerate(reference.lessons)}
    levels = np.full((len(sheets), scores.reference.shape[1]), np.nan)
    lessons = np.zeros(len(sheets), dtype=np.int64)
    for row, sheet in enumerate(sheets):
        item = reference.lesson(base_task(sheet.candidate, set(order)))
        lessons[row] = order[item.lesson]
        given = given_levels(sheet)
        for column, key in enumerate(rubric.tasks[item.task].criteria):
            if key in given and item.level(key) is not None:
                levels[row, column] = float(given[key])
    return MarkerScores(lessons, levels)
