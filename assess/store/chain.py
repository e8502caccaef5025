"""The chain of a ledger: every entry carries a digest of all before it.

Free text enters the chain through a salted digest, so that it can be erased later without
breaking the chain, and nobody can guess it from what is left.
"""

from __future__ import annotations

import hashlib
import re
from typing import Any

from assess.records.facts import FREE_TEXT
from assess.store.lines import body

__all__ = ["CHAIN_DIGITS", "chained", "chained_bytes", "first_link", "next_link", "text_digest"]

CHAIN_DIGITS = 16
_TAIL = re.compile(rb', "chain": "([0-9a-f]{16})"\}')
_TAIL_BYTES = len(b', "chain": ""}') + CHAIN_DIGITS
_DIGEST = re.compile(r"[0-9a-f]{64}")
_SALT = re.compile(r"[0-9a-f]{1,64}")


def first_link(head: bytes) -> str:
    """c0: SHA-256 of all bytes before the first entry, 64 hex digits."""
    return hashlib.sha256(head).hexdigest()


def next_link(previous: str, chained_line: bytes) -> str:
    """c_k from c_(k-1) and the rewritten line, 64 hex digits; the first 16 are written in the line."""
    return hashlib.sha256(previous.encode("ascii") + chained_line).hexdigest()


def text_digest(salt: str, text: str) -> str:
    """What stands for a free text in the chain: SHA-256 of the salt's hex digits and the text."""
    return hashlib.sha256((salt + text).encode("utf-8")).hexdigest()


def chained(payload: dict[str, Any]) -> bytes:
    """The rewritten line of an entry: texts as digests, no salt, no chain, the last brace left out."""
    salt = payload.get("salt", "")
    rewritten = {}
    for key, value in payload.items():
        if key in FREE_TEXT:
            rewritten[f"{key}_sha"] = text_digest(salt, value)
        elif key not in ("salt", "chain"):
            rewritten[key] = value
    return f"- {body(rewritten)[:-1]}".encode()


def chained_bytes(line: bytes, payload: dict[str, Any]) -> tuple[bytes, str]:
    """The rewritten line of a line as read, and the chain value it carries.

    line: without its newline; payload: what `decode_line` made of it.
    Raises ValueError with a clause when chain, salt or digests are not in their place.
    """
    tail = _TAIL.fullmatch(line, max(0, len(line) - _TAIL_BYTES))
    if tail is None:
        raise ValueError("does not end with its chain value")
    texts = [key for key in payload if key in FREE_TEXT]
    if ("salt" in payload) != bool(texts):
        raise ValueError("has free text without a salt, or a salt without free text")
    if b'_sha"' in line:
        _check_digests(payload)
    before = line[: tail.start()]
    if texts:
        _check_texts(payload, texts)
        before = _spliced(before, payload, texts) or chained(payload)
    return before, tail[1].decode("ascii")


def _check_texts(payload: dict[str, Any], texts: list[str]) -> None:
    if not (isinstance(payload["salt"], str) and _SALT.fullmatch(payload["salt"])):
        raise ValueError("has a salt that is none")
    if not all(isinstance(payload[key], str) for key in texts):
        raise ValueError("has something other than text where text belongs")


def _check_digests(payload: dict[str, Any]) -> None:
    for key, value in payload.items():
        text = key.removesuffix("_sha")
        if text == key or text not in FREE_TEXT:
            continue
        if text in payload or not (isinstance(value, str) and _DIGEST.fullmatch(value)):
            raise ValueError("holds a digest that is none")


def _spliced(before: bytes, payload: dict[str, Any], texts: list[str]) -> bytes | None:
    """What `chained` gives, by exchanging bytes; None where they do not stand there exactly once.

    Three times as fast, and a course has thousands of observations.
    """
    salt = payload["salt"]
    swaps = [(f'"salt": "{salt}", ', "")]
    swaps += [(f'"{key}": {body(payload[key])}', f'"{key}_sha": "{text_digest(salt, payload[key])}"') for key in texts]
    for old, new in swaps:
        found = old.encode()
        if before.count(found) != 1:
            return None
        before = before.replace(found, new.encode())
    return before
