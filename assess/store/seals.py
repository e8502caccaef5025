"""Seals: the heads of all ledgers of a course at one moment, written by `seal_course`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from assess.records.errors import StorageTrouble
from assess.records.facts import Seal
from assess.records.ledger import Header
from assess.records.times import instant, local_date
from assess.store.heads import head_problems, newest_seal, seal_of

if TYPE_CHECKING:
    from pathlib import Path

    from assess.store.clock import Clock
    from assess.store.course_folder import CourseFolder
    from assess.store.live import LiveLedger
    from assess.store.writer import Writer

__all__ = ["HEADS_IN_ONE", "head_problems", "seal_course", "seal_of"]

HEADS_IN_ONE = 600
"""Heads in one entry: with the longest names there are they still fit into one line of a ledger."""


def seal_course(folder: CourseFolder, who: str, device: str, writer: Writer, clock: Clock) -> Path:
    """Record the heads of all ledgers in this person's seal ledger of today; its path.

    Each seal names the one before it, so that a seal that is taken away is missed. A course of very many
    ledgers takes several seals. Raises Refusal when the ledger is open elsewhere or damaged, StorageTrouble when it
    cannot be saved.
    """
    opened = instant(clock.now_ms())
    date = local_date(opened, folder.course.utc_offset)
    header = Header(kind="seal", course=folder.course.id, by=who, date=date, device=device, opened=opened)
    live = writer.open(folder.root / "seals", header)
    before = newest_seal(folder)
    previous = _own_newest(live) or (f"{before.ledger.name} {before.ledger.head}" if before else None)
    heads = list(_heads(folder, header.name).items())
    for start in range(0, max(len(heads), 1), HEADS_IN_ONE):
        part = dict(heads[start : start + HEADS_IN_ONE])
        live.add(Seal(heads=part, seal=seal_of(part), previous=previous))
        previous = _own_newest(live)
    if not writer.drain(10):
        raise StorageTrouble(f"the seal is not saved: {writer.state.why}", todo="make room on the disk and seal again")
    return folder.root / "seals" / f"{header.name}.yaml"


def _own_newest(live: LiveLedger) -> str | None:
    return f"{live.name} {live.head}" if live.entries else None


def _heads(folder: CourseFolder, own: str) -> Mapping[str, str]:
    """Name -> head of every ledger with an entry, the seal that is being written left out."""
    names = {file.name for file in folder.ledgers if file.ledger.header.kind != "seal"}
    heads = {}
    for file in folder.ledgers:
        sealed = file.ledger.header.kind == "seal"
        if file.ledger.entries and not (sealed and file.name == own):
            # The seal and the day of one person on one device are named alike.
            heads[f"seals/{file.name}" if sealed and file.name in names else file.name] = file.ledger.head
    return heads
