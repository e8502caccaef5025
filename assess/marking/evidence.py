"""What speaks to a mark: observations made in the task, and from where a criterion was seen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from assess.marking.results import EntryRef, Mark
from assess.marking.union import Placed
from assess.records.facts import Observation, Score, View

__all__ = ["seen_from", "watched_from", "with_evidence"]


def watched_from(entries: Iterable[Placed]) -> dict[EntryRef, str | None]:
    """From where each live observation and score was made: its own viewpoint, else the last `view` before it."""
    standing: str | None = None
    places: dict[EntryRef, str | None] = {}
    for placed in entries:
        fact = placed.entry.fact
        if isinstance(fact, View):
            standing = fact.viewpoint
        elif isinstance(fact, Observation | Score):
            places[placed.ref] = fact.viewpoint or standing
    return places


def with_evidence(marks: Iterable[Mark], live: Sequence[Placed]) -> tuple[Mark, ...]:
    """The marks with the live observations that speak to them.

    An observation speaks to the criteria it names, in whatever run; a score may also name observations of its own
    ledger by number. Whatever was not made in the task is no evidence.
    """
    by_criterion: dict[str, list[EntryRef]] = {}
    made: set[EntryRef] = set()
    named: dict[EntryRef, set[EntryRef]] = {}
    for placed in live:
        fact = placed.entry.fact
        if isinstance(fact, Observation) and fact.made_in_task:
            made.add(placed.ref)
            for criterion in fact.criteria:
                by_criterion.setdefault(criterion, []).append(placed.ref)
        elif isinstance(fact, Score):
            named[placed.ref] = {EntryRef(placed.ledger, n) for n in fact.evidence}
    told = []
    for mark in marks:
        speaking = {*by_criterion.get(mark.criterion, ()), *(named.get(mark.ref, set()) & made)}
        told.append(replace(mark, evidence=tuple(sorted(speaking))))
    return tuple(told)


def seen_from(
    marks: Iterable[Mark], live: Iterable[Placed], places: Mapping[EntryRef, str | None]
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Per criterion the viewpoints of its scored marks and its observations made in the task, sorted."""
    found: dict[str, set[str]] = {}
    for mark in marks:
        place = places.get(mark.ref)
        if place and mark.value is not None:
            found.setdefault(mark.criterion, set()).add(place)
    for placed in live:
        fact = placed.entry.fact
        place = places.get(placed.ref)
        if isinstance(fact, Observation) and fact.made_in_task and place:
            for criterion in fact.criteria:
                found.setdefault(criterion, set()).add(place)
    return tuple((criterion, tuple(sorted(found[criterion]))) for criterion in sorted(found))
