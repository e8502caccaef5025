"""`assess certificate` to a file and `assess verify` of it, as two people type them: the issuer and whoever checks."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from assess.desk.deciding import sign
from assess.desk.feedback import release
from tests.cli.commands import Ran, assess
from tests.sample.story import DAY_9, Story

PHRASE = b"four words on a lift\n"


@pytest.fixture
def keyed(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Ran]:
    """Runs a command with the passphrase handed in through a descriptor."""

    def run(*words: str | Path) -> Ran:
        reading, writing = os.pipe()
        os.write(writing, PHRASE)
        os.close(writing)
        monkeypatch.setenv("ASSESS_PASSPHRASE_FD", str(reading))
        try:
            return assess(*words)
        finally:
            monkeypatch.delenv("ASSESS_PASSPHRASE_FD")
            os.close(reading)

    return run


@pytest.fixture
def story(morning: Story, tmp_path: Path) -> Story:
    """Decided and released; C01's grant is signed anew without an end, so that no day of the year matters here."""
    story = morning.again(tmp_path)
    story.clock.ms = DAY_9
    story.sign_all()
    with story.desk("D1") as desk:
        sign(desk, "C01", "demo", reason="carried without an end")
        release(desk, "candidates")
    return story


def test_from_a_new_key_to_a_certificate_that_is_checked_and_withdrawn(
    story: Story, tmp_path: Path, keyed: Callable[..., Ran]
) -> None:
    root, keys, out = story.root, story.root / "keys.yaml", tmp_path / "out"
    file, listed = out / "C01.jwt", out / "status.jwt"
    assert keyed("key", "new", "--certificate").code == 0
    public = tmp_path / "D1.pub.yaml"
    assert assess("key", "show", "--name", "certificate", "--to", public).code == 0
    add = assess("key", "add", root, public, "--for", "D1", "--from", "2026-02-01", "--as", "D1")
    assert (add.code, add.err) == (0, "")

    make = ("certificate", root, "C01", "--module", "demo", "--to", file, "--as", "D1")
    assert keyed(*make, "--dry-run").code == 0 and not file.exists()
    made = keyed(*make)
    assert (made.code, made.err) == (0, "") and "missing" not in made.out and made.out.endswith("written: 1\n")
    assert file.stat().st_mode & 0o777 == 0o600
    before = file.read_bytes()
    assert keyed(*make).out.endswith("written: 0, as they were: 1\n") and file.read_bytes() == before

    alone = assess("verify", file, "--keys", keys)
    assert alone.code == 0 and alone.out.startswith("valid: ")
    assert "only its issuer's status list can tell" in alone.out and "Demonstration" in alone.out

    status = ("certificate", root, "--status", "--to", listed, "--as", "D1")
    first = keyed(*status, "--json")
    assert (first.code, first.json["files"][0]["audience"], first.json["written"]) == (0, "anyone", True)
    stands = assess("verify", file, "--keys", keys, "--status", listed, "--json")
    assert (stands.code, stands.json["state"]) == (0, "valid")
    assert stands.json["as_of"].startswith("2026-02-10T") and "not withdrawn as of 2026-02-10T" in stands.json["why"]

    story.clock.ms += 3_600_000
    with story.desk("D1") as desk:
        sign(desk, "C01", "demo", kind="withdraw", reason="a complaint was upheld")
    refused = keyed(*status)
    assert refused.code == 1 and "--replace" in refused.err
    assert keyed(*status, "--replace").code == 0
    gone = assess("verify", file, "--keys", keys, "--status", listed)
    assert gone.code == 1 and gone.out.startswith("withdrawn: ")
    listed.write_bytes(listed.read_bytes().replace(b".", b"..", 1))
    broken = assess("verify", file, "--keys", keys, "--status", listed)
    assert broken.code == 1 and broken.out.startswith("list refused: ")
    missing = assess("verify", file, "--keys", keys, "--status", tmp_path / "none.jwt")
    assert (missing.code, missing.out) == (3, "")


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("C01",),
        ("--module", "demo"),
        ("C01", "--module", "demo", "--status"),
        ("--module", "demo", "--status"),
    ],
)
def test_a_certificate_is_of_one_module_or_it_is_the_list(tmp_path: Path, words: tuple[str, ...]) -> None:
    ran = assess("certificate", tmp_path, *words, "--to", tmp_path / "c.jwt", "--as", "D1")
    assert (ran.code, ran.out) == (2, "")
    assert "one candidate and one module" in ran.err


def test_a_status_list_says_nothing_of_a_course(tmp_path: Path) -> None:
    ran = assess("verify", tmp_path, "--status", tmp_path / "s.jwt")
    assert (ran.code, ran.out) == (2, "") and "speaks of a certificate alone" in ran.err
