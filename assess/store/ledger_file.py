"""Ledgers as files: every whole entry is read, and what is wrong after that is said with its line."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from assess.records.errors import InputError, Problem
from assess.records.fact import ENVELOPE
from assess.records.facts import Lock
from assess.records.ledger import (
    LEDGER_FORMAT,
    Entry,
    Header,
    Ledger,
    fact_from,
    kinds_allowed,
    why_invalid,
)
from assess.records.text import pictured
from assess.records.times import INSTANT
from assess.store.chain import CHAIN_DIGITS, chained_bytes, first_link, next_link
from assess.store.lines import LONGEST_LINE, decode_line, decode_object
from assess.store.reading import whole_file
from assess.store.signatures import split_signature, to_sign

__all__ = ["LARGEST_LEDGER", "LedgerFile", "parse_ledger", "read_ledger"]

LARGEST_LEDGER = 32 * 1024 * 1024
_REMEMBERED = 64 * 1024
_FIRST = f"# assess ledger {LEDGER_FORMAT}".encode()
_HEAD = (_FIRST, b"header: ", b"entries:")
_INSTANT = re.compile(INSTANT, re.ASCII)
_COPY = "keep the file as it is and take the entries from a copy on another device"


@dataclass(frozen=True)
class LedgerFile:
    """A ledger as it stands on disk.

    ledger: header and every entry before the first damage; whole: bytes up to the end of the last of them,
    head: bytes before the first. torn: what follows the last newline was cut short and is not read.
    bad: a line in the middle does not fit, or entries follow a lock; such a ledger is never continued.
    link: the 64 hex digits the next entry is chained to. problems: what is wrong, with its line, never with
    what the entries say. signed: number of each signed entry -> the bytes its signature is of.
    """

    path: Path
    name: str
    ledger: Ledger
    raw: bytes
    whole: int
    problems: tuple[Problem, ...] = ()
    torn: bool = False
    bad: bool = False
    link: str = ""
    head: int = 0
    signed: Mapping[int, bytes] = field(default_factory=dict)


def read_ledger(path: Path, *, shown: str = "") -> LedgerFile:
    """The ledger at `path`; `shown` is how messages name it.

    Raises InputError only when there is no header to be had: no such file, no plain file, more than
    32 MiB, not a ledger, one of a newer version. Damage further on is in `problems`.
    """
    shown = shown or str(path)
    raw = whole_file(path, shown, LARGEST_LEDGER)
    return replace(parse_ledger(raw, path.name.removesuffix(".yaml"), shown), path=path)


def parse_ledger(raw: bytes, name: str, shown: str = "") -> LedgerFile:
    """The ledger in these bytes; see `read_ledger`."""
    read = _read if len(raw) <= _REMEMBERED else _read.__wrapped__
    return read(raw, name, shown or f"{name}.yaml")


@lru_cache(maxsize=512)
def _read(raw: bytes, name: str, shown: str) -> LedgerFile:
    """The same bytes say the same: a course is opened again and again while one file of it grows."""
    header, start = _head(raw, shown)
    walk = _Walk(header, first_link(raw[:start]))
    whole, problem, torn = _entries(raw, start, walk, shown)
    ledger = Ledger(name, header, tuple(walk.entries))
    return LedgerFile(
        Path(shown), name, ledger, raw, whole,
        problems=() if problem is None else (problem,),
        torn=torn, bad=problem is not None and not torn, link=walk.link, head=start, signed=walk.signed,
    )  # fmt: skip


def _head(raw: bytes, shown: str) -> tuple[Header, int]:
    """The header and where the first entry begins. Raises InputError."""
    lines: list[bytes] = []
    start = 0
    for number in range(1, len(_HEAD) + 1):
        end = raw.find(b"\n", start, start + LONGEST_LINE)
        line = raw[start : end if end >= 0 else start + LONGEST_LINE]
        problem = _head_problem(number, line, cut=end < 0)
        if problem is not None:
            raise InputError([Problem(shown, number, problem, "put back a copy of it, or take it out of the folder")])
        lines.append(line)
        start = end + 1
    try:
        return Header.model_validate(decode_object(lines[1].removeprefix(b"header: "))), start
    except ValidationError as error:
        clauses = _clauses(error)
    except ValueError as error:
        clauses = [f"this line {error}"]
    raise InputError([Problem(shown, 2, f"the header cannot be used: {clause}") for clause in clauses])


def _head_problem(number: int, line: bytes, *, cut: bool) -> str | None:
    expected = _HEAD[number - 1]
    if cut and len(line) >= LONGEST_LINE:
        return "has a header line over 64 KiB"
    if cut and expected.startswith(line[: len(expected)]):
        return "ends inside its header"
    if number == 1 and line != _FIRST:
        return _not_a_ledger(line)
    if number == 2 and not line.startswith(expected):
        return "does not begin with `header: `"
    if number == 3 and line != expected:
        return "is not `entries:`"
    return None


def _not_a_ledger(line: bytes) -> str:
    if line.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in line:
        return "is not UTF-8 text (UTF-16, or not text at all)"
    if line.startswith(b"\xef\xbb\xbf"):
        return "begins with a byte order mark; some editor put it there"
    if line == _FIRST + b"\r":
        return "has CR LF line ends; something on the way changed them"
    version = line.removeprefix(b"# assess ledger ")
    if version != line and version.isdigit() and len(version) < 9 and int(version) > LEDGER_FORMAT:
        return f"is written by a newer version of this program (ledger {int(version)}, known here {LEDGER_FORMAT})"
    return f"is not a ledger: its first line is not `{_FIRST.decode()}`"


def _entries(raw: bytes, start: int, walk: _Walk, shown: str) -> tuple[int, Problem | None, bool]:
    """Walk the entries: bytes that are whole, what stopped the walk, whether that is only a torn tail."""
    number = len(_HEAD) + 1
    while start < len(raw):
        end = raw.find(b"\n", start)
        line = raw[start : min(end, start + LONGEST_LINE) if end >= 0 else start + LONGEST_LINE]
        try:
            # A last line without its newline is whole when its chain fits.
            walk.take(line, number)
        except _AfterLock:
            what = "an entry stands after the lock; nothing counts from here on"
            return start, Problem(shown, number, what, "new facts belong into another ledger"), False
        except ValueError as error:
            if end < 0:
                return start, _torn(shown, number), True
            what = f"this line {error}; nothing is read from here on"
            return start, Problem(shown, number, what, _COPY), False
        start = end + 1 if end >= 0 else len(raw)
        number += 1
    return start, None, False


def _torn(shown: str, number: int) -> Problem:
    what = "the last line was cut short and is not read"
    return Problem(shown, number, what, "the next entry keeps its bytes aside and goes on", doubt=True)


class _AfterLock(ValueError):
    """A whole entry after a lock."""


class _Walk:
    """Entry after entry: each must be the next in number, time and chain."""

    def __init__(self, header: Header, link: str) -> None:
        self.link = link
        self.entries: list[Entry] = []
        self.signed: dict[int, bytes] = {}
        self._kind = header.kind
        self._allowed = kinds_allowed(header.kind)
        self._last = ""

    def take(self, line: bytes, number: int) -> None:
        """Read one line. Raises ValueError with a clause that continues "this line ..."."""
        payload = decode_line(line)
        chained, written = chained_bytes(line, payload)
        link = next_link(self.link, chained)
        if link[:CHAIN_DIGITS] != written:
            raise ValueError("does not fit the chain: it, or one above it, is not as it was written")
        if self.entries and isinstance(self.entries[-1].fact, Lock):
            raise _AfterLock
        n, at = self._envelope(payload)
        unsigned, sig = split_signature(chained, payload)
        entry = Entry(n, at, self._fact(payload), written, number, sig)
        self.entries.append(entry)
        if sig is not None:
            self.signed[n] = to_sign(self.link, unsigned)
        self.link, self._last = link, at

    def _envelope(self, payload: dict[str, Any]) -> tuple[int, str]:
        n, at = payload.get("n"), payload.get("at")
        if type(n) is not int or n != len(self.entries) + 1:
            raise ValueError(f"is not entry {len(self.entries) + 1}")
        if not isinstance(at, str) or not _is_instant(at):
            raise ValueError("has no time, or one that is none")
        # Instants are of one length, so they sort as text.
        if at <= self._last:
            raise ValueError("is not later than the entry before it")
        return n, at

    def _fact(self, payload: dict[str, Any]) -> Any:
        kind = payload.get("kind")
        if not isinstance(kind, str) or kind not in self._allowed:
            raise ValueError(f"is of a kind a {self._kind} ledger does not hold")
        if "erased" in payload:
            raise ValueError("cannot be used: erased: not a key of the file")
        for key in ENVELOPE:
            payload.pop(key, None)
        try:
            return fact_from(payload)
        except ValidationError as error:
            raise ValueError(f"cannot be used: {'; '.join(_clauses(error))}") from None


def _is_instant(text: str) -> bool:
    if not _INSTANT.fullmatch(text):
        return False
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def _clauses(error: ValidationError) -> list[str]:
    """What is wrong, short and safe on a screen: a key of the file may be anything."""
    return [pictured(clause[:200]) for clause in why_invalid(error)[:5]]
