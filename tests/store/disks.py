"""A disk in memory that breaks where a test says, and knows what a power cut would leave of it."""

from __future__ import annotations

import errno
import os
import random
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from assess.records.facts import Observation, Score, SomeFact
from assess.records.ledger import Header
from assess.store.clock import Clock
from assess.store.disk import Disk, FileState

FOLDER = Path("/course/sheets")


@dataclass
class Node:
    """A file: what a reader sees, what the platter holds, and the part a failed fsync gave up."""

    seen: bytearray = field(default_factory=bytearray)
    durable: bytes = b""
    given_up: range = range(0)
    locked_by: int | None = None


@dataclass(frozen=True)
class Fault:
    """What happens to one call: an error before it did anything, after it did all, or after half of a write."""

    error: int
    when: str = "before"  # before, after, half, short


def common(one: bytes | bytearray, other: bytes | bytearray) -> int:
    """How many bytes both begin with."""
    shorter = min(len(one), len(other))
    return next((at for at in range(shorter) if one[at] != other[at]), shorter)


class MemoryDisk(Disk):
    """Files in memory. Call number k is broken by `faults[k]`; from call `dead_at` on nothing works any more."""

    def __init__(self, folders: tuple[Path, ...] = (FOLDER.parent, FOLDER)) -> None:
        self.nodes: dict[int, Node] = {}
        self.names: dict[Path, int] = {}
        self.durable_names: dict[Path, int] = {}
        self.folders = set(folders)
        self.fds: dict[int, int | Path] = {}
        self.calls: list[str] = []
        self.faults: dict[int, Fault] = {}
        self.broken: Callable[[str], Fault | None] = lambda call: None
        self.dead_at: int | None = None
        self.dead = threading.Event()
        self._next = 100

    # --- breaking things ------------------------------------------------------------------------

    def _call(self, name: str) -> Fault | None:
        number = len(self.calls)
        self.calls.append(name)
        if self.dead_at is not None and number >= self.dead_at:
            self.dead.set()
            raise OSError(errno.EIO, "no power")
        fault = self.faults.get(number) or self.broken(name)
        if fault is not None and fault.when == "before":
            raise OSError(fault.error, os.strerror(fault.error))
        return fault

    def _after(self, fault: Fault | None) -> None:
        if fault is not None and fault.when in ("after", "half"):
            raise OSError(fault.error, os.strerror(fault.error))

    def _number(self) -> int:
        self._next += 1
        return self._next

    def _node(self, fd: int) -> Node:
        found = self.fds.get(fd)
        if not isinstance(found, int):
            raise OSError(errno.EBADF, "bad descriptor")
        return self.nodes[found]

    # --- the calls ------------------------------------------------------------------------------

    def open(self, path: Path, flags: int, mode: int = 0o644) -> int:
        fault = self._call("open")
        if path.parent not in self.folders and path not in self.folders:
            raise FileNotFoundError(errno.ENOENT, "no such folder")
        if path in self.folders:
            fd = self._number()
            self.fds[fd] = path
            return fd
        if flags & os.O_EXCL and path in self.names:
            raise FileExistsError(errno.EEXIST, "exists")
        if path not in self.names:
            if not flags & os.O_CREAT:
                raise FileNotFoundError(errno.ENOENT, "no such file")
            self.names[path] = self._number()
            self.nodes[self.names[path]] = Node()
        self._after(fault)
        fd = self._number()
        self.fds[fd] = self.names[path]
        return fd

    def read(self, fd: int, size: int) -> bytes:
        self._after(self._call("read"))
        return bytes(self._node(fd).seen[:size])

    def write(self, fd: int, data: bytes) -> int:
        fault = self._call("write")
        part = data[: len(data) // 2] if fault is not None and fault.when in ("half", "short") else data
        self._node(fd).seen += part
        self._after(fault)
        return len(part)

    def fsync(self, fd: int) -> None:
        node = self._node(fd)
        try:
            self._after(self._call("fsync"))
        except OSError:
            # The system forgets the pages it could not write; the next fsync succeeds without them.
            if not self.dead.is_set():
                node.given_up = range(common(node.durable, node.seen), len(node.seen))
            raise
        node.durable = bytes(0 if at in node.given_up else byte for at, byte in enumerate(node.seen))

    def fstat(self, fd: int) -> FileState:
        self._after(self._call("fstat"))
        return FileState(1, self.fds[fd], len(self._node(fd).seen))  # type: ignore[arg-type]

    def stat(self, path: Path) -> FileState:
        self._after(self._call("stat"))
        if path in self.folders:
            return FileState(1, 1, 0, 0o755, plain=False)
        if path not in self.names:
            raise FileNotFoundError(errno.ENOENT, "no such file")
        return FileState(1, self.names[path], len(self.nodes[self.names[path]].seen))

    def truncate(self, fd: int, size: int) -> None:
        fault = self._call("truncate")
        node = self._node(fd)
        del node.seen[size:]
        node.given_up = range(node.given_up.start, min(size, node.given_up.stop))
        self._after(fault)

    def close(self, fd: int) -> None:
        found = self.fds.pop(fd, None)
        if isinstance(found, int) and self.nodes[found].locked_by == fd:
            self.nodes[found].locked_by = None
        self._after(self._call("close"))

    def replace(self, source: Path, target: Path) -> None:
        fault = self._call("replace")
        if target.parent not in self.folders:
            raise FileNotFoundError(errno.ENOENT, "no such folder")
        self.names[target] = self.names.pop(source)
        self._after(fault)

    def unlink(self, path: Path) -> None:
        fault = self._call("unlink")
        if path not in self.names:
            raise FileNotFoundError(errno.ENOENT, "no such file")
        del self.names[path]
        self._after(fault)

    def mkdir(self, path: Path) -> None:
        fault = self._call("mkdir")
        if path.parent not in self.folders:
            raise FileNotFoundError(errno.ENOENT, "no such folder")
        self.folders.add(path)
        self._after(fault)

    def flock(self, fd: int) -> None:
        fault = self._call("flock")
        if isinstance(self.fds[fd], int):
            node = self._node(fd)
            if node.locked_by not in (None, fd):
                raise BlockingIOError(errno.EWOULDBLOCK, "locked")
            node.locked_by = fd
        self._after(fault)

    def sync_folder(self, path: Path) -> None:
        fault = self._call("sync_folder")
        if path not in self.folders:
            raise FileNotFoundError(errno.ENOENT, "no such folder")
        elsewhere = {name: node for name, node in self.durable_names.items() if name.parent != path}
        self.durable_names = elsewhere | {name: node for name, node in self.names.items() if name.parent == path}
        self._after(fault)

    # --- looking, and starting again ------------------------------------------------------------

    def put(self, path: Path, data: bytes) -> None:
        """A file that stands there already, durably."""
        self.names[path] = self.durable_names[path] = self._number()
        self.nodes[self.names[path]] = Node(bytearray(data), data)

    def file(self, path: Path) -> bytes:
        """What a reader sees at a path."""
        return bytes(self.nodes[self.names[path]].seen)

    def listing(self) -> dict[str, bytes]:
        """Every file but the hidden ones, by name."""
        return {path.name: self.file(path) for path in sorted(self.names) if not path.name.startswith(".")}

    def killed(self) -> MemoryDisk:
        """The same disk after the process died: the system keeps what it was given, locks are free.

        Not modelled: bytes a failed fsync gave up. A system reports that once, to the process that died;
        no later process can find out.
        """
        disk = MemoryDisk(tuple(self.folders))
        disk.nodes = {number: Node(bytearray(node.seen), node.durable) for number, node in self.nodes.items()}
        disk.names, disk.durable_names = dict(self.names), dict(self.durable_names)
        disk._next = self._next + 1000
        return disk

    def after_power_cut(self, chance: random.Random) -> MemoryDisk:
        """What the platter holds: all that was synced, and by chance some of what was not."""
        disk = MemoryDisk(tuple(self.folders))
        disk._next = self._next + 1000
        names = dict(self.durable_names)
        for path in sorted({*self.names, *self.durable_names}):
            if self.names.get(path) != self.durable_names.get(path) and chance.random() < 0.5:
                if path in self.names:
                    names[path] = self.names[path]
                else:
                    del names[path]
        for path, number in names.items():
            left = self._left(self.nodes[number], chance)
            disk.names[path] = disk.durable_names[path] = number
            disk.nodes[number] = Node(bytearray(left), left)
        return disk

    @staticmethod
    def _left(node: Node, chance: random.Random) -> bytes:
        seen = bytes(node.seen)
        if seen == node.durable or chance.random() < 0.4:
            return node.durable
        kept = common(seen, node.durable)
        end = chance.randint(kept, len(seen))
        # A file system may have given a file its new length and not yet its new bytes.
        return seen[:end] if chance.random() < 0.7 else seen[:kept] + bytes(end - kept)


class SetClock(Clock):
    """A clock the test sets."""

    def __init__(self, ms: int = 1_801_645_200_000) -> None:
        self.ms = ms

    def now_ms(self) -> int:
        return self.ms

    def monotonic_ms(self) -> int:
        return self.ms


def sheet(candidate: str = "C04", **changes: str) -> Header:
    """A sheet's header."""
    values = {
        "kind": "sheet", "course": "K-2027-01", "task": "T1", "candidate": candidate, "assessor": "A2",
        "rubric": "sha256:" + "3f" * 32, "device": "d7h2k", "opened": "2027-02-03T08:58:11.000Z",
    }  # fmt: skip
    return Header.model_validate(values | changes)


def facts(count: int, text: str = "tails wash, left side") -> list[SomeFact]:
    """So many facts, observations and scores in turn."""
    return [
        Observation(text=f"{text} {i}", tags=("outer-light",)) if i % 2 == 0 else Score(criterion="edging", level=3)
        for i in range(count)
    ]
