"""The ledgers of one sheet, one per device, as one row of entries; and what its lock covers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assess.marking.live import set_aside
from assess.marking.results import EntryRef, MarkState
from assess.records.facts import Lock
from assess.records.ledger import Entry, Ledger

__all__ = ["Placed", "Union", "united"]


@dataclass(frozen=True, slots=True)
class Placed:
    """An entry with the ledger it stands in; `state` is `standing` for every live one."""

    ledger: str
    device: str
    entry: Entry
    state: MarkState = "standing"

    @property
    def ref(self) -> EntryRef:
        """How the entry is named."""
        return EntryRef(self.ledger, self.entry.n)

    @property
    def order(self) -> tuple[str, str, int, str]:
        """Time, then device, then number: the same row whatever order the ledgers came in."""
        return (self.entry.at, self.device, self.entry.n, self.ledger)


@dataclass(frozen=True, slots=True)
class Union:
    """All entries in order, live and not; the lock and where it stands; what it left out; what it misses."""

    entries: tuple[Placed, ...]
    lock: Placed | None
    left_out: tuple[EntryRef, ...]
    missing: tuple[str, ...]

    @property
    def live(self) -> tuple[Placed, ...]:
        """The entries that count, in order."""
        return tuple(item for item in self.entries if item.state == "standing")


def united(ledgers: Sequence[Ledger]) -> Union:
    """The union of a sheet's ledgers. The first lock stands; entries of other devices beyond its heads are left out."""
    lock = _first_lock(ledgers)
    heads = lock.entry.fact.heads if lock and isinstance(lock.entry.fact, Lock) else {}
    placed: dict[tuple[str, int, str], Placed] = {}
    left: dict[tuple[str, int, str], Placed] = {}
    for ledger in ledgers:
        covered = len(ledger.entries) if lock is None else _covered(ledger, heads, lock)
        used = ledger.entries[:covered]
        aside = set_aside(used)
        for entry in used:
            _put(placed, ledger, entry, aside.get(entry.n, "standing"))
        for entry in ledger.entries[covered:]:
            _put(left, ledger, entry, "left out")
    left = {key: item for key, item in left.items() if key not in placed}
    everything = sorted((*placed.values(), *left.values()), key=lambda item: item.order)
    return Union(
        tuple(everything),
        lock,
        tuple(sorted(item.ref for item in left.values())),
        _missing(heads, placed),
    )


def _put(into: dict[tuple[str, int, str], Placed], ledger: Ledger, entry: Entry, state: MarkState) -> None:
    """Two versions of one file share a beginning: the same entry counts once, and not at all if either took it back."""
    key = (ledger.header.name, entry.n, entry.chain)
    held = into.get(key)
    name = min(held.ledger, ledger.name) if held else ledger.name
    if held and held.state != "standing":
        state = max(held.state, state) if state != "standing" else held.state
    into[key] = Placed(name, ledger.header.device, entry, state)


def _first_lock(ledgers: Sequence[Ledger]) -> Placed | None:
    locks = [
        Placed(ledger.name, ledger.header.device, entry)
        for ledger in ledgers
        for entry in ledger.entries
        if isinstance(entry.fact, Lock)
    ]
    return min(locks, key=lambda item: item.order, default=None)


def _covered(ledger: Ledger, heads: dict[str, str], lock: Placed) -> int:
    """How many entries of a ledger the lock covers; of its own ledger all up to the lock itself."""
    if ledger.name == lock.ledger:
        return 1 + ledger.entries.index(lock.entry)
    n, chain = heads.get(ledger.header.name, "0 -").split(" ")
    for place, entry in enumerate(ledger.entries):
        if entry.n == int(n) and entry.chain == chain:
            return place + 1
    return 0


def _missing(heads: dict[str, str], placed: dict[tuple[str, int, str], Placed]) -> tuple[str, ...]:
    wanted = ((name, head.split(" ")) for name, head in heads.items())
    return tuple(sorted(name for name, (n, chain) in wanted if int(n) and (name, int(n), chain) not in placed))
