"""One line of a ledger: its bytes, and what is refused."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.records.text import typed
from assess.store.lines import LONGEST_LINE, decode_line, encode_head, encode_line, typed_throughout

# Everything but lone surrogates, which no text on record holds.
TEXT = st.text(st.characters(exclude_categories=["Cs"]))
VALUES: st.SearchStrategy[Any] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**15), 10**15)
    | st.floats(allow_nan=False, allow_infinity=False)
    | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=8,
)


def test_a_line_is_a_dash_and_json_with_every_character_as_itself() -> None:
    line = encode_line({"n": 1, "text": 'Zürich 雪 🎿 "x" \\ /'})
    assert line == '- {"n": 1, "text": "Zürich 雪 🎿 \\"x\\" \\\\ /"}\n'.encode()


@pytest.mark.parametrize("code", [0x7F, 0x80, 0x85, 0x9F, 0x2028, 0x2029, 0xFEFF, 0xFFFE, 0xFFFF])
def test_characters_other_readers_stumble_over_are_spelled_out(code: int) -> None:
    line = encode_line({"text": f"a{chr(code)}b"})
    assert line == f'- {{"text": "a\\u{code:04x}b"}}\n'.encode("ascii")
    assert decode_line(line) == {"text": f"a{chr(code)}b"}


@pytest.mark.parametrize("code", [0xA0, 0xAD, 0x200F, 0x202E, 0x2066, 0xFFFC, 0xFFFD, 0x10FFFF])
def test_every_other_character_stands_as_itself(code: int) -> None:
    assert f"a{chr(code)}b".encode() in encode_line({"text": f"a{chr(code)}b"})


@given(st.dictionaries(TEXT, VALUES, max_size=6))
def test_what_is_written_is_read_back_and_holds_one_newline_at_its_end(payload: dict[str, Any]) -> None:
    line = encode_line(payload)
    assert line.find(b"\n") == len(line) - 1
    assert decode_line(line) == payload
    assert decode_line(line[:-1]) == payload
    assert json.loads(line[2:]) == payload


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), "half \ud83d pair"])
def test_what_json_has_no_form_for_is_not_written(value: object) -> None:
    with pytest.raises(ValueError, match=r"JSON compliant|surrogates"):
        encode_line({"value": value})


def test_a_line_of_64_kib_is_written_and_read_and_one_byte_more_is_not() -> None:
    room = LONGEST_LINE - len(encode_line({"text": ""}))
    assert len(encode_line({"text": "x" * room})) == 65_536
    assert decode_line(encode_line({"text": "x" * room})) == {"text": "x" * room}
    with pytest.raises(ValueError, match="longer than 64 KiB"):
        encode_line({"text": "x" * (room + 1)})
    with pytest.raises(ValueError, match="longer than 64 KiB"):
        decode_line(b'- {"text": "' + b"x" * (room + 1) + b'"}\n')


@pytest.mark.parametrize(
    ("raw", "clause"),
    [
        (b"", "is empty"),
        (b"   ", "is empty"),
        (b"{}", "does not begin with `- `"),
        (b"- ", "is not JSON at column 1"),
        (b'- {"a": 1', "is not JSON at column 8"),
        (b'- {"a": 1} # note', "goes on after its JSON at column 9"),
        (b'- {"a": 1}\r', "has a carriage return"),
        (b'- {"a": "\0"}', "holds NUL bytes"),
        (b'- {"a": "\x01"}', "is not JSON"),
        (b'- {"a": "\xff"}', "is not UTF-8 at byte 8"),
        (b'- {"a": "\xed\xa0\x80"}', "is not UTF-8"),
        (b'- {"a": "\\ud83d"}', "half of a character pair"),
        (b'- {"\\ud83d": 1}', "half of a character pair"),
        (b'- {"a": 1, "a": 2}', "holds a key twice"),
        (b'- {"a": {"b": 1, "b": 1}}', "holds a key twice"),
        (b'- {"a": NaN}', "a number JSON does not know"),
        (b'- {"a": -Infinity}', "a number JSON does not know"),
        (b'- {"a": 1e999}', "a number that is too large"),
        (b'- {"a": ' + b"9" * 5000 + b"}", "a number that is too large"),
        (b"- [1, 2]", "is not a JSON object"),
        (b"- " + b"[" * 60_000, "is nested deeper than 20"),
        (b'- {"a": ' + b"[" * 20 + b"]" * 20 + b"}", "is nested deeper than 20"),
    ],
)
def test_a_line_that_cannot_be_read_is_said_in_a_clause(raw: bytes, clause: str) -> None:
    with pytest.raises(ValueError, match=clause):
        decode_line(raw)


def test_brackets_inside_text_are_not_nesting() -> None:
    payload = {"text": "[" * 500 + '"' + "{" * 500 + "\\", "tags": [["a"]]}
    assert decode_line(encode_line(payload)) == payload


def test_a_pair_spelled_out_is_one_character() -> None:
    assert decode_line(b'- {"a": "\\ud83c\\udfbf"}') == {"a": "🎿"}


def test_the_head_is_three_lines() -> None:
    assert (
        encode_head({"kind": "day", "by": "A1"})
        == b'# assess ledger 1\nheader: {"kind": "day", "by": "A1"}\nentries:\n'
    )


@given(st.dictionaries(st.text(), st.lists(st.text()) | st.text() | st.integers()))
def test_every_text_of_a_payload_becomes_what_records_hold(payload: dict[str, Any]) -> None:
    clean = typed_throughout(payload)
    encode_line(clean)
    assert typed_throughout(clean) == clean
    assert set(clean) == {typed(key) for key in payload}
