"""The writer: entries at once in memory, one write and one fsync each on disk, and what it refuses."""

from __future__ import annotations

import errno
import os
import threading
from pathlib import Path

import pytest

from assess.records.facts import Lock, Observation, Score, Undo
from assess.store.disk import Disk
from assess.store.ledger_file import parse_ledger, read_ledger
from assess.store.writer import SaveState, Writer
from tests.store.disks import FOLDER, Fault, MemoryDisk, SetClock, facts, sheet

NAME = "T1.C04.A2.d7h2k"
FILE = f"{NAME}.yaml"
LOCK = Lock(heads={NAME: "2 0123456789abcdef"}, seal="sha256:" + "0" * 64)
SCORE = Score(criterion="edging", level=3)
NOON = 1_801_645_200_000


# --- saving ------------------------------------------------------------------------------------


def test_an_entry_is_there_at_once_and_on_disk_when_acknowledged(tmp_path: Path) -> None:
    writer = Writer()
    live = writer.open(tmp_path, sheet())
    assert list(tmp_path.iterdir()) == []
    entry = live.add(SCORE)
    assert (entry.n, entry.fact, live.entries) == (1, SCORE, [entry])
    assert writer.drain(10)
    assert live.acknowledged == 1
    assert list(read_ledger(tmp_path / FILE).ledger.entries) == [entry]
    assert writer.close()
    assert [path.name for path in tmp_path.iterdir()] == [FILE]


def test_every_entry_is_one_write_and_one_fsync_and_a_look_at_the_path() -> None:
    disk = MemoryDisk()
    writer = Writer(disk=disk)
    live = writer.open(FOLDER, sheet())
    disk.calls.clear()
    live.add(SCORE)
    assert writer.drain(10)
    assert disk.calls == [
        "open", "open", "write", "fsync", "flock", "open", "flock", "stat", "replace", "close", "fstat",
        "sync_folder", "stat",
    ]  # fmt: skip
    disk.calls.clear()
    for fact in facts(20):
        live.add(fact)
    assert writer.drain(10)
    assert disk.calls == ["write", "fsync", "stat"] * 20
    assert writer.close()


def test_a_ledger_taken_up_again_is_looked_through_once_and_then_one_write_and_one_fsync_each() -> None:
    disk = MemoryDisk()
    for _ in range(2):
        disk.calls.clear()
        writer = Writer(disk=disk)
        live = writer.open(FOLDER, sheet())
        live.add(SCORE)
        live.add(SCORE)
        assert writer.drain(10)
        calls = list(disk.calls)
        assert writer.close()
    opened = ["stat", "open", "fstat", "flock", "fsync", "sync_folder", "read"]
    assert calls == [*opened, "read", "write", "fsync", "stat", "write", "fsync", "stat"]
    assert len(parse_ledger(disk.file(FOLDER / FILE), NAME).ledger.entries) == 4


def test_a_ledger_continued_counts_on_and_keeps_its_header(tmp_path: Path) -> None:
    first = Writer()
    live = first.open(tmp_path, sheet())
    for fact in facts(3):
        live.add(fact)
    assert first.close()
    second = Writer()
    later = second.open(tmp_path, sheet(opened="2027-02-04T08:00:00.000Z", rubric="sha256:" + "00" * 32))
    assert (later.header, later.entries, later.acknowledged) == (live.header, live.entries, 3)
    assert later.add(Undo(of=3)).n == 4
    assert second.close()
    found = read_ledger(tmp_path / FILE)
    assert (len(found.ledger.entries), found.problems) == (4, ())


def test_the_same_ledger_opened_twice_is_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    writer = Writer()
    live = writer.open(tmp_path, sheet())
    live.add(SCORE)
    assert writer.open(Path(), sheet()) is live
    assert writer.close()


def test_the_folder_is_made_by_the_first_entry(tmp_path: Path) -> None:
    writer = Writer()
    live = writer.open(tmp_path / "sheets", sheet())
    assert not (tmp_path / "sheets").exists()
    live.add(SCORE)
    assert writer.close()
    assert len(read_ledger(tmp_path / "sheets" / FILE).ledger.entries) == 1


def test_several_ledgers_go_through_one_queue(tmp_path: Path) -> None:
    writer = Writer()
    ledgers = [writer.open(tmp_path, sheet(candidate)) for candidate in ("C01", "C02", "C03")]
    for fact in facts(5):
        for live in ledgers:
            live.add(fact)
    assert writer.close()
    assert [len(read_ledger(path).ledger.entries) for path in sorted(tmp_path.iterdir())] == [5, 5, 5]


def test_what_is_typed_is_recorded_as_records_hold_text() -> None:
    disk = MemoryDisk()
    writer = Writer(disk=disk)
    live = writer.open(FOLDER, sheet())
    entry = live.add(Observation(text="one\ntwo\tthree\x1b[2J cafe\u0301", tags=("a\x00b",)))
    assert entry.fact == Observation(text="one two three\ufffd[2J caf\u00e9", tags=("a\ufffdb",))
    assert writer.close()
    assert parse_ledger(disk.file(FOLDER / FILE), NAME).ledger.entries == (entry,)


def test_every_text_has_a_salt_of_its_own_and_an_entry_without_text_none(tmp_path: Path) -> None:
    writer = Writer()
    live = writer.open(tmp_path, sheet())
    for fact in (Observation(text="same"), Observation(text="same"), SCORE):
        live.add(fact)
    assert writer.close()
    lines = (tmp_path / FILE).read_text(encoding="utf-8").split("\n")[3:6]
    salts = [line.split('"salt": "')[1][:32] for line in lines[:2]]
    assert salts[0] != salts[1]
    assert "salt" not in lines[2]


# --- the state ---------------------------------------------------------------------------------


def test_the_state_says_what_waits_and_why_until_it_is_saved() -> None:
    disk = MemoryDisk()
    full = threading.Event()
    full.set()
    disk.broken = lambda call: Fault(errno.ENOSPC) if call == "write" and full.is_set() else None
    told: list[SaveState] = []
    seen = threading.Event()

    def on_change(state: SaveState) -> None:
        told.append(state)
        if state.word == "not saved" and state.waiting == 3:
            seen.set()

    writer = Writer(disk=disk, clock=SetClock(), on_change=on_change, first_rest=0.001, longest_rest=0.005)
    live = writer.open(FOLDER, sheet())
    assert writer.state == SaveState("saved", 0, None, "")
    for fact in facts(3):
        live.add(fact)
    assert seen.wait(10)
    assert writer.state == SaveState("not saved", 3, None, "disk full")
    assert (live.acknowledged, len(live.entries)) == (0, 3)
    full.clear()
    assert writer.drain(10)
    assert writer.close()
    assert writer.state == told[-1] == SaveState("saved", 0, "2027-02-03T09:00:00.000Z", "")
    assert [(state.word, state.waiting) for state in told[-3:]] == [("writing", 2), ("writing", 1), ("saved", 0)]


def test_a_new_entry_wakes_a_ledger_that_rests() -> None:
    disk = MemoryDisk()
    disk.broken = lambda call: Fault(errno.EIO) if call == "fsync" else None
    writer = Writer(disk=disk, clock=SetClock(), first_rest=3600, longest_rest=3600)
    live = writer.open(FOLDER, sheet())
    live.add(SCORE)
    while disk.calls.count("fsync") < 2:
        writer.drain(0.005)
    disk.broken = lambda call: None
    assert not writer.drain(0.05)
    assert writer.state.word == "not saved"
    live.add(SCORE)
    assert writer.drain(10)
    assert writer.close()


def test_a_ledger_that_cannot_be_saved_holds_up_no_other() -> None:
    disk = MemoryDisk()
    writer = Writer(disk=disk, first_rest=0.001, longest_rest=0.002)
    stuck, free = writer.open(FOLDER, sheet("C01")), writer.open(FOLDER, sheet("C02"))
    disk.put(FOLDER / "T1.C01.A2.d7h2k.yaml", b"x")
    disk.nodes[disk.names[FOLDER / "T1.C01.A2.d7h2k.yaml"]].locked_by = -1
    stuck.add(SCORE)
    free.add(SCORE)
    while free.acknowledged < 1:
        writer.drain(0.01)
    assert (writer.state.word, writer.state.waiting, writer.state.why) == ("not saved", 1, "open in another window")
    assert writer.unsaved() == {stuck.name: writer.unsaved()[stuck.name]}
    assert len(parse_ledger(writer.unsaved()[stuck.name], stuck.name).ledger.entries) == 1
    disk.nodes[disk.names[FOLDER / "T1.C01.A2.d7h2k.yaml"]].locked_by = None
    assert writer.close()
    # What the other window made is left as it is; ours stands beside it.
    listing = disk.listing()
    assert listing["T1.C01.A2.d7h2k.yaml"] == b"x"
    assert sorted(len(name) for name in listing) == [20, 20, 29]


def test_what_cannot_be_saved_before_closing_is_reported_and_kept() -> None:
    disk = MemoryDisk()
    writer = Writer(disk=disk, first_rest=0.001, longest_rest=0.002)
    live = writer.open(FOLDER, sheet())
    live.add(SCORE)
    assert writer.drain(10)
    disk.broken = lambda call: Fault(errno.EIO)
    live.add(SCORE)
    assert not writer.close(0.05)
    assert writer.state.word == "not saved"
    kept = parse_ledger(writer.unsaved()[NAME], NAME)
    assert (list(kept.ledger.entries), kept.problems) == (live.entries, ())


def test_a_fault_of_the_program_is_shown_as_not_saved_and_the_thread_lives_on() -> None:
    class Odd(MemoryDisk):
        odd = 2

        def fsync(self, fd: int) -> None:
            if self.odd:
                self.odd -= 1
                raise TypeError("something unforeseen")
            super().fsync(fd)

    told: list[SaveState] = []
    writer = Writer(disk=Odd(), on_change=told.append, first_rest=0.001)
    writer.open(FOLDER, sheet()).add(SCORE)
    assert writer.drain(10)
    assert writer.close()
    assert told[0].word == "not saved"
    assert told[0].why == "a fault in this program (TypeError)"


def test_an_error_of_the_listener_stops_no_saving_and_comes_out_at_the_end() -> None:
    def broken(_state: SaveState) -> None:
        raise LookupError("nobody listens")

    disk = MemoryDisk()
    writer = Writer(disk=disk, on_change=broken)
    live = writer.open(FOLDER, sheet())
    for fact in facts(3):
        live.add(fact)
    assert writer.drain(10)
    with pytest.raises(LookupError, match="nobody listens"):
        writer.close()
    assert len(parse_ledger(disk.file(FOLDER / FILE), NAME).ledger.entries) == 3


def test_the_real_disk_says_what_it_does(tmp_path: Path) -> None:
    disk = Disk()
    fd = disk.open(tmp_path / "a", os.O_RDWR | os.O_CREAT)
    assert disk.write(fd, b"abcdef") == 6
    assert (disk.read(fd, 4), disk.read(fd, 99)) == (b"abcd", b"abcdef")
    disk.truncate(fd, 2)
    assert (disk.fstat(fd).size, disk.stat(tmp_path / "a").size) == (2, 2)
    assert disk.fstat(fd).same_file(disk.stat(tmp_path / "a"))
    assert not os.get_inheritable(fd)
    disk.close(fd)
    (tmp_path / "link").symlink_to(tmp_path / "a")
    assert not disk.stat(tmp_path / "link").plain
