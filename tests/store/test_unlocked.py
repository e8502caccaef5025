"""A key unlocked for a day: private, gone at midnight and on demand, and never used when others could have read it."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest

from assess.records.errors import StorageTrouble
from assess.store.disk import Disk
from assess.store.folders import runtime_folder, state_folder
from assess.store.key_files import StoredKey, make_key, open_key
from assess.store.unlocked import keep_unlocked, local_day, lock_keys, unlocked_keys
from tests.store.test_key_files import DAY, PHRASE

pytestmark = pytest.mark.usefixtures("known_passphrases")
TOMORROW = "2027-02-04"


@pytest.fixture
def key() -> StoredKey:
    made = make_key("signing", "ed25519", PHRASE, DAY)
    keep_unlocked(made, open_key(made, PHRASE), DAY)
    return made


def file_of(key: StoredKey) -> Path:
    return runtime_folder() / "unlocked" / f"{key.short}.json"


def test_an_unlocked_key_signs_today_and_is_gone_tomorrow(key: StoredKey) -> None:
    [found] = unlocked_keys(DAY)
    assert (found.public, found.short) == (key.public, key.short)
    assert found.private == open_key(key, PHRASE)
    assert unlocked_keys(TOMORROW) == ()
    assert not file_of(key).exists()
    assert unlocked_keys(DAY) == ()


def test_it_stands_in_a_file_and_a_folder_of_this_person_alone(key: StoredKey) -> None:
    assert stat.S_IMODE(file_of(key).stat().st_mode) == 0o600
    assert stat.S_IMODE(file_of(key).parent.stat().st_mode) == 0o700


def test_no_text_of_it_tells_the_private_half(key: StoredKey) -> None:
    [found] = unlocked_keys(DAY)
    assert repr(found.private) not in repr(found) and found.private.hex() not in repr(found)


def test_locking_takes_every_key_away_and_what_a_killed_program_left_of_one(key: StoredKey) -> None:
    left = file_of(key).with_name(f".{key.short}.json-0a1b2c3d")
    left.write_text("half a key")
    stranger = file_of(key).with_name("notes.txt")
    stranger.write_text("not ours")
    assert lock_keys() == 1
    assert sorted(path.name for path in file_of(key).parent.iterdir()) == ["notes.txt"]
    assert lock_keys() == 0
    assert unlocked_keys(DAY) == ()


def test_locking_without_anything_unlocked_is_nothing_to_do() -> None:
    assert lock_keys() == 0


@pytest.mark.parametrize("what", ["file", "folder"])
def test_what_others_may_read_is_not_used(key: StoredKey, what: str) -> None:
    (file_of(key) if what == "file" else file_of(key).parent).chmod(0o744)
    assert unlocked_keys(DAY) == ()


def test_a_link_is_not_followed(key: StoredKey, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere.json"
    file_of(key).rename(elsewhere)
    file_of(key).symlink_to(elsewhere)
    assert unlocked_keys(DAY) == ()
    file_of(key).unlink()
    folder = file_of(key).parent
    folder.rmdir()
    (tmp_path / "open").mkdir(mode=0o700)
    folder.symlink_to(tmp_path / "open")
    assert unlocked_keys(DAY) == ()
    with pytest.raises(StorageTrouble, match="others may enter this folder"):
        keep_unlocked(key, bytes(32), DAY)
    assert list((tmp_path / "open").iterdir()) == []


@pytest.mark.parametrize(
    "said",
    ["", "[]", "{}", '{"day": "2027-02-03", "public": "x", "private": "y"}', '{"day": "2027-02-03"}', "\x00"],
)
def test_a_file_that_holds_no_key_is_none(key: StoredKey, said: str) -> None:
    file_of(key).write_text(said)
    assert unlocked_keys(DAY) == ()


def test_a_key_under_the_name_of_another_is_none(key: StoredKey) -> None:
    two = make_key("two", "ed25519", PHRASE, DAY)
    document = json.loads(file_of(key).read_text())
    file_of(key).write_text(json.dumps({**document, "public": two.public}))
    assert unlocked_keys(DAY) == ()


def test_unlocking_again_takes_the_place_of_what_stood_there_whatever_its_rights(key: StoredKey) -> None:
    file_of(key).chmod(0o644)
    keep_unlocked(key, open_key(key, PHRASE), TOMORROW)
    assert stat.S_IMODE(file_of(key).stat().st_mode) == 0o600
    assert len(unlocked_keys(TOMORROW)) == 1


def test_a_disk_that_refuses_is_a_sentence(key: StoredKey) -> None:
    class Full(Disk):
        def write(self, fd: int, data: bytes) -> int:
            raise OSError(28, "No space left on device")

    with pytest.raises(StorageTrouble, match="disk full"):
        keep_unlocked(key, bytes(32), DAY, disk=Full())
    assert unlocked_keys(DAY) == ()


def test_the_session_folder_is_taken_only_where_it_is_this_persons_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("ASSESS_RUNTIME_DIR")
    own, shared = tmp_path / "own", tmp_path / "shared"
    own.mkdir(mode=0o700)
    shared.mkdir()
    shared.chmod(0o755)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(own))
    assert runtime_folder() == own / "assess"
    for other in (str(shared), "", "relative", str(tmp_path / "missing")):
        monkeypatch.setenv("XDG_RUNTIME_DIR", other)
        assert runtime_folder() == state_folder()


def test_today_is_a_day() -> None:
    assert len(local_day()) == len(DAY)
