"""Which entries of the records are about one person: told by ids, not by what is written in their texts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from assess.records.fact import FREE_TEXT
from assess.records.facts import MovedOut, SomeFact, Undo
from assess.records.ledger import Entry, Ledger

__all__ = ["about", "moved_away", "names_id"]


def about(ledger: Ledger, person: str) -> Iterator[Entry]:
    """The entries about a person: all of a record kept on them, and of others those that name their id.

    Marks given to a wrong bib are about the candidate whose they are: entries moved to this person's sheet are
    here too, wherever they stand. Entries moved away from it are still here; `moved_away` tells which they are.
    """
    theirs = {n for to, n in _moves(ledger) if to == person}
    for entry in ledger.entries:
        if ledger.header.candidate == person or entry.n in theirs or names_id(entry.fact, person):
            yield entry


def moved_away(ledger: Ledger) -> frozenset[int]:
    """The entries of a sheet that were somebody else's and were moved there."""
    return frozenset(n for to, n in _moves(ledger) if to != ledger.header.candidate)


def _moves(ledger: Ledger) -> Iterator[tuple[str, int]]:
    """(candidate, number) of every entry that was moved to another sheet, moves that were taken back left out."""
    undone: set[int] = set()
    for entry in reversed(ledger.entries):
        if isinstance(entry.fact, Undo) and entry.n not in undone:
            undone.add(entry.fact.of)
    for entry in ledger.entries:
        if isinstance(entry.fact, MovedOut) and entry.n not in undone and entry.fact.to.count(".") >= 2:
            to = entry.fact.to.split(".")[1]
            yield from ((to, n) for n in entry.fact.of)


def names_id(fact: SomeFact, person: str) -> bool:
    """True when a fact names this id in a field that holds ids; its free text is not looked at."""
    return any(_holds(getattr(fact, name), person) for name in type(fact).model_fields if name not in FREE_TEXT)


def _holds(value: Any, person: str) -> bool:
    if isinstance(value, tuple):
        return any(_holds(item, person) for item in value)
    return isinstance(value, str) and value == person
