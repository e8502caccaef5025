"""Severity as plain lines: a sentence for each assessor, the numbers with their intervals, then the cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from assess.cli.figures import cautions, interval, many, number, paragraphs

if TYPE_CHECKING:
    from assess.agreement.results import Measure, Severity, Step

__all__ = ["severity_lines"]

CAUTION = "How hard assessors mark, candidates' ability aside. A reason to look together, never a verdict."
_NAME = 24


def severity_lines(found: Severity) -> Iterator[str]:
    """The lines for the severities of one set of scores, or why there are none."""
    yield from paragraphs([CAUTION])
    yield ""
    counted = ((found.n_assessors, "assessor"), (found.n_candidates, "candidate"), (found.n_scores, "score"))
    yield ", ".join(many(n, word) for n, word in counted) + "."
    yield ""
    yield from paragraphs(found.sentences, "* ")
    if found.undefined is None:
        yield from _measures("Assessors: severity in levels (more is stricter), and in logits:", found.assessors, True)
        yield from _beside(found.assessors)
        for title, measures in (("Criteria", found.criteria), ("Tasks", found.tasks)):
            if len(measures) > 1:
                yield from _measures(f"{title}: difficulty in levels (more is harder), and in logits:", measures, False)
        yield from _steps(found.steps)
        yield from _model(found)
    yield from cautions(found.warnings)


def _measures(title: str, measures: Sequence[Measure], sheets: bool) -> Iterator[str]:
    spread = sheets and any(measure.within_sheet for measure in measures)
    yield ""
    yield title
    yield f"  {'':<{_NAME}}{'levels':>7}  {'95 % interval':<15}{'logits':>7}{'scores':>7}{'infit':>7}" + (
        f"{'sheet':>8}" if spread else ""
    )
    for measure in measures:
        name = measure.id
        if len(name) > _NAME - 1:
            yield f"  {name}"
            name = ""
        line = f"  {name:<{_NAME}}{number(measure.levels):>7}  {interval(measure.levels_ci95):<15}"
        line += f"{number(measure.value):>7}{measure.n:>7}{number(measure.infit):>7}"
        within = measure.within_sheet
        ratio = within.seen / within.foreseen if within is not None and within.foreseen > 0 else None
        yield line + (f"{number(ratio):>8}" if spread else "")
    if spread:
        yield from paragraphs(
            ["infit: 1 is as much scatter as foreseen. sheet: how far apart the criteria of one sheet are, 1 as"
             " foreseen; well below 1, one impression colours the sheet."]
        )  # fmt: skip


def _beside(measures: Sequence[Measure]) -> Iterator[str]:
    if not any(measure.beside for measure in measures):
        return
    yield ""
    yield "Loosely joined, so beside them the joint estimates, in levels and in logits:"
    for measure in measures:
        joint = measure.beside
        told = (joint.levels, joint.levels_ci95, joint.value) if joint else (None, None, None)
        name = measure.id if len(measure.id) < _NAME else f"{measure.id}  "
        yield f"  {name:<{_NAME}}{number(told[0]):>7}  {interval(told[1]):<15}{number(told[2]):>7}"


def _steps(steps: Sequence[Step]) -> Iterator[str]:
    yield ""
    yield "Steps: the ability at which a level becomes likelier than the one before:"
    for step in steps:
        whose = f"  {', '.join(step.criteria)}" if step.criteria else ""
        yield f"  {step.level:<8g}{number(step.threshold):>7}{whose}"


def _model(found: Severity) -> Iterator[str]:
    kind = {"rating_scale": "steps shared by all criteria", "partial_credit": "steps of each criterion"}[found.model]
    how = {
        "marginal": "marginal maximum likelihood, candidates from a normal distribution",
        "joint": "joint maximum likelihood",
    }[found.method]
    yield ""
    yield from paragraphs([f"Many-facet Rasch, {kind}; {how}."])
