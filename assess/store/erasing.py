"""A ledger without some of its texts: each is replaced by the digest that stood for it in the chain all along.

The chain, every head recorded elsewhere and every signature still fit afterwards. What cannot be read (behind a
damage) cannot be told apart either, and goes whole where the record is about the person.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable

from assess.records.errors import InputError
from assess.records.fact import FREE_TEXT
from assess.records.facts import Erasure
from assess.records.ledger import Ledger
from assess.store.chain import chained_bytes
from assess.store.ledger_file import LedgerFile, parse_ledger
from assess.store.lines import decode_line

__all__ = ["erased_heads", "with_erasures", "without_texts", "without_unread"]


def without_texts(file: LedgerFile, numbers: Collection[int]) -> bytes:
    """The bytes of a ledger in which the entries with these numbers have no free text any more.

    Lines without text, and everything behind a damage, keep their bytes.
    """
    lines = file.raw.split(b"\n")
    first = file.raw[: file.head].count(b"\n")
    for entry in file.ledger.entries:
        if entry.n in numbers:
            lines[first + entry.n - 1] = _without_text(lines[first + entry.n - 1])
    return b"\n".join(lines)


def _without_text(line: bytes) -> bytes:
    payload = decode_line(line)
    if not FREE_TEXT.intersection(payload):
        return line
    before, chain = chained_bytes(line, payload)
    return before + f', "chain": "{chain}"}}'.encode()


def without_unread(raw: bytes, file: LedgerFile) -> bytes:
    """These bytes without what nobody can read: a torn end goes, each line behind a damage leaves its digest.

    raw: the file's bytes, or what `without_texts` made of them. A damaged ledger stays damaged in the same line.
    """
    whole = _whole(raw, file)
    if file.torn:
        return raw[:whole]
    lines = [line for line in raw[whole:].split(b"\n") if line]
    return raw[:whole] + b"".join(
        b'- {"unread_sha": "%b"}\n' % hashlib.sha256(line).hexdigest().encode() for line in lines
    )


def _whole(raw: bytes, file: LedgerFile) -> int:
    """Where the last entry that was read ends: lines were exchanged, none was added or taken out."""
    end = 0
    for _ in range(file.raw[: file.whole].count(b"\n")):
        end = raw.index(b"\n", end) + 1
    return len(raw) if file.whole == len(file.raw) else end


def erased_heads(ledgers: Iterable[Ledger]) -> dict[str, frozenset[str]]:
    """Record (as heads name it) -> heads of the entries whose text was erased, as `erasure` entries list them.

    Nothing brings an erased text back, so an `erasure` that was taken back still counts; and whoever wrote it, so
    that a merge depends on no other file. `check` tells of one that no director wrote.
    """
    found: dict[str, set[str]] = {}
    for ledger in ledgers:
        for entry in ledger.entries:
            if isinstance(entry.fact, Erasure):
                for record, heads in entry.fact.entries.items():
                    found.setdefault(record, set()).update(heads)
    return {record: frozenset(heads) for record, heads in found.items()}


def with_erasures(raw: bytes, stem: str, heads: Collection[str]) -> bytes:
    """A version of a record without the text of the entries with these heads; as it is when it is no ledger."""
    try:
        file = parse_ledger(raw, stem)
    except InputError:
        return raw
    return without_texts(file, {entry.n for entry in file.ledger.entries if f"{entry.n} {entry.chain}" in heads})
