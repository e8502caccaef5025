"""What stays of all versions of one record, and under which name: a pure function of the set of their bytes.

Good versions are those none of which is a beginning of another (of hand-edited files: those with
the highest revision). The smallest SHA-256 keeps the name, each other good one becomes
`<name>~<hash8>`; where people have settled which version they keep, what goes on from it comes first and what
they set aside last, so that a record does not change places with another while it grows. A version that
fails its chain or form, or goes on after a lock, is never adopted: it is kept as `<name>~bad-<hash8>` unless it is
the beginning of another version. One that is only torn in its last line gives its whole lines as a good version.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from pydantic import BaseModel

from assess.records.course import Course, People
from assess.records.errors import InputError
from assess.records.key_list import KeyList
from assess.records.ledger import Ledger
from assess.records.round import Reasons, Round
from assess.records.season import Season
from assess.store.course_files import LEDGER_FOLDERS, RUBRIC_FOLDER, TABLE_FOLDER
from assess.store.ledger_file import LedgerFile, parse_ledger
from assess.store.validate import as_model
from assess.store.versions import Settlement, record_of, version_head
from assess.store.yaml_file import yaml_doc

__all__ = ["HAND_EDITED", "Group", "Judged", "Outcome", "judged", "resolved"]

HAND_EDITED: dict[str, type[BaseModel]] = {
    "course": Course,
    "people": People,
    "keys": KeyList,
    "reference": Reasons,
    "round": Round,
    "season": Season,
}
"""The files people edit, and what each says."""


@dataclass(frozen=True)
class Group:
    """The versions of one record: its folder (`""` is the course folder), its name, the course it belongs to."""

    folder: str
    stem: str
    course: str
    ending: str = ".yaml"


@dataclass(frozen=True)
class _Version:
    """One version as judged: `rank` is its revision where there are revisions."""

    raw: bytes
    ledger: LedgerFile | None = None
    rank: int = 0

    @property
    def head(self) -> str:
        """As a `settled` entry records it."""
        return version_head(self.raw, self.ledger)

    @property
    def heads(self) -> frozenset[str]:
        """Every head it ever had."""
        entries = self.ledger.ledger.entries if self.ledger else ()
        return frozenset({self.head, *(f"{entry.n} {entry.chain}" for entry in entries)})


@dataclass(frozen=True)
class Judged:
    """The versions of a record worth keeping, in the order of their SHA-256; none is the beginning of another."""

    group: Group
    good: tuple[_Version, ...]
    bad: tuple[_Version, ...]

    @property
    def ledgers(self) -> tuple[Ledger, ...]:
        """The good versions as ledgers, where they are ledgers."""
        return tuple(version.ledger.ledger for version in self.good if version.ledger)


@dataclass(frozen=True)
class Outcome:
    """What stays: name without `.yaml` -> bytes.

    forks, bad: names kept aside. unsettled: those of them no `settled` entry names.
    """

    files: dict[str, bytes]
    forks: frozenset[str]
    bad: frozenset[str]
    unsettled: frozenset[str]


def judged(group: Group, versions: Collection[bytes]) -> Judged:
    """Which of a record's versions are worth keeping. Equal sets give equal answers."""
    good: dict[bytes, _Version] = {}
    bad: dict[bytes, _Version] = {}
    for raw in sorted(versions):
        _judge(group, raw, good, bad)
    kept = _longest(version.raw for version in _best(good.values()))
    broken = _longest(bad)
    if group.folder:
        # Of a hand-edited file a lower revision goes, and could not tell later whose beginning this was.
        broken = [raw for raw in broken if not any(other.startswith(raw) for other in kept)]
    return Judged(
        group, tuple(good[raw] for raw in sorted(kept, key=_digest)), tuple(bad[raw] for raw in sorted(broken))
    )


def resolved(found: Judged, settled: Settlement) -> Outcome:
    """Which version stays under which name, given what people have settled."""
    group, record = found.group, record_of(f"{found.group.folder}/{found.group.stem}{found.group.ending}")
    good = sorted(found.good, key=lambda version: settled.rank(record, version.heads))
    digits = _digits([version.raw for version in (*good, *found.bad)])
    forks = {f"{group.stem}~{_digest(version.raw)[:digits]}": version for version in good[1:]}
    bad = {f"{group.stem}~bad-{_digest(version.raw)[:digits]}": version for version in found.bad}
    aside = forks | bad
    files = {name: version.raw for name, version in aside.items()}
    if good:
        files[group.stem] = good[0].raw
    unsettled = (name for name, version in aside.items() if not settled.names(record, version.head))
    return Outcome(files, frozenset(forks), frozenset(bad), frozenset(unsettled))


def _judge(group: Group, raw: bytes, good: dict[bytes, _Version], bad: dict[bytes, _Version]) -> None:
    if group.folder in LEDGER_FOLDERS:
        _judge_ledger(group, raw, good, bad)
    elif group.folder == RUBRIC_FOLDER:
        fits = _digest(raw).startswith(group.stem.rsplit("@", 1)[-1])
        (good if fits else bad)[raw] = _Version(raw)
    elif group.folder == TABLE_FOLDER or group.stem == "overlay":
        # Without a revision nobody can tell which is meant: versions that differ are all kept.
        good[raw] = _Version(raw)
    else:
        revision = _revision(group, raw)
        (bad if revision is None else good)[raw] = _Version(raw, rank=revision or 0)


def _judge_ledger(group: Group, raw: bytes, good: dict[bytes, _Version], bad: dict[bytes, _Version]) -> None:
    try:
        file = parse_ledger(raw, group.stem)
    except InputError:
        bad[raw] = _Version(raw)
        return
    header = file.ledger.header
    fits = (header.name, header.kind, header.course) == (group.stem, LEDGER_FOLDERS[group.folder], group.course)
    if file.bad or not fits:
        bad[raw] = _Version(raw, file)
    elif file.torn:
        whole = raw[: file.whole]
        good[whole] = _Version(whole, parse_ledger(whole, group.stem))
        bad[raw] = _Version(raw, file)
    else:
        good[raw] = _Version(raw, file)


def _revision(group: Group, raw: bytes) -> int | None:
    """The revision of a hand-edited file; None when it cannot be used or is of another course."""
    try:
        said = as_model(
            yaml_doc(raw, Path(f"{group.stem}.yaml"), shown=group.stem, what=group.stem), HAND_EDITED[group.stem]
        )
    except InputError:
        return None
    if not isinstance(said, Course | Round | Season | Reasons | People | KeyList):
        return None
    whose = said.round if isinstance(said, Reasons) else group.course
    if isinstance(said, Course | Round | Season):
        whose = said.id
    return said.revision if whose == group.course else None


def _best(versions: Iterable[_Version]) -> list[_Version]:
    found = list(versions)
    top = max((version.rank for version in found), default=0)
    return [version for version in found if version.rank == top]


def _longest(raws: Iterable[bytes]) -> list[bytes]:
    """Those that are not the beginning of another. In sorted order a beginning stands right before what goes on."""
    ordered = sorted(set(raws))
    return [one for one, following in pairwise([*ordered, b""]) if not (following and following.startswith(one))]


def _digest(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()


def _digits(raws: Collection[bytes]) -> int:
    """Hex digits that tell these versions apart: 8, unless somebody found two that begin alike."""
    return next(digits for digits in (8, 16, 64) if len({_digest(raw)[:digits] for raw in raws}) == len(raws))
