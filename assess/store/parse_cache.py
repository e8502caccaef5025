"""What a hand-edited file said, kept as JSON under the SHA-256 of its bytes, because YAML is slow to read.

Nothing depends on it: without the folder, or with a damaged file in it, the YAML is read again.
Only what was read without a problem is kept.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

from assess.store.folders import cache_folder

__all__ = ["CACHE_FORMAT", "forget_all", "recall", "remember"]

# Goes up whenever the reader of YAML or the shape below changes: older files are then not found.
CACHE_FORMAT = 1


def recall(sha256: str) -> tuple[Any, dict[str, int]] | None:
    """The data and lines kept for bytes with this digest; None when there are none or they are damaged."""
    try:
        kept = _file(sha256).read_bytes()
    except OSError:
        return None
    digest, _, body = kept.partition(b"\n")
    if digest != _digest(sha256, body):
        return None
    said = json.loads(body)
    return _unpacked(said["data"]), said["lines"]


def remember(sha256: str, data: Any, lines: dict[str, int]) -> None:
    """Keeps data and lines for `recall`; a folder that cannot be written is no trouble to anybody."""
    body = json.dumps({"data": _packed(data), "lines": lines}, separators=(",", ":")).encode("ascii")
    with contextlib.suppress(OSError):  # a cache that cannot be written only costs time
        _write(_file(sha256), _digest(sha256, body) + b"\n" + body)


def forget_all() -> None:
    """Empty the cache: what was read once may hold the name of somebody who was erased. Raises OSError."""
    if cache_folder().exists():
        shutil.rmtree(cache_folder())


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    # No fsync: a torn file fails its digest and is made again.
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=".parsed-")
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _file(sha256: str) -> Path:
    return cache_folder() / f"parsed-{CACHE_FORMAT}" / f"{sha256}.json"


def _digest(sha256: str, body: bytes) -> bytes:
    return hashlib.sha256(f"{CACHE_FORMAT} {sha256}\n".encode("ascii") + body).hexdigest().encode("ascii")


def _packed(value: Any) -> Any:
    """JSON turns every key into text, so the kind of a key stands before it: `t` for text, `n` for a number."""
    if isinstance(value, dict):
        return {("n" if isinstance(key, int) else "t") + str(key): _packed(item) for key, item in value.items()}
    return [_packed(item) for item in value] if isinstance(value, list) else value


def _unpacked(value: Any) -> Any:
    if isinstance(value, dict):
        return {int(key[1:]) if key[0] == "n" else key[1:]: _unpacked(item) for key, item in value.items()}
    return [_unpacked(item) for item in value] if isinstance(value, list) else value
