"""Where the tool keeps what belongs to a device and not to a course: its state, its cache, and a person's keys."""

from __future__ import annotations

import os
import stat
from pathlib import Path

__all__ = ["cache_folder", "data_folder", "runtime_folder", "state_folder"]


def state_folder() -> Path:
    """The folder for the device id and the last chosen person; `ASSESS_STATE_DIR` overrides it. May not exist yet."""
    return _folder("ASSESS_STATE_DIR", "user_state_path")


def cache_folder() -> Path:
    """The folder for what can be made again at any time; `ASSESS_CACHE_DIR` overrides it. May not exist yet."""
    return _folder("ASSESS_CACHE_DIR", "user_cache_path")


def data_folder() -> Path:
    """The folder for what nothing can replace: keys, attempts; `ASSESS_DATA_DIR` overrides it. May not exist yet."""
    return _folder("ASSESS_DATA_DIR", "user_data_path")


def runtime_folder() -> Path:
    """The folder for what ends with the session; `ASSESS_RUNTIME_DIR` overrides it. May not exist yet.

    In `XDG_RUNTIME_DIR`, which is kept in memory and is emptied when the person logs out, where the system
    gives one that is this person's alone; else in the state folder.
    """
    named, given = os.environ.get("ASSESS_RUNTIME_DIR", ""), os.environ.get("XDG_RUNTIME_DIR", "")
    if named:
        return Path(named)
    return Path(given) / "assess" if given and _is_own(given) else state_folder()


def _is_own(path: str) -> bool:
    """True for an absolute path to a folder of this person that nobody else may enter (as the standard asks)."""
    try:
        found = os.lstat(path)
    except OSError:
        return False
    private = stat.S_ISDIR(found.st_mode) and not found.st_mode & 0o077
    return private and found.st_uid == os.getuid() and os.path.isabs(path)  # noqa: PTH117


def _folder(variable: str, place: str) -> Path:
    named = os.environ.get(variable, "")
    if named:
        return Path(named)
    import platformdirs  # 19 ms, and a run with both variables set has no need of it

    found: Path = getattr(platformdirs, place)("assess", appauthor=False)
    return found
