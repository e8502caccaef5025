"""From the sheets of a round to arrays, and back: the assessors' numbers, the panel's error, the rule's chances."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING

from assess.desk.rounds import round_of, round_rubric, sheets_of

if TYPE_CHECKING:
    from assess.agreement.results.rounds import Chances, MarkerNumbers, PanelError
    from assess.agreement.round_scores import MarkerScores, RoundScores
    from assess.desk.session import Desk
    from assess.marking.reference import Reference
    from assess.marking.results import Sheet

__all__ = ["chances_of", "numbers_of", "panel_error_of", "refused_rule"]

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
    """What the rule of the round makes of a good marker and of poor ones, on these lessons with their repeats."""
    from assess.agreement.round_chances import rule_chances
    from assess.marking.qualification import judged

    this = round_of(desk)
    order = {item.lesson: number for number, item in enumerate(reference.lessons)}
    lessons = [order[lesson.id] for slot in this.slots if (lesson := this.lesson(slot)) is not None]
    error = float(this.good.error) if this.good.error is not None else panel.score or float(STATED_ERROR)
    return rule_chances(
        _round_scores(desk, reference), lessons, panel, lambda found: judged(this.rule, found).result,
        error=error, severity=float(this.poor.severity), drift=float(this.poor.drift), seed=seed,
    )  # fmt: skip


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
    from assess.agreement.round_scores import RoundScores

    this, rubric = round_of(desk), round_rubric(desk)
    criteria = [rubric.tasks[item.task].criteria for item in reference.lessons]
    cells = [[item.level(key) for key in keys] for item, keys in zip(reference.lessons, criteria, strict=True)]
    scale = lcm(*(rubric.weight(key).denominator for keys in criteria for key in keys))
    return RoundScores.of(
        [[None if cell is None else float(cell.level) for cell in row] for row in cells],
        [
            [[_number(cell.levels.get(who)) if cell is not None else None for cell in row] for row in cells]
            for who in dict.fromkeys(this.panel)
        ],
        [[int(rubric.weight(key) * scale) for key in keys] for keys in criteria],
        float(rubric.scale.pass_line), rubric.scale.levels,
    )  # fmt: skip


def _number(level: Fraction | None) -> float | None:
    return None if level is None else float(level)


def _marker_scores(desk: Desk, reference: Reference, sheets: Sequence[Sheet], scores: RoundScores) -> MarkerScores:
    from assess.agreement.round_scores import MarkerScores
    from assess.marking.values import given_levels

    this, rubric = round_of(desk), round_rubric(desk)
    order = {item.lesson: number for number, item in enumerate(reference.lessons)}
    lessons, rows = [], []
    for sheet in sheets:
        lesson = this.lesson(sheet.candidate)
        if lesson is None:
            continue
        item, given = reference.lesson(lesson.id), given_levels(sheet)
        lessons.append(order[lesson.id])
        keys = rubric.tasks[item.task].criteria
        rows.append([_number(given.get(key)) if item.level(key) is not None else None for key in keys])
    return MarkerScores.of(lessons, rows, scores)
