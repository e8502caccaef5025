"""Who has a course open: everybody who works in it shares a lock on its folder, a merge wants it alone."""

from __future__ import annotations

import errno
import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from assess.records.errors import InputError, Problem, Refusal, StorageTrouble

__all__ = ["course_lock"]

_NO_LOCKS = (errno.ENOLCK, errno.ENOTSUP, errno.ENOSYS, errno.EBADF)


@contextmanager
def course_lock(root: Path, exclusive: bool) -> Iterator[None]:
    """Holds the course at `root`, shared or alone, while the block runs; the lock ends with the process at the latest.

    Raises Refusal when somebody else holds it in a way that does not go together, InputError when
    there is no such folder, StorageTrouble when the disk has no locks and one is needed.
    """
    try:
        folder = os.open(root, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    except OSError as trouble:
        problem = Problem(str(root), 0, f"is no folder that can be opened ({trouble.strerror})", "name a course folder")
        raise InputError([problem]) from trouble
    try:
        _take(folder, root, exclusive)
        yield
    finally:
        os.close(folder)


def _take(folder: int, root: Path, exclusive: bool) -> None:
    try:
        fcntl.flock(folder, (fcntl.LOCK_EX if exclusive else fcntl.LOCK_SH) | fcntl.LOCK_NB)
    except BlockingIOError:
        if exclusive:
            what, todo = "this course is open in another window", "close it there, then try again"
        else:
            what, todo = "records are being merged into this course", "wait until that has finished, then try again"
        raise Refusal(what, where=str(root), todo=todo) from None
    except OSError as trouble:
        if trouble.errno not in _NO_LOCKS:
            raise StorageTrouble(f"cannot be locked ({trouble.strerror})", where=str(root)) from trouble
        # A network volume without locks: single entries are still checked as they are written,
        # but a merge replaces whole files and must know that nobody is at work.
        if exclusive:
            todo = "copy the course to a disk of this device and merge there"
            raise StorageTrouble("this disk has no locks", where=str(root), todo=todo) from trouble
