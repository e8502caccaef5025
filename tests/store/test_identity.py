"""Which device this is and who sat at it: made once, kept apart from every course, harmless to lose."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from assess.records.ids import DEVICE_ALPHABET
from assess.store import folders, identity
from assess.store.identity import device_id, remember_person, remembered_person, state_trouble

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "state"
    monkeypatch.setenv("ASSESS_STATE_DIR", str(folder))
    return folder


def forget_this_process() -> None:
    identity._device_of.cache_clear()


def test_the_device_has_one_name_from_then_on(state: Path) -> None:
    first = device_id()
    assert re.fullmatch(f"[{DEVICE_ALPHABET}]{{5}}", first)
    forget_this_process()
    assert device_id() == first
    assert state_trouble() == ""
    assert (state / "device").read_text() == f"{first}\n"


def test_another_state_folder_is_another_device(state: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = device_id()
    monkeypatch.setenv("ASSESS_STATE_DIR", str(state.parent / "other"))
    assert device_id() != first


@pytest.mark.parametrize("content", [b"", b"TOOLONG", b"abcde\n", b"\xff\xfe", b"../..", b"0" * 500_000])
def test_a_damaged_name_is_replaced_by_a_new_one_that_stays(state: Path, content: bytes) -> None:
    state.mkdir()
    (state / "device").write_bytes(content)
    made = device_id()
    forget_this_process()
    assert device_id() == made
    assert state_trouble() == ""


def test_a_pipe_in_the_place_of_the_name_is_not_waited_for_and_a_link_is_not_written_through(state: Path) -> None:
    state.mkdir()
    os.mkfifo(state / "device")
    made = device_id()
    assert (state / "device").read_text() == f"{made}\n"
    forget_this_process()
    (state / "device").unlink()
    (state / "elsewhere").write_text("somebody else's file\n")
    (state / "device").symlink_to(state / "elsewhere")
    assert device_id() != made
    assert (state / "elsewhere").read_text() == "somebody else's file\n"


def test_a_folder_in_the_place_of_the_name_is_told_and_the_work_goes_on(state: Path) -> None:
    (state / "device").mkdir(parents=True)
    (state / "people.json").mkdir()
    made = device_id()
    assert re.fullmatch(f"[{DEVICE_ALPHABET}]{{5}}", made)
    assert device_id() == made
    assert "this device has a name for this session only" in state_trouble()
    assert "who you are is asked again next time" in remember_person("K-1", "A1")


def test_what_belongs_to_this_device_is_for_its_owner_alone(state: Path) -> None:
    device_id()
    assert state.stat().st_mode & 0o777 == 0o700


def test_no_name_holds_a_vowel_or_a_sign_that_is_mistaken_for_another(tmp_path: Path) -> None:
    names = {identity._device_of(tmp_path / str(number))[0] for number in range(40)}
    assert not set("".join(names)) & set("aeiou01l")
    # 27 signs in five places: two of forty are alike once in eighteen thousand runs, three once in a thousand million.
    assert len(names) >= 39


def test_processes_that_start_together_have_one_name(state: Path) -> None:
    program = "from assess.store.identity import device_id; print(device_id())"
    runs = [
        subprocess.Popen([sys.executable, "-c", program], cwd=ROOT, stdout=subprocess.PIPE, text=True) for _ in range(3)
    ]
    said = {run.communicate()[0].strip() for run in runs}
    assert said == {(state / "device").read_text().strip()}


def test_where_nothing_can_be_written_the_name_holds_for_this_process_and_a_sentence_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_bytes(b"")
    monkeypatch.setenv("ASSESS_STATE_DIR", str(tmp_path / "file" / "state"))
    first = device_id()
    assert re.fullmatch(f"[{DEVICE_ALPHABET}]{{5}}", first)
    assert device_id() == first
    assert "cannot be written (Not a directory); this device has a name for this session only" in state_trouble()
    assert "asked again next time" in remember_person("K-1", "A1")
    assert remembered_person("K-1") is None


def test_the_person_is_remembered_for_each_course(state: Path) -> None:
    assert remembered_person("K-1") is None
    assert remember_person("K-1", "A1") == ""
    assert remember_person("k-1", "A2") == ""
    assert (remembered_person("K-1"), remembered_person("k-1")) == ("A1", "A2")
    assert remember_person("K-1", "D1") == ""
    assert (remembered_person("K-1"), remembered_person("K-2")) == ("D1", None)


@pytest.mark.parametrize(
    "content", [b"", b"[]", b"{", b"\xff", b'{"K-1": 5}', b'{"K-1": "../x"}', b"[" * 100_000, b'"A1"']
)
def test_a_damaged_memory_is_no_memory_and_can_be_written_again(state: Path, content: bytes) -> None:
    state.mkdir()
    (state / "people.json").write_bytes(content)
    assert remembered_person("K-1") is None
    assert remember_person("K-1", "A1") == ""
    assert remembered_person("K-1") == "A1"


def test_without_an_override_state_and_cache_are_folders_of_the_system(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("ASSESS_STATE_DIR", "ASSESS_CACHE_DIR", "XDG_STATE_HOME", "XDG_CACHE_HOME"):
        monkeypatch.delenv(name, raising=False)
    home = Path.home()
    state, cache = folders.state_folder(), folders.cache_folder()
    assert state != cache
    assert all(folder.is_relative_to(home) and folder.name == "assess" for folder in (state, cache))
    monkeypatch.setenv("ASSESS_CACHE_DIR", "/elsewhere")
    assert folders.cache_folder() == Path("/elsewhere")
