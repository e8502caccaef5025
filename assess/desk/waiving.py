"""Waivers: a director lets somebody mark although a licence, a conflict or training stands against it.

They are refused without a reason, counted, and printed wherever outcomes are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from assess.desk.later_ledgers import need_director, reason_given
from assess.records.errors import Refusal
from assess.records.facts import OrderChange, Waiver
from assess.records.seating import at_once, condition_bars
from assess.records.separation import About, Bar, unwaived

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.desk.session import Desk
    from assess.records.ledger import Entry
    from assess.records.separation import GivenWaiver

__all__ = ["WaiverTold", "beside_lines", "seat_in_place", "waive", "waiver_lines", "waivers_json", "waivers_told"]

ALTHOUGH: dict[About, str] = {
    "licence": "no licence covers it",
    "conflict": "a conflict is declared",
    "trained": "they trained somebody there",
}
"""What a waiver is about where no slot needs it any more."""


@dataclass(frozen=True)
class WaiverTold:
    """A waiver that counts, as it is printed.

    candidate, task: None for every one. although: what it sets aside. reason: None once it was erased.
    slots: those in which somebody marks by it, `T1.C03`. late: it was given after a sheet was locked that it lets in.
    """

    assessor: str
    candidate: str | None
    task: str | None
    about: About
    although: str
    by: str
    at: str
    reason: str | None
    slots: tuple[str, ...]
    late: bool

    def touches(self, candidate: str) -> bool:
        """True when somebody marks this candidate by it."""
        return any(slot.endswith(f".{candidate}") for slot in self.slots)

    @property
    def sentence(self) -> str:
        """`A1 may mark C03 although a conflict is declared (D1: nobody else is there)`."""
        whom = self.candidate or "everybody"
        where = f" in {self.task}" if self.task else ""
        used = f"in {', '.join(self.slots)}" if self.slots else "in no slot so far"
        late = "; given after a sheet was locked" if self.late else ""
        said = f"{self.assessor} may mark {whom}{where} although {self.although} ({self.by}: {self.reason or 'erased'})"
        return f"{said}; {used}{late}"


def waivers_told(desk: CourseView) -> tuple[WaiverTold, ...]:
    """Every waiver that counts, in the order they were given."""
    return tuple(_told(desk, item) for item in desk.separation.waivers())


def waiver_lines(told: Sequence[WaiverTold]) -> list[str]:
    """`1 waiver: A1 may mark ...`; of several the count, then a line for each; nothing where there is none."""
    if len(told) == 1:
        return [f"1 waiver: {told[0].sentence}"]
    return [f"{len(told)} waivers:", *(f"  {item.sentence}" for item in told)] if told else []


def waivers_json(told: Sequence[WaiverTold]) -> list[dict[str, Any]]:
    """The waivers as other programs read them."""
    return [
        {
            "assessor": item.assessor, "candidate": item.candidate, "task": item.task, "about": item.about,
            "although": item.although, "by": item.by, "at": item.at, "reason": item.reason,
            "slots": list(item.slots), "late": item.late, "sentence": item.sentence,
        }
        for item in told
    ]  # fmt: skip


def beside_lines(module: dict[str, Any]) -> list[str]:
    """Of a module's JSON: who marks and does not count, unless a reason says it, and who counts by a waiver."""
    told = [f"{item['assessor']} in {item['task']} counts as a shadow: {item['why']}" for item in module["shadows"]]
    lines = [line for line in told if line not in module["reasons"]]
    waived = module["waived"]
    if waived and waived["without_them"] == module["outcome"]:
        lines.append(f"{', '.join(waived['assessors'])} by a waiver: without these sheets the outcome is the same")
    return lines


def _told(desk: CourseView, item: GivenWaiver) -> WaiverTold:
    said, used, why, late = item.waiver, [], [], False
    for slot in desk.course.allocation:
        task, candidate = slot.task, slot.candidate
        seated = (*desk.seats.allocated(task, candidate), *desk.third_markers(task, candidate))
        if said.assessor not in seated:
            continue
        against = (
            *desk.separation.bars(said.assessor, task, candidate),
            *condition_bars(desk.course, desk.people, desk.seats.allocated(task, candidate), task, candidate),
        )
        lifted = [bar.why for bar in against if item.covers(desk.course, bar, task)]
        if lifted:
            used.append(f"{task}.{candidate}")
            why += lifted
            late = late or _locked_before(desk, task, candidate, item)
    although = " and ".join(dict.fromkeys(why)) or ALTHOUGH[said.about]
    return WaiverTold(
        said.assessor, said.candidate, said.task, said.about, although, item.by, item.at, said.reason, tuple(used), late
    )  # fmt: skip


def _locked_before(desk: CourseView, task: str, candidate: str, item: GivenWaiver) -> bool:
    ledgers = desk.shelf.sheet((task, candidate, item.waiver.assessor))
    return any(ledger.locked and ledger.entries[-1].at < item.at for ledger in ledgers)


def waive(
    desk: Desk, who: str, task: str, candidate: str, reason: str, *, whole_course: bool = False
) -> tuple[Entry, ...]:  # fmt: skip
    """Let somebody mark a slot they are allocated to; the entries written, one for each thing that stands against it.

    whole_course: of a licence in every slot, of a conflict or training in every task of this candidate.
    Raises Refusal to all but a director, without a reason, and where nothing stands against it.
    """
    need_director(desk, "waives")
    seated = desk.seats.allocated(task, candidate)
    if who not in seated:
        raise Refusal(f"{who} is not allocated to {task}.{candidate}", todo="say with --from whose place they take")
    reason_given(reason, "a waiver")
    against = (*desk.separation.standing(who, task, candidate), *_conditions(desk, seated, task, candidate, (who,)))
    written = _write(desk, against, task, candidate, reason, whole_course=whole_course)
    if not written:
        raise Refusal(f"nothing stands against {who} in {task}.{candidate}", todo="nothing needs to change")
    return written


def seat_in_place(
    desk: Desk, who: str, task: str, candidate: str, before: Sequence[str], leaving: str, reason: str = ""
) -> tuple[Entry, ...]:
    """Ask whether somebody may take another's place in a slot; the waivers written, if any was needed.

    before: who sits there now. Raises Refusal when something stands against it and no reason for a waiver is given,
    and when they would sit in two places at once, which nobody can waive.
    """
    _in_one_place(desk, who, task, candidate)
    after = (*(each for each in before if each != leaving), who)
    known = {(bar.assessor, bar.why) for bar in _conditions(desk, before, task, candidate, before)}
    seats = _conditions(desk, after, task, candidate, after)
    new = tuple(bar for bar in seats if (bar.assessor, bar.why) not in known)
    return _write(desk, (*desk.separation.standing(who, task, candidate), *new), task, candidate, reason)


def _conditions(
    desk: Desk, seated: Sequence[str], task: str, candidate: str, whose: Sequence[str]
) -> tuple[Bar, ...]:  # fmt: skip
    """What the licences of some of those seated ask of the seat, waived ones taken off."""
    asked = condition_bars(desk.course, desk.people, seated, task, candidate)
    left = unwaived(desk.course, asked, desk.separation.waivers(), task)
    return tuple(bar for bar in left if bar.assessor in whose)


def _write(
    desk: Desk, against: Sequence[Bar], task: str, candidate: str, reason: str, *, whole_course: bool = False
) -> tuple[Entry, ...]:  # fmt: skip
    """A waiver for each person and kind of bar. Raises Refusal without a reason, or for the director's own self."""
    if not against:
        return ()
    if not reason.strip():
        why = "; ".join(f"{bar.assessor} may not mark {candidate}: {bar.reason}" for bar in against)
        raise Refusal(why, todo="choose somebody else, or waive it with its reason: --waive REASON")
    if len(desk.course.directors) > 1 and any(bar.assessor == desk.who for bar in against):
        raise Refusal(f"{desk.who} waives nothing for themselves", todo="another director does")
    kept = reason_given(reason, "a waiver")
    return tuple(
        desk.day_book.append(
            Waiver(
                assessor=who,
                candidate=None if whole_course and about == "licence" else candidate,
                about=about,
                task=None if whole_course else task,
                reason=kept,
            )
        )
        for who, about in dict.fromkeys((bar.assessor, bar.about) for bar in against)
    )


def _in_one_place(desk: Desk, who: str, task: str, candidate: str) -> None:
    """Raise Refusal when they mark another slot at the time of this one, and are not done with it."""
    from assess.desk.running_order import running_order

    this = desk.course.slot(task, candidate)
    said = [entry.fact for _, entry in desk.shelf.entries("day") if isinstance(entry.fact, OrderChange)]
    for slot in desk.course.allocation:
        if this is None or (slot.task, slot.candidate) == (task, candidate):
            continue
        if who not in desk.seats.allocated(slot.task, slot.candidate):
            continue
        gone = running_order((slot.candidate,), slot.task, said)[0].standing in ("absent", "withdrawn")
        if gone or desk.locked(slot.task, slot.candidate, who):
            continue
        if at_once(desk.course, this, slot, lambda name: desk.task(name).minutes):
            what = f"{who} marks {slot.task}.{slot.candidate} at that time"
            raise Refusal(what, todo="choose somebody else, or move one of the two first")
