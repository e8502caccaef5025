"""Files that are there whole or not at all: temp, fsync, rename, then the folder."""

from __future__ import annotations

import contextlib
import errno
import secrets
from pathlib import Path

from assess.store.disk import NEW, READ, Disk, FileState, Trouble

__all__ = ["create_file", "place_new", "replace_file", "sync_folder", "write_whole"]

_DISK = Disk()


def replace_file(path: Path, data: bytes, *, disk: Disk = _DISK, mode: int = 0o644) -> None:
    """Put `data` at `path`; a reader, and a power cut, sees the old bytes or the new, never a mix.

    A file that stands there keeps its access rights, a new one gets `mode`. Raises OSError; then the old bytes stand.
    """
    before = _standing(path, disk)
    fd, temp = _temporary(path, data, disk, mode=before.mode if before and before.plain else mode)
    try:
        disk.replace(temp, path)
    except BaseException:
        _discard(fd, temp, disk)
        raise
    disk.close(fd)
    disk.sync_folder(path.parent)


def create_file(path: Path, data: bytes, *, disk: Disk = _DISK, mode: int = 0o644) -> None:
    """Put `data` at `path`, where nothing stands yet, with the access rights `mode` from the first byte on.

    Raises FileExistsError when something does, OSError for anything else.
    """
    disk.close(place_new(path, data, disk=disk, mode=mode))
    disk.sync_folder(path.parent)


def place_new(path: Path, data: bytes, *, disk: Disk = _DISK, over: bool = False, mode: int = 0o644) -> int:
    """The open, locked descriptor of a new file that holds `data`; its name is not yet synced.

    The file is locked before it has its name, so nobody else can come between. With `over` it takes the
    place of a file the caller holds the lock of. Raises FileExistsError when something else stands at
    `path`, OSError for anything else.
    """
    fd, temp = _temporary(path, data, disk, mode=mode)
    try:
        disk.flock(fd)
        # A rename would silently take the place of a file made meanwhile; whoever makes one here holds the folder.
        folder = disk.open(path.parent, READ)
        try:
            disk.flock(folder)
            if not over and _standing(path, disk) is not None:
                raise FileExistsError(errno.EEXIST, "something stands there already")
            disk.replace(temp, path)
        finally:
            disk.close(folder)
    except BaseException:
        _discard(fd, temp, disk)
        raise
    return fd


def sync_folder(path: Path, *, disk: Disk = _DISK) -> None:
    """Return once the names in the folder are on the disk."""
    disk.sync_folder(path)


def write_whole(fd: int, data: bytes, disk: Disk) -> None:
    """Write all of `data`, in several goes when the system takes less at a time."""
    while data:
        taken = disk.write(fd, data)
        if taken <= 0:
            raise Trouble("nothing was written")
        data = data[taken:]


def _temporary(path: Path, data: bytes, disk: Disk, *, mode: int) -> tuple[int, Path]:
    temp = path.with_name(f".{path.name}-{secrets.token_hex(4)}")
    fd = disk.open(temp, NEW, mode)
    try:
        write_whole(fd, data, disk)
        disk.fsync(fd)
    except BaseException:
        _discard(fd, temp, disk)
        raise
    return fd, temp


def _standing(path: Path, disk: Disk) -> FileState | None:
    try:
        return disk.stat(path)
    except FileNotFoundError:
        return None


def _discard(fd: int, temp: Path, disk: Disk) -> None:
    # The first error is on its way to the caller; what is left over is a hidden file nobody reads.
    with contextlib.suppress(OSError):
        disk.close(fd)
    with contextlib.suppress(OSError):
        disk.unlink(temp)
