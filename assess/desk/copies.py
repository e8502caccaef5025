"""A second copy of one's own records: the archive for a stick, and the warning while there is none."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assess.records.errors import Refusal, StorageTrouble
from assess.records.times import clock_text, local_date

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["Bundle", "make_bundle", "only_here"]


@dataclass(frozen=True)
class Bundle:
    """An archive that was written: where, for whom it holds records, whether it took an earlier one's place.

    same_disk: it lies on the disk of the course itself, and is no second copy before it is carried elsewhere.
    """

    path: Path
    who: str
    files: tuple[str, ...]
    again: bool
    same_disk: bool
    note: str


def make_bundle(desk: Desk, folder: Path, *, people: bool = False) -> Bundle:
    """Write this person's own records, with what is needed to read them, as one archive into a folder.

    people: the file with names too. Raises Refusal when nobody has said who it is for or something else has its name,
    StorageTrouble when something of the records is not saved yet or the archive cannot be written.
    """
    from assess.store.bundle import bundle_name, bundled_files, write_bundle
    from assess.store.copies import remember_copies

    if desk.who is None:
        raise Refusal("nobody has said whose records these are", todo="say who you are with --as ID")
    if not desk.drain(10):
        raise StorageTrouble(f"not saved: {desk.save_state().why}", todo="make room on the disk, then bundle")
    root, course = desk.folder.root, desk.folder.course.id
    files = bundled_files(root, course, desk.who, desk.device, people=people)
    path = folder / bundle_name(course, desk.who, desk.device)
    again = write_bundle(files, path)
    lines = {_recorded(name): raw.count(b"\n") for name, raw in files.items() if "~" not in name}
    note = remember_copies(course, lines)
    return Bundle(path, desk.who, tuple(sorted(files)), again, _same_disk(path, root), note)


def _recorded(name: str) -> str:
    from assess.store.course_files import recorded_name

    folder, _, file = name.rpartition("/")
    return recorded_name(folder, file.removesuffix(".yaml"))


def _same_disk(one: Path, other: Path) -> bool:
    return one.stat().st_dev == other.stat().st_dev


def only_here(desk: Desk) -> str:
    """Since when something this person wrote on this device stands nowhere else; "" when all of it does.

    Told from one's own records alone.
    """
    from assess.store.copies import copied_lines
    from assess.store.course_files import folder_of, recorded_name
    from assess.store.identity import known_device

    devices = {known_device(), desk.device}
    known = copied_lines(desk.folder.course.id)
    first = ""
    for ledger in desk.shelf.ledgers():
        header = ledger.header
        if header.author != desk.who or header.device not in devices:
            continue
        lines = known.get(recorded_name(folder_of(header.kind), ledger.name), _HEAD_LINES)
        loose = ledger.entries[max(lines - _HEAD_LINES, 0) :]
        if loose and (not first or loose[0].at < first):
            first = loose[0].at
    if not first:
        return ""
    day, time = local_date(first, desk.offset), clock_text(first, desk.offset, seconds=False)
    since = f"{time} today" if day == desk.today() else f"{time} on {day}"
    return f"since {since}; `assess bundle` makes a second"


_HEAD_LINES = 3
