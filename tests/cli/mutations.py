"""Files gone wrong in every way one can think of, the same ones each time: bytes, lines, values and chains."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

from assess.store.chain import chained, first_link, next_link
from assess.store.lines import body, encode_head

__all__ = ["mutated_bytes", "mutated_ledger", "rechained"]

_PIECES: tuple[bytes, ...] = (
    b"\x00", b"\xff\xfe", b"\xc3", b"\xe2\x80\xa8", b"\xef\xbb\xbf", b"\x1b[31m", b"\r", b"\t", b"&a ", b"*a", b"!x ",
    b"!!python/object:os.system ", b"%YAML 1.1\n", b"---\n", b"? ", b"<<: *a", b"[" * 30, b"{" * 50, b"[" * 20_000,
    b'"', b"'", b": ", b"- ", b"#", b"|\n", b">-\n", b"NaN", b".inf", b"-1", b"0x1F", b"1e999", b"9" * 400, b"null",
    b"true", b"~", b"../../etc/passwd", b"C01", b"{}", b"[]", b"\\ud83d", b"\\u0000", b"x" * 5000, b"2027-99-99",
)  # fmt: skip
_VALUES: tuple[Any, ...] = (
    None, True, -1, 0, 7, 10**9, 10**30, 1.5, "", " ", "x", "../x", "a/b", "T1", "C01", "A2", "D1", "lock", "undo",
    "x" * 9000, [], {}, [1], ["x"], {"x": "1 0123456789abcdef"}, {"": ""}, [[[]]], "sha256:" + "0" * 64,
    "0 " + "0" * 16, "2026-02-02T09:00:00.000Z", "9999-12-31T23:59:59.999Z",
)  # fmt: skip


def mutated_bytes(raw: bytes, pick: random.Random) -> bytes:
    """The file with one to three things wrong in its bytes or lines."""
    for _ in range(pick.choice((1, 1, 1, 2, 3))):
        raw = pick.choice(_WAYS)(raw, pick)
    return raw


def _cut(raw: bytes, pick: random.Random) -> bytes:
    return raw[: pick.randrange(len(raw) + 1)]


def _flip(raw: bytes, pick: random.Random) -> bytes:
    at = pick.randrange(len(raw)) if raw else 0
    return raw[:at] + bytes([raw[at] ^ (1 << pick.randrange(8))]) + raw[at + 1 :] if raw else raw


def _insert(raw: bytes, pick: random.Random) -> bytes:
    at = pick.randrange(len(raw) + 1)
    return raw[:at] + pick.choice(_PIECES) + raw[at:]


def _drop(raw: bytes, pick: random.Random) -> bytes:
    at = pick.randrange(len(raw) + 1)
    return raw[:at] + raw[at + pick.randrange(1, 60) :]


def _word(raw: bytes, pick: random.Random) -> bytes:
    """Another value behind one of the colons or commas."""
    places = [place for place, sign in enumerate(raw) if sign in b":,"]
    if not places:
        return raw
    at = pick.choice(places) + 1
    end = next((place for place in range(at, len(raw)) if raw[place] in b",\n}]"), len(raw))
    return raw[:at] + b" " + pick.choice(_PIECES) + raw[end:]


def _lines(raw: bytes, pick: random.Random) -> bytes:
    """Lines dropped, doubled, swapped, indented."""
    lines = raw.split(b"\n")
    at, other = pick.randrange(len(lines)), pick.randrange(len(lines))
    what = pick.randrange(4)
    if what == 0:
        del lines[at]
    elif what == 1:
        lines.insert(other, lines[at])
    elif what == 2:
        lines[at], lines[other] = lines[other], lines[at]
    else:
        lines[at] = b"  " + lines[at]
    return b"\n".join(lines)


def _whole(raw: bytes, pick: random.Random) -> bytes:
    """The file as another program would have saved it, or another kind of file."""
    text = raw.decode("utf-8", "replace")
    return pick.choice(
        (
            b"", b"\n", raw.replace(b"\n", b"\r\n"), b"\xef\xbb\xbf" + raw, text.encode("utf-16"),
            text.encode("latin-1", "replace"),
            raw.replace(b" 1\n", b" 99\n", 1), raw + raw, b"PK\x03\x04" + raw, bytes(range(256)), raw.upper(),
        )
    )  # fmt: skip


_WAYS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _cut, _flip, _flip, _insert, _insert, _drop, _word, _word, _word, _lines, _lines, _whole,
)  # fmt: skip


def mutated_ledger(raw: bytes, pick: random.Random) -> bytes:
    """The ledger with its bytes spoilt, or with other content under a chain that fits."""
    if pick.random() < 0.4:
        return mutated_bytes(raw, pick)
    rows = [row for row in raw.split(b"\n") if row]
    header = json.loads(rows[1].removeprefix(b"header: "))
    entries = [json.loads(row[2:]) for row in rows[3:]]
    if pick.random() < 0.25:
        _change(header, pick)
    for _ in range(pick.choice((0, 1, 1, 2))):
        if entries:
            _entries(entries, pick)
    return rechained(header, entries)


def _change(box: dict[str, Any], pick: random.Random) -> None:
    """One key of an object changed, taken out, added or renamed."""
    key = pick.choice(sorted(box))
    what = pick.randrange(5)
    if what <= 2:
        box[key] = pick.choice(_VALUES)
    elif what == 3:
        box.pop(key)
    else:
        box[pick.choice(("zz", "text", "level", "pass", "of", "heads", "to", "text_sha", "erased"))] = pick.choice(
            _VALUES
        )


def _entries(entries: list[dict[str, Any]], pick: random.Random) -> None:
    """One entry changed, taken out, doubled, moved, or put behind the lock."""
    at = pick.randrange(len(entries))
    what = pick.randrange(8)
    if what <= 3:
        _change(entries[at], pick)
    elif what == 4:
        entries.pop(at)
    elif what == 5:
        entries.append(dict(entries[at]))
    elif what == 6:
        entries[at]["kind"] = pick.choice(("score", "undo", "lock", "moved-out", "seal", "nonsense"))
    else:
        entries.insert(pick.randrange(len(entries)), entries.pop(at))


def rechained(header: dict[str, Any], entries: list[dict[str, Any]]) -> bytes:
    """A ledger of these entries whose chain fits, as somebody would write it who knows the rules."""
    raw = encode_head(header)
    link = first_link(raw)
    for entry in entries:
        bare = {key: value for key, value in entry.items() if key != "chain"}
        try:
            link = next_link(link, chained(bare))
        except (TypeError, AttributeError):
            # Something other than text under a key for text has no place in a chain.
            link = next_link(link, repr(sorted(bare)).encode())
        raw += f"- {body({**bare, 'chain': link[:16]})}\n".encode("utf-8", "backslashreplace")
    return raw
