"""What was seen and done in a session, as one list by time; and where its time went."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.records.facts import Observation
from assess.records.lesson_facts import Drill, Hazard, Interval, Measured, NamedFault
from assess.records.times import milliseconds

if TYPE_CHECKING:
    from assess.marking.results import Seen, Sheet
    from assess.records.fact import Fact

__all__ = ["Moment", "drill_details", "moments_of", "session_minute", "shares_of"]

HANDLED = {"named": "named", "avoided": "avoided", "no": "not handled"}
ENDED = 10**9


@dataclass(frozen=True)
class Moment:
    """One line of the list of what was seen: when, what kind, the words, for or against which criteria.

    fault, drill: catalogue ids, for whoever knows the words behind them; `text` is what was typed.
    """

    n: int
    minute_ms: int | None
    kind: str
    text: str
    phase: str = ""
    direction: str = ""
    criteria: tuple[str, ...] = ()
    learner: str = ""
    fault: str = ""
    drill: str = ""

    @property
    def minute_text(self) -> str:
        """Minutes and seconds since the start: `12:05`, or `-` before it was started."""
        if self.minute_ms is None:
            return "-"
        minutes, seconds = divmod(self.minute_ms // 1000, 60)
        return f"{minutes}:{seconds:02d}"


def session_minute(sheet: Sheet, minute_ms: int | None, at: str) -> int | None:
    """When something happened since the start, in ms; None before there was one.

    What was typed in from a card has only the times that stood on it.
    """
    if minute_ms is not None or sheet.started_at is None:
        return minute_ms
    if sheet.from_cards and at >= sheet.from_cards[0].at:
        return None
    return max(0, milliseconds(at) - milliseconds(sheet.started_at))


def moments_of(sheet: Sheet) -> tuple[Moment, ...]:
    """All that was seen and done, by time; a drill once, with whatever was told of it later."""
    told: tuple[Sequence[Seen[Fact]], ...] = (
        sheet.observations, sheet.drills, sheet.named_faults, sheet.intervals, sheet.hazards, sheet.measured,
    )  # type: ignore[assignment]  # fmt: skip
    moments = [_moment(sheet, item) for items in told for item in items]
    for report in sheet.breaches:
        facts = report.what or "facts to be completed"
        minute = session_minute(sheet, report.minute_ms, report.at)
        moments.append(Moment(report.ref.n, minute, "breach reported", facts))
    if sheet.ended is not None and sheet.ended_at is not None:
        said = sheet.ended.why + (f": {sheet.ended.text}" if sheet.ended.text else "")
        moments.append(Moment(ENDED, session_minute(sheet, sheet.ended.minute_ms, sheet.ended_at), "ended", said))
    return tuple(sorted(moments, key=lambda item: (item.minute_ms if item.minute_ms is not None else -1, item.n)))


def _moment(sheet: Sheet, item: Seen[Fact]) -> Moment:
    fact, n = item.fact, item.ref.n
    minute = session_minute(sheet, getattr(fact, "minute_ms", None), item.at)
    match fact:
        case Observation():
            words = " ".join([fact.text or "", *(f"#{tag}" for tag in fact.tags)]).strip()
            told = (fact.phase or "", fact.direction or "", fact.criteria, fact.learner or "")
            return Moment(n, minute, "seen", words, *told)
        case Drill():
            words = ", ".join(part for part in (fact.text or fact.drill or "", *drill_details(fact)) if part)
            return Moment(n, minute, "drill", words, learner=fact.learner or "", drill=fact.drill or "")
        case NamedFault():
            words = f"{fact.rank}. {fact.text or fact.fault or ''}" + (f" ({fact.role})" if fact.role else "")
            kind = "you see" if fact.whose == "assessor" else "named"
            met = ", met by an action" if fact.met else ""
            return Moment(n, minute, kind, words + met, learner=fact.learner or "", fault=fact.fault or "")
        case Hazard():
            name = fact.text or (fact.hazard or "").replace("-", " ")
            critical = " (critical)" if fact.critical else ""
            return Moment(n, minute, "hazard", f"{name}{critical}: {HANDLED[fact.handled]}")
        case Measured():
            values = " ".join(f"{value:g}" for value in fact.values)
            return Moment(n, minute, "measured", f"run {fact.run}: {values}", phase=fact.when)
        case Interval():
            return Moment(n, minute, fact.use, "begins" if fact.on else "stops")
    raise TypeError(f"no line of the list is made of a {fact.kind}")


def drill_details(fact: Drill) -> tuple[str, ...]:
    """What was noted of a drill, in a few words each."""
    said = (
        (f"{fact.slope_deg}°", fact.slope_deg is not None),
        ((fact.on_snow or "").replace("-", " "), fact.on_snow is not None),
        (f"{fact.dose:g} times" if fact.dose is not None else "", fact.dose is not None),
        ("shown" if fact.demo else "not shown", fact.demo is not None),
        (f"feedback {fact.feedback}", fact.feedback is not None),
        ("checked" if fact.check else "not checked", fact.check is not None),
        (f"{fact.worked} of {fact.tried}", fact.worked is not None and fact.tried is not None),
        (f"tired {fact.tired}", fact.tired is not None),
    )
    return tuple(words for words, known in said if known)


def shares_of(intervals: Sequence[Seen[Interval]], now_ms: int | None) -> Mapping[str, int] | None:
    """Milliseconds per use of time up to `now_ms`, or None when no time was recorded."""
    totals: dict[str, int] = {}
    running: dict[str, int] = {}
    for item in intervals:
        fact = item.fact
        if fact.minute_ms is None:
            continue
        if fact.on:
            running.setdefault(fact.use, fact.minute_ms)
        elif fact.use in running:
            totals[fact.use] = totals.get(fact.use, 0) + fact.minute_ms - running.pop(fact.use)
    for use, since in running.items():
        totals[use] = totals.get(use, 0) + max(0, (now_ms if now_ms is not None else since) - since)
    return totals or None
