"""All ledgers of an open course, those on disk and those being written, found by what they are about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from assess.records.ledger import Entry, Ledger, live_entries

if TYPE_CHECKING:
    from assess.store.ledger_file import LedgerFile
    from assess.store.live import LiveLedger

__all__ = ["Shelf", "SlotKey"]

SlotKey = tuple[str, str, str]  # task, candidate, assessor


class Shelf:
    """Ledgers by sheet and by kind; a ledger being written takes the place of its copy on disk."""

    def __init__(self, files: Iterable[LedgerFile]) -> None:
        # A day ledger and a seal of the same person and day have the same name.
        self._read: dict[tuple[str, str], Ledger] = {
            (file.ledger.header.kind, file.name): file.ledger for file in files if not file.bad
        }
        self._live: dict[tuple[str, str], LiveLedger] = {}
        self._sheets: dict[SlotKey, set[str]] = {}
        self._sorted: dict[str, tuple[int, list[tuple[Ledger, Entry]]]] = {}
        for ledger in self._read.values():
            self._index(ledger)

    @classmethod
    def of(cls, ledgers: Iterable[Ledger]) -> Shelf:
        """A shelf of these ledgers, on which nothing is written."""
        shelf = cls(())
        for ledger in ledgers:
            shelf._read[(ledger.header.kind, ledger.name)] = ledger
            shelf._index(ledger)
        return shelf

    def _index(self, ledger: Ledger | LiveLedger) -> None:
        header = ledger.header
        if header.kind == "sheet":
            key = (header.task or "", header.candidate or "", header.assessor or "")
            self._sheets.setdefault(key, set()).add(ledger.name)

    def write_to(self, live: LiveLedger) -> None:
        """From now on `live` is what this name means."""
        self._live[(live.header.kind, live.name)] = live
        self._index(live)

    def _ledger(self, kind: str, name: str) -> Ledger:
        live = self._live.get((kind, name))
        return self._read[(kind, name)] if live is None else Ledger(name, live.header, tuple(live.entries))

    def sheet(self, key: SlotKey) -> tuple[Ledger, ...]:
        """Every device's ledger of one assessor's record of one slot, by name; entries being written included."""
        ledgers = (self._ledger("sheet", name) for name in sorted(self._sheets.get(key, ())))
        return tuple(ledger for ledger in ledgers if ledger.entries)

    def sheet_keys(self) -> list[SlotKey]:
        """Every sheet there is, sorted."""
        return sorted(self._sheets)

    def revision(self, key: SlotKey) -> tuple[int, ...]:
        """Changes whenever a ledger of this sheet grows; what was computed from it is good until then."""
        counts = []
        for name in sorted(self._sheets.get(key, ())):
            live = self._live.get(("sheet", name))
            counts.append(len(self._read[("sheet", name)].entries) if live is None else len(live.entries))
        return tuple(counts)

    def of_kind(self, kind: str) -> Iterator[Ledger]:
        """Every ledger of a kind (`day`, `decision`, `seal`), by name."""
        for found, name in sorted({*self._read, *self._live}):
            if found == kind:
                yield self._ledger(kind, name)

    def ledgers(self) -> Iterator[Ledger]:
        """Every ledger there is, those being written included."""
        for kind, name in sorted({*self._read, *self._live}):
            yield self._ledger(kind, name)

    @property
    def version(self) -> int:
        """Grows with every entry written here; what was computed from the shelf is good until then."""
        return sum(len(live.entries) for live in self._live.values())

    def entries(self, kind: str) -> list[tuple[Ledger, Entry]]:
        """The live entries of all ledgers of a kind in the order of their times, undone ones left out."""
        known = self._sorted.get(kind)
        if known is None or known[0] != self.version:
            found = [(ledger, entry) for ledger in self.of_kind(kind) for entry in live_entries(ledger)]
            found.sort(key=lambda pair: (pair[1].at, pair[0].name, pair[1].n))
            known = self._sorted[kind] = (self.version, found)
        return known[1]
