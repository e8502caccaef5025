"""Whatever the disk does at whichever call, the state says so, and in the end all is there exactly once."""

from __future__ import annotations

import errno
import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.facts import Score
from assess.store.ledger_file import parse_ledger
from assess.store.live import LiveLedger
from assess.store.writer import SaveState, Writer
from tests.store.disks import FOLDER, Fault, MemoryDisk, Node, facts, sheet

NAME = "T1.C04.A2.d7h2k"
FILE = f"{NAME}.yaml"
PATH = FOLDER / FILE

# Each as it can come from the call it is for.
FAULTS = {
    "open": [Fault(errno.EMFILE), Fault(errno.EACCES), Fault(errno.EIO)],
    "read": [Fault(errno.EIO)],
    "write": [Fault(errno.ENOSPC), Fault(errno.ENOSPC, "half"), Fault(errno.EIO, "after"), Fault(0, "short")],
    "fsync": [Fault(errno.EIO), Fault(errno.ENOSPC)],
    "fstat": [Fault(errno.EIO)],
    "stat": [Fault(errno.EIO), Fault(errno.EACCES)],
    "truncate": [Fault(errno.EIO), Fault(errno.EIO, "after")],
    "close": [Fault(errno.EIO, "after")],
    "replace": [Fault(errno.EIO), Fault(errno.EIO, "after"), Fault(errno.ENOSPC)],
    "unlink": [Fault(errno.EIO)],
    "flock": [Fault(errno.EWOULDBLOCK), Fault(errno.EINTR)],
    "sync_folder": [Fault(errno.EIO), Fault(errno.EIO, "after")],
    "mkdir": [Fault(errno.ENOSPC), Fault(errno.EIO, "after")],
}


def session(disk: MemoryDisk, count: int = 3) -> tuple[LiveLedger, list[SaveState], range]:
    """Add facts on a disk with faults, until all is saved; the ledger, the states told, the calls of the writing."""
    told: list[SaveState] = []
    writer = Writer(disk=disk, on_change=told.append, first_rest=0.0001, longest_rest=0.001)
    live = writer.open(FOLDER, sheet())
    before = len(disk.calls)
    for fact in facts(count):
        live.add(fact)
        assert writer.drain(10)
    calls = range(before, len(disk.calls))
    disk.faults, disk.broken = {}, lambda call: None
    assert writer.close()
    return live, told, calls


def assert_all_there_once(disk: MemoryDisk, live: LiveLedger) -> None:
    assert live.acknowledged == len(live.entries)
    for stage in (disk, disk.killed()):
        found = parse_ledger(stage.file(PATH), NAME)
        assert (list(found.ledger.entries), found.problems) == (live.entries, ())
    assert disk.durable_names[PATH] == disk.names[PATH]
    assert disk.nodes[disk.names[PATH]].durable == disk.file(PATH)


def torn_disk() -> MemoryDisk:
    """A disk on which a ledger of two entries ends in the middle of a third."""
    disk = MemoryDisk()
    session(disk, 3)
    raw = disk.file(PATH)
    torn = MemoryDisk()
    torn.put(PATH, raw[: raw.rstrip(b"\n").rfind(b"\n") + 40])
    return torn


def cut_disk() -> MemoryDisk:
    """A disk on which only the newline of the last entry is missing."""
    disk = MemoryDisk()
    session(disk, 3)
    cut = MemoryDisk()
    cut.put(PATH, disk.file(PATH)[:-1])
    return cut


def bare_disk() -> MemoryDisk:
    """A disk on which the folder of the ledgers is still to be made."""
    return MemoryDisk((FOLDER.parent,))


BEGINNINGS: dict[str, Callable[[], MemoryDisk]] = {
    "new": MemoryDisk, "no folder": bare_disk, "torn": torn_disk, "no newline": cut_disk,
}  # fmt: skip


@pytest.mark.parametrize("beginning", sorted(BEGINNINGS))
def test_one_fault_at_any_call_is_told_and_repaired(beginning: str) -> None:
    sound = BEGINNINGS[beginning]()
    _, told, calls = session(sound)
    assert {state.word for state in told} == {"saved"}
    broken = 0
    for at in calls:
        for fault in FAULTS[sound.calls[at]]:
            disk = BEGINNINGS[beginning]()
            disk.faults = {at: fault}
            live, told, _ = session(disk)
            assert_all_there_once(disk, live)
            assert told[-1].word == "saved"
            # Only an append must be one write; bytes nobody sees yet are simply written on.
            if not (fault.when == "short" and sound.calls[at - 1] in ("open", "read")):
                assert "not saved" in {state.word for state in told}, (sound.calls[at], fault)
                broken += 1
    assert broken > 20


@pytest.mark.parametrize("length", [2, 3, 5])
def test_a_run_of_faults_from_any_call_on_is_repaired(length: int) -> None:
    _, _, calls = session(MemoryDisk())
    for at in calls:
        disk = MemoryDisk()
        disk.faults = {at + i: Fault(errno.EIO) for i in range(length)}
        live, told, _ = session(disk)
        assert_all_there_once(disk, live)
        assert "not saved" in {state.word for state in told}


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_faults_at_any_calls_leave_every_entry_there_once(data: st.DataObject) -> None:
    disk = BEGINNINGS[data.draw(st.sampled_from(sorted(BEGINNINGS)))]()
    left = data.draw(st.integers(1, 12), "faults")
    errors = [Fault(errno.EIO), Fault(errno.EIO, "after"), Fault(errno.ENOSPC, "half"), Fault(0, "short")]
    plan = data.draw(st.lists(st.none() | st.sampled_from(errors), min_size=60, max_size=60), "plan")
    spent = iter(plan)

    def broken(_call: str) -> Fault | None:
        nonlocal left
        fault = next(spent, None) if left else None
        left -= fault is not None
        return fault

    writer = Writer(disk=disk, first_rest=0.0001, longest_rest=0.001)
    live = writer.open(FOLDER, sheet())
    disk.broken = broken
    for fact in facts(4):
        live.add(fact)
    assert writer.drain(10)
    disk.broken = lambda call: None
    assert writer.close()
    assert_all_there_once(disk, live)


def test_what_a_failed_fsync_gave_up_is_written_again_not_only_synced_again() -> None:
    disk = MemoryDisk()
    fsyncs = 0

    def broken(call: str) -> Fault | None:
        nonlocal fsyncs
        fsyncs += call == "fsync"
        return Fault(errno.EIO) if call == "fsync" and fsyncs in (2, 4) else None

    disk.broken = broken
    live, told, _ = session(disk)
    assert_all_there_once(disk, live)
    assert [state.why for state in told if state.word == "not saved"] == ["I/O error", "I/O error"]


def test_a_line_written_in_part_is_said_to_be() -> None:
    disk = MemoryDisk()
    writes = 0

    def broken(call: str) -> Fault | None:
        nonlocal writes
        writes += call == "write"
        return Fault(0, "short") if call == "write" and writes == 2 else None

    disk.broken = broken
    live, told, _ = session(disk)
    assert_all_there_once(disk, live)
    assert [state.why for state in told if state.word == "not saved"] == ["only part of the line was written"]


@pytest.mark.parametrize("failing", [0, 1, 2])
@pytest.mark.parametrize("how", ["cut", "replaced", "replaced by the same"])
def test_what_another_program_cut_or_put_there_is_durable_again_before_saved_is_said(how: str, failing: int) -> None:
    disk = MemoryDisk()
    writer = Writer(disk=disk, first_rest=0.0001)
    live = writer.open(FOLDER, sheet())
    for fact in facts(3):
        live.add(fact)
    assert writer.drain(10)
    keep = len(disk.file(PATH)) - (0 if how.endswith("same") else 100)
    node = disk.nodes[disk.names[PATH]]
    if how == "cut":
        del node.seen[keep:]
        node.durable = bytes(node.seen)
    else:
        disk.names[PATH] = 9999
        disk.nodes[9999] = Node(node.seen[:keep])
    left = failing

    def broken(call: str) -> Fault | None:
        nonlocal left
        fails = call == "fsync" and left > 0
        left -= fails
        return Fault(errno.EIO) if fails else None

    disk.broken = broken
    live.add(Score(criterion="edging", level=1))
    assert writer.drain(10)
    assert_all_there_once(disk, live)
    assert writer.close()


# --- a torn tail -------------------------------------------------------------------------------


def test_a_tail_cut_at_any_byte_is_kept_aside_and_the_ledger_goes_on() -> None:
    whole = MemoryDisk()
    before, _, _ = session(whole, 2)
    raw = whole.file(PATH)
    ends = [raw.find(b"\nentries:\n") + 10]
    ends += [ends[0] + raw[ends[0] :].find(b"\n") + 1, len(raw)]
    for cut in range(len(raw)):
        disk = MemoryDisk()
        disk.put(PATH, raw[:cut])
        writer = Writer(disk=disk)
        live = writer.open(FOLDER, sheet())
        assert disk.listing() == {FILE: raw[:cut]}
        kept = sum(1 for end in ends[1:] if cut >= end - 1)
        assert live.entries == before.entries[:kept]
        live.add(Score(criterion="edging", level=2))
        assert writer.close()
        found = parse_ledger(disk.file(PATH), NAME)
        assert (found.problems, list(found.ledger.entries)) == ((), live.entries)
        whole_bytes = max((end for end in ends if cut >= end - (end != ends[0])), default=0)
        torn = raw[whole_bytes:cut]
        aside = {f"{NAME}.torn-{hashlib.sha256(torn).hexdigest()[:8]}": torn} if torn else {}
        assert disk.listing() == {FILE: disk.file(PATH), **aside}
        assert bool(torn) == bool(writer.state.why)


def test_a_ledger_only_looked_at_is_left_as_it_is(tmp_path: Path) -> None:
    disk = torn_disk()
    before = disk.listing()
    writer = Writer(disk=disk)
    writer.open(FOLDER, sheet())
    assert writer.close()
    assert disk.listing() == before


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (errno.ENOSPC, "disk full"), (errno.EDQUOT, "disk full"), (errno.EIO, "I/O error"),
        (errno.EROFS, "read-only disk"), (errno.EACCES, "no permission"), (errno.ESTALE, "folder gone"),
    ],
)  # fmt: skip
def test_the_reason_is_said_in_a_few_words(error: int, words: str) -> None:
    disk = MemoryDisk()
    disk.faults = {2: Fault(error)}
    _, told, _ = session(disk, 1)
    assert (told[0].word, told[0].why) == ("not saved", words)
