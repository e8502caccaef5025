"""The chain: worked values from another program, and what it finds."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.records.facts import FREE_TEXT
from assess.store.chain import chained, chained_bytes, first_link, next_link, text_digest
from assess.store.ledger_file import parse_ledger
from assess.store.lines import decode_line, encode_line

# The four values below were computed with coreutils' sha256sum over the bytes the rule names.
C0 = "71eb31ce4d7c126485c81d60cea0884d003bbe8c676eef8b59f5c33571c0c97a"
TEXT_SHA = "9f170a0cd8fbc06fee17115638b9473739741c30c513e66743a66e272738981f"
C1 = "aa9d2dc25e94238e45701e1a074c2a1ab1cb8ec286e3920d56dda7ed0d9a0511"
C2 = "031bbc612c38434e7c7d356abe3fea340edd99856615785bebfa53485d046b1a"
HEAD = (
    '# assess ledger 1\nheader: {"kind": "sheet", "course": "K-2027-01", "task": "T1", "candidate": "C04", '
    '"assessor": "A2", "rubric": "sha256:' + "3f" * 32 + '", "device": "d7h2k", "opened": "2027-02-03T08:58:11.000Z"}\n'
    "entries:\n"
).encode()
SALT = "000102030405060708090a0b0c0d0e0f"
FIRST = (
    '- {"n": 1, "at": "2027-02-03T09:02:11.480Z", "kind": "observation", "text": "tails wash, left “side”", '
    '"salt": "' + SALT + '", "viewpoint": "front", "tags": ["outer-light"], "chain": "' + C1[:16] + '"}'
).encode()
SECOND = (
    '- {"n": 2, "at": "2027-02-03T09:02:19.102Z", "kind": "score", "pass": 1, "criterion": "edging", '
    '"status": "scored", "level": 3, "evidence": [1], "chain": "' + C2[:16] + '"}'
).encode()


def test_the_worked_ledger_gives_the_worked_digests() -> None:
    assert first_link(HEAD) == C0
    assert text_digest(SALT, "tails wash, left “side”") == TEXT_SHA
    first, written = chained_bytes(FIRST, decode_line(FIRST))
    assert (next_link(C0, first), written) == (C1, C1[:16])
    second, written = chained_bytes(SECOND, decode_line(SECOND))
    assert (next_link(C1, second), written) == (C2, C2[:16])


def test_the_worked_ledger_is_read_without_a_word() -> None:
    found = parse_ledger(HEAD + FIRST + b"\n" + SECOND + b"\n", "T1.C04.A2.d7h2k")
    assert (found.problems, found.link, found.ledger.head) == ((), C2, f"2 {C2[:16]}")


def test_an_erased_text_leaves_the_chain_as_it_is() -> None:
    erased = FIRST.replace('"text": "tails wash, left “side”"'.encode(), f'"text_sha": "{TEXT_SHA}"'.encode())
    erased = erased.replace(f'"salt": "{SALT}", '.encode(), b"")
    found = parse_ledger(HEAD + erased + b"\n" + SECOND + b"\n", "T1.C04.A2.d7h2k")
    assert (found.problems, found.link) == ((), C2)
    assert found.ledger.entries[0].fact.erased == {"text": TEXT_SHA}


@pytest.mark.parametrize("at", range(len(HEAD), len(HEAD) + len(FIRST) - 19))
def test_one_byte_changed_anywhere_in_an_entry_is_found(at: int) -> None:
    raw = bytearray(HEAD + FIRST + b"\n" + SECOND + b"\n")
    raw[at] ^= 1
    found = parse_ledger(bytes(raw), "x")
    assert found.bad
    assert found.ledger.entries == ()
    assert found.problems[0].line == 4


def _by_the_rule(payload: dict[str, Any]) -> bytes:
    """The rewritten line, word by word from the rule, without the program's own encoder."""
    parts = []
    for key, value in payload.items():
        if key in FREE_TEXT:
            value = hashlib.sha256(payload["salt"].encode() + value.encode()).hexdigest()
            parts.append(f'"{key}_sha": "{value}"')
        elif key != "salt":
            parts.append(f"{json.dumps(key)}: {json.dumps(value)}")
    return ("- {" + ", ".join(parts)).encode()


NESTED = st.recursive(
    st.integers(-(10**12), 10**12) | st.text('abc: "\\,', max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["text", "salt", "chain", "a"]), inner),
    max_leaves=6,
)


@given(
    texts=st.dictionaries(
        st.sampled_from(sorted(FREE_TEXT)), st.text(st.characters(exclude_categories=["Cs"])), max_size=3
    ),
    rest=st.dictionaries(st.sampled_from(["tags", "level", "heads", "of"]), NESTED, max_size=3),
    salt=st.text("0123456789abcdef", min_size=1, max_size=32),
)
def test_what_is_chained_is_the_rule_word_by_word(texts: dict[str, str], rest: dict[str, Any], salt: str) -> None:
    payload = {"n": 1, "kind": "x", **({"salt": salt} if texts else {}), **texts, **rest}
    line = encode_line({**payload, "chain": "0" * 16})[:-1]
    assert chained_bytes(line, decode_line(line)) == (_by_the_rule(payload), "0" * 16)
    assert chained(payload) == _by_the_rule(payload)


def test_a_text_that_stands_in_an_inner_object_too_is_exchanged_in_its_own_place_alone() -> None:
    for inner in ({"text": "same"}, {"salt": "00", "x": 1}):
        payload = {"n": 1, "kind": "x", "heads": inner, "salt": "00", "text": "same", "level": 3}
        line = encode_line({**payload, "chain": "0" * 16})[:-1]
        assert chained_bytes(line, decode_line(line))[0] == _by_the_rule(payload)


@pytest.mark.parametrize(
    ("tail", "clause"),
    [
        ('"level": 3}', "does not end with its chain value"),
        ('"chain": "0123456789abcdef", "level": 3}', "does not end with its chain value"),
        ('"chain": "0123456789ABCDEF"}', "does not end with its chain value"),
        ('"chain": "0123"}', "does not end with its chain value"),
        ('"text": "x", "chain": "0123456789abcdef"}', "free text without a salt"),
        ('"salt": "00", "chain": "0123456789abcdef"}', "a salt without free text"),
        ('"salt": 1, "text": "x", "chain": "0123456789abcdef"}', "a salt that is none"),
        ('"salt": "xyz", "text": "x", "chain": "0123456789abcdef"}', "a salt that is none"),
        ('"salt": "00", "text": null, "chain": "0123456789abcdef"}', "something other than text"),
        ('"text_sha": "00", "chain": "0123456789abcdef"}', "a digest that is none"),
        ('"salt": "00", "text": "x", "text_sha": "' + "0" * 64 + '", "chain": "0123456789abcdef"}', "a digest that is"),
    ],
)
def test_chain_salt_and_digests_stand_in_their_place_or_the_line_is_refused(tail: str, clause: str) -> None:
    line = f'- {{"n": 1, {tail}'.encode()
    with pytest.raises(ValueError, match=clause):
        chained_bytes(line, decode_line(line))
