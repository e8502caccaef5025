"""Which entries of one ledger still count: what was taken back, and what was moved to another candidate."""

from __future__ import annotations

from collections.abc import Sequence

from assess.marking.results import MarkState
from assess.records.facts import MovedIn, MovedOut, Undo
from assess.records.ledger import Entry

__all__ = ["set_aside"]


def set_aside(entries: Sequence[Entry]) -> dict[int, MarkState]:
    """Entry number -> why it does not count; entries that count are not in it.

    An undo taken back by a later undo has no effect, so what it took back counts again. A `moved-in` taken back
    takes its copies with it; a `moved-out` taken back leaves the entries where they were first written.
    """
    taken = _taken_back(entries)
    aside: dict[int, MarkState] = dict.fromkeys(taken, "taken back")
    for entry in entries:
        if isinstance(entry.fact, MovedOut) and entry.n not in taken:
            for n in entry.fact.of:
                if n < entry.n:
                    aside.setdefault(n, "moved away")
    return aside


def _taken_back(entries: Sequence[Entry]) -> set[int]:
    # Only a later entry can take one back, so reading from the end knows of each undo whether it holds.
    taken: set[int] = set()
    for entry in reversed(entries):
        if isinstance(entry.fact, Undo) and entry.n not in taken and entry.fact.of < entry.n:
            taken.add(entry.fact.of)
    return taken | _copies_of(entries, taken)


def _copies_of(entries: Sequence[Entry], taken: set[int]) -> set[int]:
    """The copies that came in with a move that was taken back."""
    copies: set[int] = set()
    moves: list[Entry] = []
    for entry in entries:
        if isinstance(entry.fact, MovedIn):
            moves.append(entry)
            continue
        origin = getattr(entry.fact, "moved_from", None)
        if origin is None:
            continue
        move = next((m for m in reversed(moves) if isinstance(m.fact, MovedIn) and origin in m.fact.of), None)
        if move is not None and move.n in taken:
            copies.add(entry.n)
    return copies
