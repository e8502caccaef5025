"""Which files of a course, a round or a season are its records, which are kept aside, which do not belong to it."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field
from pathlib import Path

from assess.records.errors import Problem
from assess.records.frame import FRAMES, FolderKind
from assess.records.ledger import HeaderKind
from assess.records.text import pictured
from assess.store.reading import why_not_plain

__all__ = [
    "LEDGER_FOLDERS", "RUBRIC_FOLDER", "TABLE_FOLDER", "Files", "base_name", "base_stem", "carried_parts", "find_files",
    "folder_kind", "folder_of", "is_version", "recorded_name", "rubric_file_name",
]  # fmt: skip

LEDGER_FOLDERS: dict[str, HeaderKind] = {
    "cases": "case",
    "days": "day",
    "decisions": "decision",
    "licences": "licence",
    "moderation": "moderation",
    "seals": "seal",
    "sheets": "sheet",
}
"""The folders of ledgers, and the kind of ledger each holds."""
RUBRIC_FOLDER = "rubrics"
TABLE_FOLDER = "measures"
"""Tables and tracks of what was measured: no records, but carried along with them."""

_FOLDERS = frozenset({*LEDGER_FOLDERS, RUBRIC_FOLDER})
_HAND_EDITED: dict[FolderKind, tuple[str, ...]] = {
    "course": ("course", "people", "keys"),
    "round": ("round", "people", "reference"),
    "season": ("season", "people"),
}
_BESIDE: dict[FolderKind, frozenset[str]] = {
    "course": frozenset({"measures", "overlay.yaml", "quality.yaml", "groups.yaml", "health-words.txt"}),
    "round": frozenset({"films", "lessons", "overlay.yaml"}),
    "season": frozenset({"films", "overlay.yaml"}),
}
_STEMS_AT_ROOT = frozenset({"overlay", *(stem for stems in _HAND_EDITED.values() for stem in stems)})
_VERSION = r"(?:~(?:bad-)?[0-9a-f]{8,64})?"
_SHORT = r"[A-Za-z0-9-]{1,16}"
_LONG = r"[A-Za-z0-9](?:[A-Za-z0-9-]|\.(?!\.)){0,39}"
_STEMS = {
    "sheets": re.compile(rf"{_SHORT}\.{_SHORT}\.{_SHORT}\.[a-z0-9]{{3,12}}{_VERSION}", re.ASCII),
    "days": re.compile(rf"[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}\.{_SHORT}\.[a-z0-9]{{3,12}}{_VERSION}", re.ASCII),
    "decisions": re.compile(rf"{_SHORT}\.{_SHORT}\.[a-z0-9]{{3,12}}{_VERSION}", re.ASCII),
    "rubrics": re.compile(rf"{_LONG}@[0-9a-f]{{8}}{_VERSION}", re.ASCII),
    "": re.compile(rf"(?:{'|'.join(sorted(_STEMS_AT_ROOT))}){_VERSION}", re.ASCII),
}
_STEMS["seals"] = _STEMS["days"]
_STEMS["moderation"], _STEMS["cases"] = _STEMS["sheets"], _STEMS["decisions"]
_STEMS["licences"] = _STEMS["decisions"]
_NAMED_WITH_FOLDER = frozenset({"cases", "licences", "moderation", "seals"})
_TABLE = re.compile(rf"({_LONG}){_VERSION}(\.[A-Za-z0-9]{{1,8}})", re.ASCII)


def is_version(folder: str, name: str) -> bool:
    """True when a file of this name in this folder (`""` is the course folder) is a record or a version of one."""
    pattern = _STEMS.get(folder)
    return bool(pattern and name.endswith(".yaml") and pattern.fullmatch(name.removesuffix(".yaml")))


def folder_kind(root: Path) -> FolderKind:
    """Whether a folder is a course, a calibration round or a season, told by which of their files stands in it."""
    if (root / "course.yaml").exists():
        return "course"
    files = ((kind, root / f"{kind}.yaml") for kind in FRAMES)
    return next((kind for kind, there in files if there.exists() or there.is_symlink()), "course")


def base_stem(name: str) -> str:
    """The record a file is a version of: `T1.C04.A2.d7h2k` for `T1.C04.A2.d7h2k~3f9c02aa.yaml`."""
    return name.removesuffix(".yaml").split("~", 1)[0]


def base_name(shown: str) -> str:
    """The file that a version kept aside is one of: `sheets/T1.C04.A2.d7h2k.yaml`, `measures/T4.C07.before.csv`."""
    before, tilde, after = shown.rpartition("~")
    return f"{before}.{after.rpartition('.')[2]}" if tilde else shown


def carried_parts(folder: str, name: str) -> tuple[str, str] | None:
    """Stem and ending of the record a file is a version of, `("T4.C07.before", ".csv")`; None when a merge leaves it.

    A merge carries records, hand-edited files, the overlay of the catalogue, and tables.
    """
    if folder != TABLE_FOLDER:
        return (base_stem(name), ".yaml") if is_version(folder, name) else None
    found = _TABLE.fullmatch(name)
    return (found[1], found[2]) if found else None


def folder_of(kind: str) -> str:
    """The folder in which ledgers of a kind stand."""
    return next(folder for folder, held in LEDGER_FOLDERS.items() if held == kind)


def recorded_name(folder: str, stem: str) -> str:
    """How heads name a ledger: sheets, days and decisions by their name alone, the others with their folder.

    A moderation and a sheet, a case and a decision, a seal and a day may have the same name.
    """
    return f"{folder}/{stem}" if folder in _NAMED_WITH_FOLDER else stem


def rubric_file_name(rubric: str, sha256: str) -> str:
    """How the copy of a rubric version is named: its id and the first 8 hex digits of its SHA-256."""
    return f"{rubric}@{sha256[:8]}.yaml"


@dataclass
class Files:
    """What a course folder holds, by folder (`""` is the course folder itself), each list sorted by name.

    records: files to be read. aside: other versions and torn ends, never used.
    problems: what stands where a record should and cannot be one. notes: what does not belong here.
    """

    kind: FolderKind = "course"
    records: dict[str, list[str]] = field(default_factory=dict)
    aside: dict[str, list[str]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    notes: list[Problem] = field(default_factory=list)


def find_files(root: Path) -> Files:
    """Looks through the folder of a course, round or season. Nothing is opened; links are never followed out of it."""
    files, inside = Files(folder_kind(root)), root.resolve()
    _look(files, root, "", inside)
    for folder in sorted(_FOLDERS):
        path = root / folder
        if path.is_symlink():
            _say(files, folder, "the folder is a link, its files are not read", "put a real folder here")
        elif path.is_dir():
            _look(files, path, folder, inside)
        elif path.exists():
            _say(files, folder, "stands where a folder should be", "move it away")
    if files.kind == "course" and (root / TABLE_FOLDER).is_dir() and not (root / TABLE_FOLDER).is_symlink():
        _look_at_tables(files, root / TABLE_FOLDER, inside)
    return files


def _look_at_tables(files: Files, path: Path, inside: Path) -> None:
    """Tables and what is kept aside of them; whether they can be read as such is for a check to say."""
    with os.scandir(path) as found:
        entries = sorted(found, key=lambda entry: entry.name)
    for entry in entries:
        if carried_parts(TABLE_FOLDER, entry.name) and why_not_plain(Path(entry.path), inside) is None:
            into = files.aside if "~" in entry.name else files.records
            into.setdefault(TABLE_FOLDER, []).append(entry.name)


def _say(files: Files, shown: str, what: str, todo: str) -> None:
    files.problems.append(Problem(pictured(shown), 0, what, todo))


def _look(files: Files, path: Path, folder: str, inside: Path) -> None:
    try:
        with os.scandir(path) as found:
            entries = sorted(found, key=lambda entry: entry.name)
    except OSError as trouble:
        _say(files, folder or path.name, f"cannot be listed ({trouble.strerror})", "look at its access rights")
        return
    for entry in entries:
        if not folder and entry.name in _FOLDERS | _BESIDE[files.kind]:
            continue
        _sort(files, entry, folder, inside)


def _sort(files: Files, entry: os.DirEntry[str], folder: str, inside: Path) -> None:
    name = entry.name
    shown = f"{folder}/{name}" if folder else name
    aside = _kept_aside(folder, name)
    at_root = name.removesuffix(".yaml") in _HAND_EDITED[files.kind] and name.endswith(".yaml")
    if not aside and not (is_version(folder, name) if folder else at_root):
        _stranger(files, shown, folder, name)
        return
    plain = not entry.is_symlink() and entry.is_file()
    why = None if plain else why_not_plain(Path(entry.path), inside)
    if why is None:
        (files.aside if aside else files.records).setdefault(folder, []).append(name)
    else:
        _say(files, shown, f"{why}, and is not read", "put the record itself here")


def _kept_aside(folder: str, name: str) -> bool:
    if ".torn" in name or "~" in name:
        return bool(folder) or base_stem(name).split(".")[0] in _STEMS_AT_ROOT
    return False


def _stranger(files: Files, shown: str, folder: str, name: str) -> None:
    if folder and name.endswith(".yaml"):
        # Copies made by a file manager or a synchronising folder look like this, and may hold marks.
        what, todo = "is not named as a record of this folder and is not read", "give it its right name or move it away"
        files.problems.append(Problem(pictured(shown), 0, what, todo, doubt=True))
        return
    what, todo = f"does not belong to the records of a {files.kind} and is not read", "move it away if it is not wanted"
    files.notes.append(Problem(pictured(shown), 0, what, todo, doubt=True))
