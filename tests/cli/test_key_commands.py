"""The commands of `assess key`, and what they never say."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from assess.store.folders import data_folder
from assess.store.unlocked import local_day
from tests.cli.commands import Ran, assess, tree
from tests.courses import build_course

PHRASE = "four words on a lift"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", candidates=2, tasks=("T6",))


@pytest.fixture
def keyed(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., Ran]]:
    """Runs a command with a passphrase handed in through a descriptor."""
    ends: list[int] = []

    def run(*words: str | Path, phrase: bytes = PHRASE.encode() + b"\n") -> Ran:
        reading, writing = os.pipe()
        os.write(writing, phrase)
        os.close(writing)
        ends.append(reading)
        monkeypatch.setenv("ASSESS_PASSPHRASE_FD", str(reading))
        try:
            return assess(*words)
        finally:
            monkeypatch.delenv("ASSESS_PASSPHRASE_FD")

    yield run
    for end in ends:
        os.close(end)


def test_from_a_new_key_to_a_signed_lock(root: Path, tmp_path: Path, keyed: Callable[..., Ran]) -> None:
    made = keyed("key", "new", "--json")
    assert (made.code, made.err) == (0, "")
    short = made.json["fingerprint"]
    public = tmp_path / "A1.pub.yaml"
    assert assess("key", "show", "--to", public).code == 0
    listed = assess("key", "add", root, public, "--for", "A1", "--from", local_day(), "--as", "D1")
    assert listed.all == (0, f"{root}/keys.yaml: key {short} of A1, from {local_day()}\n", "")
    shown = assess("key", "show")
    assert shown.out == f"signing  ed25519  {short}  made {local_day()}\n"
    unlocked = keyed("key", "unlock")
    assert unlocked.out == f"signing is unlocked until the end of {local_day()}; `assess key lock` locks it before\n"
    assert "unlocked for today" in assess("key", "show").out
    for criterion in ("hazards", "line"):
        assess("mark", root / "T6.C01", "--as", "A1", f"{criterion}=4")
    locked = assess("lock", root / "T6.C01", "--as", "A1", "--json")
    assert locked.json["locked"] is False  # not every criterion has a level yet
    for criterion in [hole["text"].split(":")[0] for hole in locked.json["holes"] if hole["blocks"]]:
        assess("mark", root / "T6.C01", "--as", "A1", f"{criterion}=4")
    locked = assess("lock", root / "T6.C01", "--as", "A1", "--json")
    assert (locked.json["locked"], locked.json["signed"]) == (True, True)
    assert assess("key", "lock").out == "locked\n"
    assert assess("key", "lock", "--json").json == {"locked": 0}
    revoked = assess("key", "revoke", root, short, "--on", "2999-01-01", "--as", "D1", "--json")
    assert (revoked.code, revoked.json["revoked"]) == (0, "2999-01-01")


def test_a_lock_without_an_unlocked_key_says_so_once_a_day_and_only_to_those_who_have_one(
    root: Path, keyed: Callable[..., Ran]
) -> None:
    keyed("key", "new")
    words = []
    for candidate in ("C01", "C02"):
        for _ in range(2):
            ran = assess("lock", root / f"T6.{candidate}", "--as", "A1", "--json")
            for criterion in [hole["text"].split(":")[0] for hole in ran.json["holes"] if hole["blocks"]]:
                assess("mark", root / f"T6.{candidate}", "--as", "A1", f"{criterion}=4")
        words.append(ran.err)
        assert ran.json["signed"] is False and ran.json["locked"] is True
    assert words == ["your locks today are not signed: run `assess key unlock`\n", ""]


def test_a_certificate_key_has_its_own_name_and_is_not_unlocked(keyed: Callable[..., Ran]) -> None:
    made = keyed("key", "new", "--certificate", "--json")
    assert (made.json["name"], made.json["kind"]) == ("certificate", "rsa-3072")
    ran = keyed("key", "unlock")
    assert (ran.code, ran.out) == (1, "")
    assert "there is no such key on this device; make one with `assess key new`" in ran.err


def test_no_command_says_a_passphrase_or_a_private_half(root: Path, tmp_path: Path, keyed: Callable[..., Ran]) -> None:
    from assess.store.key_files import open_key, stored_keys
    from assess.store.signatures import to_base64url

    said = [keyed("key", "new", "--json"), keyed("key", "unlock", "--json"), assess("key", "show", "--json")]
    said += [assess("key", "show", "--to", tmp_path / "p.yaml", "--json")]
    said += [assess("key", "add", root, tmp_path / "p.yaml", "--for", "A1", "--as", "D1", "--json")]
    secret = open_key(stored_keys()[0], PHRASE)
    everything = "".join(ran.out + ran.err for ran in said) + "".join(raw.decode() for raw in tree(root).values())
    for form in (PHRASE, secret.hex(), to_base64url(secret)):
        assert form not in everything
    assert all(ran.code == 0 for ran in said)


def test_a_name_is_taken_once_and_nothing_is_written_over(tmp_path: Path, keyed: Callable[..., Ran]) -> None:
    keyed("key", "new", "--name", "mine")
    before = tree(data_folder())
    again = keyed("key", "new", "--name", "mine")
    assert (again.code, again.out) == (1, "")
    assert "no key is ever overwritten; give another --name" in again.err
    public = tmp_path / "p.yaml"
    public.write_text("something")
    assert assess("key", "show", "--to", public).code == 1
    assert public.read_text() == "something"
    assert tree(data_folder()) == before


@pytest.mark.parametrize(
    ("phrase", "says", "code"),
    [
        (b"short\n", "at least 10 characters", 1),
        (b"", "at least 10 characters", 1),
        (b"\xff\xfe a long one\n", "not UTF-8", 2),
    ],
)
def test_a_passphrase_that_cannot_be_used_makes_no_key(
    keyed: Callable[..., Ran], phrase: bytes, says: str, code: int
) -> None:
    ran = keyed("key", "new", phrase=phrase)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err
    assert not (data_folder() / "keys").exists()


@pytest.mark.parametrize("named", ["x", "-1", "9999", "1e3", "99999999999999999999"])
def test_a_descriptor_that_is_none_is_a_sentence(monkeypatch: pytest.MonkeyPatch, named: str) -> None:
    monkeypatch.setenv("ASSESS_PASSPHRASE_FD", named)
    ran = assess("key", "new")
    assert (ran.code, ran.out) == (2, "")
    assert "no open descriptor" in ran.err


def test_without_a_terminal_or_a_descriptor_nobody_is_asked() -> None:
    ran = assess("key", "new")
    assert (ran.code, ran.out) == (2, "")
    assert "there is no terminal on which to ask for the passphrase" in ran.err


def test_a_wrong_passphrase_unlocks_nothing(keyed: Callable[..., Ran]) -> None:
    keyed("key", "new")
    ran = keyed("key", "unlock", phrase=b"some other words\n")
    assert (ran.code, ran.out) == (1, "")
    assert "the passphrase does not fit the key signing" in ran.err
    assert assess("key", "lock", "--json").json == {"locked": 0}


def test_only_a_director_lists_and_revokes(root: Path, tmp_path: Path, keyed: Callable[..., Ran]) -> None:
    keyed("key", "new")
    assess("key", "show", "--to", tmp_path / "p.yaml")
    for words in (("add", root, tmp_path / "p.yaml", "--for", "A1"), ("revoke", root, "0" * 16)):
        ran = assess("key", *words, "--as", "A1")
        assert (ran.code, ran.out) == (1, "")
        assert "only a director changes the list of keys" in ran.err
    assert not (root / "keys.yaml").exists()


def test_a_device_without_a_key_says_how_to_make_one() -> None:
    assert assess("key", "show").all == (0, "no such key on this device; make one with `assess key new`\n", "")
    assert assess("key", "show", "--json").json == {"keys": []}
