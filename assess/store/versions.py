"""Other versions of a record, kept aside under its name, a tilde and the start of their SHA-256.

Which of them a person has already compared is told by `settled` entries: maps from file names to
heads. A version is known by the record it is one of and its head; one that is damaged or without entries, or of
a hand-edited file, has the head `0` and the first 16 hex digits of its SHA-256.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from assess.records.errors import InputError, Problem
from assess.records.facts import Settled, Undo
from assess.records.ledger import Ledger
from assess.records.text import pictured
from assess.store.course_files import TABLE_FOLDER, base_name, base_stem, recorded_name
from assess.store.ledger_file import LARGEST_LEDGER, LedgerFile
from assess.store.reading import whole_file

__all__ = ["Settlement", "fork_problems", "record_of", "settlement", "version_head"]

_Known = tuple[str, str]


def record_of(name: str) -> str:
    """The record a name in an entry means: `T1.C04.A2.d7h2k`, `course`, `seals/2027-02-03.D1.d31kq`."""
    folder, _, file = name.rpartition("/")
    if folder == TABLE_FOLDER:
        return base_name(name)
    return recorded_name(folder, base_stem(file))


def version_head(raw: bytes, file: LedgerFile | None) -> str:
    """How a `settled` entry records a version: the ledger's head, or `0` and 16 digits of the bytes' digest."""
    if file is not None and file.ledger.entries and not (file.bad or file.torn):
        return file.ledger.head
    return f"0 {hashlib.sha256(raw).hexdigest()[:16]}"


@dataclass(frozen=True)
class Settlement:
    """What people have settled: (record, head) of every version they kept and of every one they set aside."""

    kept: frozenset[_Known] = frozenset()
    aside: frozenset[_Known] = frozenset()

    def names(self, record: str, head: str) -> bool:
        """True when somebody has compared this version already."""
        return (record, head) in self.kept or (record, head) in self.aside

    def rank(self, record: str, heads: Iterable[str]) -> int:
        """0 for a version that goes on from a kept one, 2 for one that goes on from one set aside, 1 for others."""
        known = {(record, head) for head in heads}
        return 0 if known & self.kept else 2 if known & self.aside else 1


def settlement(ledgers: Iterable[Ledger]) -> Settlement:
    """What the `settled` entries of these ledgers say, those taken back left out."""
    facts = [fact for ledger in ledgers for fact in _settled(ledger)]
    return Settlement(
        frozenset(pair for fact in facts for pair in _pairs(fact.kept)),
        frozenset(pair for fact in facts for pair in _pairs(fact.aside)),
    )


def _settled(ledger: Ledger) -> Iterator[Settled]:
    gone: set[int] = set()
    for entry in reversed(ledger.entries):
        if isinstance(entry.fact, Undo):
            if entry.n not in gone:
                gone.add(entry.fact.of)
        elif isinstance(entry.fact, Settled) and entry.n not in gone:
            yield entry.fact


def _pairs(heads: Mapping[str, str]) -> Iterator[_Known]:
    return ((record_of(name), head) for name, head in heads.items())


def fork_problems(
    root: Path, aside: Sequence[str], ledgers: Sequence[LedgerFile], forks: Sequence[LedgerFile]
) -> list[Problem]:
    """One doubt for every version kept aside that no `settled` entry names."""
    settled = settlement(file.ledger for file in (*ledgers, *forks) if not file.bad)
    readable = {f"{file.path.parent.name}/{file.path.name}": file for file in forks}
    in_use = {f"{file.path.parent.name}/{file.name}": file for file in ledgers}
    problems = []
    for shown in aside:
        name, file = shown.rpartition("/")[2], readable.get(shown)
        if ".torn" in name or settled.names(record_of(shown), _head(root, shown, file)):
            continue
        record = base_name(shown)
        what, todo = _relation(file, in_use.get(record.removesuffix(".yaml")), damaged="~bad-" in name)
        problems.append(Problem(pictured(shown), 0, what.format(pictured(record)), todo, doubt=True))
    return problems


_SETTLE = "compare both, enter what is missing again, and settle it"


def _relation(file: LedgerFile | None, used: LedgerFile | None, *, damaged: bool) -> tuple[str, str]:
    """What a version kept aside is to the one in use, and what to do about it."""
    if file is not None and used is not None:
        if used.raw.startswith(file.raw):
            return "is an older copy of {}: all of it stands there", "a merge takes it away"
        if not (damaged or file.bad) and file.raw.startswith(used.raw[: used.whole]):
            return "goes on from {} and is not used yet", "a merge puts it in its place"
    return f"is {'a damaged' if damaged else 'another'} version of {{}}, kept aside and not used", _SETTLE


def _head(root: Path, shown: str, file: LedgerFile | None) -> str:
    if file is not None:
        return version_head(file.raw, file)
    try:
        return version_head(whole_file(root / shown, shown, LARGEST_LEDGER), None)
    except InputError:
        return ""  # cannot be read, so nobody can have settled it: it is reported
