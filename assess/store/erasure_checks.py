"""Who was erased from a course, and what of them stands there again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from assess.records.concerning import texts_about
from assess.records.errors import Problem
from assess.records.facts import Erasure
from assess.store.ledger_file import LedgerFile

__all__ = ["erased_people", "erasure_problems"]


def erased_people(ledgers: Sequence[LedgerFile]) -> frozenset[str]:
    """The ids of everybody the director has erased: pseudonyms without a name."""
    return frozenset(
        entry.fact.person
        for file in ledgers
        if file.ledger.header.kind == "day"
        for entry in file.ledger.entries
        if isinstance(entry.fact, Erasure)
    )


def erasure_problems(ledgers: Sequence[LedgerFile]) -> Iterator[Problem]:
    """Text about somebody who was erased: an erasure that was interrupted, or a copy that came in afterwards."""
    for person in sorted(erased_people(ledgers)):
        for file in ledgers:
            found = next(texts_about(file.ledger, person), None)
            if found is not None:
                shown = f"{file.path.parent.name}/{file.path.name}"
                what = f"holds text about `{person}`, who was erased"
                todo = f"erase again: `assess person erase COURSE {person}`"
                # The record itself is sound: `verify` has nothing against it.
                yield Problem(shown, found.line, what, todo, doubt=True)
