"""No acknowledged entry is ever lost: not by a killed process, not by a power cut, at whichever call they come."""

from __future__ import annotations

import errno
import random
from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.ledger import Entry
from assess.store.ledger_file import parse_ledger
from assess.store.writer import Writer
from tests.store.disks import FOLDER, Fault, MemoryDisk, facts, sheet

NAME = "T1.C04.A2.d7h2k"
PATH = FOLDER / f"{NAME}.yaml"


@dataclass(frozen=True)
class Session:
    """One run of the program: entries added, calls that fail, and how it ends at which call."""

    adds: int
    faults: dict[int, Fault]
    ends: str  # closed, killed, power cut
    after_calls: int
    luck: int


FAULT = st.sampled_from(
    [Fault(errno.EIO), Fault(errno.EIO, "after"), Fault(errno.ENOSPC, "half"), Fault(0, "short"), Fault(errno.ENOSPC)]
)
SESSION = st.builds(
    Session,
    adds=st.integers(0, 4),
    faults=st.dictionaries(st.integers(0, 30), FAULT, max_size=3),
    ends=st.sampled_from(["closed", "killed", "power cut", "power cut"]),
    after_calls=st.integers(1, 40),
    luck=st.integers(0, 2**16),
)


def run(disk: MemoryDisk, session: Session, known: list[Entry]) -> tuple[MemoryDisk, list[Entry], int]:
    """One session; the disk as the next one finds it, every entry made so far, how many were acknowledged."""
    writer = Writer(disk=disk, first_rest=0.0001, longest_rest=0.0002)
    live = writer.open(FOLDER, sheet())
    assert live.entries == known[: len(live.entries)]
    assert live.acknowledged == len(live.entries)
    now = len(disk.calls)
    disk.faults = {now + call: fault for call, fault in session.faults.items()}
    if session.ends != "closed":
        disk.dead_at = now + session.after_calls
    for fact in facts(session.adds):
        live.add(fact)
    while not writer.drain(0.002) and not disk.dead.is_set():
        pass
    if session.ends == "closed":
        disk.faults = {}
        assert writer.close()
        return disk, live.entries, len(live.entries)
    # The rest of the calls, if any, fails at closing; what is acknowledged by then counts.
    writer.close(0)
    after = disk.after_power_cut(random.Random(session.luck)) if session.ends == "power cut" else disk.killed()
    return after, live.entries, live.acknowledged


@settings(max_examples=300, deadline=None)
@given(st.lists(SESSION, min_size=1, max_size=5))
def test_every_acknowledged_entry_is_there_after_any_sequence_of_runs(sessions: list[Session]) -> None:
    disk = MemoryDisk()
    made: list[Entry] = []
    for session in sessions:
        disk, made, acknowledged = run(disk, session, made)
        there: tuple[Entry, ...] = ()
        if PATH in disk.names:
            found = parse_ledger(disk.file(PATH), NAME)
            assert not found.bad
            there = found.ledger.entries
        assert list(there) == made[: len(there)]
        assert len(there) >= acknowledged


def test_the_power_cut_at_every_single_call_loses_nothing_acknowledged() -> None:
    for after_calls in range(40):
        for luck in range(6):
            disk, made, acknowledged = run(MemoryDisk(), Session(6, {}, "power cut", after_calls, luck), [])
            there = parse_ledger(disk.file(PATH), NAME).ledger.entries if PATH in disk.names else ()
            assert acknowledged <= len(there)
            assert list(there) == made[: len(there)]
            writer = Writer(disk=disk)
            live = writer.open(FOLDER, sheet())
            assert tuple(live.entries) == there
            for fact in facts(2):
                live.add(fact)
            assert writer.close()
            assert parse_ledger(disk.file(PATH), NAME).problems == ()


def test_a_disk_in_memory_forgets_what_was_not_synced() -> None:
    disk = MemoryDisk()
    disk.put(PATH, b"old")
    fd = disk.open(PATH, 2)
    disk.write(fd, b" new")
    disk.replace(PATH, FOLDER / "moved")
    left = {tuple(sorted(disk.after_power_cut(random.Random(luck)).listing().items())) for luck in range(300)}
    assert ((PATH.name, b"old"),) in left
    assert (("moved", b"old new"),) in left
    assert (("moved", b"old n"),) in left
    assert (("moved", b"old\0\0\0\0"),) in left
    disk.fsync(fd)
    disk.sync_folder(FOLDER)
    assert {tuple(disk.after_power_cut(random.Random(luck)).listing().items()) for luck in range(300)} == {
        (("moved", b"old new"),)
    }
