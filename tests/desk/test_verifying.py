"""What `verify` says of forged, moved, missing and outdated signatures, of what is newer, and to whom it says it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assess.desk.verifying import Verified, verify
from assess.records.errors import InputError
from assess.records.facts import Erasure, Observation
from assess.records.ledger import Signature
from assess.store.chain import chained, first_link, next_link
from assess.store.heads import seal_of
from assess.store.ledger_file import parse_ledger
from assess.store.lines import decode_line, encode_line
from assess.store.signatures import sign, to_sign
from tests.courses import open_desk
from tests.store.course_maker import other, put, scores, sheet
from tests.store.signed_course import (
    ALL_KEYS,
    NEWEST,
    SECRETS,
    key_line,
    key_list,
    sealed,
    short_of,
    signed_course,
    write,
)

Payload = dict[str, Any]
A1, A2 = "sheets/T1.C01.A1.deva1.yaml", "sheets/T1.C01.A2.deva2.yaml"
SEAL_1, DECISION = "seals/2027-02-03.D1.d31kq.yaml", "decisions/C01.D1.d31kq.yaml"
STRANGER = bytes([99]) * 32


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return signed_course(tmp_path / "k")


def verified(root: Path, who: str | None = "D1", keys: Path | None = None) -> Verified:
    desk = open_desk(root, who, device="reads")
    try:
        return verify(desk, keys)
    finally:
        desk.close()


def states(found: Verified, file: str) -> list[str]:
    [record] = [record for record in found.records if record.file == file]
    return [entry.state for entry in record.entries]


def whys(found: Verified) -> str:
    return "\n".join(str(problem) for problem in found.problems)


# --- forging with a chain that fits -------------------------------------------------------------------


def rewritten(raw: bytes, change: Callable[[int, Payload], Payload | None], secret: bytes | None = None) -> bytes:
    """A ledger with its entries changed and its chain made to fit; secret: signatures are made anew with this key."""
    head, rest = raw[: raw.index(b"- {")], raw[raw.index(b"- {") :]
    made, link = head, first_link(head)
    for n, line in enumerate(rest.splitlines(), start=1):
        payload = change(n, decode_line(line))
        if payload is None:
            continue
        if secret is not None and "sig" in payload:
            payload.pop("sig"), payload.pop("chain")
            sig = sign(secret, to_sign(link, chained(payload)))
            payload["sig"] = {"key": sig.key, "value": sig.value}
        payload.pop("chain", None)
        link = next_link(link, chained(payload))
        made += encode_line({**payload, "chain": link[:16]})
    return made


def level_up(_n: int, payload: Payload) -> Payload:
    return {**payload, "level": payload["level"] + 1} if payload.get("level") else payload


def unsigned(change: Callable[[int, Payload], Payload | None]) -> Callable[[int, Payload], Payload | None]:
    def changed(n: int, payload: Payload) -> Payload | None:
        found = change(n, payload)
        return None if found is None else {key: value for key, value in found.items() if key != "sig"}

    return changed


def fitted(root: Path, file: str, change: Callable[[int, Payload], Payload | None], **more: Any) -> None:
    path = root / file
    path.write_bytes(rewritten(path.read_bytes(), change, **more))
    assert parse_ledger(path.read_bytes(), path.stem).problems == ()


def relocked(n: int, payload: Payload, heads: dict[str, str]) -> Payload:
    """A lock or seal made to record what stands there now."""
    if "heads" not in payload:
        return payload
    now = {name: heads.get(name, head) for name, head in payload["heads"].items()}
    return {**payload, "heads": now, "seal": seal_of(now)}


def forged_sheet(root: Path, file: str, secret: bytes | None) -> None:
    """A sheet with its levels raised, its lock and its chain made to fit; signed with this key, or not at all."""
    stem = Path(file).stem
    raw = rewritten((root / file).read_bytes(), level_up)
    above = parse_ledger(raw, stem).ledger.entries[-2]
    heads = {stem: f"{above.n} {above.chain}"}

    def lock(n: int, payload: Payload) -> Payload:
        return relocked(n, payload, heads)

    (root / file).write_bytes(rewritten(raw, unsigned(lock) if secret is None else lock, secret))


def everything_rewritten(root: Path, wrap: Callable[[Any], Any] = lambda change: change) -> None:
    """A1's level raised, and every lock, moderation and seal made to fit: what somebody without a key can do."""
    heads: dict[str, str] = {}
    raw = rewritten((root / A1).read_bytes(), wrap(level_up))
    above = parse_ledger(raw, Path(A1).stem).ledger.entries[-2]
    heads[Path(A1).stem] = f"{above.n} {above.chain}"
    (root / A1).write_bytes(rewritten(raw, wrap(lambda n, payload: relocked(n, payload, heads))))
    locked = parse_ledger((root / A1).read_bytes(), Path(A1).stem).ledger
    heads[Path(A1).stem] = locked.head
    seal: str = getattr(locked.entries[-1].fact, "seal", "")

    def moderation(_n: int, payload: Payload) -> Payload:
        return {**payload, "seals": {**payload["seals"], "A1": seal}} if "seals" in payload else payload

    for file in ("moderation/T1.C01.D1.d31kq.yaml",):
        fitted(root, file, wrap(moderation))
        heads[file.removesuffix(".yaml")] = parse_ledger((root / file).read_bytes(), Path(file).stem).ledger.head
    for file in (SEAL_1, NEWEST):

        def seals(n: int, payload: Payload) -> Payload:
            made = relocked(n, payload, heads)
            if made.get("previous") and made["previous"].startswith(Path(SEAL_1).stem):
                made["previous"] = f"{Path(SEAL_1).stem} {heads['seals/' + Path(SEAL_1).stem]}"
            return made

        fitted(root, file, wrap(seals))
        heads[f"seals/{Path(file).stem}"] = parse_ledger((root / file).read_bytes(), Path(file).stem).ledger.head


def test_a_sheet_rewritten_with_its_chain_is_found_by_the_seal_and_by_its_signature(root: Path) -> None:
    fitted(root, A1, level_up)
    found = verified(root)
    assert states(found, A1) == ["altered"] * 4
    assert "its history was changed under a recorded head" in whys(found)


def test_a_course_rewritten_from_end_to_end_without_a_key_is_found_by_its_signatures(root: Path) -> None:
    everything_rewritten(root)
    found = verified(root)
    assert not found.holds
    assert "recorded head" not in whys(found) and "is not here" not in whys(found)
    assert "its signature does not fit" in whys(found)
    for file in (A1, "moderation/T1.C01.D1.d31kq.yaml", SEAL_1, NEWEST):
        assert states(found, file)[-1] == "altered", file
    # What was not touched still counts.
    assert states(found, A2) == ["intact"] * 4


def test_a_course_rewritten_and_stripped_of_signatures_shows_as_unsigned(root: Path) -> None:
    everything_rewritten(root, unsigned)
    found = verified(root)
    assert states(found, A1)[-1] == "unsigned"
    assert found.counts["unsigned"] == 4 and found.signed == 3
    assert found.holds
    (root / "keys.yaml").write_text(key_list(*ALL_KEYS, required_from="2027-02-04"))
    found = verified(root)
    assert not found.holds
    assert {problem.file for problem in found.problems} == {"moderation/T1.C01.D1.d31kq.yaml", NEWEST}
    assert "is not signed, which is required from 2027-02-04 on" in whys(found)
    (root / "keys.yaml").write_text(key_list(*ALL_KEYS, required_from="2027-02-03"))
    assert {problem.file for problem in verified(root).problems} == {
        A1,
        "moderation/T1.C01.D1.d31kq.yaml",
        SEAL_1,
        NEWEST,
    }


def test_who_has_the_key_and_rewrites_what_was_sealed_is_found_too(root: Path) -> None:
    """A1 raises a level in A1's own sheet after the seal, makes the chain fit and signs again."""
    forged_sheet(root, A1, SECRETS["A1"])
    found = verified(root)
    assert states(found, A1) == ["altered"] * 4
    assert "its signature does not fit" not in whys(found)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_any_entry_changed_with_a_fitting_chain_is_found(root: Path, data: st.DataObject) -> None:
    file = data.draw(st.sampled_from([A1, A2, "sheets/T4.C01.A3.deva3.yaml", SEAL_1, DECISION]))
    path, before = root / file, (root / file).read_bytes()
    entries = parse_ledger(before, path.stem).ledger.entries
    at = data.draw(st.integers(1, len(entries)))
    later = data.draw(st.integers(1, 500))

    def change(n: int, payload: Payload) -> Payload:
        ms = (int(payload["at"][-4:-1]) + later) % 1000
        return {**payload, "at": f"{payload['at'][:-4]}{ms:03d}Z"} if n == at else payload

    path.write_bytes(rewritten(before, change))
    changed = path.read_bytes() != before
    try:
        found = verified(root)
        assert found.holds != changed
        assert ("altered" in states(found, file)) == changed
    finally:
        path.write_bytes(before)


# --- signatures that do not count -----------------------------------------------------------------------


def resigned(root: Path, file: str, secret: bytes) -> None:
    """The last entry of a ledger signed with another key, its chain made to fit."""
    fitted(root, file, lambda _n, payload: payload, secret=secret)


def never_sealed(tmp_path: Path, keys: str) -> Path:
    """A course of the first day alone: A1 and A2 locked and signed a sheet, and nothing else records them."""
    root = signed_course(tmp_path / "fresh", keys=keys)
    for folder in ("seals", "moderation", "decisions", "days"):
        for path in (root / folder).iterdir():
            path.unlink()
    for path in (root / "sheets").glob("T4.*"):
        path.unlink()
    return root


def test_without_a_seal_a_valid_signature_anchors_a_sheet_and_an_unsigned_lock_does_not(tmp_path: Path) -> None:
    root = never_sealed(tmp_path, key_list(*ALL_KEYS))
    found = verified(root)
    assert found.holds and found.not_anchored == ()
    fitted(root, A1, unsigned(lambda _n, payload: payload))
    found = verified(root)
    assert found.holds and found.not_anchored == (A1,)
    assert states(found, A1) == ["not yet anchored"] * 3 + ["unsigned"]
    fitted(root, A2, level_up)
    found = verified(root)
    assert not found.holds and states(found, A2)[-1] == "altered"


def test_a_stranger_who_signs_is_an_unknown_key(tmp_path: Path) -> None:
    root = never_sealed(tmp_path, key_list(*ALL_KEYS))
    forged_sheet(root, A1, STRANGER)
    found = verified(root)
    assert states(found, A1)[-1] == "unknown key"
    assert not found.holds and "its key is not listed" in whys(found)


def test_the_key_of_another_person_does_not_count(tmp_path: Path) -> None:
    root = never_sealed(tmp_path, key_list(*ALL_KEYS))
    resigned(root, A1, SECRETS["A2"])
    found = verified(root)
    assert states(found, A1)[-1] == "unknown key"
    assert "signed with the key of A2, not of A1" in whys(found)


@pytest.mark.parametrize(
    ("days", "counts", "why"),
    [
        ({"from": "2027-02-03"}, True, ""),
        ({"from": "2027-02-04"}, False, "listed from 2027-02-04 on"),
        ({"until": "2027-02-03"}, True, ""),
        ({"from": "2027-02-01", "until": "2027-02-02"}, False, "listed until 2027-02-02"),
        ({"revoked": "2027-02-03"}, False, "revoked from 2027-02-03 on"),
        ({"revoked": "2027-02-04"}, True, ""),
    ],
)
def test_a_key_counts_on_its_days_alone(tmp_path: Path, days: dict[str, str], counts: bool, why: str) -> None:
    lines = [key_line("A1", days=days), *(key_line(who) for who in ("A2", "A3", "D1"))]
    found = verified(never_sealed(tmp_path, key_list(*lines)))
    assert found.holds == counts
    assert (states(found, A1)[-1] == "intact") == counts
    assert why in whys(found)


def test_a_key_listed_twice_counts_where_either_does(tmp_path: Path) -> None:
    twice = [key_line("A1", days={"until": "2027-02-02"}), key_line("A1", days={"from": "2027-02-03"})]
    assert verified(never_sealed(tmp_path, key_list(*twice, *ALL_KEYS[1:]))).holds


def test_a_signature_moved_to_another_entry_or_ledger_does_not_fit(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "one")
    t4 = "sheets/T4.C01.A1.deva1.yaml"
    for path in (root / "seals").iterdir():
        path.unlink()
    sigs = {}
    for file in (A1, t4):
        sig = parse_ledger((root / file).read_bytes(), Path(file).stem).ledger.entries[-1].sig
        assert isinstance(sig, Signature)
        sigs[file] = {"key": sig.key, "value": sig.value}

    def exchanged(sig: Payload) -> Callable[[int, Payload], Payload]:
        return lambda _n, payload: {**payload, "sig": sig} if "sig" in payload else payload

    fitted(root, A1, exchanged(sigs[t4]))
    fitted(root, t4, exchanged(sigs[A1]))
    found = verified(root)
    assert [states(found, file)[-1] for file in (A1, t4)] == ["altered", "altered"]
    # And within one ledger: the first of two seals with the signature of the second.
    root = signed_course(tmp_path / "two")
    sealed(root, "2027-02-04T18:00:00.000Z")
    both = [decode_line(line) for line in (root / NEWEST).read_bytes().split(b"\n")[3:-1]]
    assert len(both) == 2
    fitted(root, NEWEST, lambda n, payload: {**payload, "sig": both[n % 2]["sig"]})
    assert states(verified(root), NEWEST) == ["altered", "altered"]


def test_without_a_list_of_keys_a_signature_is_a_word_and_no_finding(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "k")
    (root / "keys.yaml").unlink()
    found = verified(root)
    assert found.holds and found.keys is None
    assert found.counts["unknown key"] == 7


def test_an_old_course_without_signatures_holds_and_says_so(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "k", signed=False)
    (root / "keys.yaml").unlink()
    found = verified(root)
    assert found.holds
    assert (found.signed, found.unsigned, found.counts["unsigned"]) == (0, 7, 7)


def test_a_list_kept_elsewhere_is_believed_instead_of_the_courses_own(root: Path, tmp_path: Path) -> None:
    """Somebody puts a key of their own on the list as A1's, and signs the rewritten sheet with it."""
    fresh = never_sealed(tmp_path, key_list(*ALL_KEYS))
    kept = tmp_path / "kept.yaml"
    kept.write_bytes((fresh / "keys.yaml").read_bytes())
    forged_sheet(fresh, A1, STRANGER)
    (fresh / "keys.yaml").write_text(key_list(key_line("A1", STRANGER), *ALL_KEYS[1:]))
    assert verified(fresh).holds
    found = verified(fresh, keys=kept)
    assert not found.holds and states(found, A1)[-1] == "unknown key"
    assert found.keys is not None and found.keys.elsewhere
    with pytest.raises(InputError, match="is not there"):
        verified(fresh, keys=tmp_path / "none.yaml")


def test_a_list_of_keys_that_cannot_be_used_is_a_finding(root: Path) -> None:
    (root / "keys.yaml").write_text("# assess keys 1\nrevision: x\n")
    found = verified(root)
    assert not found.holds
    assert {problem.file for problem in found.problems} == {"keys.yaml"}


# --- bytes ----------------------------------------------------------------------------------------------


def test_a_space_anywhere_in_a_line_with_a_text_is_found_though_reading_takes_it(root: Path) -> None:
    path = root / A1
    before = path.read_bytes()
    start = before.index(b"- {")
    line_end = before.index(b"\n", start)
    silent = 0
    for at in range(start, line_end + 1):
        path.write_bytes(before[:at] + b" " + before[at:])
        silent += parse_ledger(path.read_bytes(), path.stem).problems == ()
        assert not verified(root).holds, at
    # The chain alone would not have told: a text is chained by what it says.
    assert silent > 0


def test_a_letter_spelled_otherwise_is_found(root: Path) -> None:
    path = root / A1
    path.write_bytes(path.read_bytes().replace(b"outer ski", b"\\u006futer ski"))
    assert parse_ledger(path.read_bytes(), path.stem).problems == ()
    found = verified(root)
    assert states(found, A1)[0] == "altered"
    assert "not written as this program writes one" in whys(found)


def test_a_sign_moved_from_a_text_into_its_salt_is_found(tmp_path: Path) -> None:
    """Salt and text are hashed one after the other: what begins like a salt could pass over to it."""
    root = signed_course(tmp_path / "k")
    header = sheet(candidate="C03", device="deva1")
    write(root, "2027-02-04T17:30:00.000Z", (header, [Observation(text="a3 turns, then a fall")]))
    path = root / "sheets" / f"{header.name}.yaml"
    payload = decode_line(path.read_bytes().split(b"\n")[3])
    moved = path.read_bytes().replace(payload["salt"].encode(), payload["salt"].encode() + b"a3")
    path.write_bytes(moved.replace(b'"text": "a3 turns', b'"text": " turns'))
    assert parse_ledger(path.read_bytes(), path.stem).problems == ()
    found = verified(root, "A1")
    assert "its salt is not as this program makes one" in whys(found)


def test_a_line_end_taken_off_the_last_line_is_found(root: Path) -> None:
    path = root / A1
    path.write_bytes(path.read_bytes()[:-1])
    assert "its line end is missing" in whys(verified(root))


def test_a_line_cut_short_after_the_newest_heads_is_listed_and_no_finding(root: Path) -> None:
    day = "days/2027-02-03.A1.d7h2k.yaml"
    with (root / day).open("ab") as file:
        file.write(b'- {"n": 4, "at": "2027-0')
    found = verified(root)
    assert found.holds and day in found.not_anchored
    assert next(record for record in found.records if record.file == day).torn


def test_a_text_that_an_erasure_took_out_is_counted_and_one_that_went_by_hand_is_found(root: Path) -> None:
    path = root / DECISION
    line = path.read_bytes().split(b"\n")[3]
    payload = decode_line(line)
    erased = chained(payload) + b', "chain": "%b"}' % payload["chain"].encode()
    path.write_bytes(path.read_bytes().replace(line, erased))
    assert parse_ledger(path.read_bytes(), path.stem).problems == ()
    found = verified(root)
    assert states(found, DECISION) == ["altered"] and "no erasure names it" in whys(found)
    named = Erasure(person="C01", role="candidate", entries={path.stem: (f"1 {payload['chain']}",)})
    day = other("day", date="2027-02-04")
    write(root, "2027-02-04T18:00:00.000Z", (day, [named]))
    found = verified(root)
    assert found.holds and found.erased == 1


# --- heads, rubrics, people -------------------------------------------------------------------------------


def test_a_moderation_records_the_locked_sheets_it_rests_on(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "k", keys=key_list(), signed=False)
    for path in (root / "seals").iterdir():
        path.unlink()
    found = verified(root)
    assert states(found, A1) == ["intact"] * 3 + ["unsigned"]
    assert "sheets/T4.C01.A1.deva1.yaml" in found.not_anchored
    forged_sheet(root, A2, None)
    said = "moderation/T1.C01.D1.d31kq.yaml:4: rests on the lock of sheets/T1.C01.A2, and no lock here has that seal"
    assert said in whys(verified(root))
    (root / A2).unlink()
    assert not verified(root).holds


def test_a_pin_that_is_exchanged_with_its_file_is_told_by_the_sheets_marked_on_the_one_before(root: Path) -> None:
    import hashlib

    [old] = (root / "rubrics").iterdir()
    before, raw = hashlib.sha256(old.read_bytes()).hexdigest(), old.read_bytes().replace(b"3.5", b"2.5")
    digest = hashlib.sha256(raw).hexdigest()
    old.with_name(f"r-1@{digest[:8]}.yaml").write_bytes(raw)
    old.unlink()
    course = (root / "course.yaml").read_text()
    (root / "course.yaml").write_text(course.replace(before, digest))
    found = verified(root)
    assert not found.holds
    assert f"rubrics/*@{before[:8]}.yaml: is missing, or another stands there: {A1} rests on it" in whys(found)


def test_nobody_but_the_author_is_told_anything_of_an_open_sheet(root: Path) -> None:
    header = sheet(candidate="C02", assessor="A2", device="deva2")
    write(root, "2027-02-04T17:40:00.000Z", (header, scores(3)))
    file = f"sheets/{header.name}.yaml"
    named = {who: {record.file for record in verified(root, who).records} for who in ("A1", "A2", "A3", "D1", None)}
    assert {who for who, files in named.items() if file in files} == {"A2"}
    put(root, header, (root / file).read_bytes()[:-30] + b"xx" + (root / file).read_bytes()[-28:])
    told = {who: verified(root, who) for who in ("A1", "A2", "A3", "D1")}
    assert [told[who].holds for who in ("A1", "A2", "A3", "D1")] == [True, False, True, False]
    assert whys(told["D1"]).startswith("sheets/T1.C02.A2: is damaged, or does not fit the course")


def test_a_seal_ledger_of_somebody_else_that_records_something_else_is_found(root: Path) -> None:
    from assess.records.facts import Seal
    from tests.store.course_maker import ledger_bytes

    header = other("seal", date="2027-02-04", by="A2", device="deva2")
    recorded = {Path(A1).stem: "4 " + "0" * 16}
    put(root, header, ledger_bytes(header, [Seal(heads=recorded, seal=seal_of(recorded))]))
    found = verified(root)
    # Two records disagree; the seal of the director and the signature say that the sheet is as it was.
    assert not found.holds and states(found, A1) == ["intact"] * 4


def test_the_keys_and_people_behind_the_signatures_are_named(root: Path) -> None:
    found = verified(root)
    assert found.keys is not None
    assert (found.keys.keys, found.keys.people, found.keys.elsewhere, found.keys.required_from) == (4, 4, False, None)
    [record] = [record for record in found.records if record.file == A1]
    assert (record.entries[-1].key, record.entries[-1].by, record.author) == (short_of("A1"), "A1", "A1")
