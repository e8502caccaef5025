"""Signed entries: what is signed, where the signature stands, and what breaks it."""

from __future__ import annotations

import base64
import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.facts import Decision, Lock, Seal, SomeFact
from assess.records.key_list import fingerprint
from assess.records.ledger import Header, Signature
from assess.store.chain import chained, first_link, next_link
from assess.store.ledger_file import LedgerFile, parse_ledger
from assess.store.lines import decode_line, encode_head, encode_line
from assess.store.quick_scores import quick_sheet
from assess.store.signatures import from_base64url, sign, signature_fits, to_base64url
from assess.store.writer import Writer
from tests.store.course_maker import REFERENCE, lock, other, scores, seal_of, sheet

# Source: RFC 8032, section 7.1, TEST 1 (quoted from memory; a wrong digit would not verify).
SECRET = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
PUBLIC = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
SIGNED_NOTHING = bytes.fromhex(
    "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
)
OTHER = bytes(range(32))


def written(tmp_path: Path, header: Header, facts: list[SomeFact], secret: bytes | None = SECRET) -> bytes:
    """The bytes the program itself writes, signed with a key or with none."""
    writer = Writer(signer=None if secret is None else lambda _header, message: sign(secret, message))
    live = writer.open(tmp_path, header)
    for fact in facts:
        live.add(fact)
    assert writer.close()
    raw = (tmp_path / f"{header.name}.yaml").read_bytes()
    (tmp_path / f"{header.name}.yaml").unlink()
    return raw


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path


def read(raw: bytes, header: Header) -> LedgerFile:
    return parse_ledger(raw, header.name)


def fits(file: LedgerFile, n: int, public: bytes = PUBLIC) -> bool:
    sig = file.ledger.entries[n - 1].sig
    return sig is not None and signature_fits(public, sig, file.signed[n])


def locked(header: Header) -> list[SomeFact]:
    return [*scores(3, 4), lock(**{header.name: "2 " + "0" * 16})]


def test_signing_gives_the_published_signature_and_it_fits() -> None:
    made = sign(SECRET, b"")
    assert from_base64url(made.value) == SIGNED_NOTHING
    assert made.key == fingerprint(PUBLIC)[:16]
    assert signature_fits(PUBLIC, made, b"")
    assert not signature_fits(PUBLIC, made, b"x")


def test_a_lock_is_signed_right_before_its_chain_value_and_nothing_else_of_the_sheet_is(folder: Path) -> None:
    raw = written(folder, sheet(), locked(sheet()))
    lines = raw.decode().splitlines()
    assert [list(json.loads(line[2:]))[-2:] == ["sig", "chain"] for line in lines[3:]] == [False, False, True]
    file = read(raw, sheet())
    assert (file.problems, list(file.signed)) == ((), [3])
    assert fits(file, 3)


def test_what_is_signed_is_the_domain_the_chain_before_and_the_line_as_it_is_chained(folder: Path) -> None:
    raw = written(folder, sheet(), locked(sheet()))
    *before, last = raw.split(b"\n")[3:-1]
    link = first_link(raw[: raw.index(b"- {")])
    for line in before:
        link = next_link(link, chained(decode_line(line)))
    unsigned = last[: last.index(b', "sig"')]
    assert read(raw, sheet()).signed == {3: b"assess ledger entry 1\n" + link.encode() + b"\n" + unsigned}


def test_without_a_key_the_same_entries_are_written_as_before(folder: Path) -> None:
    raw = written(folder, sheet(), locked(sheet()), secret=None)
    assert b'"sig"' not in raw
    assert [entry.sig for entry in read(raw, sheet()).ledger.entries] == [None, None, None]


def test_a_signer_that_has_no_key_for_this_ledger_leaves_the_entry_unsigned(folder: Path) -> None:
    asked: list[str] = []

    def signer(header: Header, _message: bytes) -> Signature | None:
        asked.append(header.name)
        return None

    writer = Writer(signer=signer)
    live = writer.open(folder, sheet())
    for fact in locked(sheet()):
        live.add(fact)
    assert writer.close()
    assert asked == [sheet().name]
    assert b'"sig"' not in (folder / f"{sheet().name}.yaml").read_bytes()


def test_the_chain_covers_the_signature(folder: Path) -> None:
    raw = written(folder, sheet(), locked(sheet()))
    without = raw[: raw.index(b', "sig"')] + raw[raw.index(b', "chain": "', raw.index(b', "sig"')) :]
    assert "does not fit the chain" in read(without, sheet()).problems[0].what


def test_a_ledger_goes_on_after_a_signed_entry_and_each_signature_vouches_for_all_before_it(folder: Path) -> None:
    header = other("seal", date="2027-02-03")
    facts: list[SomeFact] = [Seal(heads={}, seal=seal_of({})), Seal(heads={}, seal=seal_of({}))]
    file = read(written(folder, header, facts), header)
    assert [fits(file, n) for n in (1, 2)] == [True, True]
    assert not signature_fits(PUBLIC, file.ledger.entries[0].sig or Signature("", ""), file.signed[2])


def test_a_text_that_is_erased_leaves_the_signature_whole(folder: Path) -> None:
    header = other("decision", candidate="C01")
    decision = Decision(
        module="demo", decision="grant", rubric=REFERENCE, seal=seal_of({}), tool="assess 0", reason="Ünder a rope"
    )
    raw = written(folder, header, [decision])
    assert fits(read(raw, header), 1)
    line = raw.split(b"\n")[3]
    payload = decode_line(line)
    erased = chained(payload) + b', "chain": "%b"}' % payload["chain"].encode()
    again = read(raw.replace(line, erased), header)
    assert b"rope" not in again.raw
    assert again.problems == ()
    assert fits(again, 1)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"sig": {"key": "', b'"sig": {"kex": "'),
        (b'"sig": {', b'"sig": {"more": 1, '),
        (b', "sig": ', b', "sig":'),
        (b'"sig": {"key": "', b'"sig": {"key": "A'),
    ],
)
def test_a_signature_of_another_form_stops_the_reading_there(folder: Path, old: bytes, new: bytes) -> None:
    raw = written(folder, sheet(), locked(sheet()))
    [problem] = read(raw.replace(old, new), sheet()).problems
    assert problem.line == 6


def test_a_signature_in_another_place_is_none_though_the_chain_fits() -> None:
    header = sheet()
    head = encode_head(header.payload())
    sig = {"key": "0" * 16, "value": "A" * 86}
    payload = {"n": 1, "at": "2027-02-03T08:00:01.000Z", "sig": sig, **lock(x="0 " + "0" * 16).payload()}
    raw = head + encode_line({**payload, "chain": next_link(first_link(head), chained(payload))[:16]})
    [problem] = read(raw, header).problems
    assert problem.what.startswith("this line has a signature that is none, or not right before its chain value")


def test_a_signed_locked_sheet_is_read_quickly_too(folder: Path) -> None:
    header = sheet()
    writer = Writer(signer=lambda _header, message: sign(SECRET, message))
    live = writer.open(folder, header)
    for fact in scores(3, 4):
        live.add(fact)
    live.add(lock(**{header.name: live.head}))
    assert writer.close()
    raw = (folder / f"{header.name}.yaml").read_bytes()
    quick = quick_sheet(raw, header.name)
    assert b'"sig"' in raw
    assert quick is not None and quick.locked and [mark.level for mark in quick.marks] == [3, 4]


# --- forgeries -----------------------------------------------------------------------------------------


def signed_lock(folder: Path, header: Header | None = None, secret: bytes = SECRET) -> tuple[bytes, Header]:
    header = header or sheet()
    return written(folder, header, locked(header), secret), header


def test_the_signature_of_another_key_does_not_fit(folder: Path) -> None:
    raw, header = signed_lock(folder, secret=OTHER)
    assert not fits(read(raw, header), 3)


def test_a_signature_moved_to_another_sheet_does_not_fit(folder: Path) -> None:
    mine, header = signed_lock(folder)
    other_sheet = sheet(candidate="C02")
    theirs = written(folder, other_sheet, locked(other_sheet), secret=OTHER)
    moved = rechained(theirs, read(mine, header).ledger.entries[2].sig)
    assert read(moved, other_sheet).problems == ()
    assert not fits(read(moved, other_sheet), 3)


def rechained(raw: bytes, sig: Signature | None, levels: bytes | None = None) -> bytes:
    """The ledger with another signature on its last entry, and a chain that fits all the same."""
    if levels is not None:
        raw = raw.replace(b'"level": 3', b'"level": ' + levels)
    head, rest = raw[: raw.index(b"- {")], raw[raw.index(b"- {") :]
    made, link = head, first_link(head)
    lines = rest.splitlines()
    for place, line in enumerate(lines, start=1):
        payload = decode_line(line)
        if place == len(lines) and sig is not None:
            payload["sig"] = {"key": sig.key, "value": sig.value}
        link = next_link(link, chained(payload))
        made += encode_line({**payload, "chain": link[:16]})
    return made


def test_a_sheet_rewritten_with_a_fitting_chain_breaks_the_signature_of_its_lock(folder: Path) -> None:
    raw, header = signed_lock(folder)
    forged = rechained(raw, None, b"5")
    assert read(forged, header).problems == ()
    assert not fits(read(forged, header), 3)
    assert fits(read(rechained(raw, None), header), 3)


def test_another_spelling_of_the_same_64_bytes_is_no_signature(folder: Path) -> None:
    raw, header = signed_lock(folder)
    file = read(raw, header)
    sig = file.ledger.entries[2].sig
    assert sig is not None
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    twins = [sig.value[:-1] + letter for letter in alphabet if letter != sig.value[-1]]
    same = [
        twin for twin in twins if base64.urlsafe_b64decode(twin + "==") == base64.urlsafe_b64decode(sig.value + "==")
    ]
    assert len(same) == 15
    assert not any(signature_fits(PUBLIC, Signature(sig.key, twin), file.signed[3]) for twin in twins)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200), st.binary(max_size=200), st.binary(min_size=32, max_size=32))
def test_a_signature_fits_its_own_message_and_key_alone(one: bytes, two: bytes, secret: bytes) -> None:
    made = sign(secret, one)
    assert signature_fits(PUBLIC, made, one) == (secret == SECRET)
    assert signature_fits(PUBLIC, sign(SECRET, one), two) == (one == two)


@given(st.binary(max_size=100))
def test_base64url_comes_back_and_has_one_spelling(raw: bytes) -> None:
    text = to_base64url(raw)
    assert from_base64url(text) == raw
    assert from_base64url(text + "=") is None
    assert "=" not in text


@pytest.mark.parametrize("text", ["A", "!!", "A A", "AAAAA", "é"])
def test_what_is_no_base64url_is_none(text: str) -> None:
    assert from_base64url(text) is None


@pytest.mark.parametrize("public", [b"", bytes(31), bytes(33), b"\xff" * 32])
def test_a_public_key_that_is_none_fits_nothing(public: bytes) -> None:
    assert not signature_fits(public, sign(SECRET, b"x"), b"x")


def test_locks_and_seals_are_signed_and_so_is_what_a_person_decides() -> None:
    assert (Lock.signed, Seal.signed, Decision.signed) == (True, True, True)
