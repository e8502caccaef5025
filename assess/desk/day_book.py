"""The records of a day on this device: the morning, what stopped the work, bibs, running order, reasons."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from assess.records.errors import Refusal
from assess.records.facts import (
    AllocationChange,
    BibChange,
    Interruption,
    Morning,
    NotApplicable,
    OrderChange,
    SomeFact,
    Undo,
)
from assess.records.ledger import Entry, Header, live_entries, why_invalid
from assess.records.text import recorded
from assess.records.times import milliseconds

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.store.live import LiveLedger

__all__ = ["MORNING_LABELS", "DayBook"]

MORNING_LABELS: dict[str, str] = {
    "weather": "weather",
    "wind": "wind",
    "wind_kmh": "wind, km/h",
    "temp_c": "temperature, C",
    "visibility": "visibility",
    "snow": "snow",
    "bulletin_level": "bulletin level as read",
    "bulletin_source": "bulletin read where and when",
    "closures": "closed",
    "open_ground": "open ground",
    "may_leave": "who may leave it",
    "patrol": "patrol number",
    "radio": "radio channel",
    "meeting_point": "meeting point",
    "first_aid": "first aid with",
}


class DayBook:
    """Today's ledger of this person on this device."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    def ledger(self) -> LiveLedger:
        """The ledger of today. Raises Refusal when nobody has said who is writing."""
        desk = self.desk
        if desk.who is None:
            raise Refusal("nobody has said who is writing", todo="say who you are with --as ID")
        header = Header(
            kind="day", course=desk.course.id, by=desk.who, date=desk.today(), device=desk.device, opened=desk.now()
        )
        return desk.live(header)

    def append(self, fact: SomeFact) -> Entry:
        """Append a fact to today's ledger."""
        return self.desk.append(self.ledger(), fact)

    def morning(self) -> dict[str, str]:
        """The morning as recorded by anybody today, the newest word for each line."""
        lines: dict[str, str] = {}
        for ledger, entry in self.desk.shelf.entries("day"):
            if isinstance(entry.fact, Morning) and ledger.header.date == self.desk.today():
                for key in MORNING_LABELS:
                    value = getattr(entry.fact, key)
                    if value is not None:
                        lines[key] = str(value)
        return lines

    def told_of_the_morning(self) -> tuple[str, ...]:
        """What the morning's numbers say beside themselves: wind chill, and how old the bulletin is."""
        from assess.lesson.conditions import Bulletin, DangerLevel, bulletin_cautions, wind_chill_c

        known, told = self.morning(), []
        if "temp_c" in known and "wind_kmh" in known:
            chill = wind_chill_c(float(known["temp_c"]), float(known["wind_kmh"]))
            if chill is not None:
                told.append(f"wind chill {chill:.0f} C at walking pace without sun (NWS 2001); skiing adds wind")
        level = known.get("bulletin_level", "none")
        if level != "none":
            at = self._bulletin_at()
            danger = next(item for item in DangerLevel if item.value.startswith(level))
            now = milliseconds(self.desk.now())
            source = known.get("bulletin_source") or "not noted"
            told += bulletin_cautions(Bulletin(danger, source, milliseconds(at) if at else now), now)
            told += [] if at else ["when it was published is not noted"]
        return tuple(told)

    def _bulletin_at(self) -> str | None:
        told = [
            entry.fact.bulletin_at
            for ledger, entry in self.desk.shelf.entries("day")
            if isinstance(entry.fact, Morning) and ledger.header.date == self.desk.today()
        ]
        return next((at for at in reversed(told) if at), None)

    def record_morning(self, **lines: Any) -> Entry:
        """Record the lines given; others stand. Raises Refusal for a value that cannot be."""
        try:
            return self.append(Morning.model_validate({k: v for k, v in lines.items() if v not in ("", None)}))
        except ValidationError as error:
            wrong = "; ".join(why_invalid(error))
            for key, label in MORNING_LABELS.items():
                wrong = wrong.replace(f"{key}:", f"{label}:")
            raise Refusal(wrong, todo="put that line right; nothing was recorded") from None

    def interruption(self, cause: str, tasks: tuple[str, ...] = (), text: str = "") -> Entry:
        """Something stopped the work."""
        return self.append(Interruption.model_validate({"cause": cause, "tasks": tasks, "text": text or None}))

    def bib_change(self, candidate: str, bib: int) -> Entry:
        """A candidate wears another bib from now on; whoever wore it takes the candidate's: the two have swapped."""
        other, was = self.desk.by_bib(bib), self.desk.bib(candidate)
        if other == candidate:
            raise Refusal(f"{self.desk.name(candidate)} wears bib {bib} already", todo="nothing needs to change")
        if other is not None:
            self.append(BibChange(candidate=other, bib=was, was=bib))
        return self.append(BibChange(candidate=candidate, bib=bib, was=was))

    def change_allocation(
        self, task: str, candidate: str, from_: str, to: str | None, reason: str, *, waive: str = ""
    ) -> Entry:
        """The director takes a marker off a slot: that sheet counts as locked without use; `to` takes it over.

        Refused to anybody else, without a reason, for a locked sheet, and for a successor who marks the slot already,
        is elsewhere at that time, or may not mark it. `waive` is the reason why they mark it although of a licence, a
        conflict or training; it is counted and printed.
        """
        from assess.desk.waiving import seat_in_place

        desk = self.desk
        markers = desk.seats.allocated(task, candidate)
        if desk.role != "director":
            raise Refusal("only a director changes an allocation", todo="say who you are with --as ID")
        if not reason.strip():
            raise Refusal("a change of allocation needs a reason", todo="say why this marker cannot lock")
        if from_ not in markers:
            raise Refusal(f"{from_} does not mark {task} {candidate}", todo="see the allocation in course.yaml")
        if desk.locked(task, candidate, from_):
            raise Refusal(f"{from_} has locked {task} {candidate}", todo="nothing needs to change")
        if to is not None:
            self._may_take_over(to, markers)
            seat_in_place(desk, to, task, candidate, markers, from_, waive)
        fact = {"task": task, "candidate": candidate, "from": from_, "to": to, "reason": recorded(reason)}
        return self.append(AllocationChange.model_validate(fact))

    def _may_take_over(self, to: str, markers: tuple[str, ...]) -> None:
        if to not in self.desk.course.assessors:
            raise Refusal(
                f"{to} is no assessor of this course", todo=f"use one of {', '.join(self.desk.course.assessors)}"
            )
        if to in markers:
            raise Refusal(f"{to} marks this slot already", todo="choose somebody who has no sheet in it")

    def take_back(self, entry: Entry) -> str:
        """Undo a change of order or of a bib, of a swap both halves; what it was."""
        self.append(Undo(of=entry.n))
        fact = entry.fact
        if not isinstance(fact, BibChange):
            return "the change of order"
        half = next((item for item in self.ledger().entries if item.n == entry.n - 1), None)
        if half and isinstance(half.fact, BibChange) and (half.fact.bib, half.fact.was) == (fact.was, fact.bib):
            self.append(Undo(of=half.n))
        return "the change of bib"

    def not_applicable(self, task: str, criterion: str, reason: str) -> Entry:
        """A criterion could not exist for anybody in a task; the reason, once."""
        return self.append(NotApplicable(task=task, criterion=criterion, reason=recorded(reason)))

    def reason_not_applicable(self, task: str, criterion: str) -> str | None:
        """The reason given, if one was."""
        for _, entry in self.desk.shelf.entries("day"):
            fact = entry.fact
            if isinstance(fact, NotApplicable) and (fact.task, fact.criterion) == (task, criterion):
                return fact.reason or "given"
        return None

    def latest_change(self, task: str) -> Entry | None:
        """My latest live change of a task's running order, or of a bib, on this device today."""
        live = self.ledger()
        ledger = next((item for item in self.desk.shelf.of_kind("day") if item.name == live.name), None)
        entries = live_entries(ledger) if ledger else []
        changes = (item for item in reversed(entries) if isinstance(item.fact, OrderChange | BibChange))
        return next((item for item in changes if getattr(item.fact, "task", task) == task), None)
