"""The writer: entries at once in memory, one write and one fsync each on disk, and what it refuses."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from assess.records.errors import Refusal, StorageTrouble
from assess.records.facts import Clock, Lock, Morning, Observation, Score, Undo
from assess.records.times import milliseconds
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


# --- times -------------------------------------------------------------------------------------


def test_times_never_repeat_or_go_back_on_a_device_whatever_the_clock_does(tmp_path: Path) -> None:
    clock = SetClock(NOON)
    writer = Writer(clock=clock)
    one, other = writer.open(tmp_path, sheet("C01")), writer.open(tmp_path, sheet("C02"))
    given: list[str] = []
    for step in (0, 0, 5, -3, 0, -1500, 1, 40_000, -1):
        clock.ms += step
        given += [one.add(SCORE).at, other.add(SCORE).at]
    assert given == sorted(set(given))
    assert len(one.entries) == len(other.entries) == 9
    assert writer.close()


def test_a_clock_more_than_two_seconds_behind_is_recorded_first_and_once(tmp_path: Path) -> None:
    clock = SetClock(NOON)
    writer = Writer(clock=clock)
    live = writer.open(tmp_path, sheet())
    live.add(SCORE)
    clock.ms = NOON - 2000
    live.add(SCORE)
    assert [entry.fact.kind for entry in live.entries] == ["score", "score"]
    clock.ms = NOON - 60_000
    entry = live.add(SCORE)
    assert [e.fact.kind for e in live.entries] == ["score", "score", "clock", "score"]
    assert live.entries[2].fact == Clock(behind_ms=60_000)
    assert [milliseconds(e.at) - NOON for e in live.entries] == [0, 1, 2, 3]
    assert entry is live.entries[3]
    clock.ms = NOON - 59_000
    live.add(SCORE)
    clock.ms = NOON - 90_000
    live.add(SCORE)
    clock.ms = NOON + 1000
    live.add(SCORE)
    clock.ms = NOON - 5000
    live.add(SCORE)
    kinds = [e.fact.kind for e in live.entries[4:]]
    assert kinds == ["score", "clock", "score", "score", "clock", "score"]
    assert writer.close()
    assert read_ledger(tmp_path / FILE).problems == ()


def test_a_device_that_starts_with_a_clock_behind_its_own_record_says_so(tmp_path: Path) -> None:
    writer = Writer(clock=SetClock(NOON))
    writer.open(tmp_path, sheet()).add(SCORE)
    assert writer.close()
    later = Writer(clock=SetClock(NOON - 3_600_000))
    live = later.open(tmp_path, sheet())
    live.add(SCORE)
    assert [entry.fact for entry in live.entries[1:]] == [Clock(behind_ms=3_600_000), SCORE]
    assert [entry.at[17:] for entry in live.entries] == ["00.000Z", "00.001Z", "00.002Z"]
    later.not_before(NOON + 9000)
    assert later.open(tmp_path, sheet("C05")).add(SCORE).at == "2027-02-03T09:00:09.002Z"
    assert later.close()


def test_many_entries_within_a_millisecond_are_no_clock_that_went_back(tmp_path: Path) -> None:
    writer = Writer(clock=SetClock(NOON))
    live = writer.open(tmp_path, sheet())
    for _ in range(2500):
        live.add(SCORE)
    assert {entry.fact.kind for entry in live.entries} == {"score"}
    assert writer.close(30)


def test_a_time_that_comes_with_a_fact_is_kept_and_moves_no_clock(tmp_path: Path) -> None:
    writer = Writer(clock=SetClock(NOON))
    old, now = writer.open(tmp_path, sheet("C01")), writer.open(tmp_path, sheet("C02"))
    assert old.add(SCORE, at_ms=NOON + 86_400_000).at == "2027-02-04T09:00:00.000Z"
    assert old.add(SCORE, at_ms=NOON).at == "2027-02-04T09:00:00.001Z"
    assert now.add(SCORE).at == "2027-02-03T09:00:00.000Z"
    assert writer.close()


# --- what is refused ---------------------------------------------------------------------------


def test_nothing_is_added_after_a_lock_also_when_opened_again(tmp_path: Path) -> None:
    for _ in range(2):
        writer = Writer()
        live = writer.open(tmp_path, sheet())
        if not live.locked:
            live.add(SCORE)
            live.add(LOCK)
        with pytest.raises(Refusal, match="is locked"):
            live.add(SCORE)
        assert writer.close()
    assert len(read_ledger(tmp_path / FILE).ledger.entries) == 2


@pytest.mark.parametrize(
    ("fact", "sentence"),
    [
        (Morning(weather="fine"), "a sheet ledger holds no morning"),
        (Observation(text="\U0001d160" * 8000), "text: String should have at most 8000 characters"),
        (Observation(tags=("x" * 80,) * 900), "more than fits into one entry"),
        (Observation(text="x", tags=("\ufeff" * 80,) * 136), "more than fits into one entry"),
    ],
)
def test_what_no_reader_would_take_is_refused_before_anything_is_recorded(fact: Observation, sentence: str) -> None:
    disk = MemoryDisk()
    clock = SetClock(NOON)
    writer = Writer(disk=disk, clock=clock)
    live = writer.open(FOLDER, sheet())
    live.add(SCORE)
    clock.ms -= 10_000
    with pytest.raises(Refusal, match=sentence):
        live.add(fact)
    assert len(live.entries) == 1
    live.add(SCORE)
    assert writer.close()
    assert parse_ledger(disk.file(FOLDER / FILE), NAME).problems == ()


def test_a_closed_writer_takes_nothing_more(tmp_path: Path) -> None:
    writer = Writer()
    live = writer.open(tmp_path, sheet())
    assert writer.close()
    assert writer.close()
    with pytest.raises(Refusal, match="closed"):
        live.add(SCORE)
    with pytest.raises(Refusal, match="closed"):
        writer.open(tmp_path, sheet("C05"))


def test_a_damaged_ledger_is_never_continued_and_not_touched(tmp_path: Path) -> None:
    writer = Writer()
    live = writer.open(tmp_path, sheet())
    for fact in facts(3):
        live.add(fact)
    assert writer.close()
    path = tmp_path / FILE
    damaged = path.read_bytes().replace(b"wash", b"push", 1)
    for raw, where in ((damaged, "4"), (damaged.replace(b"ledger 1", b"ledger 2"), "1"), (b"something\n" * 9, "1")):
        path.write_bytes(raw)
        again = Writer()
        with pytest.raises(Refusal, match=rf"{NAME}\.yaml:{where}: is ") as told:
            again.open(tmp_path, sheet())
        assert str(tmp_path.parent) not in str(told.value)
        assert again.close()
        assert path.read_bytes() == raw


@pytest.mark.parametrize("change", [{"course": "K-2027-02"}, {"assessor": "A3"}, {"device": "x9x9x"}, {"task": "T2"}])
def test_a_file_about_something_else_than_its_name_says_is_refused(tmp_path: Path, change: dict[str, str]) -> None:
    writer = Writer()
    live = writer.open(tmp_path, sheet(**change))
    live.add(SCORE)
    assert writer.close()
    (tmp_path / f"{live.name}.yaml").rename(tmp_path / FILE)
    again = Writer()
    with pytest.raises(Refusal, match="about something else than its name says"):
        again.open(tmp_path, sheet())
    assert again.close()


def test_what_is_no_file_of_ours_is_refused_at_once(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.write_bytes(b"")
    sheets = tmp_path / "sheets"
    sheets.mkdir()
    for make in (lambda p: p.symlink_to(elsewhere), lambda p: p.mkdir(), lambda p: os.mkfifo(p)):
        make(sheets / FILE)
        writer = Writer()
        with pytest.raises(StorageTrouble, match="not a plain file"):
            writer.open(sheets, sheet())
        assert writer.close()
        (sheets / FILE).rename(tmp_path / f"done-{len(list(tmp_path.iterdir()))}")


OTHER_WINDOW = """
import sys
from pathlib import Path
from tests.store.disks import sheet
from assess.records.errors import Refusal
from assess.records.facts import Score
from assess.store.writer import Writer
writer = Writer(first_rest=0.01, longest_rest=0.02)
try:
    live = writer.open(Path(sys.argv[1]), sheet())
except Refusal as refusal:
    print(refusal)
    sys.exit()
print("open", flush=True)
sys.stdin.readline()
live.add(Score(criterion="edging", level=2))
print(writer.drain(0.3), writer.state.why, flush=True)
sys.stdin.readline()
print(writer.drain(10), flush=True)
writer.close()
"""


def other_window(folder: Path) -> subprocess.Popen[str]:
    here = Path(__file__).resolve().parents[2]
    return subprocess.Popen(
        [sys.executable, "-c", OTHER_WINDOW, str(folder)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(here)},
    )  # fmt: skip


def test_a_second_window_on_the_same_sheet_is_refused_in_a_sentence(tmp_path: Path) -> None:
    writer = Writer()
    writer.open(tmp_path, sheet()).add(SCORE)
    assert writer.drain(10)
    said, _ = other_window(tmp_path).communicate(timeout=30)
    assert said == (
        f"{tmp_path.name}/{FILE}: is open in another window; close it there; "
        "until then it can be read here, not written\n"
    )
    assert writer.close()
    with other_window(tmp_path) as process:
        assert process.communicate("\n\n", timeout=30)[0].startswith("open\nTrue")


def test_a_second_window_that_comes_first_to_a_new_sheet_keeps_it_and_nothing_is_lost(tmp_path: Path) -> None:
    with other_window(tmp_path) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        assert process.stdout.readline() == "open\n"
        writer = Writer()
        ours = writer.open(tmp_path, sheet(opened="2027-02-03T08:59:00.000Z"))
        ours.add(SCORE)
        assert writer.drain(10)
        process.stdin.write("\n")
        process.stdin.flush()
        assert process.stdout.readline() == "False open in another window\n"
        assert writer.close()
        process.stdin.write("\n")
        process.stdin.flush()
        assert process.stdout.readline() == "True\n"
    found = [read_ledger(path) for path in sorted(tmp_path.iterdir())]
    assert [file.name[: len(NAME) + 1] for file in found] == [NAME, f"{NAME}~"]
    assert [[entry.fact for entry in file.ledger.entries] for file in found] == [
        [SCORE], [Score(criterion="edging", level=2)],
    ]  # fmt: skip


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
