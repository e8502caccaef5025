"""Scores of many courses, read straight from ledger lines: for statistics, where a hundred thousand are wanted.

Only what is needed is parsed: header, scores, undo, lock. Chains are not verified here (`assess verify` does)
and a sheet that is more than one plain ledger is named, to be read in full.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

__all__ = ["QuickSheet", "quick_sheets"]

_SCORE, _UNDO, _LOCK = b'"kind": "score"', b'"kind": "undo"', b'"kind": "lock"'
_MOVED = b'"kind": "moved-'
_LARGEST = 32 * 1024 * 1024


@dataclass(slots=True)
class QuickSheet:
    """One assessor's record of one slot.

    levels: criterion -> run -> level, or None where it was not seen or not applicable; run 0 is the overall mark.
    plain: false when it must be read in full (several devices, moved marks, damage); then `levels` is empty.
    first_at: when the first score was given.
    """

    course: str
    task: str
    candidate: str
    assessor: str
    rubric: str
    locked: bool
    plain: bool
    first_at: str = ""
    levels: dict[str, dict[int, int | None]] = field(default_factory=dict)
    files: list[Path] = field(default_factory=list)


def quick_sheets(course: Path) -> Iterator[QuickSheet]:
    """Every sheet in a course folder's `sheets/`, sorted by file name; other versions kept aside are not read."""
    folder = course / "sheets"
    if not folder.is_dir():
        return
    with os.scandir(folder) as found:
        names = sorted(entry.name for entry in found if entry.name.endswith(".yaml") and "~" not in entry.name)
    sheets: dict[tuple[str, str, str], QuickSheet] = {}
    for name in names:
        sheet = _sheet(folder / name)
        if sheet is None:
            continue
        key = (sheet.task, sheet.candidate, sheet.assessor)
        known = sheets.get(key)
        if known is None:
            sheets[key] = sheet
        else:
            known.plain, known.locked = False, known.locked or sheet.locked
            known.levels = {}
            known.files += sheet.files
    yield from sheets.values()


def _sheet(path: Path) -> QuickSheet | None:
    raw = _bytes(path)
    lines = raw.split(b"\n")
    try:
        header: dict[str, Any] = json.loads(lines[1].removeprefix(b"header: "))
        sheet = QuickSheet(
            header["course"], header["task"], header["candidate"], header["assessor"], header["rubric"],
            locked=_LOCK in lines[-2], plain=lines[-1] == b"" and _MOVED not in raw, files=[path],
        )  # fmt: skip
        if sheet.plain:
            _read_scores(sheet, lines)
    except (ValueError, KeyError, IndexError, TypeError):
        # Damage is told by the full reading of this file.
        return QuickSheet("", *[*path.name.split("."), "", "", ""][:3], "", locked=False, plain=False, files=[path])
    return sheet


def _bytes(path: Path) -> bytes:
    descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        return os.read(descriptor, _LARGEST)
    finally:
        os.close(descriptor)


def _read_scores(sheet: QuickSheet, lines: list[bytes]) -> None:
    scores: list[dict[str, Any]] = []
    undone: set[int] = set()
    undos: list[tuple[int, int]] = []
    for line in lines[3:-1]:
        if _SCORE in line:
            scores.append(json.loads(line[2:]))
        elif _UNDO in line:
            entry = json.loads(line[2:])
            undos.append((entry["n"], entry["of"]))
    for n, of in reversed(undos):
        if n not in undone:
            undone.add(of)
    for entry in scores:
        if entry["n"] in undone:
            continue
        sheet.first_at = sheet.first_at or entry["at"]
        level = entry.get("level") if entry["status"] == "scored" else None
        runs = sheet.levels.setdefault(entry["criterion"], {})
        runs[entry["pass"]] = level
