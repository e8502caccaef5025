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


# --- what `assess verify` says over the life of a certificate ---------------------------------------

HOUR = 3_600_000


@pytest.fixture
def issued(story: Story, tmp_path: Path, keyed: Callable[..., Ran]) -> Callable[..., Path]:
    """Makes a certificate of a candidate, or without one the status list, and gives the file."""
    public = tmp_path / "D1.pub.yaml"
    assert keyed("key", "new", "--certificate").code == 0
    assert assess("key", "show", "--name", "certificate", "--to", public).code == 0
    assert assess("key", "add", story.root, public, "--for", "D1", "--from", "2026-02-01", "--as", "D1").code == 0

    def made(file: str, candidate: str = "") -> Path:
        what = (candidate, "--module", "demo", "--brief") if candidate else ("--status",)
        ran = keyed("certificate", story.root, *what, "--to", tmp_path / file, "--as", "D1", "--json")
        assert ran.code == 0, ran.all
        return tmp_path / file

    return made


def decided(story: Story, candidate: str, kind: str, valid_to: str | None = None) -> None:
    story.clock.ms += HOUR
    with story.desk("D1") as desk:
        sign(desk, candidate, "demo", kind=kind, reason="looked at again", valid_to=valid_to)  # type: ignore[arg-type]


def said(story: Story, file: Path, status: Path | None = None) -> tuple[int, str, str]:
    """(exit code, state, why)."""
    more = ("--status", status) if status else ()
    ran = assess("verify", file, "--keys", story.root / "keys.yaml", *more, "--json")
    return ran.code, ran.json["state"], ran.json["why"]


def test_a_certificate_from_before_any_list_is_told_of_by_every_later_list(
    story: Story,
    issued: Callable[..., Path],
) -> None:
    before = issued("before.jwt", "C01")
    code, state, why = said(story, before)
    assert (code, state) == (0, "valid") and "only its issuer's status list can tell" in why
    first = issued("first.jwt")
    code, state, why = said(story, before, first)
    assert (code, state) == (0, "valid") and "not withdrawn as of 2026-02-10T" in why
    decided(story, "C01", "withdraw")
    # The list somebody still has says what it said, and of when.
    assert said(story, before, first)[:2] == (0, "valid")
    code, state, why = said(story, before, issued("second.jwt"))
    assert (code, state) == (1, "withdrawn") and "status list of 2026-02-10T" in why
    # And without a list nothing is said of it, never that it stands.
    assert "only its issuer's status list can tell" in said(story, before)[2]


def test_a_certificate_made_after_a_list_is_told_of_by_that_list_when_the_decision_is_older(
    story: Story,
    issued: Callable[..., Path],
) -> None:
    first = issued("first.jwt")
    assert said(story, issued("after.jwt", "C01"), first)[:2] == (0, "valid")
    decided(story, "C01", "grant")
    code, state, why = said(story, issued("newer.jwt", "C01"), first)
    assert (code, state) == (1, "list refused") and "ask its issuer for a newer one" in why
    assert said(story, issued("newest.jwt", "C01"), issued("second.jwt"))[:2] == (0, "valid")


def test_a_renewal_leaves_the_old_certificate_to_its_end_and_has_one_of_its_own(
    story: Story,
    issued: Callable[..., Path],
) -> None:
    old = issued("old.jwt", "C01")
    decided(story, "C01", "renew", "2999-12-31")
    new, listed = issued("new.jwt", "C01"), issued("list.jwt")
    assert said(story, old, listed)[:2] == said(story, new, listed)[:2] == (0, "valid")
    told = assess("verify", new, "--keys", story.root / "keys.yaml", "--json").json
    assert told["until"] == "2999-12-31T23:59:59Z"
    decided(story, "C01", "suspend")
    gone = issued("gone.jwt")
    assert said(story, old, gone)[:2] == said(story, new, gone)[:2] == (1, "withdrawn")
    # Taken up again: what was made before stays withdrawn, as a revocation cannot be taken back; a new one holds.
    decided(story, "C01", "renew", "2999-12-31")
    again, last = issued("again.jwt", "C01"), issued("last.jwt")
    assert [said(story, file, last)[1] for file in (old, new, again)] == ["withdrawn", "withdrawn", "valid"]
