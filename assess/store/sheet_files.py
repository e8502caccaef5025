"""Which sheets a course folder holds, told by the names in `sheets/` alone."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from assess.store.course_files import base_stem, is_version
from assess.store.reading import why_not_plain

__all__ = ["SheetFiles", "sheet_files"]

_DOTS = 3  # in `T1.C04.A2.d7h2k`


@dataclass(frozen=True, slots=True)
class SheetFiles:
    """The ledgers of one sheet by their file names, one for each device; aside: how many other versions there are."""

    task: str
    candidate: str
    assessor: str
    names: tuple[str, ...]
    aside: int


def sheet_files(root: Path) -> tuple[SheetFiles, ...]:
    """Every sheet of a course folder, by task, candidate and assessor. Nothing is opened.

    A sheet of which only other versions are left has no names. Links that lead out of the course are no records.
    """
    names: dict[tuple[str, str, str], list[str]] = {}
    aside: dict[tuple[str, str, str], int] = {}
    for name in _records(root):
        if "~" in name or ".torn" in name:
            aside[_key(name)] = aside.get(_key(name), 0) + 1
        else:
            names.setdefault(_key(name), []).append(name)
    return tuple(
        SheetFiles(*key, names=tuple(names.get(key, ())), aside=aside.get(key, 0)) for key in sorted({*names, *aside})
    )


def _records(root: Path) -> list[str]:
    """The names of sheets and of their other versions, sorted."""
    folder = root / "sheets"
    if not folder.is_dir() or folder.is_symlink():
        return []
    with os.scandir(folder) as found:
        return sorted(entry.name for entry in found if _named(entry.name) and _plain(entry, root))


def _named(name: str) -> bool:
    return is_version("sheets", name) or (("~" in name or ".torn" in name) and base_stem(name).count(".") >= _DOTS)


def _plain(entry: os.DirEntry[str], root: Path) -> bool:
    if not entry.is_symlink():
        return entry.is_file()
    return why_not_plain(Path(entry.path), root.resolve()) is None


def _key(name: str) -> tuple[str, str, str]:
    task, candidate, assessor = base_stem(name).split(".")[:3]
    return task, candidate, assessor
