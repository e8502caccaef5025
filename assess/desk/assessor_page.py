"""One assessor as a page: what to look at first, every number with its interval and its plain sentence."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from assess.reports.document import Block, Document, Listing, Note, Picture, Section, Table, Text

if TYPE_CHECKING:
    from assess.agreement.results.raters import Effect, Rater, RaterCourse
    from assess.desk.assessors import AssessorPages

__all__ = ["assessor_document", "severity_block"]

CAUTION = "Numbers about marks, not about people: a reason to look together, never a sanction."


def assessor_document(found: AssessorPages, who: str) -> Document:
    """The page of one of them; for the assessor when it is their own, else for directors.

    On a director's page the picture of the severities shows everybody, each text only this one. Raises Refusal when
    no sheet of theirs stands beside another's.
    """
    from assess.desk.effect_words import advice_lines
    from assess.records.audience import AUDIENCES
    from assess.records.errors import Refusal

    seen = [(course, rater) for course in found.raters.courses if (rater := course.rater(who)) is not None]
    if not seen:
        raise Refusal(f"no sheet of {who} stands beside another's that is locked", todo="look again later")
    together = found.raters.together
    pooled = together.rater(who) if together is not None else None
    about_them = tuple(one for one in found.raters.advice if one.assessor == who)
    advice = advice_lines(replace(found.raters, advice=about_them), found.own)
    name = found.about(seen[0][0].course, who).name
    sections = [Section("What follows", (Listing(advice),))] if advice else []
    sections += [_course(found, course, rater) for course, rater in seen]
    if together is not None and pooled is not None:
        sections.append(_course(found, together, pooled))
    if found.told:
        sections.append(Section("Take care", (Listing(found.told),)))
    return Document(
        title=f"Assessor {who}: {name}",
        about="; ".join(f"{course.course}, {_many(rater.n_sheets, 'sheet')}" for course, rater in seen),
        audience=AUDIENCES["person" if found.own else "director"].capitalize(),
        dated=max((course.date for course, _ in seen), default=""),
        sections=tuple(sections),
        closing=(CAUTION, found.raters.never),
    )


def severity_block(course: RaterCourse) -> Picture | None:
    """Who is harder and who milder than the group, with intervals; None when nobody's severity is known."""
    from assess.reports.charts import Dot, dots

    known = [rater.effect("severity") for rater in course.raters]
    if all(effect.estimate is None for effect in known):
        return None
    told = "; ".join(rater.sentence for rater in course.raters)
    return dots(
        tuple(Dot(one.assessor, one.estimate, one.ci95, _rests(one)) for one in known),
        caption=f"Severity in {course.course}, in levels",
        alt=f"Severity beside the group, in levels. {told}",
        axis="levels beside the group: harder left, milder right",
        names="Assessor",
        line=(0.0, "the group" if course.n_assessors > 2 else "the two"),
        signed=True,
    )


def _rests(effect: Effect) -> str:
    return f"{_many(effect.n, 'sheet')} of {_many(effect.n_candidates, 'candidate')}"


def _course(found: AssessorPages, course: RaterCourse, rater: Rater) -> Section:
    about = next((one for one in found.people if (one.course, one.id) == (course.course, rater.id)), None)
    counted = ((course.n_assessors, "assessor"), (course.n_candidates, "candidate"), (course.n_sheets, "sheet"))
    head = f"{', '.join(_many(n, word) for n, word in counted)}, {course.n_slots} performances with several sheets."
    blocks: list[Block] = [Text(head)]
    if about is not None:
        blocks.append(Text(f"{about.licence[:1].upper()}{about.licence[1:]}."))
    if rater.sentence:
        blocks.append(Text(f"{rater.sentence[:1].upper()}{rater.sentence[1:].rstrip('.')}."))
    picture = severity_block(course)
    sections = (
        Section("Severity", (picture,) if picture else (Text("Severity is not known here."),)),
        Section("What was looked at", tuple(_effects(rater, about.fit if about is not None else ""))),
        Section("Levels used", tuple(_levels(course, rater))),
    )
    blocks.append(Text(course.family_sentence))
    when = f", {course.date}" if course.date else ""
    return Section(f"{course.course}{when}", tuple(blocks), sections)


def _effects(rater: Rater, fit: str) -> Iterator[Block]:
    from assess.desk.effect_words import told_effects

    yield Table(
        "What was looked at, with its interval and what it rests on",
        ("What", "Verdict", "Estimate", "95 % interval", "Rests on"),
        tuple(_effect(effect) for effect in rater.effects),
        frozenset({2}),
    )
    for told in told_effects(rater, fit):
        said = f"{told.heading}. {' '.join(told.lines)}"
        yield Note(f"! {said}", "caution") if told.look else Text(said)


def _effect(effect: Effect) -> tuple[str, ...]:
    from assess.agreement.rater_words import NAMES

    value = "not known" if effect.estimate is None else _number(effect.estimate)
    ends = "-" if effect.ci95 is None else " to ".join(map(_number, effect.ci95))
    return (NAMES[effect.name], effect.verdict, value, ends, f"n {effect.n}, {_many(effect.n_candidates, 'candidate')}")


def _levels(course: RaterCourse, rater: Rater) -> Iterator[Block]:
    from assess.desk.effect_words import flat_sentence
    from assess.reports.charts import counts

    labels = [f"{level:g}" for level in course.levels]
    used = ", ".join(f"level {label} {n} times" for label, n in zip(labels, rater.levels, strict=True))
    yield counts(labels, rater.levels, caption="Levels given, and how often", alt=f"Levels given: {used}.",
                 axis="how often", names="Level")  # fmt: skip
    yield Text(flat_sentence(rater))


def _number(value: float) -> str:
    return f"{round(value, 2) + 0.0:+.2f}"


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"
