"""Files that leave: shown first, never out of the chosen folder, never over other bytes unasked."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.desk.outgoing import Outgoing, look_ahead, preview_json, preview_lines, write_out
from assess.records.errors import Refusal, StorageTrouble


def item(name: str = "letters/C01.html", content: bytes = b"one", **more: object) -> Outgoing:
    return Outgoing(name, "candidate", "letter of C01", content, **more)  # type: ignore[arg-type]


def test_what_is_shown_first_is_what_is_written(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    planned = look_ahead([item(missing=("no drill",)), item("a.txt", b"two", private=False)], folder, ["C02: unsigned"])
    assert not folder.exists()
    lines = preview_lines(planned)
    assert lines[0] == f"2 files into {folder}"
    assert "letters/C01.html" in lines[1] and "for one candidate" in lines[1] and lines[1].endswith("; new")
    assert lines[2] == "    missing: no drill" and lines[-1] == "  left out: C02: unsigned"
    assert write_out(planned) == 2
    assert (folder / "letters" / "C01.html").read_bytes() == b"one"
    assert stat.S_IMODE((folder / "letters" / "C01.html").stat().st_mode) == 0o600
    assert stat.S_IMODE((folder / "a.txt").stat().st_mode) == 0o644
    document = preview_json(planned, written=True)
    assert [(f["name"], f["bytes"], f["was"]) for f in document["files"]] == [
        ("letters/C01.html", 3, "new"), ("a.txt", 3, "new")
    ]  # fmt: skip
    assert document["left_out"] == ["C02: unsigned"]


def test_the_same_bytes_stay_and_other_bytes_are_refused_before_anything_is_written(tmp_path: Path) -> None:
    write_out(look_ahead([item()], tmp_path))
    again = look_ahead([item()], tmp_path)
    assert again.states == ("same",) and write_out(again) == 0
    changed = look_ahead([item("new.txt"), item(content=b"other")], tmp_path)
    assert changed.states == ("new", "different")
    with pytest.raises(Refusal, match=r"letters/C01\.html: other files stand there"):
        write_out(changed)
    assert not (tmp_path / "new.txt").exists()
    assert write_out(changed, replace=True) == 2
    assert (tmp_path / "letters" / "C01.html").read_bytes() == b"other"
    assert stat.S_IMODE((tmp_path / "letters" / "C01.html").stat().st_mode) == 0o600


@pytest.mark.parametrize("name", ["../x", "/etc/x", "a//b", "a/../b", "", ".x", "a\\b", "C:x", "a\nb", "é", "a/"])
def test_no_name_leads_out_of_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(Refusal, match="no name for a file"):
        look_ahead([item(name)], tmp_path)


def test_a_name_stands_once_also_where_case_does_not_count(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="twice"):
        look_ahead([item("a.txt"), item("A.TXT")], tmp_path)


def test_links_folders_and_files_in_the_way_are_refused(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "letters").symlink_to(outside)
    with pytest.raises(Refusal, match="is a link"):
        look_ahead([item()], folder)
    (folder / "a.txt").mkdir()
    with pytest.raises(Refusal, match="is no file"):
        look_ahead([item("a.txt")], folder)
    (folder / "plain").write_bytes(b"")
    with pytest.raises(Refusal, match="is a file"):
        look_ahead([item()], folder / "plain")
    with pytest.raises(StorageTrouble, match="cannot be written"):
        write_out(look_ahead([item("plain/x.txt")], folder))


@given(st.text(max_size=12))
def test_whatever_the_name_the_file_is_in_the_folder_or_refused(name: str) -> None:
    folder = Path("/nowhere/at/all")
    try:
        look_ahead([item(name)], folder)
    except Refusal:
        return
    assert (folder / name).resolve().is_relative_to(folder) and (folder / name) != folder
