"""Ids: short ones for people, tasks, slots and cases; long ones for rubrics and catalogue entries."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import AfterValidator, Field, StringConstraints

__all__ = [
    "DEVICE_ALPHABET",
    "Device",
    "LongId",
    "ShortId",
    "base_task",
    "is_long_id",
    "is_short_id",
    "repeat_number",
]

SHORT = r"^[A-Za-z0-9-]{1,16}$"
LONG = r"^[A-Za-z0-9](?:[A-Za-z0-9-]|\.(?!\.)){0,39}$"
# No vowels and no look-alikes (0/o, 1/l): a device id is read aloud when two sticks are compared.
DEVICE_ALPHABET = "23456789bcdfghjkmnpqrstvwxz"

ShortId = Annotated[str, StringConstraints(pattern=SHORT)]


def _no_path(text: str) -> str:
    if ".." in text:
        raise ValueError("an id never holds '..'")
    return text


LongId = Annotated[
    str,
    StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9.-]{0,39}$"),
    AfterValidator(_no_path),
    # What reads has no pattern that looks ahead; a JSON Schema has.
    Field(json_schema_extra={"pattern": LONG}),
]
Device = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]{3,12}$")]

_SHORT, _LONG = re.compile(SHORT), re.compile(LONG)
_REPEAT = re.compile(r"^(.*)-([2-9])$")


def is_short_id(text: str) -> bool:
    """True for letters, digits and `-`, 1 to 16 of them: never a path, short enough for a radio."""
    return _SHORT.fullmatch(text) is not None


def is_long_id(text: str) -> bool:
    """True for letters, digits, `-` and `.`, 1 to 40 of them, first a letter or digit, never `..`."""
    return _LONG.fullmatch(text) is not None


def base_task(task: str, known: frozenset[str] | set[str]) -> str:
    """The task a second performance belongs to: `T2-2` is `T2` when `T2` is known and `T2-2` is not."""
    match = _REPEAT.match(task)
    return match.group(1) if match and task not in known and match.group(1) in known else task


def repeat_number(task: str, known: frozenset[str] | set[str]) -> int:
    """Which performance a task id means: 1 for `T2`, 2 for `T2-2`."""
    return 1 if base_task(task, known) == task else int(task.rsplit("-", 1)[1])
