"""Keys of a person: one file each, private, whole or not at all, never overwritten, opened by its passphrase alone."""

from __future__ import annotations

import base64
import os
import signal
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

from assess.records.errors import InputError, Refusal, StorageTrouble
from assess.records.key_list import fingerprint
from assess.store.folders import data_folder
from assess.store.key_files import StoredKey, make_key, open_key, stored_key, stored_keys
from tests.store.test_atomic import Counting

PHRASE = "four words on a lift"
DAY = "2027-02-03"


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_a_key_is_one_private_file_and_opens_with_its_passphrase() -> None:
    key = make_key("signing", "ed25519", PHRASE, DAY)
    assert (mode(key.path), mode(key.path.parent)) == (0o600, 0o700)
    assert key.path == data_folder() / "keys" / "signing.key"
    private = Ed25519PrivateKey.from_private_bytes(open_key(key, PHRASE))
    raw = private.public_key().public_bytes_raw()
    assert base64.urlsafe_b64decode(key.public + "=") == raw
    assert key.short == fingerprint(raw)[:16]
    assert stored_keys() == (key,)


def test_nothing_of_the_private_half_stands_in_the_file_in_clear() -> None:
    key = make_key("signing", "ed25519", PHRASE, DAY)
    raw, secret = key.path.read_bytes(), open_key(key, PHRASE)
    for form in (secret, secret.hex().encode(), base64.b64encode(secret), base64.urlsafe_b64encode(secret)[:40]):
        assert form not in raw
    assert PHRASE.encode() not in raw
    # Not even to somebody who tries the passphrase without the stretching.
    with pytest.raises(ValueError, match="password"):
        serialization.load_pem_private_key(raw[raw.index(b"-----") :], PHRASE.encode())


def test_a_file_others_could_read_never_stood_there_not_for_a_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[int] = []

    class Watching(Counting):
        def open(self, path: Path, flags: int, mode: int = 0o644) -> int:
            if flags & os.O_CREAT:
                opened.append(mode)
            return super().open(path, flags, mode)

    make_key("signing", "ed25519", PHRASE, DAY, disk=Watching(-1))
    assert opened == [0o600]


def test_a_certificate_key_is_rsa_of_3072_bits() -> None:
    key = make_key("certificate", "rsa-3072", PHRASE, DAY)
    private = serialization.load_der_private_key(open_key(key, PHRASE), None)
    assert isinstance(private, RSAPrivateKey)
    assert private.key_size == 3072
    assert private.private_numbers().public_numbers.e == 65537
    assert stored_key(None, "rsa-3072") == key


def test_a_key_is_never_overwritten() -> None:
    first = make_key("signing", "ed25519", PHRASE, DAY)
    raw = first.path.read_bytes()
    for kind in ("ed25519", "rsa-3072"):
        with pytest.raises(Refusal, match="no key is ever overwritten"):
            make_key("signing", kind, PHRASE, DAY)
    assert first.path.read_bytes() == raw
    first.path.unlink()
    first.path.symlink_to("/nowhere")
    with pytest.raises(Refusal, match="no key is ever overwritten"):
        make_key("signing", "ed25519", PHRASE, DAY)


@pytest.mark.parametrize("name", ["", "../x", "a/b", ".hidden", "a..b", "x" * 41, "sp ace", "é"])
def test_a_name_that_could_be_a_path_is_refused(name: str) -> None:
    with pytest.raises(Refusal, match="is no name for a key"):
        make_key(name, "ed25519", PHRASE, DAY)
    assert not data_folder().exists()


@pytest.mark.parametrize("phrase", ["", "short", "123456789", "x" * 1001])
def test_a_passphrase_that_is_too_short_makes_no_key(phrase: str) -> None:
    with pytest.raises(Refusal, match="at least 10"):
        make_key("signing", "ed25519", phrase, DAY)
    assert stored_keys() == ()


@pytest.mark.parametrize("phrase", ["", "four words on a lifT", PHRASE + " ", "x" * 2000])
def test_another_passphrase_opens_nothing(phrase: str) -> None:
    key = make_key("signing", "ed25519", PHRASE, DAY)
    with pytest.raises(Refusal, match="the passphrase does not fit"):
        open_key(key, phrase)


def test_one_passphrase_typed_on_two_keyboards_is_one() -> None:
    key = make_key("signing", "ed25519", "Höhe über allem", DAY)
    assert len(open_key(key, "Ho\u0308he u\u0308ber allem")) == 32


def test_a_key_others_may_read_is_not_used() -> None:
    key = make_key("signing", "ed25519", PHRASE, DAY)
    key.path.chmod(0o640)
    with pytest.raises(InputError, match="others may read it"):
        open_key(key, PHRASE)
    key.path.chmod(0o600)
    key.path.parent.chmod(0o755)
    with pytest.raises(InputError, match="others may read it"):
        open_key(key, PHRASE)


def test_a_public_half_that_was_exchanged_is_found_when_the_key_is_opened() -> None:
    one = make_key("one", "ed25519", PHRASE, DAY)
    two = make_key("two", "ed25519", PHRASE, DAY)
    one.path.write_bytes(one.path.read_bytes().replace(one.public.encode(), two.public.encode()))
    with pytest.raises(InputError, match="not that of its private one"):
        open_key(one, PHRASE)


def damaged(raw: bytes) -> list[bytes]:
    return [b"", raw[:40], raw[:-10], raw + b"x", raw.replace(b"# name: signing", b"# name: other"), b"\xff" + raw[1:]]


@pytest.mark.parametrize("way", range(6))
def test_a_file_that_is_no_key_any_more_is_a_sentence(way: int) -> None:
    key = make_key("signing", "ed25519", PHRASE, DAY)
    key.path.write_bytes(damaged(key.path.read_bytes())[way])
    with pytest.raises(InputError, match="is no key of this program, or was changed"):
        stored_keys()


def test_without_a_name_the_only_key_is_meant_and_of_several_one_is_asked_for() -> None:
    with pytest.raises(Refusal, match="there is no such key on this device"):
        stored_key(None, "ed25519")
    one = make_key("one", "ed25519", PHRASE, DAY)
    make_key("paper", "rsa-3072", PHRASE, DAY)
    assert stored_key(None, "ed25519") == one
    make_key("two", "ed25519", PHRASE, DAY)
    with pytest.raises(Refusal, match="give --name: one, two"):
        stored_key(None, "ed25519")
    assert stored_key("two", "ed25519").name == "two"
    with pytest.raises(Refusal, match="no such key paper"):
        stored_key("paper", "ed25519")


def test_whichever_call_fails_there_is_a_whole_key_or_none() -> None:
    for at in range(8):
        disk = Counting(at)
        before = stored_keys()
        try:
            key: StoredKey | None = make_key(f"key-{at}", "ed25519", PHRASE, DAY, disk=disk)
        except StorageTrouble as trouble:
            assert "there is no half of one" in trouble.todo
            key = None
        found = [each for each in stored_keys() if each not in before]
        assert all(len(open_key(each, PHRASE)) == 32 for each in found)
        assert key is None or found == [key]
        if at < 4:
            assert found == []


SCRIPT = """
import os, signal, sys
from assess.store.disk import Disk
from assess.store.key_files import make_key

class Killed(Disk):
    calls = 0

def killed(name):
    real = getattr(Disk, name)
    def call(self, *words, **more):
        if Killed.calls == int(sys.argv[1]):
            os.kill(os.getpid(), signal.SIGKILL)
        Killed.calls += 1
        return real(self, *words, **more)
    return call

for name in ("open", "write", "fsync", "flock", "stat", "replace", "close", "sync_folder"):
    setattr(Killed, name, killed(name))
make_key("signing", "ed25519", "four words on a lift", "2027-02-03", disk=Killed())
print(Killed.calls)
"""


def test_a_program_killed_between_any_two_calls_leaves_a_whole_key_or_none(tmp_path: Path) -> None:
    here = Path(__file__).resolve().parents[2]
    stood: list[bool] = []
    for at in range(40):
        data = tmp_path / f"data-{at}"
        ran = subprocess.run(
            [sys.executable, "-c", SCRIPT, str(at)], stdout=subprocess.PIPE, check=False,
            env={**os.environ, "PYTHONPATH": str(here), "ASSESS_DATA_DIR": str(data)},
        )  # fmt: skip
        key = data / "keys" / "signing.key"
        stood.append(key.exists())
        if key.exists():
            assert key.read_bytes().endswith(b"-----END ENCRYPTED PRIVATE KEY-----\n")
        assert all(mode(path) & 0o077 == 0 for path in data.rglob("*"))
        if ran.returncode == 0:
            break
        assert ran.returncode == -signal.SIGKILL
    assert ran.returncode == 0 and len(stood) > 8
    # Once it stands there it stays there: nothing before the rename, all of it after.
    assert stood == sorted(stood) and stood[0] is False and stood[-1] is True
