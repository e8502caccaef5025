"""The quality report as plain lines: what is to be done first, then part by part, with the clause that asks for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from assess.cli.assessor_lines import rater_numbers
from assess.cli.figures import many, number, paragraphs

if TYPE_CHECKING:
    from assess.agreement.results.again import MarkSpread
    from assess.desk.assessors import AssessorPages
    from assess.desk.quality import ModuleAgain, QualityReport
    from assess.desk.quality_groups import Grouping, GroupTable, RateTold
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
    from assess.desk.quality_words import AGAIN_MEANS

    yield from paragraphs([AGAIN_MEANS], "  ")
    for module in found.again:
        yield f"  {module.again.module}"
        yield from paragraphs(_again_said(module), "    ")
    yield f"  {found.replicates} drawn markings of each candidate, seed {found.seed}."


def _again_said(module: ModuleAgain) -> Iterator[str]:
    again = module.again
    yield from again.warnings
    if again.undefined is not None:
        yield f"{again.undefined[0].upper()}{again.undefined[1:]}."
    else:
        yield from (part.sentence for part in (again.overall, again.near, again.in_band))
        if again.spread is not None:
            yield _spread(again.spread)
    yield from _left_out(module)


def _spread(spread: MarkSpread) -> str:
    return (
        "What it rests on, as standard deviations in levels: error of a whole sheet "
        f"{number(spread.sheet)}, error of a single mark {number(spread.mark)}; candidates differ by "
        f"{number(spread.candidate)}, one candidate's performances by {number(spread.performance)}, criteria within a "
        f"performance by {number(spread.criterion)}."
    )


def _left_out(module: ModuleAgain) -> Iterator[str]:
    for why, n in module.left_out:
        yield f"{many(n, 'candidate')} not counted: {why}."


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
    from assess.desk.quality_words import NO_GROUPS, NO_LAW

    if table is None:
        yield from paragraphs([NO_GROUPS], "  ")
        return
    asked = f"{many(table.n_persons, 'person')} of {many(table.n_courses, 'course')} told something of themselves."
    yield from paragraphs([asked, *(table.law or (NO_LAW,))], "  ")
    for grouping in table.groupings:
        yield f"  {grouping.name}"
        yield from paragraphs(_grouping(grouping, table.n_tests), "    ")
    yield from paragraphs(table.warnings, "  ")


def _grouping(grouping: Grouping, tests: int) -> Iterator[str]:
    if grouping.undefined is not None:
        yield grouping.undefined
    yield from map(_rate, grouping.rates)
    for pair in grouping.pairs:
        yield pair.sentence
        if pair.adjusted is not None and tests > 1:
            share = 100 * pair.adjusted
            yield f"Looked at together with all {tests} pairs, chance would bring it in {share:.1f} of 100 cases."
    if grouping.n_hidden:
        yield f"Too few: {many(grouping.n_hidden, 'group')} of fewer than ten persons not shown."
    if grouping.n_left_out:
        yield f"{many(grouping.n_left_out, 'person')} not counted: told nothing here, or the outcome is open."


def _rate(rate: RateTold) -> str:
    from assess.desk.quality_groups import UNDER_FIVE

    if rate.rate is None or rate.ci95 is None:
        return f"{rate.group}: {many(rate.n, 'person')}; {UNDER_FIVE}."
    low, high = rate.ci95
    return f"{rate.group}: {rate.rate} passed ({100 * low:.0f} to {100 * high:.0f} of 100, 95 % interval)."


def _separation(seen: SeparationSeen) -> Iterator[str]:
    from assess.desk.quality_words import separation_sentences

    yield from paragraphs(separation_sentences(seen), "  ")
