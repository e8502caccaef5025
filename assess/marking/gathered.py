"""What a sheet holds beside its marks: breach reports, drills, named faults, the safety list, the plan, times."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from assess.marking.results import BreachReport, EntryRef, Seen
from assess.marking.union import Placed
from assess.records.fact import Fact
from assess.records.facts import Breach, BreachFacts, Undo, View
from assess.records.lesson_facts import Drill, Ended, LearnerMet, LessonPlan, SafetyItem, Started
from assess.records.times import instant, milliseconds

__all__ = [
    "Times", "breach_reports", "drills", "last_view", "latest", "learners_met", "one_clock", "plan", "safety_states",
    "seen", "times",
]  # fmt: skip

F = TypeVar("F", bound=Fact)
G = TypeVar("G", Drill, LessonPlan, LearnerMet)
TOLD = ("what", "where", "who")


def one_clock(entries: Sequence[Placed]) -> tuple[Placed, ...]:
    """The live ones of these entries, their minutes all counted from the start that stands.

    A start that is put right moves with it what was noted by the one before; nothing comes to lie before the start.
    """
    live = tuple(item for item in entries if item.state == "standing")
    if sum(isinstance(item.entry.fact, Started) for item in entries) < 2:
        return live
    standing = next((_began(item) for item in reversed(live) if isinstance(item.entry.fact, Started)), None)
    known: dict[EntryRef, int] = {}
    drawn = []
    for item in entries:
        fact = item.entry.fact
        if isinstance(fact, Started):
            known[item.ref] = _began(item)
        elif isinstance(fact, Undo):
            known.pop(EntryRef(item.ledger, fact.of), None)
        began, minute = next(reversed(known.values()), None), getattr(fact, "minute_ms", None)
        if item.state != "standing":
            continue
        if minute is not None and began is not None and standing is not None and began != standing:
            fact = fact.model_copy(update={"minute_ms": max(0, minute + began - standing)})
            item = replace(item, entry=replace(item.entry, fact=fact))
        drawn.append(item)
    return tuple(drawn)


def _began(item: Placed) -> int:
    fact = item.entry.fact
    return milliseconds(item.entry.at) - (fact.ago_ms if isinstance(fact, Started) else 0)


def seen(live: Sequence[Placed], kind: type[F], places: dict[EntryRef, str | None]) -> tuple[Seen[F], ...]:
    """The live facts of one kind, in order."""
    return tuple(
        Seen(placed.ref, placed.entry.at, placed.entry.fact, places.get(placed.ref))
        for placed in live
        if isinstance(placed.entry.fact, kind)
    )


def breach_reports(live: Sequence[Placed]) -> tuple[BreachReport, ...]:
    """Every live report, with the facts given later; a later fact replaces the same earlier one."""
    facts: dict[EntryRef, list[Fact]] = {}
    for placed in live:
        fact = placed.entry.fact
        if isinstance(fact, Breach):
            facts[placed.ref] = [fact]
        elif isinstance(fact, BreachFacts):
            report = facts.get(EntryRef(placed.ledger, fact.of))
            if report is not None:
                report.append(fact)
    at = {placed.ref: placed.entry.at for placed in live}
    return tuple(_report(ref, at[ref], given) for ref, given in facts.items())


def _report(ref: EntryRef, at: str, given: Sequence[Fact]) -> BreachReport:
    told = {
        key: next((value for fact in reversed(given) if (value := getattr(fact, key)) is not None), None)
        for key in ("must_not", "patrol_called", *TOLD)
    }
    # Text that was erased had been given.
    erased = {key for fact in given for key in fact.erased}
    lacking = tuple(key for key in ("must_not", *TOLD) if not told[key] and key not in erased)
    minute = getattr(given[0], "minute_ms", None)
    return BreachReport(
        ref, at, told["must_not"], told["what"], told["where"], told["who"], told["patrol_called"], minute, lacking
    )  # fmt: skip


def drills(live: Sequence[Placed]) -> tuple[Seen[Drill], ...]:
    """The drills in order; details given later under `of` are taken into the drill they complete."""
    begun: dict[EntryRef, Seen[Drill]] = {}
    for placed in live:
        fact = placed.entry.fact
        if not isinstance(fact, Drill):
            continue
        if fact.of is None:
            begun[placed.ref] = Seen(placed.ref, placed.entry.at, fact)
            continue
        first = begun.get(EntryRef(placed.ledger, fact.of))
        if first is not None:
            begun[first.ref] = Seen(first.ref, first.at, _taken_in(first.fact, fact))
    return tuple(begun.values())


def safety_states(live: Sequence[Placed], items: Sequence[str]) -> tuple[Seen[SafetyItem], ...]:
    """The latest state of each item of the safety list, in the list's order."""
    order = {item: place for place, item in enumerate(items)}
    found = latest(live, SafetyItem, lambda fact: fact.item)
    return tuple(sorted(found, key=lambda seen: (order.get(seen.fact.item, len(order)), seen.fact.item)))


def latest(live: Sequence[Placed], kind: type[F], about: Callable[[F], Hashable]) -> list[Seen[F]]:
    """Of the live facts of one kind the latest about each thing, in the order the things were first told of."""
    found: dict[Hashable, Seen[F]] = {}
    for placed in live:
        fact = placed.entry.fact
        if isinstance(fact, kind):
            found[about(fact)] = Seen(placed.ref, placed.entry.at, fact)
    return list(found.values())


def learners_met(live: Sequence[Placed]) -> tuple[LearnerMet, ...]:
    """What each learner was taken for: a later entry replaces what it gives."""
    found: dict[str | None, LearnerMet] = {}
    for placed in live:
        fact = placed.entry.fact
        if isinstance(fact, LearnerMet):
            known = found.get(fact.learner)
            found[fact.learner] = _taken_in(known, fact) if known else fact
    return tuple(found.values())


def _taken_in(known: G, later: G) -> G:
    """The fact with whatever a later one of its kind says anew."""
    told = {key: value for key, value in later if value is not None and key not in ("kind", "of", "erased")}
    return known.model_copy(update=told)


def plan(live: Sequence[Placed]) -> LessonPlan | None:
    """The plan handed in: a later entry replaces the lines it gives."""
    given: LessonPlan | None = None
    for placed in live:
        fact = placed.entry.fact
        if isinstance(fact, LessonPlan):
            given = _taken_in(given, fact) if given else fact
    return given


def last_view(live: Sequence[Placed]) -> str | None:
    """From where the assessor watches now, or None when it was never told."""
    views = [placed.entry.fact.viewpoint for placed in live if isinstance(placed.entry.fact, View)]
    return views[-1] if views else None


@dataclass(frozen=True, slots=True)
class Times:
    """When the session began and ended; the latest entry of each stands."""

    started_at: str | None
    ended: Ended | None
    ended_at: str | None


def times(live: Sequence[Placed]) -> Times:
    """The start (counted back by `ago_ms`) and the end of the session, None where not told."""
    started_at: str | None = None
    ended: Ended | None = None
    ended_at: str | None = None
    for placed in live:
        fact = placed.entry.fact
        if isinstance(fact, Started):
            started_at = instant(milliseconds(placed.entry.at) - fact.ago_ms)
        elif isinstance(fact, Ended):
            ended, ended_at = fact, placed.entry.at
    return Times(started_at, ended, ended_at)
