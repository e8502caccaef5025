"""The file or its folder taken away or replaced under an open ledger, on a real disk."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import pytest

from assess.records.facts import Score
from assess.store.ledger_file import read_ledger
from assess.store.writer import SaveState, Writer
from tests.store.disks import facts, sheet

NAME = "T1.C04.A2.d7h2k"
FILE = f"{NAME}.yaml"


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
