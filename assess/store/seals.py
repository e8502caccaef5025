"""Heads recorded in another file: what finds a ledger that was cut or rewritten."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from assess.records.errors import Problem
from assess.records.facts import Lock, Seal, Settled
from assess.records.ledger import Header, Ledger
from assess.records.times import instant, local_date

if TYPE_CHECKING:
    from pathlib import Path

    from assess.store.clock import Clock
    from assess.store.course_folder import CourseFolder
    from assess.store.ledger_file import LedgerFile
    from assess.store.writer import Writer

__all__ = ["head_problems", "seal_course", "seal_of"]


def seal_of(heads: Mapping[str, str]) -> str:
    """The seal of some heads: `sha256:` and the digest of the lines `name n chain`, sorted by name."""
    lines = "".join(f"{name} {heads[name]}\n" for name in sorted(heads))
    return "sha256:" + hashlib.sha256(lines.encode("utf-8")).hexdigest()


def seal_course(folder: CourseFolder, who: str, device: str, writer: Writer, clock: Clock) -> Path:
    """Record the heads of all ledgers in this person's seal ledger of today; its path.

    The seal names the newest seal before it, so that a seal that is taken away is missed.
    Raises Refusal when the ledger is open elsewhere, StorageTrouble when it cannot be saved.
    """
    from assess.records.errors import StorageTrouble

    opened = instant(clock.now_ms())
    date = local_date(opened, folder.course.utc_offset)
    header = Header(kind="seal", course=folder.course.id, by=who, date=date, device=device, opened=opened)
    heads = {file.name: file.ledger.head for file in folder.ledgers if file.name != header.name and not file.bad}
    live = writer.open(folder.root / "seals", header)
    previous = _newest_seal(folder)
    live.add(Seal(heads=heads, seal=seal_of(heads), previous=previous))
    if not writer.drain(10):
        raise StorageTrouble(f"the seal is not saved: {writer.state.why}", todo="make room on the disk and seal again")
    return folder.root / "seals" / f"{header.name}.yaml"


def _newest_seal(folder: CourseFolder) -> str | None:
    seals = [file.ledger for file in folder.ledgers if file.ledger.header.kind == "seal" and file.ledger.entries]
    newest = max(seals, key=lambda ledger: (ledger.entries[-1].at, ledger.name), default=None)
    return f"{newest.name} {newest.head}" if newest else None


def head_problems(folder: CourseFolder) -> list[Problem]:
    """What the recorded heads tell: ledgers cut or changed below one, and entries no head covers yet (a doubt)."""
    ledgers = {file.name: file for file in folder.ledgers}
    problems = []
    covered: dict[str, int] = {}
    for holder, line, heads, seal in _recorded(folder):
        where = f"{holder.path.parent.name}/{holder.path.name}"
        if seal_of(heads) != seal:
            problems.append(
                Problem(where, line, "the seal does not fit the heads it names", "get this file from another copy")
            )
        for name, head in sorted(heads.items()):
            what = _broken(ledgers.get(name), head)
            if what and (name != holder.name or "not here" not in what):
                problems.append(Problem(where, line, f"{name}: {what}", "get that file from another copy and merge it"))
            covered[name] = max(covered.get(name, 0), int(head.split(" ")[0]))
    problems += _previous_problems(folder, ledgers)
    problems += _unanchored(folder, covered)
    return problems


def _recorded(folder: CourseFolder) -> Iterator[tuple[LedgerFile, int, dict[str, str], str]]:
    for file in folder.ledgers:
        for entry in file.ledger.entries:
            if isinstance(entry.fact, Lock | Seal):
                yield file, entry.line, entry.fact.heads, entry.fact.seal


def _broken(file: LedgerFile | None, head: str) -> str | None:
    n, chain = int(head.split(" ")[0]), head.split(" ")[1]
    if file is None:
        return None if n == 0 else "a sealed ledger is not here"
    if n == 0:
        return None
    entries = file.ledger.entries
    if len(entries) < n:
        return f"cut below a recorded head: entry {n} was sealed and is missing"
    return None if entries[n - 1].chain == chain else f"its history was changed under a recorded head (entry {n})"


def _previous_problems(folder: CourseFolder, ledgers: Mapping[str, LedgerFile]) -> list[Problem]:
    problems = []
    for file in folder.ledgers:
        for entry in file.ledger.entries:
            if isinstance(entry.fact, Seal) and entry.fact.previous:
                name, head = entry.fact.previous.split(" ", 1)
                what = _broken(ledgers.get(name), head)
                if what:
                    where = f"{file.path.parent.name}/{file.path.name}"
                    todo = "get that file from another copy and merge it"
                    problems.append(Problem(where, entry.line, f"the seal before this one, {name}: {what}", todo))
    return problems


def _unanchored(folder: CourseFolder, covered: Mapping[str, int]) -> list[Problem]:
    problems = []
    for file in folder.ledgers:
        ledger = file.ledger
        newest = len(ledger.entries) - (1 if ledger.locked else 0)
        if ledger.header.kind != "seal" and newest > covered.get(file.name, 0) and not _only_settled(ledger, covered):
            where = f"{file.path.parent.name}/{file.path.name}"
            what = "its newest entries are not yet anchored by a seal in another file"
            problems.append(Problem(where, 0, what, "run `assess seal` when the day is done", doubt=True))
    return problems


def _only_settled(ledger: Ledger, covered: Mapping[str, int]) -> bool:
    later = ledger.entries[covered.get(ledger.name, 0) :]
    return all(isinstance(entry.fact, Settled) for entry in later)
