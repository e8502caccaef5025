"""One line of a ledger: `- ` and a JSON object, the same bytes for the same content everywhere."""

from __future__ import annotations

import json
import re
from typing import Any, NoReturn

from assess.records.ledger import LEDGER_FORMAT
from assess.records.text import typed

__all__ = [
    "DEEPEST", "LONGEST_LINE", "body", "decode_line", "decode_object", "encode_head", "encode_line", "typed_throughout",
]  # fmt: skip

LONGEST_LINE = 64 * 1024
"""Bytes of a line, its newline included."""
DEEPEST = 20

# Readers of YAML take these for line ends, marks of the encoding or forbidden characters.
_SPELLED = re.compile("[\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_ENCODER = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(", ", ": "))


def body(payload: dict[str, Any] | str) -> str:
    """The JSON of a line, or of one text of it. Raises ValueError for NaN, infinity and what JSON has no form for."""
    text = _ENCODER.encode(payload)
    if text.isascii() and "\x7f" not in text:
        return text
    return _SPELLED.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def encode_line(payload: dict[str, Any]) -> bytes:
    """The whole line with its newline.

    Raises ValueError for what cannot be written: NaN, a lone surrogate, more than 64 KiB.
    """
    line = f"- {body(payload)}\n".encode()
    if len(line) > LONGEST_LINE:
        raise ValueError("the line would be longer than 64 KiB")
    return line


def encode_head(header: dict[str, Any]) -> bytes:
    """Everything before the first entry: the format, the header, the key under which entries stand."""
    return f"# assess ledger {LEDGER_FORMAT}\nheader: {body(header)}\nentries:\n".encode()


def decode_line(raw: bytes) -> dict[str, Any]:
    """The object on a line, with or without its newline.

    Raises ValueError with a clause that continues "this line ...", never with what the line says.
    """
    raw = raw.removesuffix(b"\n")
    if len(raw) >= LONGEST_LINE:
        raise ValueError("is longer than 64 KiB")
    if not raw.startswith(b"- "):
        raise ValueError("does not begin with `- `" if raw.strip() else "is empty")
    return decode_object(raw[2:])


def decode_object(raw: bytes) -> dict[str, Any]:
    """The JSON object in these bytes, no key twice. Raises ValueError with a clause."""
    if b"\r" in raw:
        raise ValueError("has a carriage return: lines end with LF alone")
    if b"\0" in raw:
        raise ValueError("holds NUL bytes")
    # Counting first: a parser that recurses could be made to run out of stack.
    if raw.count(b"[") + raw.count(b"{") > DEEPEST and _depth(raw) > DEEPEST:
        raise ValueError(f"is nested deeper than {DEEPEST}")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise ValueError(f"is not UTF-8 at byte {error.start + 1}") from None
    try:
        found, end = _DECODER.raw_decode(text)
    except json.JSONDecodeError as error:
        raise ValueError(f"is not JSON at column {error.pos + 1}") from None
    if end != len(text):
        raise ValueError(f"goes on after its JSON at column {end + 1}")
    if not isinstance(found, dict):
        raise ValueError("is not a JSON object")
    if b"\\u" in raw:
        _refuse_surrogates(found)
    return found


def _depth(raw: bytes) -> int:
    deepest = depth = 0
    for sign in re.findall(rb'[\[{\]}]|"(?:[^"\\]|\\.)*"', raw):
        depth += 1 if sign in b"[{" else -1 if sign in b"]}" else 0
        deepest = max(deepest, depth)
    return deepest


def _refuse_surrogates(found: dict[str, Any]) -> None:
    try:
        _ENCODER.encode(found).encode("utf-8")
    except UnicodeEncodeError:
        raise ValueError("holds half of a character pair") from None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("holds a key twice")
    return found


def _no_constant(_name: str) -> NoReturn:
    raise ValueError("holds a number JSON does not know")


def _finite(text: str) -> float:
    number = float(text)
    if number in (float("inf"), float("-inf")):
        raise ValueError("holds a number that is too large")
    return number


def _whole(text: str) -> int:
    if len(text) > 20:
        raise ValueError("holds a number that is too large")
    return int(text)


_DECODER = json.JSONDecoder(object_pairs_hook=_once, parse_constant=_no_constant, parse_float=_finite, parse_int=_whole)


def typed_throughout(value: Any) -> Any:
    """A payload in which every text is as records hold it (`records.text.typed`)."""
    if isinstance(value, str):
        return typed(value)
    if isinstance(value, dict):
        return {typed(key): typed_throughout(item) for key, item in value.items()}
    if isinstance(value, list):
        return [typed_throughout(item) for item in value]
    return value
