"""A JSON file of another program: one object, read with the same care as our own lines."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from assess.records.errors import InputError, Problem
from assess.store.lines import decode_object
from assess.store.reading import whole_file

__all__ = ["read_json"]

_LARGEST = 8 * 1024 * 1024
_PLACE = re.compile(r" at (?:column|byte) (\d+)$")


def read_json(path: Path) -> dict[str, Any]:
    """The object in a file. Raises InputError for a file that holds none, with the line where it can be told."""
    raw = whole_file(path, str(path), _LARGEST).removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").rstrip()
    start = len(raw) - len(raw.lstrip())
    try:
        return decode_object(raw[start:])
    except ValueError as trouble:
        what, line = str(trouble), 0
        if found := _PLACE.search(what):
            text = raw.decode("utf-8", "replace")
            line = text.count("\n", 0, start + int(found[1]) - 1) + 1
            what = what[: found.start()]
        raise InputError([Problem(str(path), line, what, "take a whole copy of the file")]) from None
