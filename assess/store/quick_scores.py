"""The scores of plain sheets, straight from the lines of their ledgers: a hundred thousand in seconds.

Only what the program itself writes is read here, byte for byte in the form it writes it: the chain is followed
from the header to the last entry, and the facts beside scores, undos and the lock are trusted where it fits.
Whatever has another form (a second device's entries in the lock, marks moved in and sent back, damage, a torn tail,
the hand of an editor) is left to the full reading in `ledger_file`, which knows all of it.
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from typing import NamedTuple, get_args

from assess.records.fact import FREE_TEXT
from assess.records.facts import SheetFact
from assess.records.ledger import kinds_allowed
from assess.store.chain import CHAIN_DIGITS
from assess.store.lines import LONGEST_LINE

__all__ = ["QuickMark", "QuickSheet", "quick_sheet"]


class QuickMark(NamedTuple):
    """A score that was not taken back. run: 0 for the overall mark; level: None unless the status is `scored`."""

    run: int
    criterion: str
    status: str
    level: int | None


@dataclass(frozen=True, slots=True)
class QuickSheet:
    """One assessor's record of one slot, kept on one device. marks: in the order in which they were given."""

    course: str
    task: str
    candidate: str
    assessor: str
    rubric: str
    locked: bool
    marks: tuple[QuickMark, ...]


_ID = rb"[A-Za-z0-9-]{1,16}"
_LONG = rb"[A-Za-z0-9][A-Za-z0-9-]{0,39}(?:\.[A-Za-z0-9-]+)*"
_AT = rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z"
_HEAD = re.compile(
    rb'# assess ledger 1\nheader: \{"kind": "sheet", "course": "(%b)", "task": "(%b)", "candidate": "(%b)", '
    rb'"assessor": "(%b)", "rubric": "(sha256:[0-9a-f]{64})", "device": "([a-z0-9]{3,12})", "opened": "%b"\}\n'
    rb"entries:\n" % (_ID, _ID, _ID, _ID, _AT)
)
_ENTRY = re.compile(rb'- \{"n": (\d{1,7}), "at": "(%b)", "kind": "([a-z-]+)", (?:"salt": "([0-9a-f]{1,64})", )?' % _AT)
_SCORE = re.compile(
    rb'"pass": (\d), "criterion": "(%b)", "status": "(scored|not-observed|not-applicable)"(?:, "level": (-?\d{1,9}))?'
    rb'(?:, "why": "[a-z0-9][a-z0-9-]{0,39}")?(?:, "evidence": \[[0-9, ]*\])?(?:, "viewpoint": "[a-z]+")?'
    rb'(?:, "moved_from": [1-9]\d{0,6})?' % _LONG
)
_UNDO = re.compile(rb'"of": (\d{1,7})')
_LOCK = re.compile(
    rb'"heads": \{"([A-Za-z0-9.-]+)": "(\d{1,7} [0-9a-f]{16})"\}, "seal": "sha256:[0-9a-f]{64}"'
    rb'(?:, "origin": "imported")?(?:, "source": "sha256:[0-9a-f]{64}")?'
    rb'(?:, "sig": \{"key": "[0-9a-f]{16}", "value": "[A-Za-z0-9_-]{86}"\})?'
)
_MOVED = re.compile(rb'"(?:to|source)": "[A-Za-z0-9.-]+", "of": \[([0-9, ]*)\]')
_TAIL, _TAIL_BYTES = b', "chain": "', len(b', "chain": "0123456789abcdef"}')
# Inside a text a quote stands behind a backslash, so what matches here is a key with its value.
_TEXT = rb'"(%b)": "([^"\\]*(?:\\.[^"\\]*)*)"'
_ANY_TEXT = re.compile(_TEXT % b"|".join(sorted(key.encode("ascii") for key in FREE_TEXT)))
# Most kinds have one free text; looking for its one key takes a third of the time.
_TEXTS = {
    kind.model_fields["kind"].default.encode("ascii"): re.compile(
        _TEXT % b"|".join(key.encode("ascii") for key in keys)
    )
    for kind in get_args(SheetFact)
    if (keys := sorted(FREE_TEXT.intersection(kind.model_fields)))
}
_READ = frozenset({"score", "undo", "lock", "moved-in", "moved-out"})
_TRUSTED = frozenset(kind.encode("ascii") for kind in kinds_allowed("sheet") - _READ)


def quick_sheet(raw: bytes, name: str) -> QuickSheet | None:
    """The sheet in the bytes of a ledger named `name`; None when it has to be read in full."""
    head = _HEAD.match(raw)
    if head is None or raw[-1:] != b"\n":
        return None
    course, task, candidate, assessor, rubric, device = (part.decode("ascii") for part in head.groups())
    if name != f"{task}.{candidate}.{assessor}.{device}":
        return None
    facts = _Facts(name.encode("ascii"))
    lines = raw[head.end() :].split(b"\n")
    lines.pop()
    try:
        whole = _follow(lines, hashlib.sha256(raw[: head.end()]).hexdigest().encode("ascii"), facts)
    except ValueError:
        whole = False
    marks = facts.marks() if whole else None
    if marks is None:
        return None
    return QuickSheet(course, task, candidate, assessor, rubric, facts.locked, marks)


def _follow(lines: list[bytes], link: bytes, facts: _Facts) -> bool:
    """True when number, time and chain go on from line to line and each has the form that is written."""
    sha256, entry_of, take = hashlib.sha256, _ENTRY.match, facts.take
    last = b""
    for n, line in enumerate(lines, start=1):
        entry = entry_of(line)
        end = len(line) - _TAIL_BYTES
        if entry is None or line[end : end + len(_TAIL)] != _TAIL or facts.locked or len(line) >= LONGEST_LINE:
            return False
        number, at, kind, salt = entry.groups()
        if at <= last or number != b"%d" % n:
            return False
        if kind not in _TRUSTED and not take(kind, n, link, line, entry.end(), end):
            return False
        chained = line[:end] if salt is None else _digested(line, entry.end(), end, salt, kind)
        link = sha256(link + chained).hexdigest().encode("ascii")
        if line[end + len(_TAIL) :] != link[:CHAIN_DIGITS] + b'"}':
            return False
        last = at
    return True


def _digested(line: bytes, start: int, end: int, salt: bytes, kind: bytes) -> bytes:
    """The line up to `end` as it is chained: each free text from `start` on as its digest, and no salt.

    Raises ValueError for a text with an escape JSON does not have.
    """
    before = line[: start - len(b'"salt": "", ') - len(salt)]

    def digest(found: re.Match[bytes]) -> bytes:
        key, text = found.groups()
        if b"\\" in text:
            text = json.loads(b'"' + text + b'"').encode("utf-8")
        return b'"%b_sha": "%b"' % (key, hashlib.sha256(salt + text).hexdigest().encode("ascii"))

    return before + _TEXTS.get(kind, _ANY_TEXT).sub(digest, line[start:end])


class _Facts:
    """What is kept of the entries: scores, what was taken back or moved, and whether the sheet is locked."""

    __slots__ = ("_in", "_name", "_out", "_scores", "_undos", "locked")

    def __init__(self, name: bytes) -> None:
        self._name = name
        self._scores: list[tuple[int, QuickMark]] = []
        self._undos: list[tuple[int, int]] = []
        self._in: set[int] = set()
        self._out: list[tuple[int, list[int]]] = []
        self.locked = False

    def take(self, kind: bytes, n: int, link: bytes, line: bytes, start: int, end: int) -> bool:
        """Keep entry n, whose fact stands from `start` to `end`; False when it has to be read in full."""
        if kind == b"score":
            found = _SCORE.fullmatch(line, start, end)
            if found is None:
                return False
            run, criterion, status, level = found.groups()
            given = None if level is None or status != b"scored" else int(level)
            self._scores.append((n, QuickMark(int(run), criterion.decode(), status.decode(), given)))
            return True
        if kind == b"undo":
            found = _UNDO.fullmatch(line, start, end)
            if found is not None:
                self._undos.append((n, int(found[1])))
            return found is not None
        if kind == b"lock":
            found = _LOCK.fullmatch(line, start, end)
            # A lock that seals another device's ledger too is a matter for the full reading.
            self.locked = found is not None and found.groups() == (self._name, b"%d %b" % (n - 1, link[:CHAIN_DIGITS]))
            return self.locked
        found = _MOVED.fullmatch(line, start, end)
        if found is None:
            return False
        if kind == b"moved-in":
            self._in.add(n)
        else:
            self._out.append((n, [int(of) for of in found[1].split(b", ")] if found[1] else []))
        return kind in (b"moved-in", b"moved-out")

    def marks(self) -> tuple[QuickMark, ...] | None:
        """The scores that were neither taken back nor moved away; an act that was taken back has no effect.

        None where marks that had been moved in were sent back: which of them is a matter for the full reading.
        """
        gone: set[int] = set()
        for n, of in reversed(self._undos):
            if n not in gone and of < n:
                gone.add(of)
        if gone & self._in:
            return None
        away = {of for n, several in self._out if n not in gone for of in several if of < n}
        return tuple(mark for n, mark in self._scores if n not in gone and n not in away)
