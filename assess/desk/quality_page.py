"""The quality report as a page: what is to be done first, then part by part with the clause that asks for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from assess.reports.document import Block, Document, Listing, Note, Section, Table, Text

if TYPE_CHECKING:
    from assess.agreement.results import Estimate
    from assess.desk.quality import QualityReport

__all__ = ["quality_page"]


def quality_page(found: QualityReport) -> Document:
    """The page of a report, for directors; it is dated by the day it is for."""
    from assess.desk.quality_clauses import EDITIONS, FIRST_LINE
    from assess.desk.quality_words import separation_sentences
    from assess.records.audience import AUDIENCES

    pass_lines = tuple(Text(line.sentence) for line in found.pass_lines)
    return Document(
        title=f"Quality report, {found.on.isoformat()}",
        about=", ".join(f"{course.id} {course.title}" for course in found.courses),
        audience=AUDIENCES["director"].capitalize(),
        dated=found.on.isoformat(),
        sections=(
            Section("To be done", tuple(_due(found))),
            Section("Courses looked at", (_courses(found),)),
            _part("Reliability", "reliability", tuple(_reliability(found))),
            _part("Would the same outcome be given again", "again", tuple(_again(found))),
            _part("Assessors", "assessors", tuple(_assessors(found))),
            _part("How the pass lines were set", "pass_lines", pass_lines or (Text("No pass line is in force."),)),
            _part("Groups", "groups", tuple(_groups(found))),
            _part("Who marked and decided", "separation", (Listing(tuple(separation_sentences(found.separation))),)),
        ),
        closing=(FIRST_LINE, EDITIONS),
    )


def _part(title: str, part: str, blocks: Sequence[Block]) -> Section:
    from assess.desk.quality_clauses import clauses_line

    return Section(title, (Text(clauses_line(part)), *blocks))


def _due(found: QualityReport) -> Iterator[Block]:
    from assess.desk.quality_clauses import clauses_line

    if found.findings:
        yield Note(f"! {_many(len(found.findings), 'thing')} to be done:", "missing")
        yield Listing(found.findings)
    else:
        yield Text("Nothing is overdue or missing.")
    if found.last is not None:
        yield Text(f"Last report on {found.last.on} by {found.last.by}: {found.last.found}")
    if found.due is not None:
        yield Text(f"The next one is due on {found.due.isoformat()} {clauses_line('due')}.")


def _courses(found: QualityReport) -> Table:
    rows = tuple(
        (f"{course.id} {course.title}", course.first_day, str(course.candidates), str(course.assessors),
         f"{course.turns_used} of {course.turns}")
        for course in found.courses
    )  # fmt: skip
    columns = ("Course", "First day", "Candidates", "Assessors", "Turns locked by all")
    return Table("What was looked at", columns, rows, frozenset({2, 3, 4}))


def _reliability(found: QualityReport) -> Iterator[Block]:
    rows = tuple(_error(module.module, module.sheet_error) for module in found.reliability)
    columns = ("Module", "Error of a sheet", "95 % interval", "Rests on")
    yield Table("Error of one sheet value, in levels", columns, rows, frozenset({1}))
    for module in found.reliability:
        yield Text(f"{module.module}:")
        yield Listing(tuple(dict.fromkeys(module.sentences)))
    yield from (Text(error.sentence) for error in found.pooled)


def _error(module: str, error: Estimate) -> tuple[str, ...]:
    if error.estimate is None:
        return module, "not known", "-", error.undefined or "-"
    ends = "none" if error.ci95 is None else " to ".join(f"{end:.2f}" for end in error.ci95)
    return (
        module,
        f"{error.estimate:.2f}",
        ends,
        f"{_many(error.n, 'turn')} marked twice, {_many(error.n_candidates, 'candidate')}",
    )


def _again(found: QualityReport) -> Iterator[Block]:
    from assess.desk.quality_told import again_sentences
    from assess.desk.quality_words import AGAIN_MEANS

    yield Text(AGAIN_MEANS)
    for module in found.again:
        yield Text(f"{module.again.module}:")
        yield Listing(tuple(dict.fromkeys(again_sentences(module))))
    yield Text(f"{found.replicates} drawn markings of each candidate, seed {found.seed}.")


def _assessors(found: QualityReport) -> Iterator[Block]:
    if found.assessors is None:
        why = found.no_assessors
        yield Note(f"! {why[0].upper()}{why[1:]}.", "missing")
        return
    from assess.desk.assessor_page import severity_block
    from assess.desk.effect_words import advice_lines

    for course in found.assessors.raters.courses:
        picture = severity_block(course)
        if picture is not None:
            yield picture
        people = {one.id: one for one in found.assessors.people if one.course == course.course}
        yield Listing(
            tuple(
                f"{rater.id}, {people[rater.id].licence}, {_many(rater.n_sheets, 'sheet')}: {rater.sentence}"
                for rater in course.raters
            )
        )
        yield Text(course.family_sentence)
    advice = advice_lines(found.assessors.raters, "")
    if advice:
        yield Listing(advice)
    yield Note(found.assessors.raters.never, "caution")


def _groups(found: QualityReport) -> Iterator[Block]:
    from assess.desk.quality_told import group_sentences, grouping_sentences
    from assess.desk.quality_words import NO_GROUPS

    if found.groups is None:
        yield Text(NO_GROUPS)
        return
    yield from map(Text, group_sentences(found.groups))
    for grouping in found.groups.groupings:
        yield Text(f"{grouping.name}:")
        yield Listing(tuple(grouping_sentences(grouping, found.groups.n_tests)))
    yield from (Note(warning, "caution") for warning in found.groups.warnings)


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"
