"""The plain sheets of a course read quickly; those of a finished course are remembered by the digest of their bytes.

As with the parse cache nothing depends on what is remembered. A course with an open sheet is read anew each time, so
that nothing of an open sheet is ever kept outside its ledger.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from assess.store import parse_cache
from assess.store.ledger_file import LARGEST_LEDGER
from assess.store.quick_scores import QuickMark, QuickSheet, quick_sheet

__all__ = ["quick_sheets"]

# Goes up whenever `quick_sheet` reads something else in the same bytes.
_FORMAT = b"quick sheets 3\n"


def quick_sheets(root: Path, names: Sequence[str]) -> dict[str, QuickSheet | None]:
    """The sheets in these ledgers of a course; None for one that has to be read in full, or cannot be read at all."""
    folder = os.fspath(root / "sheets")
    held = [_bytes(os.path.join(folder, name)) for name in names]  # noqa: PTH118 - a Path for each takes longer
    digest = hashlib.sha256(_FORMAT)
    for name, raw in zip(names, held, strict=True):
        digest.update(f"{name} {len(raw)}\n".encode())
        digest.update(raw)
    known = parse_cache.recall(digest.hexdigest())
    if known is not None:
        return dict(zip(names, map(_unpacked, json.loads(known[0])), strict=True))
    sheets = [quick_sheet(raw, name.removesuffix(".yaml")) for name, raw in zip(names, held, strict=True)]
    if all(sheet is None or sheet.locked for sheet in sheets) and any(sheets):
        # As one text: the cache looks at every item of lists and maps.
        parse_cache.remember(digest.hexdigest(), json.dumps(list(_packed(sheets))), {})
    return dict(zip(names, sheets, strict=True))


def _bytes(path: str) -> bytes:
    """All bytes of a plain file; none of a file that is none, is too large or cannot be read."""
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except OSError:
        return b""
    try:
        about = os.fstat(descriptor)
        if not stat.S_ISREG(about.st_mode) or about.st_size > LARGEST_LEDGER:
            return b""
        return os.read(descriptor, about.st_size)
    except OSError:
        return b""
    finally:
        os.close(descriptor)


def _packed(sheets: Iterable[QuickSheet | None]) -> Iterable[Any]:
    for sheet in sheets:
        if sheet is None:
            yield None
        else:
            marks = [[mark.run, mark.criterion, mark.status, mark.level] for mark in sheet.marks]
            yield [sheet.course, sheet.task, sheet.candidate, sheet.assessor, sheet.rubric, marks]


def _unpacked(packed: Any) -> QuickSheet | None:
    if packed is None:
        return None
    course, task, candidate, assessor, rubric, marks = packed
    return QuickSheet(course, task, candidate, assessor, rubric, True, tuple(QuickMark(*mark) for mark in marks))
