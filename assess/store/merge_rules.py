"""What stays of all versions of one record, and under which name: a pure function of the set of their bytes.

Good versions are those none of which is a beginning of another (of hand-edited files: those with
the highest revision). The smallest SHA-256 keeps the name, each other good one becomes
`<name>~<hash8>`. A version that fails its chain or form, or goes on after a lock, is never adopted: it
is kept as `<name>~bad-<hash8>` unless it is the beginning of another version. One that is only
torn in its last line gives its whole lines as a good version.
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
from assess.records.ledger import Ledger
from assess.store.course_files import LEDGER_FOLDERS, RUBRIC_FOLDER
from assess.store.ledger_file import LedgerFile, parse_ledger
from assess.store.validate import as_model
from assess.store.versions import version_head
from assess.store.yaml_file import yaml_doc

__all__ = ["Group", "Outcome", "resolve"]


@dataclass(frozen=True)
class Group:
    """The versions of one record: its folder (`""` is the course folder), its name, the course it belongs to."""

    folder: str
    stem: str
    course: str


@dataclass(frozen=True)
class _Version:
    """One version as judged: `rank` is its revision where there are revisions."""

    raw: bytes
    ledger: LedgerFile | None = None
    rank: int = 0


@dataclass(frozen=True)
class Outcome:
    """What stays: name without `.yaml` -> bytes.

    forks, bad: names kept aside. heads: of these, as a `settled` entry records them.
    ledgers: the ledger that keeps the name, when there is one.
    """

    files: dict[str, bytes]
    forks: frozenset[str]
    bad: frozenset[str]
    heads: dict[str, str]
    ledgers: tuple[Ledger, ...]


def resolve(group: Group, versions: Collection[bytes]) -> Outcome:
    """What stays of a record's versions. Equal sets give equal outcomes."""
    good: dict[bytes, _Version] = {}
    bad: dict[bytes, _Version] = {}
    for raw in sorted(versions):
        _judge(group, raw, good, bad)
    best = _best(good.values())
    kept = _longest([version.raw for version in best])
    broken = [raw for raw in _longest(bad) if not any(other.startswith(raw) for other in kept)]
    digits = _digits([*kept, *broken])
    kept.sort(key=_digest)
    names = {raw: f"{group.stem}~{_digest(raw)[:digits]}" for raw in kept[1:]}
    damaged = {raw: f"{group.stem}~bad-{_digest(raw)[:digits]}" for raw in broken}
    files = {name: raw for raw, name in (names | damaged).items()}
    if kept:
        files[group.stem] = kept[0]
    heads = {name: version_head(raw, (good | bad)[raw].ledger) for raw, name in (names | damaged).items()}
    first = good[kept[0]].ledger if kept else None
    return Outcome(
        files, frozenset(names.values()), frozenset(damaged.values()), heads, (first.ledger,) if first else ()
    )


def _judge(group: Group, raw: bytes, good: dict[bytes, _Version], bad: dict[bytes, _Version]) -> None:
    if group.folder in LEDGER_FOLDERS:
        _judge_ledger(group, raw, good, bad)
    elif group.folder == RUBRIC_FOLDER:
        fits = _digest(raw).startswith(group.stem.rsplit("@", 1)[-1])
        (good if fits else bad)[raw] = _Version(raw)
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
    model: type[BaseModel] = Course if group.stem == "course" else People
    try:
        said = as_model(yaml_doc(raw, Path(f"{group.stem}.yaml"), shown=group.stem, what=group.stem), model)
    except InputError:
        return None
    if isinstance(said, Course) and said.id != group.course:
        return None
    return said.revision if isinstance(said, Course | People) else None


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
