"""Which device this is, and who sat at it last: kept in the state folder, harmless to lose."""

from __future__ import annotations

import contextlib
import json
import re
import secrets
from functools import lru_cache
from pathlib import Path
from typing import Any

from assess.records.errors import InputError
from assess.records.ids import DEVICE_ALPHABET, is_short_id
from assess.store.atomic import create_file, replace_file
from assess.store.folders import state_folder
from assess.store.reading import whole_file

__all__ = ["device_id", "first_today", "remember_person", "remembered_person", "state_trouble"]

_DEVICE = re.compile(rf"[{DEVICE_ALPHABET}]{{5}}")
_LARGEST = 256 * 1024
_PEOPLE, _SAID = "people.json", "said-today.json"


def device_id() -> str:
    """Five letters and digits that name this device, made once.

    Where the state folder cannot be written the name holds for this process; `state_trouble` tells.
    """
    return _device_of(state_folder())[0]


def known_device() -> str | None:
    """The name of this device when it has one already; none is made for looking."""
    return _known(state_folder() / "device")


def state_trouble() -> str:
    """Why this device has no lasting name, as a sentence; "" when all is well."""
    return _device_of(state_folder())[1]


@lru_cache(maxsize=8)
def _device_of(folder: Path) -> tuple[str, str]:
    """The id and the trouble; kept, so that one process has one id even where nothing can be written."""
    file = folder / "device"
    known = _known(file)
    if known:
        return known, ""
    made = "".join(secrets.choice(DEVICE_ALPHABET) for _ in range(5))
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if file.exists():
            replace_file(file, f"{made}\n".encode("ascii"))
        else:
            create_file(file, f"{made}\n".encode("ascii"))
    except OSError as trouble:
        # Another process may have been first; its id is this device's id.
        known = _known(file)
        return (known, "") if known else (made, _sentence(folder, trouble))
    return made, ""


def _known(file: Path) -> str | None:
    text = _text(file).strip()
    return text if _DEVICE.fullmatch(text) else None


def _text(file: Path) -> str:
    """What a file of the state folder says; nothing when it is missing or cannot be used."""
    try:
        return whole_file(file, str(file), _LARGEST).decode("utf-8")
    except (InputError, UnicodeDecodeError):
        return ""


def _sentence(folder: Path, trouble: OSError) -> str:
    reason = trouble.strerror or "unknown reason"
    return f"{folder} cannot be written ({reason}); this device has a name for this session only"


def remembered_person(course: str) -> str | None:
    """The id last chosen for a course on this device, or None."""
    found = _kept(state_folder() / _PEOPLE).get(course)
    return found if isinstance(found, str) and is_short_id(found) else None


def remember_person(course: str, who: str) -> str:
    """Keep the id chosen for a course; "" when it is kept.

    Otherwise a sentence that says why not: it only means being asked again.
    """
    folder = state_folder()
    try:
        _keep(folder / _PEOPLE, {**_kept(folder / _PEOPLE), course: who})
    except OSError as trouble:
        reason = trouble.strerror or "unknown reason"
        return f"{folder} cannot be written ({reason}); who you are is asked again next time"
    return ""


def first_today(what: str, day: str) -> bool:
    """True the first time this is asked on a day, for something that is said once a day.

    Where the state folder cannot be written it is True each time: better said twice than never.
    """
    file = state_folder() / _SAID
    said = {key: value for key, value in _kept(file).items() if value == day}
    if what in said:
        return False
    with contextlib.suppress(OSError):
        _keep(file, {**said, what: day})
    return True


def _keep(file: Path, said: dict[str, Any]) -> None:
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    replace_file(file, json.dumps(said, sort_keys=True, indent=1).encode("ascii"))


def _kept(file: Path) -> dict[str, Any]:
    try:
        found = json.loads(_text(file))
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}
