"""One ledger file as the writer thread sees it: append a line, and repair what went wrong before."""

from __future__ import annotations

import contextlib
import errno
import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from assess.store.atomic import create_file, place_new, write_whole
from assess.store.disk import APPEND, Disk, FileState, Trouble

__all__ = ["LedgerOnDisk"]

# What a path that is no plain file of ours answers when it is opened for writing.
_NO_FILE = (errno.ELOOP, errno.EISDIR, errno.ENXIO)


class _NotPlain(Trouble):
    """A link, a folder or a device stands where the ledger should."""


class LedgerOnDisk:
    """A ledger's file and all bytes known to be saved in it.

    `take_up` opens what stands there; `append` returns only when a line is saved: the write was whole,
    fsync returned, and the path still names our file with the expected length. After any failure the next
    `append` opens the file anew, cuts it back to what is saved and writes the line again; a file that is
    gone is written again whole; one that is not ours is left alone, and ours goes on beside it.
    """

    def __init__(self, disk: Disk, folder: Path, name: str) -> None:
        self._disk, self._folder, self._name = disk, folder, name
        self.path = folder / f"{name}.yaml"
        self.note = ""
        self._fd: int | None = None
        self._file = FileState(0, 0, 0)
        self._head = b""
        self._saved = bytearray()
        self._sure = 0
        self._given_up = False
        self._torn = b""
        self._clean = False
        self._touched = False
        self._name_synced = False
        self._make_folder = False

    # --- in the main thread, before the first append ------------------------------------------

    def take_up(self, limit: int) -> bytes | None:
        """Open and lock the file; its bytes (at most one more than `limit`), or None when there is none.

        What is read is synced first: whoever wrote it may have died between writing and syncing, and from
        here on it counts as saved. Raises OSError; BlockingIOError when another process writes it.
        """
        try:
            self._disk.stat(self._folder)
        except FileNotFoundError:
            self._make_folder = True
            return None
        if not self._open():
            return None
        try:
            self._disk.fsync(self._held())
            self._disk.sync_folder(self._folder)
            self._name_synced = True
            return self._disk.read(self._held(), limit + 1)
        except OSError:
            self.let_go()
            raise

    def begin(self, head: bytes, *, torn: bytes = b"") -> None:
        """The ledger is new: `head` goes before its first line; `torn` stands there and is to be kept aside."""
        self._head, self._torn = head, torn

    def go_on(self, raw: bytes, head: int, whole: int) -> None:
        """The ledger is continued: `head` bytes before the first entry, `whole` to the end of the last."""
        self._head, self._torn = raw[:head], raw[whole:]
        self._sure = whole
        self._saved[:] = raw[:whole] if raw[:whole].endswith(b"\n") else raw[:whole] + b"\n"

    # --- in the writer thread -----------------------------------------------------------------

    def append(self, line: bytes) -> None:
        """Save one line. Raises OSError; then nothing of it counts as written, and it can be tried again."""
        try:
            data = line if self._saved else self._head + line
            size = len(self._saved) + len(data)
            if self._fd is None and not self._open_for(data):
                self._create(data)
            else:
                self._write(data)
            if not self._name_synced:
                self._disk.sync_folder(self._folder)
                self._name_synced = True
            self._confirm(size)
        except BaseException:
            self.let_go()
            raise
        self._saved += line if self._saved else data
        self._sure = len(self._saved)
        self._touched = True

    def still_there(self) -> bool:
        """True when the path still names our file with all that is saved, or we have written nothing."""
        if not self._touched:
            return True
        try:
            self._confirm(len(self._saved))
        except OSError:
            return False
        return True

    def let_go(self) -> None:
        """Close the file and free its lock."""
        fd, self._fd, self._clean = self._fd, None, False
        if fd is not None:
            # What is saved was synced before; what is not is written again through another descriptor.
            with contextlib.suppress(OSError):
                self._disk.close(fd)

    def whole(self, waiting: Sequence[bytes]) -> bytes:
        """The ledger as it would stand with the waiting lines added; callable from another thread."""
        saved = bytes(self._saved or self._head)
        # The first may have been saved this very moment; no line comes twice in a ledger.
        fresh = waiting[1:] if waiting and waiting[0] and saved.endswith(waiting[0]) else waiting
        return saved + b"".join(fresh)

    def _held(self) -> int:
        if self._fd is None:
            raise Trouble("file not open")
        return self._fd

    def _open(self) -> bool:
        """Open and lock what stands at the path; False when nothing does."""
        try:
            fd = self._disk.open(self.path, APPEND)
        except FileNotFoundError:
            return False
        except OSError as error:
            if error.errno in _NO_FILE:
                raise _NotPlain("not a plain file") from error
            raise
        self._fd = fd
        try:
            found = self._disk.fstat(fd)
            if not found.plain:
                raise _NotPlain("not a plain file")
            self._disk.flock(fd)
        except OSError:
            self.let_go()
            raise
        if not found.same_file(self._file):
            self._name_synced, self._sure = False, 0
        self._file = found
        return True

    def _open_for(self, data: bytes) -> bool:
        try:
            return self._open()
        except _NotPlain:
            self._step_aside(data)

    def _create(self, data: bytes) -> None:
        if self._make_folder:
            # Made meanwhile by another window: just as well.
            with contextlib.suppress(FileExistsError):
                self._disk.mkdir(self._folder)
            self._disk.sync_folder(self._folder.parent)
            self._make_folder = False
        self._place(data, over=False)

    def _place(self, data: bytes, *, over: bool) -> None:
        self._name_synced = False
        fd = place_new(self.path, bytes(self._saved) + data, disk=self._disk, over=over)
        self.let_go()
        self._fd = fd
        self._file = self._disk.fstat(fd)
        # From here on the header is ours to keep: a failure after this cuts back to it, not to an empty file.
        self._saved = self._saved or bytearray(self._head)
        self._sure, self._given_up, self._clean = len(self._saved), False, True

    def _write(self, data: bytes) -> None:
        if not self._clean:
            self._mend(data)
            # Nothing may be cut back to an empty file; and a failed fsync gives up every byte on its way,
            # also those that stood there before us. Then the file is made anew and takes its own place.
            if not self._saved or (self._given_up and self._sure < len(self._saved)):
                self._place(data, over=True)
                return
        if data and self._disk.write(self._held(), data) != len(data):
            raise Trouble("only part of the line was written")
        try:
            self._disk.fsync(self._held())
        except OSError:
            self._given_up = True
            raise
        self._given_up = False

    def _confirm(self, size: int) -> None:
        try:
            found = self._disk.stat(self.path)
        except FileNotFoundError:
            raise Trouble("file removed") from None
        if not found.same_file(self._file):
            raise Trouble("file replaced")
        if found.size != size:
            raise Trouble("file changed by another program")

    # --- repair -------------------------------------------------------------------------------

    def _mend(self, data: bytes) -> None:
        """Make the open file hold exactly what is saved, so that `data` can follow."""
        fd, saved = self._held(), bytes(self._saved)
        found = self._disk.read(fd, len(saved) + len(self._torn) + len(data) + 1)
        if found.startswith(saved):
            behind = found[len(saved) :]
            if behind and behind == self._torn:
                self._keep_aside(behind)
            elif not data.startswith(behind):
                self._step_aside(data)
            if behind and saved:
                self._disk.truncate(fd, len(saved))
        elif saved.startswith(ours := found.removesuffix(data)):
            # Cut or replaced by an older copy of itself; our last line may have gone behind that.
            if ours != found:
                self._disk.truncate(fd, len(ours))
            self._sure = min(self._sure, len(ours))
            write_whole(fd, saved[len(ours) :], self._disk)
        else:
            self._step_aside(data)
        self._torn, self._clean = b"", True

    def _keep_aside(self, torn: bytes) -> None:
        digest = hashlib.sha256(torn).hexdigest()[:8]
        aside = self._folder / f"{self._name}.torn-{digest}"
        # The same bytes kept by an earlier try have the same name.
        with contextlib.suppress(FileExistsError):
            create_file(aside, torn, disk=self._disk)
        self.note = f"a line cut short is kept in {aside.name}"

    def _step_aside(self, data: bytes) -> NoReturn:
        """What stands at the path is not ours: leave it and go on in a file beside it. Raises Trouble."""
        whole = bytes(self._saved) + data
        first = whole.find(b"\n", len(self._head)) + 1
        stable, later = (hashlib.sha256(part).hexdigest()[:8] for part in (whole[: first or None], whole))
        beside = self._folder / f"{self._name}~{stable}.yaml"
        self.path = beside if self.path != beside else self._folder / f"{self._name}~{later}.yaml"
        self.note = f"{self._name}.yaml holds something else; all of this record is in {self.path.name}"
        self._torn = b""
        raise Trouble("file replaced")
