"""The real program in a real pseudo-terminal, its screen kept by a terminal emulator."""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import pyte

__all__ = ["Terminal"]


class Terminal:
    """A program in a pty. `feed` reads what it wrote; `lines` is what a person would see."""

    def __init__(
        self,
        words: Sequence[str],
        *,
        columns: int = 80,
        rows: int = 24,
        env: dict[str, str] | None = None,
        program: Path | None = None,
    ) -> None:
        self.screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self.screen)
        self.written = 0
        self.code: int | None = None
        pid, self.fd = pty.fork()
        if pid == 0:
            os.environ.update({"TERM": "xterm-256color", "TEXTUAL_ANIMATIONS": "none", **(env or {})})
            run = [str(program)] if program else ["-m", "assess", *words]
            os.execv(sys.executable, [sys.executable, *run])
        self.pid = pid
        self.open = True
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    @property
    def lines(self) -> list[str]:
        """The screen, line by line."""
        return list(self.screen.display)

    @property
    def text(self) -> str:
        """The screen as one text."""
        return "\n".join(self.lines)

    def feed(self, seconds: float = 0.0) -> bool:
        """Take in what the program wrote, waiting at most so long for the first of it; False at its end."""
        if not self.open:
            return False
        ready, _, _ = select.select([self.fd], [], [], seconds)
        if not ready:
            return True
        try:
            chunk = os.read(self.fd, 65536)
        except OSError:
            chunk = b""
        if not chunk:
            return False
        self.written += len(chunk)
        # The emulator knows no private keyboard modes; they draw nothing.
        self._stream.feed(chunk.replace(b"\x1b[>1u", b"").replace(b"\x1b[<u", b""))
        return True

    def wait(self, seen: Callable[[str], bool], seconds: float = 20) -> str:
        """Read until the screen satisfies `seen`; its text. AssertionError, with the screen, if it never does."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            alive = self.feed(0.05)
            if seen(self.text):
                return self.text
            if not alive:
                break
        raise AssertionError(f"never seen; the screen was\n{self.text}")

    def quiet(self, seconds: float = 0.3, most: float = 5) -> None:
        """Read until nothing was written for so long."""
        end = time.monotonic() + most
        while time.monotonic() < end:
            before = self.written
            self.feed(seconds)
            if self.written == before:
                return

    def type(self, keys: str | bytes) -> None:
        """Press keys."""
        os.write(self.fd, keys.encode() if isinstance(keys, str) else keys)

    def signal(self, number: int) -> None:
        """Send a signal to the program."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, number)

    def hang_up(self) -> None:
        """Close the terminal, as a dropped line does."""
        if self.open:
            os.close(self.fd)
            self.open = False

    def ended(self, seconds: float = 10) -> int:
        """Wait for the end of the program; its exit code, or minus the signal that ended it."""
        end = time.monotonic() + seconds
        while self.code is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.code = os.waitstatus_to_exitcode(status)
                break
            if time.monotonic() > end:
                self.signal(signal.SIGKILL)
                raise AssertionError(f"still running after {seconds} s")
            if self.open:
                self.feed(0.02)
            else:
                time.sleep(0.01)
        return self.code

    def close(self) -> None:
        """End the program if it still runs, and let the terminal go."""
        if self.code is None:
            self.signal(signal.SIGKILL)
            self.ended()
        self.hang_up()
