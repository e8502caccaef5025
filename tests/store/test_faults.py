"""Whatever the disk does at whichever call, the state says so, and in the end all is there exactly once."""

from __future__ import annotations

import errno
import hashlib
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.facts import Score
from assess.store.atomic import create_file, replace_file
from assess.store.disk import Disk
from assess.store.ledger_file import parse_ledger, read_ledger
from assess.store.live import LiveLedger
from assess.store.writer import SaveState, Writer
from tests.store.disks import FOLDER, Fault, MemoryDisk, facts, sheet

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
    durable = disk.nodes[disk.durable_names[PATH]].durable
    assert durable == disk.file(PATH)


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


# --- the file or the folder under an open ledger -------------------------------------------------


class Place:
    """A real folder with an open ledger of three saved entries."""

    def __init__(self, root: Path) -> None:
        self.folder = root / "sheets"
        self.folder.mkdir()
        self.path = self.folder / FILE
        self.told: list[SaveState] = []
        self.writer = Writer(on_change=self.told.append, first_rest=0.001, longest_rest=0.01)
        self.live = self.writer.open(self.folder, sheet())
        for fact in facts(3):
            self.live.add(fact)
        assert self.writer.drain(10)
        self.saved = self.path.read_bytes()
        self.told.clear()

    def add(self) -> None:
        self.live.add(Score(criterion="edging", level=1))

    def done(self) -> dict[str, bytes]:
        """Everything saved and closed: what stands in the folder."""
        assert self.writer.drain(10)
        assert self.writer.close()
        assert self.live.acknowledged == len(self.live.entries)
        return {path.name: path.read_bytes() for path in sorted(self.folder.iterdir())}

    def words(self) -> set[str]:
        return {f"{state.word}: {state.why}" for state in self.told if state.word == "not saved"}

    def assert_whole(self, name: str = FILE) -> None:
        found = read_ledger(self.folder / name)
        assert (list(found.ledger.entries), found.problems) == (self.live.entries, ())


@pytest.fixture
def place(tmp_path: Path) -> Place:
    return Place(tmp_path)


def test_a_file_removed_is_written_again_whole(place: Place) -> None:
    place.path.unlink()
    place.add()
    assert list(place.done()) == [FILE]
    place.assert_whole()
    assert place.words() == {"not saved: file removed"}


def test_a_file_removed_after_the_last_entry_is_written_again_when_closing(place: Place) -> None:
    place.path.unlink()
    assert place.done() == {FILE: place.saved}


def test_a_file_replaced_by_its_own_copy_is_taken_up(place: Place) -> None:
    copy = place.folder / "copy"
    shutil.copy(place.path, copy)
    copy.rename(place.path)
    place.add()
    assert list(place.done()) == [FILE]
    place.assert_whole()
    assert place.words() == {"not saved: file replaced"}


@pytest.mark.parametrize("kept", [0, 10, 300, 600])
def test_a_file_replaced_by_an_older_copy_or_cut_gets_the_rest(place: Place, kept: int) -> None:
    for how in ("replaced", "cut"):
        if how == "cut":
            with place.path.open("r+b") as file:
                file.truncate(kept)
        else:
            (place.folder / "old").write_bytes(place.saved[:kept])
            (place.folder / "old").rename(place.path)
        place.add()
        assert place.writer.drain(10)
    assert list(place.done()) == [FILE]
    place.assert_whole()


@pytest.mark.parametrize("other", [b"something else\n", b"", b"# assess ledger 1\nheader: {}\nentries:\n"])
def test_a_file_replaced_by_something_else_is_left_alone_and_ours_goes_on_beside_it(place: Place, other: bytes) -> None:
    (place.folder / "other").write_bytes(other or place.saved + b"- more\n")
    (place.folder / "other").rename(place.path)
    place.add()
    place.add()
    standing = place.path.read_bytes()
    left = place.done()
    beside = next(name for name in left if name != FILE)
    first = place.saved.find(b"\n", place.saved.find(b"\nentries:\n") + 10) + 1
    assert beside == f"{NAME}~{hashlib.sha256(place.saved[:first]).hexdigest()[:8]}.yaml"
    assert left[FILE] == standing
    place.assert_whole(beside)
    assert "not saved: file replaced" in place.words()
    assert place.writer.state.word == "saved"
    assert place.writer.state.why == f"{FILE} holds something else; all of this record is in {beside}"


def test_a_link_or_a_folder_in_the_place_of_the_file_is_left_alone_too(place: Place, tmp_path: Path) -> None:
    place.path.rename(tmp_path / "moved")
    place.path.symlink_to(tmp_path / "moved")
    place.add()
    assert place.writer.drain(10)
    beside = next(path for path in place.folder.iterdir() if path != place.path)
    beside.unlink()
    beside.mkdir()
    place.add()
    assert place.writer.drain(10)
    assert place.writer.close()
    third = next(path for path in place.folder.iterdir() if path not in (place.path, beside))
    place.assert_whole(third.name)
    # The line was on its way into the moved file before anybody could see that it was moved.
    assert (tmp_path / "moved").read_bytes().startswith(place.saved)


def test_a_line_another_program_put_behind_ours_is_left_and_ours_goes_on_beside_it(place: Place) -> None:
    with place.path.open("ab") as file:
        file.write(b"# a note\n")
    place.add()
    left = place.done()
    assert left[FILE].startswith(place.saved + b"# a note\n")
    place.assert_whole(next(name for name in left if name != FILE))
    assert "not saved: file changed by another program" in place.words()


def test_a_folder_removed_is_not_saved_until_it_is_back(place: Place) -> None:
    place.folder.rename(place.folder.with_name("away"))
    place.add()
    while "not saved: folder gone" not in place.words():
        place.writer.drain(0.01)
    assert place.writer.state.waiting == 1
    assert place.live.acknowledged == 3
    place.folder.with_name("away").rename(place.folder)
    assert list(place.done()) == [FILE]
    place.assert_whole()


def test_a_folder_removed_for_good_and_made_anew_gets_the_whole_ledger(place: Place) -> None:
    shutil.rmtree(place.folder)
    place.add()
    while "not saved: folder gone" not in place.words():
        place.writer.drain(0.01)
    place.folder.mkdir()
    assert list(place.done()) == [FILE]
    place.assert_whole()


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


# --- whole files -------------------------------------------------------------------------------


class Counting(Disk):
    """A real disk on which the call with a given number fails."""

    def __init__(self, at: int) -> None:
        self.at = at
        self.names: list[str] = []

    def _count(self, name: str) -> None:
        self.names.append(name)
        if len(self.names) - 1 == self.at:
            raise OSError(errno.EIO, "broken")

    def open(self, path: Path, flags: int, mode: int = 0o644) -> int:
        self._count("open")
        return super().open(path, flags, mode)

    def write(self, fd: int, data: bytes) -> int:
        self._count("write")
        # A system may take fewer bytes than it is given.
        return super().write(fd, data[:1000])

    def fsync(self, fd: int) -> None:
        self._count("fsync")
        super().fsync(fd)

    def replace(self, source: Path, target: Path) -> None:
        self._count("replace")
        super().replace(source, target)

    def sync_folder(self, path: Path) -> None:
        super().sync_folder(path)
        self._count("sync_folder")


def test_a_file_is_replaced_whole_or_not_at_all_whichever_call_fails(tmp_path: Path) -> None:
    path = tmp_path / "people.yaml"
    new = b"new\n" * 1000
    for at in range(8):
        path.write_bytes(b"old")
        path.chmod(0o600)
        disk = Counting(at)
        try:
            replace_file(path, new, disk=disk)
        except OSError:
            assert path.read_bytes() == (new if disk.names[-1] == "sync_folder" else b"old")
        else:
            assert at == 8 - 1
            assert disk.names == ["open", "write", "write", "write", "write", "fsync", "replace", "sync_folder"][:at]
        assert path.stat().st_mode & 0o777 == 0o600
        assert [p.name for p in tmp_path.iterdir()] == ["people.yaml"]


def test_a_file_is_created_only_where_nothing_stands(tmp_path: Path) -> None:
    create_file(tmp_path / "a", b"one")
    with pytest.raises(FileExistsError):
        create_file(tmp_path / "a", b"two")
    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("a", b"one")]
