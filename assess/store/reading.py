"""Bytes of a file somebody else may have put there: regular files only, never more than asked for."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from assess.records.errors import InputError, Problem

__all__ = ["whole_file", "why_not_plain"]


def why_not_plain(path: Path, root: Path | None = None) -> str | None:
    """Why `path` is not used as a file: a folder, a pipe, a link that leads nowhere or out of `root`; or None.

    root: the resolved course folder a link may not leave; None allows any place.
    """
    try:
        mode = path.stat().st_mode
        inside = root is None or path.resolve(strict=True).is_relative_to(root)
    except FileNotFoundError:
        return "is a link that leads nowhere" if path.is_symlink() else "is not there"
    except (OSError, RuntimeError) as trouble:
        return f"cannot be looked at ({_short(trouble)})"
    if stat.S_ISDIR(mode):
        return "is a folder, not a file"
    if not stat.S_ISREG(mode):
        return "is not a plain file (a pipe, socket or device)"
    return None if inside else "is a link that leads out of the course"


def whole_file(path: Path, shown: str, limit: int) -> bytes:
    """All bytes of a plain file of at most `limit` bytes.

    Raises InputError with one sentence for a missing file, a folder, a pipe (which is not
    waited for), missing rights or too many bytes.
    """
    try:
        # Without O_NONBLOCK the open of a pipe nobody writes to would wait for ever.
        descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except OSError as trouble:
        raise _unusable(shown, why_not_plain(path) or f"cannot be read ({_short(trouble)})") from trouble
    try:
        plain = stat.S_ISREG(os.fstat(descriptor).st_mode)
        raw = _read(descriptor, limit + 1) if plain else b""
    except OSError as trouble:
        raise _unusable(shown, f"cannot be read ({_short(trouble)})") from trouble
    finally:
        os.close(descriptor)
    if not plain:
        raise _unusable(shown, why_not_plain(path) or "is not a plain file")
    if len(raw) > limit:
        raise _unusable(shown, f"is larger than {limit // 1024} KiB", "split it, or take out what does not belong here")
    return raw


def _read(descriptor: int, most: int) -> bytes:
    parts = []
    while most and (part := os.read(descriptor, most)):
        parts.append(part)
        most -= len(part)
    return b"".join(parts)


def _unusable(shown: str, what: str, todo: str = "") -> InputError:
    if not todo:
        todo = "put it back or name another" if "not there" in what else "replace it by a plain file that can be read"
    return InputError([Problem(shown, 0, what, todo)])


def _short(trouble: BaseException) -> str:
    return trouble.strerror or "unknown reason" if isinstance(trouble, OSError) else "too many links"
