"""Dependability as plain lines: sentences, where the differences come from, what other numbers would give."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.cli.figures import cautions, interval, many, number, paragraphs, percent

if TYPE_CHECKING:
    from assess.agreement.results import Dependability, Planned

__all__ = ["dependability_lines"]

CAUTION = "How far a result would repeat with other assessors and tasks. It says nothing about one candidate."
_MOST_COLUMNS = 5


def dependability_lines(found: Dependability) -> Iterator[str]:
    """The lines for the dependability of one set of scores, or why there is none."""
    yield from paragraphs([CAUTION])
    yield ""
    counted = ((found.n_assessors, "assessor"), (found.n_candidates, "candidate"), (found.n_scores, "score"))
    yield ", ".join(many(n, word) for n, word in counted) + "."
    if found.undefined is not None:
        yield ""
        yield from paragraphs([found.undefined, *found.sentences], "* ")
        yield from cautions(found.warnings)
        return
    yield ""
    yield from paragraphs(found.sentences, "* ")
    yield from _components(found)
    yield from _coefficients(found)
    yield from _planned(found)
    estimates = (found.g, found.phi, *(() if found.phi_at_line is None else (found.phi_at_line,)))
    yield from cautions([*found.warnings, *(w for estimate in estimates for w in estimate.warnings)])


def _components(found: Dependability) -> Iterator[str]:
    # A negative variance is an estimate of a small one: it has no share.
    total = sum(max(0.0, component.variance) for component in found.components)
    yield ""
    yield from paragraphs([f"Where the differences come from ({found.design}):"])
    yield f"  {'':<42}{'share':>7}{'variance':>10}  95 % interval"
    for component in found.components:
        share = max(0.0, component.variance) / total if total else None
        name = component.source
        if len(name) > 41:
            yield f"  {name}"
            name = ""
        variance = number(component.variance, 3)
        yield f"  {name:<42}{percent(share):>7}{variance:>10}  {interval(component.ci95)}"


def _coefficients(found: Dependability) -> Iterator[str]:
    yield ""
    many = {"task": " and tasks", "criterion": " and criteria"}.get(found.facet, "")
    yield f"{f'With the numbers of assessors{many} seen here:':<58}{'':>5}  95 % interval"
    rows = [("g: the order of candidates would repeat", found.g), ("phi: their levels would repeat", found.phi)]
    if found.phi_at_line is not None:
        rows.append(("phi at the line: pass or not would repeat", found.phi_at_line))
    for label, estimate in rows:
        yield f"  {label:<56}{number(estimate.estimate):>5}  {interval(estimate.ci95)}"
    yield f"  {'error of a mean when candidates are ranked, in levels':<56}{number(found.sem_relative):>5}"
    yield f"  {'error of a mean held against the line, in levels':<56}{number(found.sem_absolute):>5}"


def _planned(found: Dependability) -> Iterator[str]:
    if not found.d_study:
        return
    rows = sorted({planned.assessors for planned in found.d_study})
    columns = sorted({planned.tasks for planned in found.d_study})[:_MOST_COLUMNS] if found.facet else [1]
    cells = {(planned.assessors, planned.tasks): planned for planned in found.d_study}
    facet = {"task": "tasks", "criterion": "criteria"}.get(found.facet, "")
    yield ""
    yield "What other numbers would give: phi, and in brackets the error of a mean:"
    if facet:
        yield f"  {'':<12}{facet}"
    yield f"  {'assessors':<12}" + "".join(f"{(column if facet else ''):<13}" for column in columns)
    for row in rows:
        yield f"  {row:<12}" + "".join(f"{_cell(cells.get((row, column))):<13}" for column in columns)


def _cell(planned: Planned | None) -> str:
    if planned is None or planned.phi is None:
        return "-"
    return f"{number(planned.phi)} ({number(planned.sem_absolute)})"
