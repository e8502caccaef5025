"""Which entries of the records are about one person: told by ids, not by what is written in their texts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from assess.records.fact import FREE_TEXT
from assess.records.facts import MovedOut, SomeFact
from assess.records.ledger import Entry, Header, Ledger, live_entries

__all__ = ["about", "kept_on", "moved_away", "names_id", "texts_about"]


def about(ledger: Ledger, person: str) -> Iterator[Entry]:
    """The entries about a person: all of a record kept on them, and of others those that name their id.

    Marks given to a wrong bib are about the candidate whose they are: entries moved to this person's sheet are
    here too, wherever they stand. Entries moved away from it are still here; `moved_away` tells which they are.
    """
    theirs = {n for to, n in _moves(ledger) if to == person}
    for entry in ledger.entries:
        if kept_on(ledger.header, person) or entry.n in theirs or names_id(entry.fact, person):
            yield entry


def moved_away(ledger: Ledger) -> frozenset[int]:
    """The entries of a sheet that were somebody else's and were moved there."""
    return frozenset(n for to, n in _moves(ledger) if to != ledger.header.candidate)


def _moves(ledger: Ledger) -> Iterator[tuple[str, int]]:
    """(candidate, number) of every entry that was moved to another sheet, moves that were taken back left out."""
    for entry in live_entries(ledger):
        if isinstance(entry.fact, MovedOut) and entry.fact.to.count(".") >= 2:
            to = entry.fact.to.split(".")[1]
            yield from ((to, n) for n in entry.fact.of)


def names_id(fact: SomeFact, person: str) -> bool:
    """True when a fact names this id in a field that holds ids; its free text is not looked at."""
    return any(_holds(getattr(fact, name), person) for name in type(fact).model_fields if name not in FREE_TEXT)


def _holds(value: Any, person: str) -> bool:
    if isinstance(value, tuple | dict):
        return any(_holds(item, person) for item in value)
    return isinstance(value, str) and value == person


def texts_about(ledger: Ledger, person: str) -> Iterator[Entry]:
    """The entries whose free text is about a person and goes when they are erased; what is erased already is not here.

    All of a record kept on a candidate, marks moved to their sheet, and entries of which they alone are the subject.
    What an assessor wrote about candidates is about those; a reason for taking a slot off an assessor is about them.
    """
    theirs = {n for to, n in _moves(ledger) if to == person}
    kept = kept_on(ledger.header, person)
    for entry in ledger.entries:
        told = any(getattr(entry.fact, key, None) is not None for key in FREE_TEXT)
        if told and entry.fact.kind != "erasure" and (kept or entry.n in theirs or _subject(entry.fact, person)):
            yield entry


def kept_on(header: Header, person: str) -> bool:
    """True for a record that is kept on this candidate: a sheet, a moderation, decisions, a case (`C08-1`)."""
    return header.candidate == person or (header.case or "").rpartition("-")[0] == person


_SUBJECT = ("candidate", "learner", "from_", "assessor", "reviewer")


def _subject(fact: SomeFact, person: str) -> bool:
    # Of a fact that names several candidates the text is about what happened to all of them.
    alone = getattr(fact, "candidates", None) == (person,)
    return alone or any(getattr(fact, key, None) == person for key in _SUBJECT)
