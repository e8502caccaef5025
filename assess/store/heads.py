"""Heads recorded in another file: what finds a ledger that was cut or rewritten.

Locks, seals and the name of the seal before each seal record heads: a ledger's name, the number of an
entry and its chain value. Whoever rewrites a file and its chain cannot rewrite those.
"""

from __future__ import annotations

import hashlib
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.records.errors import Problem
from assess.records.facts import Lock, Seal
from assess.store.course_files import base_stem
from assess.store.versions import settled_heads

if TYPE_CHECKING:
    from assess.store.course_folder import CourseFolder
    from assess.store.ledger_file import LedgerFile

__all__ = ["head_problems", "newest_seal", "seal_of"]

_PREVIOUS = re.compile(r"([A-Za-z0-9.-]{1,80}) ([0-9]{1,9} [0-9a-f]{16})")
_TODO = "get this file from another copy and merge it"


def seal_of(heads: Mapping[str, str]) -> str:
    """The seal of some heads: `sha256:` and the digest of the lines `name n chain`, sorted by name."""
    lines = "".join(f"{name} {heads[name]}\n" for name in sorted(heads))
    return "sha256:" + hashlib.sha256(lines.encode("utf-8")).hexdigest()


def newest_seal(folder: CourseFolder) -> LedgerFile | None:
    """The seal ledger with the latest entry, or None."""
    seals = [file for file in folder.ledgers if file.ledger.header.kind == "seal" and file.ledger.entries]
    return max(seals, key=lambda file: (file.ledger.entries[-1].at, file.name), default=None)


def head_problems(folder: CourseFolder) -> list[Problem]:
    """What the recorded heads tell, each problem with the file it is about.

    Ledgers cut, changed or missing; seals that do not fit; and, as doubts, ledgers with entries newer than
    every recorded head.
    """
    look = _Look(folder)
    for holder, line, heads, seal in look.recorded():
        where = _shown(holder)
        if seal is not None and seal_of(heads) != seal:
            what = "the seal does not fit the heads it names"
            look.problems.append(Problem(where, line, what, "get this file from another copy"))
        for name, head in sorted(heads.items()):
            look.judge(name, head, holder, f"{where}:{line}")
    return [*look.problems, *look.unanchored()]


def _shown(file: LedgerFile) -> str:
    return f"{file.path.parent.name}/{file.path.name}"


@dataclass(frozen=True)
class _Head:
    n: int
    chain: str

    def stands_in(self, file: LedgerFile) -> bool:
        """True when the ledger still holds this entry as it was."""
        entries = file.ledger.entries
        return self.n == 0 or (len(entries) >= self.n and entries[self.n - 1].chain == self.chain)


class _Look:
    """All ledgers by the names heads give them; problems gather, and how far each ledger is covered."""

    def __init__(self, folder: CourseFolder) -> None:
        self.folder = folder
        self.problems: list[Problem] = []
        self.newest = newest_seal(folder)
        self.settled = settled_heads(file.ledger for file in folder.ledgers)
        self._named: dict[str, list[LedgerFile]] = defaultdict(list)
        self._forks: dict[str, list[LedgerFile]] = defaultdict(list)
        self._covered: dict[str, int] = {}
        for file in folder.ledgers:
            self._named[file.name].append(file)
            self._named[_shown(file).removesuffix(".yaml")].append(file)
        for file in folder.forks:
            self._forks[base_stem(file.path.name)].append(file)

    def recorded(self) -> Iterator[tuple[LedgerFile, int, dict[str, str], str | None]]:
        """Who holds them, in which line, the heads, and their seal; a `previous` is a head without a seal."""
        for file in self.folder.ledgers:
            for entry in file.ledger.entries:
                fact = entry.fact
                if isinstance(fact, Lock | Seal):
                    yield file, entry.line, dict(fact.heads), fact.seal
                if isinstance(fact, Seal) and fact.previous is not None:
                    found = _PREVIOUS.fullmatch(fact.previous)
                    if found:
                        yield file, entry.line, {f"seals/{found[1]}": found[2]}, None
                    else:
                        what = "the seal before this one is not named as a name and a head"
                        self.problems.append(Problem(_shown(file), entry.line, what, "seal again"))

    def judge(self, name: str, written: str, holder: LedgerFile, place: str) -> None:
        """One recorded head against what stands there now."""
        number, _, chain = written.partition(" ")
        head, files = _Head(int(number), chain), self._named.get(name, [])
        standing = [file for file in files if head.stands_in(file)]
        for file in standing:
            shown = _shown(file)
            # A lock records the head right before itself, and nothing follows a lock.
            own = 1 if file is holder and file.ledger.locked else 0
            self._covered[shown] = max(self._covered.get(shown, 0), head.n + own)
        if standing or head.n == 0:
            return
        fork = next((each for each in self._forks[base_stem(name.rsplit("/", 1)[-1])] if head.stands_in(each)), None)
        if fork is not None:
            self._in_a_fork(fork, place)
        elif not files:
            what = f"is sealed in {place} and is not here"
            self.problems.append(Problem(f"{_folder_of(name)}.yaml", 0, what, _TODO))
        else:
            self.problems.append(_broken(files[0], head, place))

    def _in_a_fork(self, fork: LedgerFile, place: str) -> None:
        if (fork.path.name.removesuffix(".yaml"), fork.ledger.head) not in self.settled:
            what = f"this version, kept aside, and not the one in use is sealed in {place}"
            todo = "compare both, enter what is missing again, and settle it"
            self.problems.append(Problem(_shown(fork), 0, what, todo, doubt=True))

    def unanchored(self) -> list[Problem]:
        """One doubt for each ledger that goes on after the newest head recorded of it; the newest seal always does."""
        return [
            Problem(_shown(file), 0, "its newest entries are not yet anchored: no lock or seal records them",
                    "run `assess seal` when the day is done", doubt=True)
            for file in self.folder.ledgers
            if file is not self.newest and len(file.ledger.entries) > self._covered.get(_shown(file), 0)
        ]  # fmt: skip


def _broken(file: LedgerFile, head: _Head, place: str) -> Problem:
    entries = file.ledger.entries
    if len(entries) < head.n:
        what = f"cut below a recorded head: entry {head.n} was sealed in {place} and is missing"
        return Problem(_shown(file), 0, what, _TODO)
    what = f"its history was changed under a recorded head: entry {head.n} is not the one sealed in {place}"
    return Problem(_shown(file), entries[head.n - 1].line, what, _TODO)


def _folder_of(name: str) -> str:
    """The place of a ledger that is not here, from its name alone."""
    if "/" in name:
        return name
    parts = name.split(".")
    day = re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", parts[0])
    return f"{'sheets' if len(parts) == 4 else 'days' if day else 'decisions'}/{name}"
