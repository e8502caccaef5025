"""Other versions of a record, kept aside under its name, a tilde and the start of their SHA-256.

Which of them a person has already compared is told by `settled` entries: a map from file names to
heads. A version is known by its name and head; one without entries, or of a hand-edited file, has
the head `0` and the first 16 hex digits of its SHA-256.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from pathlib import Path

from assess.records.errors import InputError, Problem
from assess.records.facts import Settled
from assess.records.ledger import Ledger
from assess.records.text import pictured
from assess.store.course_files import base_stem
from assess.store.ledger_file import LARGEST_LEDGER, LedgerFile
from assess.store.reading import whole_file

__all__ = ["fork_problems", "settled_heads", "version_head"]


def version_head(raw: bytes, file: LedgerFile | None) -> str:
    """How a `settled` entry records a version: the ledger's head, or `0` and 16 digits of the bytes' digest."""
    if file is not None and file.ledger.entries:
        return file.ledger.head
    return f"0 {hashlib.sha256(raw).hexdigest()[:16]}"


def settled_heads(ledgers: Iterable[Ledger]) -> frozenset[tuple[str, str]]:
    """(file name without folder and `.yaml`, head) of every version a `settled` entry names."""
    return frozenset(
        (name.rsplit("/", 1)[-1].removesuffix(".yaml"), head)
        for ledger in ledgers
        for entry in ledger.entries
        if isinstance(entry.fact, Settled)
        for name, head in (*entry.fact.kept.items(), *entry.fact.aside.items())
    )


def fork_problems(
    root: Path, aside: Sequence[str], ledgers: Sequence[LedgerFile], forks: Sequence[LedgerFile]
) -> list[Problem]:
    """One doubt for every version kept aside that no `settled` entry names."""
    settled = settled_heads(file.ledger for file in ledgers)
    readable = {f"{file.path.parent.name}/{file.path.name}": file for file in forks}
    problems = []
    for shown in aside:
        name = shown.rsplit("/", 1)[-1]
        if ".torn" in name or (name.removesuffix(".yaml"), _head(root, shown, readable.get(shown))) in settled:
            continue
        if "~bad-" in name:
            what, todo = "is a damaged version of", "compare both, enter what is missing again, and settle it"
        else:
            what, todo = "is another version of", "compare both, enter what is missing again, and settle it"
        folder = shown.removesuffix(name)
        what = f"{what} {pictured(folder + base_stem(name))}.yaml, kept aside and not used"
        problems.append(Problem(pictured(shown), 0, what, todo, doubt=True))
    return problems


def _head(root: Path, shown: str, file: LedgerFile | None) -> str:
    if file is not None:
        return version_head(file.raw, file)
    try:
        return version_head(whole_file(root / shown, shown, LARGEST_LEDGER), None)
    except InputError:
        return ""  # cannot be read, so nobody can have settled it: it is reported
