"""Which cards one assessor has, and the five digits each is typed in by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, Literal, get_args

from assess.records.errors import Refusal
from assess.reports.card_layout import FORMATS, split_evenly
from assess.reports.cards import CardSize

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView

__all__ = ["CardPlan", "card_of", "cards_of"]


@dataclass(frozen=True)
class CardPlan:
    """What stands on one card, in its order. number: five digits made of all of it.

    Another order, other people, other criteria or another rubric give another number: a card printed before such a
    change is not taken for one of today's. run: 0 is the overall mark.
    """

    kind: Literal["run", "lesson"]
    task: str
    assessor: str
    candidates: tuple[str, ...]
    criteria: tuple[str, ...]
    run: int = 1
    number: str = ""

    @property
    def sheet(self) -> str:
        """`T4.C05.A2`, or `T1.A2` for a line of several candidates."""
        who = (*self.candidates,) if self.kind == "lesson" else ()
        return ".".join((self.task, *who, self.assessor))


def cards_of(view: CourseView, assessor: str, size: CardSize | None = None) -> tuple[CardPlan, ...]:
    """The cards of one assessor with their numbers, by task and planned order; without `size` those of every size.

    Only slots the assessor marks. Raises Refusal in a round or a season.
    """
    view.need_course("cards are for a course")
    taken: dict[str, CardPlan] = {}
    found: dict[CardSize, list[CardPlan]] = {}
    for one in get_args(CardSize):
        found[one] = []
        for plan in _plans(view, assessor, one):
            known = next((item for item in taken.values() if _content(item) == _content(plan)), None)
            numbered = known or _numbered(view, plan, taken)
            taken[numbered.number] = numbered
            found[one].append(numbered)
    return tuple(found[size]) if size else tuple(taken.values())


def card_of(view: CourseView, number: str) -> CardPlan:
    """My card with this number. Raises Refusal for somebody else's and for one of no plan of today."""
    mine = {plan.number: plan for plan in cards_of(view, view.who or "")}
    if number in mine:
        return mine[number]
    for other in view.course.assessors:
        if other != view.who and any(plan.number == number for plan in cards_of(view, other)):
            raise Refusal(f"card {number} is {other}'s, not yours", todo="type in your own cards")
    raise Refusal(
        f"there is no card {number} in this course as it is planned now",
        todo="look at the five digits; a card printed before a change is marked on the run sheet, by its bibs",
    )


def slots_of(view: CourseView, task: str, assessor: str) -> list[str]:
    """The candidates an assessor marks in a task, in the planned order."""
    slots = sorted((slot for slot in view.course.allocation if slot.task == task), key=lambda slot: slot.order)
    writers = {
        slot.candidate: (*view.seats.writers(task, slot.candidate), *view.third_markers(task, slot.candidate))
        for slot in slots
    }
    return [candidate for candidate, who in writers.items() if assessor in who]


def _plans(view: CourseView, assessor: str, size: CardSize) -> Iterator[CardPlan]:
    form = FORMATS[size]
    for task in dict.fromkeys(slot.task for slot in view.course.allocation):
        candidates = slots_of(view, task, assessor)
        if not candidates:
            continue
        described, rubric = view.task(task), view.rubric_for(task)
        if described.lesson:
            for candidate in candidates:
                yield CardPlan("lesson", task, assessor, (candidate,), described.criteria)
            continue
        overall = (0,) if rubric.fold_of(task) == "overall" else ()
        for run in (*range(1, rubric.runs_of(task) + 1), *overall):
            for rows in split_evenly(candidates, form.rows):
                for boxes in split_evenly(described.criteria, form.boxes):
                    yield CardPlan("run", task, assessor, rows, boxes, run)


def _content(plan: CardPlan) -> tuple[object, ...]:
    return (plan.kind, plan.task, plan.assessor, plan.candidates, plan.criteria, plan.run)


def _numbered(view: CourseView, plan: CardPlan, taken: dict[str, CardPlan]) -> CardPlan:
    pin = view.course.pin(plan.task)
    said = (view.course.id, pin.reference if pin else "", *_content(plan))
    turn = 0
    while True:
        digest = sha256(repr((*said, turn)).encode()).hexdigest()
        number = str(10_000 + int(digest, 16) % 90_000)
        if number not in taken:
            return CardPlan(plan.kind, plan.task, plan.assessor, plan.candidates, plan.criteria, plan.run, number)
        turn += 1
