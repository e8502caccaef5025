"""The system calls the store makes, one method each: the place where tests break things."""

from __future__ import annotations

import errno
import fcntl
import os
import stat
from dataclasses import dataclass
from pathlib import Path

__all__ = ["APPEND", "NEW", "READ", "Disk", "FileState", "Trouble", "why"]

READ = os.O_RDONLY
# Without O_NONBLOCK the open of a pipe somebody put there would wait for ever.
APPEND = os.O_RDWR | os.O_APPEND | os.O_NOFOLLOW | os.O_NONBLOCK
NEW = APPEND | os.O_CREAT | os.O_EXCL

_WORDS = {
    errno.ENOSPC: "disk full",
    errno.EDQUOT: "disk full",
    errno.EFBIG: "disk full",
    errno.EIO: "I/O error",
    errno.EROFS: "read-only disk",
    errno.EACCES: "no permission",
    errno.EPERM: "no permission",
    errno.ENOENT: "folder gone",
    errno.ENOTDIR: "folder gone",
    errno.ESTALE: "folder gone",
    errno.EWOULDBLOCK: "open in another window",
    errno.EEXIST: "file replaced",
}


class Trouble(OSError):
    """The calls went through, but what stands on the disk is not what was asked for."""


def why(error: Exception) -> str:
    """A few words for a person: what the disk did not do."""
    if isinstance(error, Trouble):
        return str(error)
    if isinstance(error, OSError):
        return _WORDS.get(error.errno or 0) or error.strerror or "I/O error"
    return f"a fault in this program ({type(error).__name__})"


@dataclass(frozen=True, slots=True)
class FileState:
    """What the system says of a file: which one it is, its length, its rights, whether it is a plain file."""

    device: int
    inode: int
    size: int
    mode: int = 0o644
    plain: bool = True

    def same_file(self, other: FileState) -> bool:
        """True when both are one and the same file, whatever its name."""
        return (self.device, self.inode) == (other.device, other.inode)


def _state(found: os.stat_result) -> FileState:
    plain = stat.S_ISREG(found.st_mode)
    return FileState(found.st_dev, found.st_ino, found.st_size, stat.S_IMODE(found.st_mode), plain)


class Disk:
    """The real disk. Every method raises OSError as the system does."""

    def open(self, path: Path, flags: int, mode: int = 0o644) -> int:
        """A descriptor that programs started later do not inherit."""
        return os.open(path, flags | os.O_CLOEXEC, mode)

    def read(self, fd: int, size: int) -> bytes:
        """The first `size` bytes of the file, or all of it when it is shorter."""
        parts, at = [], 0
        while at < size and (part := os.pread(fd, size - at, at)):
            parts.append(part)
            at += len(part)
        return b"".join(parts)

    def write(self, fd: int, data: bytes) -> int:
        """How many of the bytes were taken, which may be fewer than given."""
        return os.write(fd, data)

    def fsync(self, fd: int) -> None:
        """Return once the file's bytes are on the disk."""
        full = getattr(fcntl, "F_FULLFSYNC", None)
        if full is not None:
            # On macOS fsync stops at the drive's own memory.
            try:
                fcntl.fcntl(fd, full)
            except OSError as error:
                # A network volume knows only fsync; any other error is a real one.
                if error.errno not in (errno.ENOTSUP, errno.EINVAL, errno.ENOTTY):
                    raise
            else:
                return
        os.fsync(fd)

    def fstat(self, fd: int) -> FileState:
        """The open file itself."""
        return _state(os.fstat(fd))

    def stat(self, path: Path) -> FileState:
        """What stands at the path now; a link is not followed."""
        return _state(path.lstat())

    def truncate(self, fd: int, size: int) -> None:
        """Cut the file to `size` bytes."""
        os.ftruncate(fd, size)

    def close(self, fd: int) -> None:
        """Give the descriptor back, and with it the lock."""
        os.close(fd)

    def replace(self, source: Path, target: Path) -> None:
        """Rename; a file at `target` is gone afterwards."""
        source.replace(target)

    def unlink(self, path: Path) -> None:
        """Take the name away."""
        path.unlink()

    def mkdir(self, path: Path) -> None:
        """Make one folder; its parent must be there."""
        path.mkdir()

    def flock(self, fd: int) -> None:
        """Lock for this process alone, or raise BlockingIOError at once; the lock goes with the process."""
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            # Some network volumes have no locks; there the length check after every write finds a second writer.
            if error.errno not in (errno.ENOLCK, errno.ENOTSUP, errno.ENOSYS, errno.EBADF):
                raise

    def sync_folder(self, path: Path) -> None:
        """Return once the names in the folder are on the disk."""
        fd = os.open(path, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
        try:
            os.fsync(fd)
        except OSError as error:
            # Network volumes that keep names on the server answer EINVAL: there is nothing to sync here.
            if error.errno != errno.EINVAL:
                raise
        finally:
            os.close(fd)
