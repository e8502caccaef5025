"""Two versions of one record: what each holds that the other does not, and which one a person keeps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.desk.tellable import Teller, sheet_key
from assess.records.errors import Refusal, StorageTrouble
from assess.records.facts import Settled
from assess.records.text import recorded

if TYPE_CHECKING:
    from pathlib import Path

    from assess.desk.session import Desk
    from assess.records.ledger import Entry
    from assess.store.ledger_file import LedgerFile
    from assess.store.versions import Settlement

__all__ = ["Version", "settle", "versions_of"]


@dataclass(frozen=True)
class Version:
    """One version of a record.

    name: its file without `.yaml`; in_use: it has the record's own name. usable: false for a damaged one, which
    cannot be kept. settled: somebody has compared it already. shared: how many entries all versions have in common;
    own: what it says after those, a line each.
    """

    name: str
    head: str
    in_use: bool
    usable: bool
    settled: bool
    shared: int
    own: tuple[str, ...]


def versions_of(desk: Desk, record: str) -> tuple[Version, ...]:
    """Every version of a record, the one in use first.

    record: its name, with or without its folder and `.yaml`. Raises Refusal when it has one version only, and for
    somebody who may not read them: its writer may, and a director once everybody has locked the slot.
    """
    from assess.store.versions import record_of, version_head

    _not_anothers_sheet(desk, record)
    shown, files = _found(desk, record)
    _may_settle(desk, shown, files)
    known = _settlement(desk)
    ledgers = [file.ledger.entries for _, file in files if file is not None]
    shared = _shared(ledgers)
    versions = []
    for path, file in files:
        head = version_head(path.read_bytes(), file)
        own = tuple(_line(entry) for entry in file.ledger.entries[shared:]) if file else ()
        usable = "~bad-" not in path.name and not (file and file.bad)
        name = path.name.removesuffix(".yaml")
        settled = known.names(record_of(f"{path.parent.name}/{path.name}"), head)
        versions.append(Version(name, head, "~" not in name, usable, settled, shared, own))
    return tuple(versions)


def settle(desk: Desk, record: str, keep: str, reason: str) -> str:
    """Write down which version is kept; the others stay aside, named and not reported again. The version kept.

    The desk is of no use afterwards. Raises Refusal as `versions_of` does, without a reason, for a version there is
    none of and for a damaged one; StorageTrouble when it is not saved.
    """
    from assess.store.merge import merge

    versions = versions_of(desk, record)
    if not reason.strip():
        raise Refusal("to settle needs a reason", todo="say with --reason why this version is kept")
    kept = _meant(versions, keep)
    if not kept.usable:
        raise Refusal(f"{kept.name} is damaged and cannot be kept", todo="keep the other, and enter what is missing")
    folder = _found(desk, record)[0].rpartition("/")[0]
    named = {_recorded(folder, each.name): each.head for each in versions}
    own = _recorded(folder, kept.name)
    fact = {"kept": {own: named.pop(own)}, "aside": named, "reason": recorded(reason)}
    desk.day_book.append(Settled.model_validate(fact))
    if not desk.drain(10):
        raise StorageTrouble(f"not saved: {desk.save_state().why}", todo="make room on the disk and try again")
    root = desk.folder.root
    desk.close()
    # What was settled decides which version has the record's name.
    merge(root, ())
    return kept.name


def _recorded(folder: str, name: str) -> str:
    from assess.store.course_files import recorded_name

    return recorded_name(folder, name)


def _found(desk: Desk, record: str) -> tuple[str, list[tuple[Path, LedgerFile | None]]]:
    """The record as `sheets/T1.C04.A2.d7h2k`, and its versions with what was read of each."""
    from assess.store.course_files import base_stem

    wanted = record.removesuffix(".yaml").split("~")[0].strip("/")
    root = desk.folder.root
    groups: dict[str, list[tuple[Path, LedgerFile | None]]] = {}
    read = {file.path: file for file in (*desk.folder.ledgers, *desk.folder.forks)}
    for path in (*read, *(root / name for name in desk.folder.aside if ".torn" not in name)):
        shown = f"{path.parent.name}/{base_stem(path.name)}" if path.parent != root else base_stem(path.name)
        if path not in (known for known, _ in groups.get(shown, ())):
            groups.setdefault(shown, []).append((path, read.get(path)))
    for name in ("course", "people", "keys", "overlay"):
        if name in groups and (root / f"{name}.yaml").is_file():
            groups[name].append((root / f"{name}.yaml", None))
    hits = [shown for shown in groups if wanted in (shown, shown.rpartition("/")[2]) and len(groups[shown]) > 1]
    if len(hits) != 1:
        none = f"there is one version of {record} here, or none"
        what = f"{record} may mean {' or '.join(hits)}" if hits else none
        raise Refusal(what, todo="`assess check` names what is kept aside; name it as it stands there")
    return hits[0], sorted(groups[hits[0]], key=lambda each: ("~" in each[0].name, each[0].name))


def _not_anothers_sheet(desk: Desk, record: str) -> None:
    """Of a sheet that may not be read yet nothing is told, not even whether there are versions of it."""
    name = record.rpartition("/")[2].removesuffix(".yaml")
    key = sheet_key(f"sheets/{name}.yaml")
    if key is not None and key[2] != desk.who and not Teller(desk).may_tell(f"sheets/{name}.yaml"):
        raise Refusal(f"{name} is not yours to settle", todo=f"{key[2]} settles it, a director once all have locked")


def _may_settle(desk: Desk, shown: str, files: Sequence[tuple[Path, LedgerFile | None]]) -> None:
    writer = next((file.ledger.header.author for _, file in files if file is not None), None)
    key = sheet_key(f"{shown}.yaml")
    writer = key[2] if key else writer
    if desk.who is not None and desk.who == writer:
        return
    if desk.role == "director" and Teller(desk).may_tell(f"{shown}.yaml"):
        return
    whose = f"{writer} settles it" if writer else "a director settles it"
    raise Refusal(f"{shown} is not yours to settle", todo=f"{whose}; a director once everybody has locked")


def _settlement(desk: Desk) -> Settlement:
    from assess.store.versions import settlement

    return settlement(file.ledger for file in (*desk.folder.ledgers, *desk.folder.forks) if not file.bad)


def _shared(ledgers: Sequence[tuple[Entry, ...]]) -> int:
    """How many entries all of these begin with alike."""
    count = 0
    for row in zip(*ledgers, strict=False):
        if len({(entry.n, entry.chain) for entry in row}) > 1:
            break
        count += 1
    return count


def _line(entry: Entry) -> str:
    said = {key: value for key, value in entry.fact.payload().items() if key != "kind"}
    words = ", ".join(f"{key} {value}" for key, value in said.items() if not isinstance(value, dict))
    return f"{entry.n}  {entry.at[11:19]}  {entry.fact.kind}" + (f": {words}" if words else "")


_DIGITS = 4
"""How many digits of a version's name are enough to mean it."""


def _digits(version: Version) -> str:
    return version.name.partition("~")[2].removeprefix("bad-")


def _meant(versions: Sequence[Version], keep: str) -> Version:
    """The version somebody names: `in-use`, its file, or the digits behind the tilde."""
    wanted = keep.rpartition("/")[2].removesuffix(".yaml")
    hits = [v for v in versions if wanted == v.name or (v.in_use and wanted == "in-use")]
    hits = hits or [v for v in versions if len(wanted) >= _DIGITS and _digits(v).startswith(wanted)]
    if len(hits) != 1:
        names = ", ".join("in-use" if v.in_use else _digits(v) for v in versions)
        raise Refusal(f"{keep} is none of the versions, or more than one", todo=f"use one of {names}")
    return hits[0]
