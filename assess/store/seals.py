"""Seals: the heads of all ledgers of a course at one moment, written by `seal_course`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.records.errors import StorageTrouble
from assess.records.facts import Seal
from assess.records.ledger import Header
from assess.records.times import instant, local_date
from assess.store.course_files import recorded_name
from assess.store.heads import head_problems, loose_seals, seal_of

if TYPE_CHECKING:
    from pathlib import Path

    from assess.store.clock import Clock
    from assess.store.course_folder import CourseFolder
    from assess.store.live import LiveLedger
    from assess.store.writer import Writer

__all__ = ["HEADS_IN_ONE", "head_problems", "seal_course", "seal_of"]

HEADS_IN_ONE = 390
"""Heads in one entry: with the longest names there are they still fit into one line of a ledger."""


def seal_course(folder: CourseFolder, who: str, device: str, writer: Writer, clock: Clock) -> Path:
    """Record the heads of all ledgers, as they were read, in this person's seal ledger of today; its path.

    Seals themselves are left out: each names the one before it, so that a seal that is taken away is missed.
    A course of very many ledgers takes several seals, and so do several seals made apart from one another.
    Raises Refusal when the ledger is open elsewhere or damaged, StorageTrouble when it cannot be saved.
    """
    opened = instant(clock.now_ms())
    date = local_date(opened, folder.course.utc_offset)
    header = Header(kind="seal", course=folder.course.id, by=who, date=date, device=device, opened=opened)
    live = writer.open(folder.root / "seals", header)
    before = [f"{file.name} {file.ledger.head}" for file in loose_seals(folder) if file.name != header.name]
    parts = list(_parts(folder))
    for number in range(max(len(parts), len(before))):
        part = parts[number] if number < len(parts) else {}
        previous = before[number] if number < len(before) else _newest(live)
        live.add(Seal(heads=part, seal=seal_of(part), previous=previous))
    if not writer.drain(10):
        raise StorageTrouble(f"the seal is not saved: {writer.state.why}", todo="make room on the disk and seal again")
    return folder.root / "seals" / f"{header.name}.yaml"


def _newest(live: LiveLedger) -> str | None:
    return f"{live.name} {live.head}" if live.entries else None


def _parts(folder: CourseFolder) -> Iterator[dict[str, str]]:
    """Name -> head of every ledger with an entry, versions kept aside included, in pieces that fit; at least one."""
    sound = [file for file in folder.forks if not file.bad and "~bad-" not in file.path.name]
    heads = {
        recorded_name(file.path.parent.name, file.path.name.removesuffix(".yaml")): file.ledger.head
        for file in (*folder.ledgers, *sound)
        if file.path.parent.name != "seals" and file.ledger.entries
    }
    names = sorted(heads)
    for start in range(0, max(len(names), 1), HEADS_IN_ONE):
        yield {name: heads[name] for name in names[start : start + HEADS_IN_ONE]}
