"""What a film's SHA-256 was when it was read last: a film of hours is read whole once, not at every opening.

Believed only while place, size and both times of the file are the same; without this cache everything works, slower.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

from assess.store.atomic import replace_file
from assess.store.folders import cache_folder

__all__ = ["known_digest"]

SETTLED_NS = 2_000_000_000
"""A file changed a moment ago may change again within one tick of its clock: it is read again next time."""


def known_digest(path: Path, read: Callable[[Path], str]) -> str:
    """The SHA-256 of a file in hex: remembered, or by `read`. Raises what `read` raises, OSError for no such file."""
    stat = path.stat()
    key = [stat.st_dev, stat.st_ino, stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns]
    kept = cache_folder() / "films" / f"{sha256(os.fsencode(path.resolve())).hexdigest()}.json"
    found = _kept(kept)
    if found is not None and found[0] == key:
        return found[1]
    digest = read(path)
    if time.time_ns() - stat.st_ctime_ns > SETTLED_NS:
        _keep(kept, key, digest)
    return digest


def _kept(file: Path) -> tuple[list[int], str] | None:
    try:
        told = json.loads(file.read_bytes())
        return list(told["key"]), str(told["sha256"])
    except (OSError, ValueError, KeyError, TypeError):
        return None  # nothing there, or nothing one can read: the film is read


def _keep(file: Path, key: list[int], digest: str) -> None:
    try:
        file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        replace_file(file, json.dumps({"key": key, "sha256": digest}).encode("ascii"))
    except OSError:
        return  # a disk that is full costs time at the next opening, and nothing else
