"""Acts become entries through the store's own writer, with a clock and salts that are the same every time."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Mapping, Sequence
from pathlib import Path

from assess.records.times import instant, local_date
from assess.store.clock import Clock
from assess.store.course_files import LEDGER_FOLDERS
from assess.store.course_folder import load_course
from assess.store.disk import Disk
from assess.store.seals import seal_course
from assess.store.writer import Writer
from making.acts import Act
from making.moments import SEED, at_clock
from making.source import told

__all__ = ["KnownClock", "NoWaiting", "Salts", "write_days"]

PATIENCE_S = 120


class KnownClock(Clock):
    """A clock that shows what it is told."""

    ms = 0

    def now_ms(self) -> int:
        """What it was told."""
        return self.ms

    def monotonic_ms(self) -> int:
        """What it was told."""
        return self.ms


class NoWaiting(Disk):
    """A disk nobody waits for: what a power cut would take is made again."""

    def fsync(self, fd: int) -> None:
        """Nothing."""

    def sync_folder(self, path: Path) -> None:
        """Nothing."""


class Salts:
    """Salts that look random and are the same every time: everybody may know these, the words are invented."""

    def __init__(self, of: str) -> None:
        self.of, self.count = of, 0

    def __call__(self) -> str:
        """The next salt."""
        self.count += 1
        return hashlib.sha256(f"{SEED}|salt|{self.of}|{self.count}".encode()).hexdigest()[:32]


def write_days(root: Path, acts: Sequence[Act], digests: Mapping[str, str]) -> None:
    """Write all acts, day by day and device by device, and after each day the seal of the director."""
    days: dict[str, list[Act]] = defaultdict(list)
    for act in acts:
        days[local_date(instant(act.at_ms))].append(act)
    for day in sorted(days):
        for who in sorted({act.who for act in days[day]}):
            mine = sorted((act for act in days[day] if act.who == who), key=lambda act: act.at_ms)
            _write(root, who, day, mine, digests)
        _seal(root, day)


def _write(root: Path, who: str, day: str, acts: Sequence[Act], digests: Mapping[str, str]) -> None:
    folders = {kind: folder for folder, kind in LEDGER_FOLDERS.items()}
    clock = KnownClock()
    writer = Writer(disk=NoWaiting(), clock=clock, salt=Salts(f"{who}|{day}"))
    numbers: dict[str, tuple[int, ...]] = {}
    for act in acts:
        clock.ms = act.at_ms
        live = writer.open(root / folders[act.kind], act.header(digests))
        entry = live.add(act.fact(live, numbers) if callable(act.fact) else act.fact)
        if act.label:
            numbers[act.label] = (*numbers.get(act.label, ()), entry.n)
    if not writer.close(PATIENCE_S):
        raise OSError(f"not saved: {', '.join(writer.unsaved())}")


def _seal(root: Path, day: str) -> None:
    for seal in told("on-the-hill")["seals"]:
        if told("course-plan")["days"][seal["day"] - 1] != day:
            continue
        clock = KnownClock()
        clock.ms = at_clock(seal["day"], seal["at"])
        writer = Writer(disk=NoWaiting(), clock=clock, salt=Salts(f"{seal['who']}|seal|{day}"))
        seal_course(load_course(root), seal["who"], seal["device"], writer, clock)
        if not writer.close(PATIENCE_S):
            raise OSError("the seal is not saved")
