"""Marks given to a wrong bib: moved by entries that both sheets keep, and taken back the same way."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from assess.records.errors import Refusal
from assess.records.facts import Breach, MovedIn, MovedOut, Observation, Score, Undo
from assess.records.ledger import Entry, Ledger, live_entries

if TYPE_CHECKING:
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["move_marks", "take_back_move"]


def move_marks(source: SlotSheet, target: SlotSheet) -> None:
    """Move this device's marks and observations of `source` to `target`; what `target` had goes the other way.

    The copies are written before the originals are taken out: a machine that dies between the
    two leaves marks in both sheets, never in none.
    """
    for slot in (source, target):
        if slot.locked:
            raise Refusal(f"{slot.task_id} {slot.candidate} is locked", todo="tell it in the moderation meeting")
    there, back = _movable(source), _movable(target)
    if not there and not back:
        raise Refusal(f"{source.task_id} {source.candidate} has no mark to move", todo="mark first")
    moves = [(a, b, entries) for a, b, entries in ((source, target, there), (target, source, back)) if entries]
    for origin, goal, entries in moves:
        _copy(origin, goal, entries)
    for origin, goal, entries in moves:
        origin.append(MovedOut(to=goal.ledger().name, of=tuple(entry.n for entry in entries)))


def _movable(slot: SlotSheet) -> list[Entry]:
    ledger = _own(slot)
    kinds = (Score, Observation, Breach)
    moved = {n for entry in live_entries(ledger) if isinstance(entry.fact, MovedOut) for n in entry.fact.of}
    return [entry for entry in live_entries(ledger) if isinstance(entry.fact, kinds) and entry.n not in moved]


def _own(slot: SlotSheet) -> Ledger:
    live = slot.ledger()
    return Ledger(live.name, live.header, tuple(live.entries))


def _copy(origin: SlotSheet, goal: SlotSheet, entries: list[Entry]) -> None:
    goal.append(MovedIn(source=origin.ledger().name, of=tuple(entry.n for entry in entries)))
    placed: dict[int, int] = {}
    for entry in sorted(entries, key=lambda item: isinstance(item.fact, Score)):
        fact = entry.fact
        if isinstance(fact, Score):
            evidence = tuple(placed[n] for n in fact.evidence if n in placed)
            fact = fact.model_copy(update={"moved_from": entry.n, "evidence": evidence})
        elif isinstance(fact, Observation):
            fact = fact.model_copy(update={"moved_from": entry.n})
        placed[entry.n] = goal.append(fact).n


def take_back_move(slot: SlotSheet, entry: Entry, slots: Mapping[str, SlotSheet]) -> None:
    """Undo a move and, where the two rows had changed places, the other half of it."""
    fact = entry.fact
    if not isinstance(fact, MovedOut):
        raise Refusal("that was no move of marks", todo="undo it on its own row")
    goal = next((item for item in slots.values() if item.ledger().name == fact.to), None)
    if goal is None:
        raise Refusal("the other row is not open here", todo="undo on the device that moved the marks")
    halves = [(slot, goal, entry)]
    other = _matching_half(goal, slot)
    if other is not None:
        halves.append((goal, slot, other))
    for origin, target, move in halves:
        origin.append(Undo(of=move.n))
        _undo_copies(origin, target, move)


def _matching_half(goal: SlotSheet, slot: SlotSheet) -> Entry | None:
    """The other half of a swap: the goal's live move back to this row, if nothing was marked on it since."""
    last = next((item for item in reversed(live_entries(_own(goal))) if item.fact.kind != "clock"), None)
    return last if last and isinstance(last.fact, MovedOut) and last.fact.to == slot.ledger().name else None


def _undo_copies(origin: SlotSheet, target: SlotSheet, move: Entry) -> None:
    name, moved = origin.ledger().name, set(move.fact.of) if isinstance(move.fact, MovedOut) else set()
    entries = live_entries(_own(target))
    starts = [i for i, item in enumerate(entries) if isinstance(item.fact, MovedIn) and item.fact.source == name]
    if not starts:
        return
    block = entries[starts[-1] :]
    for item in reversed(block):
        if item is block[0] or getattr(item.fact, "moved_from", None) in moved or isinstance(item.fact, Breach):
            target.append(Undo(of=item.n))
