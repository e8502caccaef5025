"""Paper cards for when the device is dead: blank, one's own slots only, with the codes of the screens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from assess.desk.card_numbers import CardPlan, cards_of
from assess.records.errors import Refusal
from assess.reports.card_layout import FORMATS, flowed, level_parts
from assess.reports.cards import Card, CardCriterion, CardPart, CardPerson, CardSet, CardSize

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.desk.outgoing import Outgoing

__all__ = ["card_files", "card_set"]


def card_set(view: CourseView, assessor: str, size: CardSize, day: int | None = None) -> CardSet:
    """The cards of one assessor, of all days or of one. They hold no mark, whatever was marked already.

    Raises Refusal for somebody else's cards (a director prints anybody's), for an unknown assessor or day, and when
    there is nothing to mark.
    """
    view.need_course("cards are for a course")
    if assessor not in view.course.assessors:
        known = ", ".join(view.course.assessors)
        raise Refusal(f"{assessor} is no assessor of this course", todo=f"use one of {known}")
    if view.role != "director" and view.who not in (None, assessor):
        raise Refusal(f"these would be the cards of {assessor}, and you are {view.who}", todo=f"use --for {view.who}")
    _need_day(view, day)
    plans = [plan for plan in cards_of(view, assessor, size) if day is None or _day(view, plan) == day]
    if not plans:
        on = f" on day {day}" if day else ""
        raise Refusal(f"{assessor} marks nobody{on}", todo="see the allocation in course.yaml")
    cards: list[Card] = []
    for _, group in groupby(plans, key=lambda plan: plan.task):
        cards += _of_task(view, tuple(group), size)
    scale = view.rubric_for(plans[0].task).scale
    dated = view.course.day_date(_day(view, plans[0]))
    return CardSet(
        course=view.course.id,
        title=view.course.title,
        marker=_marker(view, assessor),
        dated=dated.isoformat() if dated else "",
        size=size,
        lowest=scale.min,
        highest=scale.max,
        cards=tuple(cards),
    )


def card_files(cards: CardSet, language: str) -> tuple[Outgoing, ...]:
    """The cards as a page and as a PDF to print. Raises UsageError for a language there is not."""
    from assess.desk.outgoing import Outgoing
    from assess.reports.card_page import cards_html
    from assess.reports.pdf import html_as_pdf

    page = cards_html(cards, language)
    name = f"cards-{cards.marker.partition(' ')[0]}-{cards.size}-{language}"
    what = f"{len(cards.cards)} cards of {cards.marker}, {cards.size.upper()}"
    bare = sorted({person.bib for person in _people(cards) if not person.mark.strip()})
    gaps = tuple(f"bib {bib} has no further mark to be told by" for bib in bare)
    return (
        Outgoing(f"{name}.pdf", "panel", f"{what}, to print", html_as_pdf(page), gaps),
        Outgoing(f"{name}.html", "panel", f"{what}, the same as a page", page.encode("utf-8")),
    )


def _people(cards: CardSet) -> list[CardPerson]:
    alone = [card.person for card in cards.cards if card.person is not None]
    return alone + [person for card in cards.cards for part in card.parts for person in part.people]


def _need_day(view: CourseView, day: int | None) -> None:
    days = len(view.course.days) + len(view.course.reserve_days)
    if day is not None and not 1 <= day <= days:
        raise Refusal(f"this course has no day {day}", todo=f"days go from 1 to {days}")


def _day(view: CourseView, plan: CardPlan) -> int:
    slot, task = view.course.slot(plan.task, plan.candidates[0]), view.course.task(plan.task)
    return (slot.day if slot else None) or (task.day if task else 0)


def _marker(view: CourseView, assessor: str) -> str:
    return f"{assessor} {view.people.name(assessor)}"


def _of_task(view: CourseView, plans: Sequence[CardPlan], size: CardSize) -> list[Card]:
    """All cards of one task, counted through, the levels last: on the back, or beside."""
    made = [card for plan in plans for card in _cards(view, plan, size)]
    task = plans[0].task
    first = made[0]
    for group in level_parts([_criterion(view, task, name) for name in view.task(task).criteria], size):
        part = CardPart("levels", criteria=group)
        made.append(replace(first, number="", sheet=f"{task}.{plans[0].assessor}", code="", parts=(part,), person=None))
    return [replace(card, place=at, of=len(made)) for at, card in enumerate(made, 1)]


def _cards(view: CourseView, plan: CardPlan, size: CardSize) -> list[Card]:
    task, place, rubric = view.task(plan.task), view.course.task(plan.task), view.rubric_for(plan.task)
    slope = f"{place.slope_deg}°" if place and place.slope_deg is not None else ""
    card = Card(
        number=plan.number,
        sheet=plan.sheet,
        code=f"{view.course.id}/{plan.sheet}#{plan.number}",
        task=plan.task,
        title=task.title,
        ground=" · ".join(part for part in (place.place if place else "", slope) if part),
        marker=_marker(view, plan.assessor),
        place=1,
        of=1,
        parts=(),
        run=plan.run,
        runs=rubric.runs_of(plan.task),
        shadow=all(plan.assessor in view.seats.shadows(plan.task, who) for who in plan.candidates),
    )
    criteria = tuple(_criterion(view, plan.task, name) for name in plan.criteria)
    if plan.kind == "run":
        people = tuple(_person(view, who) for who in plan.candidates)
        return [replace(card, parts=(CardPart("run", people=people, criteria=criteria),))]
    blank = ("",) * FORMATS[size].drills
    parts = [CardPart("times"), CardPart("marks", criteria=criteria), CardPart("drills", rows=blank)]
    if rubric.safety_list:
        parts.append(CardPart("safety", rows=tuple(item.text for item in rubric.safety_list)))
    person = _person(view, plan.candidates[0])
    return [replace(card, parts=found, person=person) for found in flowed(parts, size)]


def _criterion(view: CourseView, task: str, name: str) -> CardCriterion:
    described = view.rubric_for(task).criteria[name]
    return CardCriterion(described.label, tuple(sorted(described.levels.items())))


def _person(view: CourseView, candidate: str) -> CardPerson:
    return CardPerson(view.bib(candidate), view.candidate_mark(candidate), view.people.name(candidate))
