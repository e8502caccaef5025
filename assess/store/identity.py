"""Which device this is, and who sat at it last: kept in the state folder, harmless to lose."""

from __future__ import annotations

import json
import re
import secrets
from functools import lru_cache
from pathlib import Path
from typing import Any

from assess.records.ids import DEVICE_ALPHABET, is_short_id
from assess.store.atomic import replace_file
from assess.store.folders import state_folder

__all__ = ["device_id", "remember_person", "remembered_person", "state_trouble"]

_DEVICE = re.compile(rf"[{DEVICE_ALPHABET}]{{5}}")


def device_id() -> str:
    """Five letters and digits that name this device, made once.

    Where the state folder cannot be written the name holds for this process; `state_trouble` tells.
    """
    return _device_of(state_folder())[0]


def state_trouble() -> str:
    """Why the state folder could not be written, as a sentence; "" when all is well."""
    return _device_of(state_folder())[1]


@lru_cache(maxsize=8)
def _device_of(folder: Path) -> tuple[str, str]:
    file = folder / "device"
    try:
        known = file.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError):
        known = ""
    if _DEVICE.fullmatch(known):
        return known, ""
    made = "".join(secrets.choice(DEVICE_ALPHABET) for _ in range(5))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        replace_file(file, f"{made}\n".encode())
    except OSError as trouble:
        reason = trouble.strerror or "unknown reason"
        return made, f"{folder} cannot be written ({reason}); this device has a name for this session only"
    return made, ""


def remembered_person(course: str) -> str | None:
    """The id last chosen for a course on this device, or None."""
    found = _people(state_folder()).get(course)
    return found if isinstance(found, str) and is_short_id(found) else None


def remember_person(course: str, who: str) -> None:
    """Keep the id chosen for a course. A state folder that cannot be written only means being asked again."""
    folder = state_folder()
    people = {**_people(folder), course: who}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        replace_file(folder / "people.json", json.dumps(people, sort_keys=True, indent=1).encode())
    except OSError:
        return


def _people(folder: Path) -> dict[str, Any]:
    try:
        found = json.loads((folder / "people.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
