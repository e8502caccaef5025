"""Whose key signs what, the list of keys, and the word when a lock will not be signed."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.key_list import add_key, revoke_key
from assess.desk.keys import make_key, own_keys, unlock_key, write_public
from assess.desk.sealing import seal
from assess.desk.session import Desk
from assess.desk.signing import EntrySigner, signing_word
from assess.records.errors import InputError, Refusal, UsageError
from assess.records.key_list import KeyList
from assess.store.course_folder import load_course
from assess.store.unlocked import local_day, lock_keys
from tests.courses import build_course, open_desk

pytestmark = pytest.mark.usefixtures("known_passphrases")
PHRASE = "four words on a lift"
WORD = "your locks today are not signed: run `assess key unlock`"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", candidates=2, tasks=("T6",))


def mark_and_lock(desk: Desk, candidate: str = "C01") -> str | None:
    sheet = desk.slot("T6", candidate)
    for criterion in sheet.criteria:
        sheet.score(criterion, 4)
    sig = sheet.lock().sig
    return sig.key if sig else None


def listed(root: Path, person: str, name: str, *, from_day: str | None = None, until: str | None = None) -> str:
    """Put the key of this name on the course's list as the director does; its fingerprint."""
    file = root.parent / f"{person}-{name}.pub.yaml"
    if not file.exists():
        write_public(name, file)
    desk = open_desk(root, "D1", device="d31kq")
    key = add_key(desk, file, person, from_day or local_day(), until)
    assert desk.close()
    return key.short


def test_a_lock_is_signed_with_the_unlocked_key_and_asks_for_nothing(root: Path) -> None:
    key = make_key("signing", PHRASE)
    unlock_key(None, PHRASE)
    desk = open_desk(root, "A1")
    assert mark_and_lock(desk) == key.fingerprint
    assert desk.close()
    [file] = load_course(root).ledgers
    assert list(file.signed) == [len(file.ledger.entries)]


def test_without_an_unlocked_key_a_lock_is_written_all_the_same(root: Path) -> None:
    make_key("signing", PHRASE)
    desk = open_desk(root, "A1")
    assert mark_and_lock(desk) is None
    assert desk.close()
    assert load_course(root).ledgers[0].ledger.locked


def test_a_key_unlocked_or_locked_while_the_course_is_open_counts_from_there_on(root: Path) -> None:
    key = make_key("signing", PHRASE)
    desk = open_desk(root, "A1")
    unlock_key(None, PHRASE)
    assert mark_and_lock(desk, "C01") == key.fingerprint
    lock_keys()
    assert mark_and_lock(desk, "C02") is None
    assert desk.close()


def test_a_key_of_another_day_signs_nothing(root: Path) -> None:
    make_key("signing", PHRASE)
    unlock_key(None, PHRASE)
    tomorrow = EntrySigner("A1", None, today=lambda: "2999-01-01")
    assert tomorrow.key() is None


def test_a_seal_is_signed_too(root: Path) -> None:
    make_key("signing", PHRASE)
    unlock_key(None, PHRASE)
    desk = open_desk(root, "D1", device="d31kq")
    seal(desk)
    assert desk.close()
    [file] = load_course(root).ledgers
    assert (file.ledger.header.kind, list(file.signed)) == ("seal", [1])


def test_of_several_keys_the_one_listed_for_this_person_signs_and_never_somebody_elses(root: Path) -> None:
    mine, theirs = make_key("mine", PHRASE), make_key("theirs", PHRASE)
    unlock_key("theirs", PHRASE)
    # Two keys on one device, and no list tells whose they are.
    assert open_desk(root, "A1").signer.key() is None
    assert listed(root, "A2", "theirs") == theirs.fingerprint
    assert open_desk(root, "A1").signer.key() is None
    assert listed(root, "A1", "mine") == mine.fingerprint
    assert open_desk(root, "A1").signer.key() is None
    unlock_key("mine", PHRASE)
    for who, key in (("A1", mine), ("A2", theirs)):
        found = open_desk(root, who).signer.key()
        assert found is not None and found.short == key.fingerprint
    assert open_desk(root, "D1").signer.key() is None
    assert open_desk(root, None).signer.key() is None


def test_the_only_key_of_a_device_signs_before_it_is_listed_and_not_once_it_is_somebody_elses(root: Path) -> None:
    key = make_key("signing", PHRASE)
    unlock_key(None, PHRASE)
    found = open_desk(root, "A1").signer.key()
    assert found is not None and found.short == key.fingerprint
    listed(root, "A2", "signing")
    assert open_desk(root, "A1").signer.key() is None


@pytest.mark.parametrize(("from_day", "until"), [("2999-01-01", None), ("2020-01-01", "2020-12-31")])
def test_a_key_outside_its_days_signs_nothing(root: Path, from_day: str, until: str | None) -> None:
    make_key("signing", PHRASE)
    unlock_key(None, PHRASE)
    listed(root, "A1", "signing", from_day=from_day, until=until)
    assert open_desk(root, "A1").signer.key() is None


def test_what_a_director_writes_in_anothers_name_is_not_signed(root: Path) -> None:
    from assess.records.ledger import Header

    make_key("signing", PHRASE)
    unlock_key(None, PHRASE)
    told = {"kind": "sheet", "course": "K-TEST", "task": "T6", "candidate": "C01", "rubric": "sha256:" + "0" * 64,
            "device": "d31kq", "opened": "2027-02-03T08:00:00.000Z"}  # fmt: skip
    signer = open_desk(root, "D1").signer
    assert signer(Header.model_validate(told | {"assessor": "A1"}), b"x") is None
    assert signer(Header.model_validate(told | {"assessor": "D1"}), b"x") is not None


# --- the list ------------------------------------------------------------------------------------------


def test_a_key_is_listed_with_its_days_and_the_revision_goes_up(root: Path) -> None:
    key = make_key("signing", PHRASE)
    listed(root, "A1", "signing", from_day="2026-02-01", until="2026-12-31")
    found = load_course(root)
    assert found.problems == ()
    assert found.keys is not None
    assert [(each.person, each.short, each.from_, each.until) for each in found.keys.keys] == [
        ("A1", key.fingerprint, "2026-02-01", "2026-12-31")
    ]
    assert found.keys.revision == 2
    assert "# Who signs with which key" in (root / "keys.yaml").read_text()


def test_only_a_director_changes_the_list(root: Path) -> None:
    make_key("signing", PHRASE)
    file = root.parent / "k.yaml"
    write_public(None, file)
    for who in ("A1", None):
        desk = open_desk(root, who)
        with pytest.raises(Refusal, match="only a director"):
            add_key(desk, file, "A1", None, None)
        with pytest.raises(Refusal, match="only a director"):
            revoke_key(desk, "0" * 16, None)
    assert not (root / "keys.yaml").exists()


def test_what_cannot_be_listed_is_refused_and_changes_nothing(root: Path) -> None:
    make_key("signing", PHRASE)
    file = root.parent / "k.yaml"
    write_public(None, file)
    desk = open_desk(root, "D1")
    with pytest.raises(Refusal, match="A9 is nobody of this course"):
        add_key(desk, file, "A9", None, None)
    with pytest.raises(UsageError, match="tomorrow is no day"):
        add_key(desk, file, "A1", "tomorrow", None)
    with pytest.raises(UsageError, match="it ends before it begins"):
        add_key(desk, file, "A1", "2027-02-03", "2027-02-02")
    with pytest.raises(InputError, match="this is a key file, not a public-key file"):
        add_key(desk, Path(own_keys()[0].file), "A1", None, None)
    assert not (root / "keys.yaml").exists()
    listed(root, "A1", "signing")
    raw = (root / "keys.yaml").read_bytes()
    with pytest.raises(Refusal, match="listed already, as A1's"):
        add_key(open_desk(root, "D1"), file, "A2", None, None)
    assert (root / "keys.yaml").read_bytes() == raw


def test_a_revoked_key_signs_nothing_from_that_day_on(root: Path) -> None:
    make_key("signing", PHRASE)
    unlock_key(None, PHRASE)
    short = listed(root, "A1", "signing")
    assert open_desk(root, "A1").signer.key() is not None
    desk = open_desk(root, "D1")
    assert revoke_key(desk, short, local_day(), "left on a chairlift").revoked == local_day()
    assert open_desk(root, "A1").signer.key() is None
    keys = load_course(root).keys
    assert keys is not None and (keys.revision, keys.keys[0].note) == (3, "left on a chairlift")
    with pytest.raises(Refusal, match="no key 0000000000000000 is listed"):
        revoke_key(open_desk(root, "D1"), "0" * 16, None)


def test_days_are_counted_from_the_first_to_the_last_and_not_from_the_revoked_one_on() -> None:
    item = {"person": "A1", "public": "A" * 43, "from": "2027-02-03", "until": "2027-02-05", "revoked": "2027-02-05"}
    [key] = KeyList.model_validate({"revision": 1, "keys": [item]}).keys
    days = ("2027-02-02", "2027-02-03", "2027-02-04", "2027-02-05", "2027-02-06")
    assert [key.why_not(day) for day in days] == [
        "listed from 2027-02-03 on", "", "", "revoked from 2027-02-05 on", "revoked from 2027-02-05 on",
    ]  # fmt: skip
    [key] = KeyList.model_validate({"revision": 1, "keys": [{**item, "revoked": None}]}).keys
    assert [bool(key.why_not(day)) for day in days] == [True, False, False, False, True]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("revision: 1\nkeys:\n- {person: A1, public: short, from: 2027-02-03}\n", "does not have the form asked for"),
        (f"revision: 1\nkeys:\n- {{person: A1, public: {'A' * 44}, from: 2027-02-03}}\n", "no public key of kind"),
        (f"revision: 1\nkeys:\n- {{person: A1, public: {'A' * 42}B, from: 2027-02-03}}\n", "no key in base64url"),
        (f"revision: 1\nkeys:\n- {{person: A1, public: {'A' * 43}, from: 2027-02-30}}\n", "cannot be used"),
        (
            f"revision: 1\nkeys:\n- {{person: A1, public: {'A' * 43}, from: 2027-02-03, fingerprint: '{'0' * 16}'}}\n",
            "its fingerprint is",
        ),
        (
            f"revision: 1\nkeys:\n- {{person: A1, public: {'A' * 43}, from: 2027-02-03}}\n"
            f"- {{person: A2, public: {'A' * 43}, from: 2027-02-03}}\n",
            "one key is listed for A1 and for A2",
        ),
        (f"revision: 1\nkeys:\n- {{person: A9, public: {'A' * 43}, from: 2027-02-03}}\n", "who is nobody of this"),
    ],
)
def test_a_list_that_cannot_be_used_is_told_and_marking_goes_on(root: Path, text: str, says: str) -> None:
    (root / "keys.yaml").write_text("# assess keys 1\n" + text)
    told = [str(problem) for problem in load_course(root).problems]
    assert len(told) == 1 and says in told[0] and told[0].startswith("keys.yaml:")
    desk = open_desk(root, "A1")
    mark_and_lock(desk)
    assert desk.close()


# --- the word ------------------------------------------------------------------------------------------


def test_the_word_is_said_once_a_day_to_somebody_who_has_a_key(root: Path) -> None:
    desk = open_desk(root, "A1")
    assert signing_word(desk) == ""
    make_key("signing", PHRASE)
    assert [signing_word(desk) for _ in range(3)] == [WORD, "", ""]
    assert signing_word(open_desk(root, "A2")) == WORD
    assert signing_word(open_desk(root, None)) == ""


def test_the_word_is_not_said_while_a_key_is_unlocked(root: Path) -> None:
    make_key("signing", PHRASE)
    unlock_key(None, PHRASE)
    assert signing_word(open_desk(root, "A1")) == ""
    lock_keys()
    assert signing_word(open_desk(root, "A1")) == WORD


def test_the_word_is_said_where_the_course_expects_a_signature_and_there_is_no_key_here(root: Path) -> None:
    (root / "keys.yaml").write_text("# assess keys 1\nrevision: 1\nrequired_from: 2026-02-01\n")
    assert signing_word(open_desk(root, "A1")) == WORD


def test_the_word_comes_again_the_next_day(monkeypatch: pytest.MonkeyPatch, root: Path) -> None:
    make_key("signing", PHRASE)
    days = iter(["2027-02-03", "2027-02-03", "2027-02-04"])
    desk = open_desk(root, "A1")
    monkeypatch.setattr("assess.store.unlocked.local_day", lambda: next(days))
    monkeypatch.setattr(desk, "signer", EntrySigner("A1", None, today=lambda: "2027-02-03"))
    assert [signing_word(desk) for _ in range(3)] == [WORD, "", WORD]
