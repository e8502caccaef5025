"""How alike the assessors of a course mark, as a page to hand on: sentences, then every number with its interval."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.agreement_words import CAUTION, icc_words, sentences
from assess.reports.document import Block, Document, Listing, Section, Table, Text

if TYPE_CHECKING:
    from assess.agreement.results import Agreement, Estimate, Pair, PassLine
    from assess.desk.session import Desk

__all__ = ["agreement_page"]


def agreement_page(desk: Desk) -> Document:
    """The page of one course; only what everybody of a turn has locked is read, so it is the same for all who ask.

    Raises what `assess.desk.agreeing.agreement_of` raises: Refusal where nothing is locked by everybody.
    """
    from assess.desk.agreeing import agreement_of
    from assess.desk.result_page import newest_day
    from assess.records.audience import AUDIENCES

    found = agreement_of([Path(desk.folder.root)])
    sections = [
        Section("What was found", (_rests_on(found), Listing(tuple(sentences(found))))),
        Section("The numbers", (_numbers(found), *_at_the_line(found.at_pass_line), *_error(found))),
    ]
    pairs = [pair for pair in found.pairs if pair.n]
    if pairs:
        sections.append(Section("Pair by pair", (_pairs(pairs),)))
    warnings = tuple(_warnings(found))
    if warnings:
        sections.append(Section("To be careful with", (Listing(warnings),)))
    return Document(
        title="How alike the assessors mark", about=f"{desk.course.title}, {desk.course.id}",
        audience=AUDIENCES["panel"].capitalize(), dated=newest_day(desk), sections=tuple(sections), closing=(CAUTION,),
    )  # fmt: skip


def _rests_on(found: Agreement) -> Text:
    return Text(
        f"{found.n_assessors} assessors, {found.n_candidates} candidates, {found.n_scores} scores of {found.n_units}"
        " units; a unit is one criterion of one candidate in one task."
    )


def _warnings(found: Agreement) -> Iterator[str]:
    """What is to be careful with: of all, then of single numbers, each said once; and why a number is not there."""
    told = set(found.warnings)
    yield from found.warnings
    for name, one in _named(found):
        for warning in one.warnings:
            if warning not in told:
                told.add(warning)
                yield f"{name}: {warning}"
        if one.estimate is None and one.undefined:
            yield f"{name}: {one.undefined}"


def _named(found: Agreement) -> list[tuple[str, Estimate]]:
    line = found.at_pass_line
    return [
        ("The same level, of all pairs", found.percent_agreement),
        ("The same or the next level", found.within_one),
        *([("The same side of the pass line", line.agreement)] if line else []),
        ("Krippendorff's alpha", found.krippendorff_alpha),
        (f"Gwet's {found.gwet_form}", found.gwet_ac),
        ("Fleiss's kappa", found.fleiss_kappa),
        ("Conger's kappa", found.conger_kappa),
        ("Brennan and Prediger's coefficient", found.brennan_prediger),
        *([("Kappa of the two sides of the line", line.kappa)] if line else []),
        *((icc_words(name), one) for name, one in found.icc),
        ("Kendall's W", found.kendall_w),
    ]


def _numbers(found: Agreement) -> Table:
    rows = tuple((name, *_cells(one)) for name, one in _named(found))
    columns = ("Measure", "Estimate", "95 % interval", "Units")
    return Table("Agreement, with 95 % intervals", columns, rows, frozenset({1, 3}))


def _cells(one: Estimate) -> tuple[str, str, str]:
    if one.estimate is None:
        return "-", "-", "-"
    return _two(one.estimate), _ends(one), str(one.n)


def _ends(one: Estimate) -> str:
    return "-" if one.ci95 is None else f"{_two(one.ci95[0])} to {_two(one.ci95[1])}"


def _two(value: float | None) -> str:
    """`0.44`; never `-0.00`."""
    return "-" if value is None else f"{round(value, 2) + 0.0:.2f}"


def _at_the_line(line: PassLine | None) -> Iterator[Block]:
    """What an appeal asks about: how often one assessor would pass what the other would not."""
    if line is None:
        return
    (below, one), (other, on) = line.table
    pairs = below + one + other + on
    if pairs:
        counted = (("on or above the line", on), ("below the line", below), ("one on each side", one + other))
        rows = tuple((name, f"{100 * number / pairs:.0f} %") for name, number in counted)
        yield Table(
            "Two scores of the same thing, at the pass line", ("Both scores", "Of all pairs"), rows, frozenset({1})
        )


def _error(found: Agreement) -> Iterator[Block]:
    sem = found.sem
    if sem.absolute is None and sem.consistency is None:
        return
    rows = (
        ("With the severity of whoever comes", _two(sem.absolute), _two(sem.mdc95_absolute)),
        ("Severity aside", _two(sem.consistency), _two(sem.mdc95_consistency)),
    )
    columns = ("A score", "Error", "Apart by more than error")
    yield Table("Error of one score, in levels", columns, rows, frozenset({1, 2}))


def _pairs(pairs: list[Pair]) -> Table:
    columns = ("Pair", "Units", "Equal", "Kappa", "95 % interval", "First higher by")
    rows = tuple(
        (
            f"{pair.a} and {pair.b}", str(pair.n),
            "-" if pair.percent_agreement is None else f"{100 * pair.percent_agreement:.0f} %",
            _two(pair.cohen_kappa.estimate), _ends(pair.cohen_kappa), _two(pair.bland_altman.bias),
        )
        for pair in sorted(pairs, key=lambda pair: (pair.a, pair.b))
    )  # fmt: skip
    return Table("Two assessors on the same things (levels, on average)", columns, rows, frozenset({1, 2, 3, 5}))
