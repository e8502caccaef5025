"""How far records of a course are known to stand in a second place: what was bundled or merged from this device.

Kept in the state folder under ids and record names alone; losing it means being warned once more.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from assess.records.errors import InputError
from assess.store.atomic import replace_file
from assess.store.folders import state_folder
from assess.store.reading import whole_file

__all__ = ["copied_lines", "remember_copies"]

_LARGEST = 8 * 1024 * 1024
_FILE = "copies.json"


def copied_lines(course: str) -> dict[str, int]:
    """Record (as heads name it) -> how many of its lines stand in a second place too."""
    found = _all().get(course)
    if not isinstance(found, dict):
        return {}
    return {name: lines for name, lines in found.items() if isinstance(name, str) and isinstance(lines, int)}


def remember_copies(course: str, lines: Mapping[str, int]) -> str:
    """Keep that these records stand in a second place so far; "" when it is kept, else a sentence why not."""
    folder, known = state_folder(), copied_lines(course)
    both = {name: max(known.get(name, 0), lines.get(name, 0)) for name in {*known, *lines}}
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        replace_file(folder / _FILE, json.dumps({**_all(), course: both}, sort_keys=True, indent=1).encode("ascii"))
    except OSError as trouble:
        reason = trouble.strerror or "unknown reason"
        return f"{folder} cannot be written ({reason}); the warning about a single copy will come again"
    return ""


def _all() -> dict[str, Any]:
    try:
        found = json.loads(whole_file(state_folder() / _FILE, _FILE, _LARGEST))
    except (InputError, ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}
