"""Where the tool keeps what belongs to a device and not to a course: its state and its cache."""

from __future__ import annotations

import os
from pathlib import Path

__all__ = ["cache_folder", "state_folder"]


def state_folder() -> Path:
    """The folder for the device id and the last chosen person; `ASSESS_STATE_DIR` overrides it. May not exist yet."""
    return _folder("ASSESS_STATE_DIR", "user_state_path")


def cache_folder() -> Path:
    """The folder for what can be made again at any time; `ASSESS_CACHE_DIR` overrides it. May not exist yet."""
    return _folder("ASSESS_CACHE_DIR", "user_cache_path")


def _folder(variable: str, place: str) -> Path:
    named = os.environ.get(variable, "")
    if named:
        return Path(named)
    import platformdirs  # 19 ms, and a run with both variables set has no need of it

    found: Path = getattr(platformdirs, place)("assess", appauthor=False)
    return found
