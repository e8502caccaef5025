"""Keys unlocked for today: asked for once in the morning, so that no lock on the hill waits for a passphrase.

What this costs: until midnight, or `assess key lock`, the private half stands on this device without its passphrase.
It stands in a file that is this person's alone (0600, in a folder 0700 that is no link), where the system has one in
the session's own folder in memory, which is emptied when the person logs out. Whoever can read this person's files
meanwhile can copy the key and sign as this person also later: the end of the day binds this program, not a thief. So
a device that is shared, lent or lost with a key unlocked is a reason to revoke the key. A key is never sent anywhere,
never written into a course, and never shown.
"""

from __future__ import annotations

import base64
import contextlib
import json
import os
import re
import stat
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from assess.records.errors import InputError, StorageTrouble
from assess.records.key_list import KEY_DIGITS, fingerprint
from assess.store.atomic import replace_file
from assess.store.disk import Disk, why
from assess.store.folders import runtime_folder
from assess.store.key_files import StoredKey
from assess.store.reading import whole_file
from assess.store.signatures import to_base64url

__all__ = ["UnlockedKey", "keep_unlocked", "local_day", "lock_keys", "unlocked_keys"]

_NAME = re.compile(r"[0-9a-f]{16}\.json")
_LARGEST = 4096


@dataclass(frozen=True)
class UnlockedKey:
    """An Ed25519 key that signs today. Its private half is in no text this object gives of itself."""

    public: str
    private: bytes = field(repr=False)

    @property
    def short(self) -> str:
        """The digits that name it in entries and on screens."""
        return fingerprint(base64.urlsafe_b64decode(self.public + "="))[:KEY_DIGITS]


def local_day() -> str:
    """The date on this device's clock, in its own time zone."""
    return datetime.now().astimezone().date().isoformat()


def keep_unlocked(key: StoredKey, private: bytes, today: str, *, disk: Disk | None = None) -> None:
    """Keep a key's private half until the end of `today`. Raises StorageTrouble when it cannot be kept safely."""
    folder = _folder()
    document = {"day": today, "public": key.public, "private": to_base64url(private)}
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not _is_own(folder, stat.S_ISDIR):
            todo = "move it away, then unlock again"
            raise StorageTrouble("others may enter this folder, so no key is kept there", where=str(folder), todo=todo)
        path = folder / f"{key.short}.json"
        # Whatever stands there may have other rights; a new file has ours from its first byte on.
        with contextlib.suppress(FileNotFoundError):
            path.unlink()
        replace_file(path, json.dumps(document).encode("ascii"), disk=disk or Disk(), mode=0o600)
    except OSError as trouble:
        raise StorageTrouble(f"the key cannot be kept for today ({why(trouble)})", where=str(folder)) from trouble


def unlocked_keys(today: str) -> tuple[UnlockedKey, ...]:
    """The keys unlocked on this day. One of another day is taken away; one that others may read is not used."""
    folder = _folder()
    if not _is_own(folder, stat.S_ISDIR):
        return ()
    found = []
    for path in sorted(folder.iterdir()):
        if not _NAME.fullmatch(path.name) or not _is_own(path, stat.S_ISREG):
            continue
        key = _read(path, today)
        if key is not None:
            found.append(key)
        else:
            _take_away(path)
    return tuple(found)


def lock_keys() -> int:
    """Take away every unlocked key, and what a killed program may have left of one; how many keys there were.

    Raises StorageTrouble when one cannot be taken away.
    """
    folder = _folder()
    if not folder.is_dir() or folder.is_symlink():
        return 0
    paths = sorted(path for path in folder.iterdir() if _NAME.fullmatch(path.name.split("-")[0].lstrip(".")))
    for path in paths:
        try:
            path.unlink()
        except OSError as trouble:
            raise StorageTrouble(f"cannot be taken away ({why(trouble)})", where=str(path)) from trouble
    return sum(1 for path in paths if _NAME.fullmatch(path.name))


def _folder() -> Path:
    return runtime_folder() / "unlocked"


def _is_own(path: Path, kind: Any) -> bool:
    """True for a thing of this kind that is this person's alone; a link is judged, never followed."""
    try:
        found = path.lstat()
    except OSError:
        return False
    return kind(found.st_mode) and found.st_uid == os.getuid() and not found.st_mode & 0o077


def _read(path: Path, today: str) -> UnlockedKey | None:
    """The key in a file; None when it is of another day, or no key."""
    try:
        said = json.loads(whole_file(path, path.name, _LARGEST))
        public, private = str(said["public"]), base64.urlsafe_b64decode(str(said["private"]) + "=")
        fits = said["day"] == today and fingerprint(base64.urlsafe_b64decode(public + "="))[:16] == path.stem
    except (InputError, ValueError, KeyError, TypeError):
        return None
    return UnlockedKey(public, private) if fits and len(private) == 32 else None


def _take_away(path: Path) -> None:
    # Another window may have been first; and what stays is of a past day and is not used.
    with contextlib.suppress(OSError):
        path.unlink()
