"""The quality report as plain lines: what is to be done first, then part by part, with the clause that asks for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from assess.cli.assessor_lines import rater_numbers
from assess.cli.figures import many, paragraphs

if TYPE_CHECKING:
    from assess.desk.assessors import AssessorPages
    from assess.desk.quality import QualityReport
    from assess.desk.quality_groups import GroupTable
    from assess.desk.quality_reliability import ModuleReliability, PooledError
    from assess.desk.quality_separation import SeparationSeen

__all__ = ["quality_lines"]


def quality_lines(found: QualityReport) -> Iterator[str]:
    """The whole report."""
    from assess.desk.quality_clauses import EDITIONS, FIRST_LINE

    yield from paragraphs([FIRST_LINE])
    yield ""
    yield f"Quality report, {found.on.isoformat()}"
    for course in found.courses:
        counted = ((course.candidates, "candidate"), (course.assessors, "assessor"))
        who = ", ".join(many(n, word) for n, word in counted)
        said = f"{course.id} from {course.first_day}: {who}, {course.turns_used} of {course.turns} turns locked by all"
        yield from paragraphs([said], "  ")
    yield from _due(found)
    yield from _part("Reliability", "reliability", _reliability(found.reliability, found.pooled))
    yield from _part("Would the same outcome be given again", "again", _again(found))
    yield from _part("Assessors", "assessors", _assessors(found.assessors, found.no_assessors))
    lines = [line.sentence for line in found.pass_lines]
    yield from _part("How the pass lines were set", "pass_lines", paragraphs(lines, "  "))
    yield from _part("Groups", "groups", _groups(found.groups))
    yield from _part("Who marked and decided", "separation", _separation(found.separation))
    yield ""
    yield from paragraphs([EDITIONS])


def _part(title: str, part: str, lines: Iterable[str]) -> Iterator[str]:
    from assess.desk.quality_clauses import clauses_line

    yield ""
    yield title
    yield from paragraphs([clauses_line(part)], "  ")
    yield from lines


def _due(found: QualityReport) -> Iterator[str]:
    from assess.desk.quality_clauses import clauses_line

    yield ""
    yield f"To be done: {many(len(found.findings), 'thing')}" if found.findings else "Nothing is overdue or missing."
    yield from paragraphs(found.findings, "! ")
    if found.last is not None:
        yield from paragraphs([f"Last report on {found.last.on} by {found.last.by}: {found.last.found}"], "  ")
    if found.due is not None:
        yield from paragraphs([f"The next one is due on {found.due.isoformat()} {clauses_line('due')}."], "  ")


def _reliability(modules: Iterable[ModuleReliability], pooled: Iterable[PooledError]) -> Iterator[str]:
    for module in modules:
        yield f"  {module.module}"
        yield from paragraphs(module.sentences, "    ")
    yield from paragraphs((error.sentence for error in pooled), "  ")


# --- again ---------------------------------------------------------------------------------------------


def _again(found: QualityReport) -> Iterator[str]:
    from assess.desk.quality_told import again_sentences
    from assess.desk.quality_words import AGAIN_MEANS

    yield from paragraphs([AGAIN_MEANS], "  ")
    for module in found.again:
        yield f"  {module.again.module}"
        yield from paragraphs(again_sentences(module), "    ")
    yield f"  {found.replicates} drawn markings of each candidate, seed {found.seed}."


def _assessors(pages: AssessorPages | None, why: str) -> Iterator[str]:
    if pages is None:
        yield from paragraphs([f"{why[0].upper()}{why[1:]}."], "  ")
        return
    from assess.desk.effect_words import advice_lines

    for course in pages.raters.courses:
        yield f"  {course.course}"
        for rater in course.raters:
            about = pages.about(course.course, rater.id)
            yield from paragraphs([f"{rater.id}, {about.licence}, {many(rater.n_sheets, 'sheet')}"], "    ")
            yield from paragraphs([f"{rater_numbers(rater)}.", rater.sentence], "      ")
        yield from paragraphs([course.family_sentence], "    ")
    yield from paragraphs([*advice_lines(pages.raters, ""), pages.raters.never], "  ")


# --- groups and people ---------------------------------------------------------------------------------


def _groups(table: GroupTable | None) -> Iterator[str]:
    from assess.desk.quality_told import group_sentences, grouping_sentences
    from assess.desk.quality_words import NO_GROUPS

    if table is None:
        yield from paragraphs([NO_GROUPS], "  ")
        return
    yield from paragraphs(group_sentences(table), "  ")
    for grouping in table.groupings:
        yield f"  {grouping.name}"
        yield from paragraphs(grouping_sentences(grouping, table.n_tests), "    ")
    yield from paragraphs(table.warnings, "  ")


def _separation(seen: SeparationSeen) -> Iterator[str]:
    from assess.desk.quality_words import separation_sentences

    yield from paragraphs(separation_sentences(seen), "  ")
