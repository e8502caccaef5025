"""Assessors as plain lines: one each for a director, or the whole page of one of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.cli.figures import WIDTH, cautions, many, paragraphs

if TYPE_CHECKING:
    from assess.agreement.results.raters import Rater, RaterCourse
    from assess.desk.assessors import AssessorPages

__all__ = ["assessors_lines", "page_lines", "rater_numbers"]

CAUTION = "Numbers about marks, not about people: a reason to look together."


def assessors_lines(found: AssessorPages) -> Iterator[str]:
    """Every assessor of every course: the numbers, then a sentence; a director's list."""
    from assess.desk.severity_picture import severity_picture

    yield from paragraphs([CAUTION])
    for course in found.raters.courses:
        yield from _course_head(course)
        for rater in course.raters:
            about = found.about(course.course, rater.id)
            yield f"{rater.id} {about.name}, {about.licence}, {many(rater.n_sheets, 'sheet')}"
            yield from paragraphs([rater_numbers(rater), rater.sentence], "   ")
        picture = severity_picture(course, WIDTH - 3)
        if picture:
            yield ""
            yield "Severity in levels, with 95 % intervals:"
            yield from (f"   {line}" for line in picture)
        yield ""
        yield from paragraphs([course.family_sentence])
    yield from _end(found)


def _course_head(course: RaterCourse) -> Iterator[str]:
    yield ""
    counted = ((course.n_assessors, "assessor"), (course.n_candidates, "candidate"), (course.n_sheets, "sheet"))
    yield from paragraphs(
        [f"{course.course} {course.date}: {', '.join(many(n, word) for n, word in counted)},"
         f" {course.n_slots} of the performances marked by two or more."]
    )  # fmt: skip


def rater_numbers(rater: Rater) -> str:
    """Severity and the same side of the pass line, with their intervals, on one line."""
    severity, line = rater.effect("severity"), rater.effect("line")
    told = "severity not known"
    if severity.estimate is not None:
        told = f"severity {severity.estimate:+.2f}"
        told += f", {severity.ci95[0]:+.2f} to {severity.ci95[1]:+.2f}" if severity.ci95 else ", no interval"
    if line.own is None:
        return f"{told}; same side of the pass line not known"
    ends = f", {100 * line.own_ci95[0]:.0f} to {100 * line.own_ci95[1]:.0f} %" if line.own_ci95 else ""
    return f"{told}; same side of the pass line {100 * line.own:.0f} %{ends}"


def page_lines(found: AssessorPages, who: str) -> Iterator[str]:
    """One assessor: every effect with its sentence, course by course."""
    from assess.desk.effect_words import flat_sentence, told_effects

    yield from paragraphs([CAUTION])
    courses = [*found.raters.courses, *([found.raters.together] if found.raters.together else [])]
    for course in courses:
        rater = course.rater(who)
        if rater is None:
            continue
        yield from _course_head(course)
        about = next((one for one in found.people if (one.course, one.id) == (course.course, who)), None)
        if about is not None:
            yield f"{who} {about.name}, {about.licence}"
        for told in told_effects(rater, about.fit if about is not None else ""):
            yield ""
            yield told.heading
            yield from paragraphs(told.lines, "   ")
        used = ", ".join(f"{level:g}: {n}" for level, n in zip(course.levels, rater.levels, strict=True))
        yield ""
        yield "Levels given, and how often"
        yield from paragraphs([f"{used}.", flat_sentence(rater)], "   ")
        yield ""
        yield from paragraphs([course.family_sentence])
    yield from _end(found)


def _end(found: AssessorPages) -> Iterator[str]:
    from assess.desk.effect_words import advice_lines

    advice = advice_lines(found.raters, found.own)
    if advice:
        yield ""
        yield from paragraphs(advice, "* ")
    yield from cautions(found.told)
    yield ""
    yield from paragraphs([found.raters.never])
