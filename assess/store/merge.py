"""Bringing devices together: what a course folder holds afterwards depends on the set of files alone.

Not on their order, on which device asks, or on how often. A record and its other versions
(`<name>~<hash8>.yaml`, `<name>~bad-<hash8>.yaml`) are one group; `store.merge_rules` says what of
a group stays under which name.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from assess.records.errors import InputError, Problem, Refusal, StorageTrouble
from assess.store.atomic import replace_file
from assess.store.course_files import LEDGER_FOLDERS, recorded_name
from assess.store.course_lock import course_lock
from assess.store.disk import READ, Disk, why
from assess.store.erasing import erased_heads, with_erasures
from assess.store.folders import cache_folder
from assess.store.merge_rules import Group, Outcome, judged, resolved
from assess.store.merge_sides import Key, Side, side_of
from assess.store.parse_cache import forget_all
from assess.store.versions import settlement

__all__ = ["MergeReport", "forget_names", "merge", "refuse_if_open"]


@dataclass(frozen=True)
class MergeReport:
    """What a merge did, by file names only (`sheets/T1.C04.A2.d7h2k.yaml`), each list sorted.

    taken: records that are new here or have grown. forks: other versions, kept aside, that nobody has
    settled. bad: versions that are damaged, kept aside. left: what was found elsewhere and not taken.
    twice: the ledgers that now stand in both places (as heads name them), with the lines each has in the other one.
    """

    taken: tuple[str, ...]
    forks: tuple[str, ...]
    bad: tuple[str, ...]
    left: tuple[Problem, ...]
    twice: tuple[tuple[str, int], ...] = field(default=(), compare=False)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything a person should look at, as sentences."""
        return (
            *(_aside(name, "is another version, kept aside and not used") for name in self.forks),
            *(_aside(name, "is a damaged version, kept aside and not used") for name in self.bad),
            *self.left,
        )


def _aside(name: str, what: str) -> Problem:
    return Problem(name, 0, what, "compare both, enter what is missing again, and settle it", doubt=True)


def merge(into: Path, froms: Sequence[Path], *, disk: Disk | None = None) -> MergeReport:
    """Brings the records of `froms`, folders or archives, into the course at `into`; `froms` are only read.

    Everything is read and judged before the first write; every write replaces one file whole, and no
    version is taken away before what holds it stands, so after a failure the same merge finishes the work.
    Without `froms`, or with the course itself as one, versions that stand beside each other are put in order.
    Raises Refusal for another course or one that is open elsewhere, InputError for a folder that
    is no course or cannot be read whole, StorageTrouble when the disk gives up.
    """
    with course_lock(into, exclusive=True):
        return _merged(into, froms, disk or Disk())


def _merged(into: Path, froms: Sequence[Path], disk: Disk) -> MergeReport:
    own = side_of(into)
    # A file with a strange name stays where it is and is in nobody's way.
    in_the_way = [problem for problem in own.left if not problem.doubt]
    if in_the_way:
        raise InputError(in_the_way)
    others = [side_of(root) for root in froms]
    for other in others:
        if other.course != own.course:
            what = f"is course `{other.course}`, and {into} is course `{own.course}`"
            raise Refusal(what, where=str(other.root), todo="merge copies of one and the same course")
    _refuse_alike([own, *others])
    sides = [own, *others]
    held = _held(sides)
    erased = _erased(held, own.course)
    outcomes = _resolved(held, erased, own.course)
    _refuse_open(own, outcomes, disk)
    taken = _written(own, outcomes, disk)
    if any(_erases(raw) for key, raws in held.items() if key.folder == "days" for raw in raws):
        forget_names()
    return MergeReport(
        tuple(taken),
        tuple(_shown(key, name) for key, each in outcomes.items() for name in sorted(each.forks & each.unsettled)),
        tuple(_shown(key, name) for key, each in outcomes.items() for name in sorted(each.bad & each.unsettled)),
        tuple(sorted({problem for other in others for problem in other.left})),
        tuple(_twice(others)),
    )


def _twice(others: Sequence[Side]) -> Iterator[tuple[str, int]]:
    for other in others:
        yield from ((recorded_name(key.folder, key.stem), raw.count(b"\n")) for key, raw in other.ledgers.items())


def _shown(key: Key, name: str) -> str:
    return f"{key.folder}/{name}{key.ending}".removeprefix("/")


def _held(sides: Sequence[Side]) -> dict[Key, set[bytes]]:
    """Every version of every record, in the order of folders and names."""
    keys = sorted({key for side in sides for key in side.files})
    return {key: {raw for side in sides for raw in side.files.get(key, {}).values()} for key in keys}


def _group(key: Key, course: str) -> Group:
    return Group(key.folder, key.stem, course, key.ending)


def _resolved(held: Mapping[Key, set[bytes]], erased: Mapping[str, frozenset[str]], course: str) -> dict[Key, Outcome]:
    """What stays of every record, in the order of folders and names."""
    found = [judged(_group(key, course), _but_erased(key, raws, erased)) for key, raws in held.items()]
    settled = settlement(ledger for each in found for ledger in each.ledgers)
    return {key: resolved(each, settled) for key, each in zip(held, found, strict=True)}


def _but_erased(key: Key, raws: set[bytes], erased: Mapping[str, frozenset[str]]) -> set[bytes]:
    heads = erased.get(recorded_name(key.folder, key.stem)) if key.folder in LEDGER_FOLDERS else None
    return {with_erasures(raw, key.stem, heads) for raw in raws} if heads else raws


def forget_names() -> None:
    """Empty the parse cache: a file that was read may have named somebody who was erased. Raises StorageTrouble."""
    try:
        forget_all()
    except OSError as trouble:
        todo = "remove that folder by hand: what was read once is kept there"
        raise StorageTrouble(f"cannot be emptied ({why(trouble)})", where=str(cache_folder()), todo=todo) from trouble


def _erased(held: Mapping[Key, set[bytes]], course: str) -> dict[str, frozenset[str]]:
    """What was erased, by record: a copy that still holds such a text does not bring it back."""
    days = {key: raws for key, raws in held.items() if key.folder == "days" and any(map(_erases, raws))}
    found = [judged(_group(key, course), raws) for key, raws in days.items()]
    return erased_heads(ledger for each in found for ledger in each.ledgers)


def _erases(raw: bytes) -> bool:
    return b'"kind": "erasure"' in raw


def _refuse_alike(sides: Sequence[Side]) -> None:
    """On a disk for which upper and lower case are one, such records would take each other's place."""
    first: dict[Key, Key] = {}
    problems = []
    for key in sorted({key for side in sides for key in side.files}):
        other = first.setdefault(key._replace(stem=key.stem.lower(), ending=key.ending.lower()), key)
        if other != key:
            what = f"differs from {_shown(other, other.stem)} in upper and lower case only"
            todo = "an id is given once: settle which of the two is meant"
            problems.append(Problem(_shown(key, key.stem), 0, what, todo))
    if problems:
        raise InputError(problems)


def _refuse_open(own: Side, outcomes: dict[Key, Outcome], disk: Disk) -> None:
    """Nothing is changed under a window that has one of the files open, also where a folder cannot be locked."""
    for key, outcome in outcomes.items():
        before = own.files.get(key, {})
        for name in sorted(before):
            if outcome.files.get(name) != before[name]:
                refuse_if_open(own.root / key.folder / f"{name}{key.ending}", disk)


def refuse_if_open(path: Path, disk: Disk) -> None:
    """Raises Refusal when a window writes this ledger, StorageTrouble when it cannot be opened."""
    try:
        fd = disk.open(path, READ)
        try:
            disk.flock(fd)
        finally:
            disk.close(fd)
    except BlockingIOError:
        raise Refusal("is open in another window", where=str(path), todo="close it there, then try again") from None
    except OSError as trouble:
        raise StorageTrouble(f"cannot be opened ({why(trouble)})", where=str(path)) from trouble


def _written(own: Side, outcomes: dict[Key, Outcome], disk: Disk) -> list[str]:
    """Brings the folder to what was resolved; the records that are new or have grown."""
    taken = []
    for key, outcome in outcomes.items():
        before = own.files.get(key, {})
        if before == outcome.files:
            continue
        try:
            _settle(own.root / key.folder, key, before, outcome.files, disk)
        except OSError as trouble:
            todo = "put that right and merge again: every file is whole, and nothing is lost"
            raise StorageTrouble(
                f"cannot be written ({why(trouble)})", where=_shown(key, key.stem), todo=todo
            ) from trouble
        if key.stem in outcome.files and before.get(key.stem) != outcome.files[key.stem]:
            taken.append(_shown(key, key.stem))
    return taken


def _settle(folder: Path, key: Key, before: dict[str, bytes], after: dict[str, bytes], disk: Disk) -> None:
    """One group: first what is kept aside, then the record itself, and only then are old names taken away."""
    if not folder.is_dir():
        disk.mkdir(folder)
        disk.sync_folder(folder.parent)
    spares = _misnamed(key.stem, before, after)
    for name in sorted(spares | after, key=lambda name: (name == key.stem, name in before, name)):
        wanted = after[name] if name in after else spares[name]
        if before.get(name) != wanted:
            replace_file(folder / f"{name}{key.ending}", wanted, disk=disk)
    gone = sorted((set(before) | set(spares)) - set(after))
    for name in gone:
        disk.unlink(folder / f"{name}{key.ending}")
    if gone:
        disk.sync_folder(folder)


def _misnamed(stem: str, before: dict[str, bytes], after: dict[str, bytes]) -> dict[str, bytes]:
    """Versions kept aside under a name that is about to hold another one, each under its whole digest meanwhile."""
    changed = [raw for name, raw in before.items() if name != stem and after.get(name, raw) != raw]
    return {f"{stem}~{hashlib.sha256(raw).hexdigest()}": raw for raw in changed}
