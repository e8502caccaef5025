"""Verifying a course: every entry, every recorded head, every signature and every copy of a rubric, as far as told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.tellable import Teller
from assess.records.errors import Problem

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.key_list import KeyList
    from assess.store.verdicts import EntryVerdict, LedgerVerdict

__all__ = ["EntryVerdict", "KeysUsed", "LedgerVerdict", "Verified", "verify"]

_STATES = ("intact", "not yet anchored", "unsigned", "unknown key", "altered", "missing")
_ANOTHER = "get this file from another copy and merge it"


@dataclass(frozen=True)
class KeysUsed:
    """The list of keys that was believed: how many keys, of how many people, and the SHA-256 of the file's bytes.

    elsewhere: it is not the course's own, which somebody who alters records can alter too.
    """

    keys: int
    people: int
    sha256: str
    required_from: str | None
    elsewhere: bool


@dataclass(frozen=True)
class Verified:
    """What verifying found, as far as this person may be told.

    records: the ledgers this person may read, entry by entry. not_anchored: those of them of which a change would not
    be told everywhere. missing: ledgers that heads elsewhere name and that are not here. copies: of rubrics and
    catalogues, as their digest says. keys: None without a list. problems: whatever does not hold, with what to do.
    """

    records: tuple[LedgerVerdict, ...]
    not_anchored: tuple[str, ...]
    missing: tuple[str, ...]
    copies: int
    keys: KeysUsed | None
    problems: tuple[Problem, ...]

    @property
    def holds(self) -> bool:
        """True when nothing is altered or missing, and every signature is there that has to be and counts."""
        return not self.problems

    @property
    def ledgers(self) -> int:
        """How many ledgers were verified that this person may read."""
        return len(self.records)

    @property
    def counts(self) -> dict[str, int]:
        """How many entries are in each state; every state is named."""
        found: Counter[str] = Counter(entry.state for record in self.records for entry in record.entries)
        return {state: found[state] for state in _STATES}

    @property
    def unsigned(self) -> int:
        """How many entries somebody stands for have no signature."""
        return sum(entry.unsigned for record in self.records for entry in record.entries)

    @property
    def signed(self) -> int:
        """How many entries carry a signature that counts."""
        entries = (entry for record in self.records for entry in record.entries)
        return sum(bool(entry.key) and entry.state not in ("unknown key", "altered") for entry in entries)

    @property
    def erased(self) -> int:
        """How many entries hold a text that was erased, of which the digest is left."""
        return sum(entry.erased for record in self.records for entry in record.entries)


def verify(desk: Desk, keys_from: Path | None = None) -> Verified:
    """Whether everything stands as it was written, and who vouches for it.

    keys_from: a list of keys kept elsewhere, to be believed instead of the course's own. Of a sheet this person may
    not read yet nothing is told that `assess check` would not tell; everything is told to a director.
    Raises InputError when the list in `keys_from` cannot be used.
    """
    from assess.store.erasing import erased_heads
    from assess.store.heads import look_at_heads
    from assess.store.pinned import copies_checked
    from assess.store.verdicts import judge_ledger

    teller, folder = Teller(desk), desk.folder
    keys, used = _keys(desk, keys_from)
    heads = look_at_heads(folder)
    erased = erased_heads(file.ledger for file in folder.ledgers)
    records = [judge_ledger(file, heads, keys, desk.offset, erased) for file in folder.ledgers]
    readable = tuple(record for record in records if teller.may_tell(record.file))
    names = {record.file for record in readable}
    copies, of_copies = copies_checked(folder, [file for file in folder.ledgers if _shown(file) in names])
    problems = teller.tell(
        [
            *heads.problems,
            *(problem for file in folder.ledgers for problem in file.problems if not problem.doubt),
            *_unread(desk, {record.file for record in records}, keys_from is None),
            *(problem for record in records for problem in _altered(record)),
            *(problem for record in readable for problem in _unvouched(record, keys)),
            *of_copies,
        ]
    )
    return Verified(
        readable,
        tuple(record.file for record in readable if not record.anchored),
        tuple(sorted(file for file in heads.absent if teller.may_tell(file))),
        copies, used, problems,
    )  # fmt: skip


def _keys(desk: Desk, keys_from: Path | None) -> tuple[KeyList | None, KeysUsed | None]:
    from assess.records.key_list import KeyList
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    doc, keys = desk.folder.keys_doc, desk.folder.keys
    if keys_from is not None:
        doc = read_yaml(keys_from, shown=str(keys_from), what="keys")
        keys = as_model(doc, KeyList)
    if doc is None or keys is None:
        return None, None
    people = {key.person for key in keys.keys}
    return keys, KeysUsed(len(keys.keys), len(people), doc.sha256, keys.required_from, keys_from is not None)


def _shown(file: object) -> str:
    path: Path = file.path  # type: ignore[attr-defined]
    return f"{path.parent.name}/{path.name}"


def _unread(desk: Desk, read: set[str], own_keys: bool) -> Iterator[Problem]:
    """Files that should be ledgers and cannot be read as such, and the course's own list of keys if it is none."""
    from assess.store.course_files import LEDGER_FOLDERS

    for problem in desk.folder.problems:
        ledger = problem.file.split("/", 1)[0] in LEDGER_FOLDERS and problem.file not in read
        if not problem.doubt and (ledger or (problem.file == "keys.yaml" and own_keys)):
            yield problem


def _altered(record: LedgerVerdict) -> Iterator[Problem]:
    """What the bytes and signatures of a ledger tell, beyond what reading it and recorded heads tell already."""
    for entry in record.entries:
        if entry.state == "altered" and entry.kind:
            yield Problem(record.file, entry.line, f"altered: {entry.why}", _ANOTHER)


def _unvouched(record: LedgerVerdict, keys: KeyList | None) -> Iterator[Problem]:
    """Signatures that do not count, where there is a list that tells; and those missing from the day they must be."""
    if keys is None:
        return
    for entry in record.entries:
        if entry.state == "unknown key":
            yield _problem(record, entry, f"unknown key {entry.key}: {entry.why}", "ask whose key it is")
        elif entry.unsigned and keys.required_from and entry.day >= keys.required_from:
            what = f"entry {entry.n} ({entry.kind}) is not signed, which is required from {keys.required_from} on"
            yield _problem(record, entry, what, "a locked sheet stays as it is; its author tells in the meeting")


def _problem(record: LedgerVerdict, entry: EntryVerdict, what: str, todo: str) -> Problem:
    return Problem(record.file, entry.line, what, todo)
