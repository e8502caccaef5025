"""Heads recorded in another file: what finds a ledger that was cut or rewritten.

Locks, seals and decisions record heads: a ledger's name, the number of an entry and its chain value. Whoever rewrites
a file and its chain cannot rewrite those. Seals are no part of any heads: each names the one before it. A moderation
names the seals of the locks it rests on, which stand for the heads those locks record.
"""

from __future__ import annotations

import hashlib
import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.records.errors import Problem
from assess.records.facts import Lock, Seal, SomeFact
from assess.records.text import pictured
from assess.store.versions import record_of, settlement, version_head

if TYPE_CHECKING:
    from assess.records.ledger import Entry
    from assess.store.course_folder import CourseFolder
    from assess.store.ledger_file import LedgerFile

__all__ = ["HeadsFound", "head_problems", "look_at_heads", "loose_seals", "seal_of"]

_PREVIOUS = re.compile(r"([A-Za-z0-9.-]{1,80}) ([0-9]{1,9} [0-9a-f]{16})")
_TODO = "get this file from another copy and merge it"


def seal_of(heads: Mapping[str, str]) -> str:
    """The seal of some heads: `sha256:` and the digest of the lines `name n chain`, sorted by name."""
    lines = "".join(f"{name} {heads[name]}\n" for name in sorted(heads))
    return "sha256:" + hashlib.sha256(lines.encode("utf-8")).hexdigest()


def loose_seals(folder: CourseFolder) -> list[LedgerFile]:
    """The seal ledgers whose newest entry no other one names yet, oldest first: the next seal names them."""
    seals = [file for file in folder.ledgers if file.ledger.header.kind == "seal" and file.ledger.entries]
    named = {fact.previous for file in seals for entry in file.ledger.entries if isinstance(fact := entry.fact, Seal)}
    loose = [file for file in seals if f"{file.name} {file.ledger.head}" not in named]
    return sorted(loose, key=lambda file: (file.ledger.entries[-1].at, file.name))


def head_problems(folder: CourseFolder) -> list[Problem]:
    """What the recorded heads tell, each problem with the file it is about.

    Ledgers cut, changed or missing; seals that do not fit; and, as doubts, ledgers with entries newer than
    every recorded head. (A sheet that only its own lock records could still be rewritten together with that.)
    """
    look = _looked(folder)
    return sorted({*look.problems, *look.unanchored()})


@dataclass(frozen=True)
class HeadsFound:
    """What the recorded heads tell of each ledger in use, by its file (`sheets/T1.C04.A2.d7h2k.yaml`).

    anchored: the newest entry that another file records as it stands. broken: the newest that one records otherwise.
    cut: the newest that one records and that does not stand there any more. absent: files of which heads are recorded
    and that are not here. newest: the file that holds the newest seal, which nothing can record yet. problems: all of
    it as sentences, without doubts.
    """

    anchored: Mapping[str, int]
    broken: Mapping[str, int]
    cut: Mapping[str, int]
    absent: frozenset[str]
    newest: frozenset[str]
    problems: tuple[Problem, ...]


def look_at_heads(folder: CourseFolder) -> HeadsFound:
    """Every recorded head held against what stands there."""
    look = _looked(folder)
    problems = tuple(sorted(set(look.problems)))
    return HeadsFound(
        look.elsewhere, look.broken, look.cut, frozenset(look.absent), frozenset(look.last_seals), problems
    )


def _looked(folder: CourseFolder) -> _Look:
    look = _Look(folder)
    for file in folder.ledgers:
        for entry in file.ledger.entries:
            recorded = _recorded(entry.fact)
            if recorded is not None:
                look.heads(*recorded, file, entry)
            if isinstance(entry.fact, Seal) and entry.fact.previous is not None:
                look.previous(entry.fact.previous, file, entry.line)
    for file in folder.ledgers:
        for entry in file.ledger.entries:
            for about, seal in _seals_named(entry.fact):
                look.named_seal(about, seal, file, entry.line)
    return look


def _recorded(fact: SomeFact) -> tuple[Mapping[str, str], str] | None:
    """The heads a fact of any kind records, and their seal."""
    heads, seal = getattr(fact, "heads", None), getattr(fact, "seal", None)
    return (heads, seal) if isinstance(heads, Mapping) and isinstance(seal, str) else None


def _seals_named(fact: SomeFact) -> list[tuple[str, str]]:
    """The seals of locks a fact of any kind rests on, with the assessor or the task it names each by."""
    named = getattr(fact, "seals", None)
    return sorted(named.items()) if isinstance(named, Mapping) else []


def _shown(file: LedgerFile) -> str:
    return f"{file.path.parent.name}/{file.path.name}"


@dataclass(frozen=True)
class _Head:
    """An entry as recorded: in which ledger, which one, its chain value; and where that is recorded."""

    name: str
    n: int
    chain: str
    place: str

    def stands_in(self, file: LedgerFile) -> bool:
        """True when the ledger still holds this entry as it was."""
        entries = file.ledger.entries
        return len(entries) >= self.n and entries[self.n - 1].chain == self.chain


class _Look:
    """All ledgers by the record they are versions of; problems gather, and how far each ledger is covered."""

    def __init__(self, folder: CourseFolder) -> None:
        self.problems: list[Problem] = []
        self.elsewhere: dict[str, int] = {}
        self.broken: dict[str, int] = {}
        self.cut: dict[str, int] = {}
        self.absent: set[str] = set()
        self._ledgers = folder.ledgers
        self.last_seals = {_shown(file) for file in loose_seals(folder)[-1:]}
        self._settled = settlement(file.ledger for file in (*folder.ledgers, *folder.forks) if not file.bad)
        self._used: dict[str, list[LedgerFile]] = defaultdict(list)
        self._forks: dict[str, list[LedgerFile]] = defaultdict(list)
        self._covered: dict[str, int] = {}
        self._told: set[tuple[str, int, str]] = set()
        self._locks = {
            entry.fact.seal: entry.fact
            for file in (*folder.forks, *folder.ledgers)
            for entry in file.ledger.entries
            if isinstance(entry.fact, Lock)
        }
        for into, files in ((self._used, folder.ledgers), (self._forks, folder.forks)):
            for file in files:
                into[record_of(_shown(file))].append(file)

    def heads(self, heads: Mapping[str, str], seal: str, holder: LedgerFile, entry: Entry) -> None:
        """The heads of a lock, seal or decision, and whether its seal is theirs."""
        if seal_of(heads) != seal:
            what = "the seal does not fit the heads it names"
            self.problems.append(Problem(_shown(holder), entry.line, what, "get this file from another copy"))
        for name, written in sorted(heads.items()):
            self._judge(name, written, holder, entry.line)
            # A lock seals its own sheet up to itself: it records the head right before it, and nothing follows.
            if isinstance(entry.fact, Lock) and name == holder.name and written.startswith(f"{entry.n - 1} "):
                self._covered[_shown(holder)] = entry.n

    def previous(self, named: str, holder: LedgerFile, line: int) -> None:
        """The seal before a seal."""
        found = _PREVIOUS.fullmatch(named)
        if found:
            self._judge(f"seals/{found[1]}", found[2], holder, line)
        else:
            what = "the seal before this one is not named as a name and a head"
            self.problems.append(Problem(_shown(holder), line, what, "seal again"))

    def named_seal(self, about: str, seal: str, holder: LedgerFile, line: int) -> None:
        """The seal of a lock that something else rests on: what that lock records is recorded here as well."""
        lock = self._locks.get(seal)
        if lock is None:
            header = holder.ledger.header
            # Named by its file, so that it is told to nobody who may not hear of that sheet.
            of = f"sheets/{header.task}.{header.candidate}.{about}" if header.task else f"a sheet of {about}"
            what = f"rests on the lock of {pictured(of)}, and no lock here has that seal"
            self.problems.append(Problem(_shown(holder), line, what, "get the sheet from another copy and merge it"))
        else:
            for name, written in sorted(lock.heads.items()):
                self._judge(name, written, holder, line)

    def _judge(self, name: str, written: str, holder: LedgerFile, line: int) -> None:
        """One recorded head against what stands there now."""
        number, _, chain = written.partition(" ")
        head = _Head(name, int(number), chain, f"{_shown(holder)}:{line}")
        if head.n == 0:
            return  # of a ledger without entries there is nothing to lose
        record = record_of(name)
        standing = [file for file in self._used[record] if head.stands_in(file)]
        for file in standing:
            self._covered[_shown(file)] = max(self._covered.get(_shown(file), 0), head.n)
            if file is not holder:
                self.elsewhere[_shown(file)] = max(self.elsewhere.get(_shown(file), 0), head.n)
        # Seals of several days record the same head; that it is gone is told once.
        if not standing and (record, head.n, head.chain) not in self._told:
            self._told.add((record, head.n, head.chain))
            self._not_in_use(record, head)

    def _not_in_use(self, record: str, head: _Head) -> None:
        fork = next((file for file in self._forks[record] if head.stands_in(file)), None)
        used = next(iter(self._used[record]), None)
        if fork is not None:
            # Recorded as a version kept aside it stands where it stood; else another has taken its place.
            if "~" not in head.name and not self._settled.names(record, version_head(fork.raw, fork)):
                what = f"this version, kept aside, and not the one in use is sealed in {head.place}"
                todo = "compare both, enter what is missing again, and settle it"
                self.problems.append(Problem(_shown(fork), 0, what, todo))
        elif used is not None and "~" not in head.name:
            self.problems.append(_broken(used, head))
            into = self.broken if len(used.ledger.entries) >= head.n else self.cut
            into[_shown(used)] = max(into.get(_shown(used), 0), head.n)
        else:
            place = _place_of(head.name)
            self.absent.add(place)
            self.problems.append(Problem(place, 0, f"is sealed in {head.place} and is not here", _TODO))

    def unanchored(self) -> list[Problem]:
        """One doubt for each ledger that goes on after the newest head recorded of it; the newest seal always does."""
        what = "its newest entries are not yet anchored: no lock or seal records them"
        return [
            Problem(_shown(file), 0, what, "run `assess seal` when the day is done", doubt=True)
            for file in self._ledgers
            if _shown(file) not in self.last_seals and len(file.ledger.entries) > self._covered.get(_shown(file), 0)
        ]


def _broken(file: LedgerFile, head: _Head) -> Problem:
    entries = file.ledger.entries
    if len(entries) < head.n:
        what = f"cut below a recorded head: entry {head.n} was sealed in {head.place} and is missing"
        return Problem(_shown(file), 0, what, _TODO)
    what = f"its history was changed under a recorded head: entry {head.n} is not the one sealed in {head.place}"
    return Problem(_shown(file), entries[head.n - 1].line, what, _TODO)


def _place_of(name: str) -> str:
    """Where a ledger that is not here would stand, from its name alone."""
    # A lock may have been written by anything: its names are shown, never looked up on the disk.
    name = pictured(name)
    if "/" in name:
        return f"{name}.yaml"
    parts = name.split(".")
    day = re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", parts[0])
    return f"{'sheets' if len(parts) == 4 else 'days' if day else 'decisions'}/{name}.yaml"
