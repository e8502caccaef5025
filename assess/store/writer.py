"""The one thread that writes ledgers: entries come through one queue and are tried until they are saved."""

from __future__ import annotations

import secrets
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from assess.records.errors import InputError, Refusal, StorageTrouble
from assess.records.ledger import Header
from assess.records.times import instant, milliseconds
from assess.store.appending import LedgerOnDisk
from assess.store.chain import first_link
from assess.store.clock import Clock, DeviceTime
from assess.store.disk import Disk, why
from assess.store.ledger_file import LARGEST_LEDGER, LedgerFile, parse_ledger
from assess.store.lines import encode_head
from assess.store.live import LiveLedger
from assess.store.signatures import Signer

__all__ = ["SaveState", "Writer"]


@dataclass(frozen=True)
class SaveState:
    """Whether what was typed is on the disk.

    waiting: entries that are not; at: when the last one was saved, None before the first.
    why: what the disk did not do; when saved, what to know about where.
    """

    word: Literal["saved", "writing", "not saved"]
    waiting: int
    at: str | None
    why: str


@dataclass(frozen=True, eq=False)
class _Task:
    live: LiveLedger
    disk: LedgerOnDisk
    n: int
    line: bytes


@dataclass
class _Rest:
    """A ledger whose last write failed is left alone until then; others go on."""

    until: float
    seconds: float
    why: str


class Writer:
    """Opens ledgers for writing and saves their entries in the order they were added.

    signer signs the entries somebody stands for, as they are added.
    on_change is called from the writer's thread with every new state. After a failure the ledger is tried
    again at once, after `first_rest` seconds, then ever later up to `longest_rest`, and whenever an entry
    is added to it. An error inside on_change is raised by `close`.
    """

    def __init__(
        self,
        *,
        disk: Disk | None = None,
        clock: Clock | None = None,
        salt: Callable[[], str] | None = None,
        signer: Signer | None = None,
        on_change: Callable[[SaveState], None] | None = None,
        first_rest: float = 0.2,
        longest_rest: float = 2.0,
    ) -> None:
        self._disk = disk or Disk()
        self._clock = clock or Clock()
        self._salt = salt or (lambda: secrets.token_hex(16))
        self._signer, self._on_change = signer, on_change
        self._first_rest, self._longest_rest = first_rest, longest_rest
        self._time = DeviceTime(self._clock)
        self._open: dict[Path, tuple[LiveLedger, LedgerOnDisk]] = {}
        self._turn = threading.Condition()
        self._queue: deque[_Task] = deque()
        self._rests: dict[LedgerOnDisk, _Rest] = {}
        self._saved_at: str | None = None
        self._told: SaveState | None = None
        self._tell_error: Exception | None = None
        self._closing = self._stopped = False
        self._thread = threading.Thread(target=self._run, name="ledger writer", daemon=True)
        self._thread.start()

    # --- the main thread ----------------------------------------------------------------------

    def open(self, folder: Path, header: Header) -> LiveLedger:
        """The ledger of this name in `folder`, continued, or new: then the file is made by its first entry.

        The header of an existing file stays; it must be about the same thing, though its rubric and
        opening time may differ. Raises Refusal when another process writes it, when it is damaged or
        about something else; StorageTrouble when it cannot be opened for writing.
        """
        folder = folder.absolute()
        path = folder / f"{header.name}.yaml"
        if path in self._open:
            return self._open[path][0]
        if self._closing:
            raise Refusal("the records are closed", where=header.name)
        shown = f"{folder.name}/{header.name}.yaml"
        disk = LedgerOnDisk(self._disk, folder, header.name)
        raw = _taken_up(disk, shown)
        try:
            live = self._begin(disk, header) if raw is None else self._go_on(disk, header, raw, shown)
        except BaseException:
            disk.let_go()
            raise
        with self._turn:
            self._open[path] = (live, disk)
        return live

    def not_before(self, at_ms: int) -> None:
        """A time this device has used in a ledger that is not open here; later entries come after it."""
        self._time.seen(at_ms)

    @property
    def state(self) -> SaveState:
        """Whether everything added is saved, at this moment."""
        with self._turn:
            waiting = len(self._queue)
            if self._rests:
                first = next(task.disk for task in self._queue if task.disk in self._rests)
                return SaveState("not saved", waiting, self._saved_at, self._rests[first].why)
            notes = [disk.note for _, disk in self._open.values() if disk.note]
            return SaveState("writing" if waiting else "saved", waiting, self._saved_at, "; ".join(notes))

    def drain(self, seconds: float) -> bool:
        """Wait until all is saved, at most so long; False when something still waits."""
        with self._turn:
            return self._turn.wait_for(lambda: not self._queue, timeout=seconds)

    def unsaved(self) -> dict[str, bytes]:
        """By name, whole ledgers of which something is not on the disk, as they would stand there."""
        with self._turn:
            names: dict[str, bytes] = {}
            for live, disk in self._open.values():
                lines = [task.line for task in self._queue if task.disk is disk]
                if lines:
                    names[live.name] = disk.whole(lines)
            return names

    def close(self, seconds: float = 5) -> bool:
        """Save what waits, at most so long, and let the files go; False when something is not saved.

        Files removed or replaced since their last entry are written again. What could not be saved stays
        in the ledgers and in `unsaved`.
        """
        with self._turn:
            self._closing = True
            for live, _ in self._open.values():
                live.closed = True
            for rest in self._rests.values():
                rest.until = 0.0
            self._turn.notify_all()
        self._thread.join(seconds)
        with self._turn:
            self._stopped = True
            self._turn.notify_all()
        # A disk that never answers keeps the thread; it must not keep the person too.
        self._thread.join(1)
        if self._tell_error is not None:
            raise self._tell_error
        return not self._queue

    def _begin(self, disk: LedgerOnDisk, header: Header, torn: bytes = b"") -> LiveLedger:
        head = encode_head(header.payload())
        disk.begin(head, torn=torn)
        return LiveLedger(
            header, link=first_link(head), time=self._time, salt=self._salt, send=self._take(disk), signer=self._signer
        )

    def _go_on(self, disk: LedgerOnDisk, header: Header, raw: bytes, shown: str) -> LiveLedger:
        try:
            found = parse_ledger(raw, header.name, shown)
        except InputError as error:
            if not _cut_in_head(raw):
                problem = error.problems[0]
                raise Refusal(
                    problem.what,
                    where=f"{shown}:{problem.line}",
                    todo=f"mark this one on paper for now; {problem.todo}",
                ) from error
            return self._begin(disk, header, torn=raw)
        _refuse_unfit(found, header, shown)
        entries = found.ledger.entries
        disk.go_on(raw, found.head, found.whole)
        if entries:
            self._time.seen(milliseconds(entries[-1].at))
        return LiveLedger(
            found.ledger.header, link=found.link, entries=entries,
            time=self._time, salt=self._salt, send=self._take(disk), signer=self._signer,
        )  # fmt: skip

    def _take(self, disk: LedgerOnDisk) -> Callable[[LiveLedger, int, bytes], None]:
        def take(live: LiveLedger, n: int, line: bytes) -> None:
            with self._turn:
                self._queue.append(_Task(live, disk, n, line))
                rest = self._rests.get(disk)
                if rest is not None:
                    rest.until = 0.0
                self._turn.notify_all()

        return take

    # --- the writer's thread ------------------------------------------------------------------

    def _run(self) -> None:
        checked = False
        while True:
            task = self._next()
            if task is None:
                if checked or self._stopped or not self._check():
                    break
                checked = True
                continue
            self._settle(task, self._attempt(task))
        for _, disk in self._ledgers():
            disk.let_go()

    def _next(self) -> _Task | None:
        """The first entry whose ledger does not rest; None when all is done and the writer closes."""
        with self._turn:
            while not self._stopped:
                now = time.monotonic()
                for task in self._queue:
                    rest = self._rests.get(task.disk)
                    if rest is None or rest.until <= now:
                        return task
                if self._closing and not self._queue:
                    return None
                ends = [rest.until - now for rest in self._rests.values()]
                self._turn.wait(min(ends) if ends else None)
            return None

    def _attempt(self, task: _Task) -> str | None:
        """Save one entry; None, or why not."""
        try:
            task.disk.append(task.line)
        except Exception as error:
            # Whatever it is, the thread lives on: the entry waits, the state says so, and it is tried again.
            return why(error)
        return None

    def _settle(self, task: _Task, trouble: str | None) -> None:
        with self._turn:
            if trouble is None:
                self._queue.remove(task)
                self._rests.pop(task.disk, None)
                task.live.acknowledged = task.n
                self._saved_at = instant(self._clock.now_ms())
            else:
                last = self._rests.get(task.disk)
                # Much is repaired by trying again at once, and a line half written should not stand for long.
                seconds = 0.0 if last is None else min(last.seconds * 2, self._longest_rest) or self._first_rest
                self._rests[task.disk] = _Rest(time.monotonic() + seconds, seconds, trouble)
            self._turn.notify_all()
        self._tell()

    def _tell(self) -> None:
        state = self.state
        if state == self._told or self._on_change is None or self._tell_error is not None:
            return
        self._told = state
        try:
            self._on_change(state)
        except Exception as error:
            # Saving goes on; whoever closes the writer gets the error.
            self._tell_error = error

    def _ledgers(self) -> list[tuple[LiveLedger, LedgerOnDisk]]:
        with self._turn:
            return list(self._open.values())

    def _check(self) -> bool:
        """Queue nothing-but-a-check for every file that is not as it was left; True when there is one."""
        lost = [(live, disk) for live, disk in self._ledgers() if not disk.still_there()]
        with self._turn:
            self._queue.extend(_Task(live, disk, live.acknowledged, b"") for live, disk in lost)
        return bool(lost)


def _taken_up(disk: LedgerOnDisk, shown: str) -> bytes | None:
    try:
        raw = disk.take_up(LARGEST_LEDGER)
    except BlockingIOError:
        todo = "close it there; until then it can be read here, not written"
        raise Refusal("is open in another window", where=shown, todo=todo) from None
    except OSError as error:
        raise StorageTrouble(f"cannot be opened for writing: {why(error)}", where=shown) from error
    if raw is not None and len(raw) > LARGEST_LEDGER:
        disk.let_go()
        raise Refusal("is larger than 32 MiB", where=shown, todo="it is no ledger of this program; move it away")
    return raw


def _refuse_unfit(found: LedgerFile, header: Header, shown: str) -> None:
    if found.bad:
        problem = found.problems[0]
        todo = "mark this one on paper for now; `assess check` says what is wrong with it"
        raise Refusal("is damaged and is not continued", where=f"{shown}:{problem.line}", todo=todo)
    free = {"opened", "rubric"}
    if found.ledger.header.model_dump(exclude=free) != header.model_dump(exclude=free):
        todo = "give it back the name its header says"
        raise Refusal("is about something else than its name says", where=f"{shown}:2", todo=todo)


def _cut_in_head(raw: bytes) -> bool:
    """True when the file can be the beginning of a ledger that was cut before its first entry."""
    first = encode_head({}).split(b"\n")[0]
    return raw.count(b"\n") < 3 and (first + b"\nheader: ").startswith(raw[: len(first) + 9])
