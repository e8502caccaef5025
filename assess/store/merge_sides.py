"""What takes part in a merge: every version of every record of a course, in a folder or in an archive."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from assess.records.course import Course, People
from assess.records.errors import InputError, Problem
from assess.records.frame import FRAMES, FolderKind
from assess.records.key_list import KeyList
from assess.records.text import pictured
from assess.store.archive import read_archive
from assess.store.course_files import LEDGER_FOLDERS, TABLE_FOLDER, Files, carried_parts, find_files, folder_kind
from assess.store.ledger_file import LARGEST_LEDGER
from assess.store.packing import BUNDLE_ABOUT
from assess.store.reading import whole_file, why_not_plain
from assess.store.validate import as_model
from assess.store.yaml_file import YamlDoc, read_yaml, yaml_doc

__all__ = ["Key", "Side", "side_of"]

_HAND_EDITED: tuple[tuple[str, type[People] | type[KeyList]], ...] = (("people", People), ("keys", KeyList))


class Key(NamedTuple):
    """A record: its folder (`""` is the course folder), its name, the ending of its files."""

    folder: str
    stem: str
    ending: str


@dataclass
class Side:
    """The versions of every record found in one course folder or archive, and what was found and not taken."""

    root: Path
    course: str
    files: dict[Key, dict[str, bytes]] = field(default_factory=dict)
    left: list[Problem] = field(default_factory=list)

    def add(self, folder: str, name: str, raw: bytes) -> bool:
        """Take a file; false when it is none that a merge carries."""
        parts = carried_parts(folder, name)
        if parts is not None:
            self.files.setdefault(Key(folder, *parts), {})[name.removesuffix(parts[1])] = raw
        return parts is not None

    @property
    def ledgers(self) -> dict[Key, bytes]:
        """The records in use, of ledgers alone."""
        return {
            key: versions[key.stem]
            for key, versions in self.files.items()
            if key.folder in LEDGER_FOLDERS and key.stem in versions
        }


def side_of(path: Path) -> Side:
    """Everything in a course folder, or in a bundle or zip of one, that takes part in a merge.

    Raises InputError when it is no course or cannot be taken.
    """
    if path.is_file():
        return _archive_side(path)
    if not path.is_dir():
        raise InputError([Problem(str(path), 0, "is not a course folder", "name a course folder, or a bundle")])
    return _folder_side(path)


def _folder_side(root: Path) -> Side:
    found = find_files(root)
    listed = found.records.get("", ())

    def read(name: str, what: str) -> YamlDoc:
        return read_yaml(root / name, shown=str(root / name), what=what)

    side = Side(root, _id(folder_kind(root), read))
    for what, model in _HAND_EDITED:
        if f"{what}.yaml" in listed:
            # A slip of the hand in it is to be mended, not to be moved out of the way.
            as_model(read(f"{what}.yaml", what), model)
    side.left += [_in(root, problem) for problem in found.problems]
    for files in (found.records, found.aside):
        for folder, names in files.items():
            for name in names:
                _read(side, folder, name)
    side.left += [_in(root, problem) for problem in _not_carried(root, found)]
    if why_not_plain(root / "overlay.yaml", root.resolve()) is None:
        _read(side, "", "overlay.yaml")
    return side


def _archive_side(path: Path) -> Side:
    files = read_archive(path)

    def read(name: str, what: str) -> YamlDoc:
        shown = str(path / name)
        if name not in files:
            todo = "name a bundle, or a zip of a course folder"
            raise InputError([Problem(shown, 0, "is not in this archive", todo)])
        return yaml_doc(files[name], path / name, shown=shown, what=what)

    frames: list[FolderKind] = [kind for kind in FRAMES if f"{kind}.yaml" in files and "course.yaml" not in files]
    side = Side(path, _id(frames[0] if frames else "course", read))
    for what, model in _HAND_EDITED:
        if f"{what}.yaml" in files:
            as_model(read(f"{what}.yaml", what), model)
    for name, raw in files.items():
        folder, _, file = name.rpartition("/")
        if name != BUNDLE_ABOUT and not side.add(folder, file, raw):
            what, todo = "does not belong to the records of a course and is not taken", "look whether it is wanted"
            side.left.append(Problem(str(path / pictured(name)), 0, what, todo, doubt=True))
    return side


def _not_carried(root: Path, found: Files) -> list[Problem]:
    """What stands among the tables and is none by its name, or no plain file: it stays where it is."""
    folder = root / TABLE_FOLDER
    known = {*found.records.get(TABLE_FOLDER, ()), *found.aside.get(TABLE_FOLDER, ())}
    names = sorted(path.name for path in folder.iterdir()) if folder.is_dir() and found.kind == "course" else []
    what, todo = "is not named as a table, or is no plain file, and is not taken", "name it like T5.C04.before.csv"
    return [
        Problem(pictured(f"{TABLE_FOLDER}/{name}"), 0, what, todo, doubt=True)
        for name in names
        if name not in known and not name.startswith(".")
    ]


def _id(kind: FolderKind, read: Callable[[str, str], YamlDoc]) -> str:
    """The id of the course, the calibration round or the season."""
    doc = read(f"{kind}.yaml", kind)
    return as_model(doc, Course).id if kind == "course" else as_model(doc, FRAMES[kind]).id


def _in(root: Path, problem: Problem) -> Problem:
    return replace(problem, file=str(root / problem.file))


def _read(side: Side, folder: str, name: str) -> None:
    if carried_parts(folder, name) is None:
        return
    path = side.root / folder / name
    try:
        side.add(folder, name, whole_file(path, str(path), LARGEST_LEDGER))
    except InputError as trouble:
        side.left += trouble.problems
