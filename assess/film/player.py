"""A film shown by mpv, driven over a pair of sockets: no socket file, and mpv ends by itself when this program does.

Every time is a whole millisecond of the film. mpv's own words for its commands and properties are those of its manual.
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol

from assess.records.errors import FilmTrouble

__all__ = ["MISSING", "MpvPlayer", "Player", "TypedTimes", "open_pair", "open_player"]

MISSING = "install the package `mpv` to see the film"
PATIENCE = 10.0
"""Seconds mpv is given to load a film."""
WINDOW = 1.5
"""Seconds it is given to open its window."""
ANSWER = 3.0
"""Seconds it is given to answer anything else."""


class Player(Protocol):
    """What a screen needs of whatever shows the film; times in ms. `gone`: it was closed from outside."""

    @property
    def gone(self) -> bool:
        """True once it shows nothing any more."""

    @property
    def position_ms(self) -> int:
        """Where the film stands."""

    @property
    def paused(self) -> bool:
        """True while it stands still, by whatever hand."""

    def seek(self, ms: int) -> None:
        """Go to a time, exactly."""

    def pause(self, on: bool = True) -> None:
        """Stop, or go on."""

    def speed(self, factor: float) -> None:
        """So many times as fast."""

    def step(self, frames: int = 1) -> None:
        """One frame on, or with -1 one back."""

    def loop(self, start_ms: int | None, end_ms: int | None = None) -> None:
        """Repeat from here to there; without a start no more."""

    def close(self) -> None:
        """End it."""


class TypedTimes:
    """Stands in where no film can be shown: the time is what was typed last."""

    def __init__(self) -> None:
        self._at = 0

    @property
    def gone(self) -> bool:
        """Never: there is nothing to close."""
        return False

    @property
    def position_ms(self) -> int:
        """The time typed last."""
        return self._at

    @property
    def paused(self) -> bool:
        """Always."""
        return True

    def seek(self, ms: int) -> None:
        """From now on it is this time."""
        self._at = max(0, ms)

    def pause(self, on: bool = True) -> None:
        """Nothing moves anyway."""

    def speed(self, factor: float) -> None:
        """Nothing moves anyway."""

    def step(self, frames: int = 1) -> None:
        """A fortieth of a second, about a frame."""
        self.seek(self._at + 40 * frames)

    def loop(self, start_ms: int | None, end_ms: int | None = None) -> None:
        """To its start."""
        if start_ms is not None:
            self.seek(start_ms)

    def close(self) -> None:
        """Nothing to end."""


class MpvPlayer:
    """mpv with one film. Use `open_player`."""

    def __init__(self, process: subprocess.Popen[bytes], line: socket.socket) -> None:
        self._process, self._line = process, line
        self._buffer, self._number, self._gone = b"", 0, False
        self._events: list[dict[str, Any]] = []

    @property
    def pid(self) -> int:
        """The process that shows the film."""
        return self._process.pid

    @property
    def gone(self) -> bool:
        """True once mpv has ended, by whatever hand."""
        if not self._gone and self._process.poll() is not None:
            self._gone = True
        return self._gone

    @property
    def position_ms(self) -> int:
        """Where the film stands. Raises FilmTrouble when mpv is gone."""
        return round(1000 * float(self.ask("get_property", "time-pos", patience=ANSWER)))

    @property
    def paused(self) -> bool:
        """True while it stands still: here, by a key of mpv's own window, or at the film's end."""
        return bool(self.ask("get_property", "pause"))

    @property
    def length_ms(self) -> int:
        """How long the film is."""
        return round(1000 * float(self.ask("get_property", "duration", patience=ANSWER)))

    def seek(self, ms: int) -> None:
        """Go to the frame at or after a time; a time past the end is the last frame."""
        self._events.clear()
        self._drain()
        self.ask("seek", max(0, ms) / 1000, "absolute+exact")
        self._wait_for("playback-restart")

    def pause(self, on: bool = True) -> None:
        """Stop, or go on."""
        self.ask("set_property", "pause", on)

    def speed(self, factor: float) -> None:
        """From a hundredth to a hundred times as fast."""
        self.ask("set_property", "speed", min(100.0, max(0.01, factor)))

    def step(self, frames: int = 1) -> None:
        """One frame on, or with a negative number back; the film stands still afterwards."""
        before = self.position_ms
        self.ask("frame-step" if frames > 0 else "frame-back-step")
        ends = time.monotonic() + ANSWER
        while self.position_ms == before and time.monotonic() < ends:
            time.sleep(0.005)

    def loop(self, start_ms: int | None, end_ms: int | None = None) -> None:
        """Repeat from here to there (one frame at least); without a start no more."""
        if start_ms is None:
            self.ask("set_property", "ab-loop-a", "no")
            self.ask("set_property", "ab-loop-b", "no")
            return
        end = max(start_ms + 1, end_ms if end_ms is not None else start_ms + 1)
        self.ask("set_property", "ab-loop-a", start_ms / 1000)
        self.ask("set_property", "ab-loop-b", end / 1000)
        self.seek(start_ms)

    def shows_a_picture(self) -> bool:
        """Whether there is a window with the film in it: False on a machine without a screen, or for sound alone."""
        ends = time.monotonic() + WINDOW
        while not self.ask("get_property", "vo-configured"):
            if time.monotonic() > ends:
                return False
            time.sleep(0.02)
        return True

    def wait_until_loaded(self) -> None:
        """Wait until the film stands at its beginning. Raises FilmTrouble once mpv says that it cannot.

        It has a time before its first picture stands: a film sought then would show that picture at another time.
        """
        ends = time.monotonic() + PATIENCE
        while True:
            answer = self._answer(("get_property", "time-pos"), ends)
            if answer["error"] == "success" and any(told["event"] == "playback-restart" for told in self._events):
                return
            if any(message["event"] == "end-file" and message.get("reason") == "error" for message in self._events):
                raise FilmTrouble("it is no film, or not whole", todo="copy it once more")
            if answer["error"] not in ("success", "property unavailable") or time.monotonic() > ends:
                raise FilmTrouble(f"the player says: {answer['error']}", todo="try it in another player")
            time.sleep(0.02)

    def still(self, path: Path) -> None:
        """Write what is shown as a picture. Raises FilmTrouble when something stands there or it cannot be written."""
        if path.exists():
            raise FilmTrouble(f"{path} is there already", todo="name a file that does not exist yet")
        self.ask("screenshot-to-file", str(path.absolute()), "video", patience=PATIENCE)

    def close(self) -> None:
        """End mpv; it ends by itself as soon as nobody holds the other end of its line."""
        self._gone = True
        self._line.close()
        try:
            self._process.wait(ANSWER)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    # --- the line to mpv -------------------------------------------------------------------------

    def ask(self, *words: Any, patience: float = ANSWER) -> Any:
        """Give mpv a command and wait for its answer.

        "property unavailable" is waited out: a film that is being loaded has no position yet.
        Raises FilmTrouble when mpv is gone, silent, or refuses.
        """
        ends = time.monotonic() + patience
        while True:
            answer = self._answer(words, ends)
            if answer["error"] == "success":
                return answer.get("data")
            if answer["error"] != "property unavailable" or time.monotonic() > ends:
                raise FilmTrouble(f"the player refuses: {answer['error']}", todo="go on with typed times")
            time.sleep(0.02)

    def _answer(self, words: Sequence[Any], ends: float) -> dict[str, Any]:
        self._number += 1
        number = self._number
        line = json.dumps({"command": list(words), "request_id": number}).encode("utf-8") + b"\n"
        try:
            self._line.sendall(line)
        except OSError:
            raise self._lost() from None
        while True:
            for message in self._messages(ends):
                if message.get("request_id") == number and "error" in message:
                    return message

    def _messages(self, ends: float) -> list[dict[str, Any]]:
        """What mpv has said, at least one message; events are kept."""
        left = ends - time.monotonic()
        if left <= 0:
            raise FilmTrouble("the player does not answer", todo="go on with typed times")
        self._line.settimeout(left)
        try:
            more = self._line.recv(65536)
        except TimeoutError:
            raise FilmTrouble("the player does not answer", todo="go on with typed times") from None
        except OSError:
            raise self._lost() from None
        if not more:
            raise self._lost()
        *whole, self._buffer = (self._buffer + more).split(b"\n")
        told = [json.loads(line) for line in whole if line.strip()]
        self._events += [message for message in told if "event" in message]
        return told

    def _drain(self) -> None:
        """Take in what was said before, so that an old event is not taken for the one that is waited for."""
        self._line.settimeout(0.0)
        try:
            while more := self._line.recv(65536):
                self._buffer = (self._buffer + more).rsplit(b"\n", 1)[-1]
        except (BlockingIOError, TimeoutError):
            return
        except OSError:
            raise self._lost() from None
        raise self._lost()

    def _wait_for(self, event: str) -> None:
        ends = time.monotonic() + ANSWER
        while not any(message["event"] == event for message in self._events):
            self._messages(ends)
        self._events.clear()

    def _lost(self) -> FilmTrouble:
        self._gone = True
        return FilmTrouble("the player was closed", todo="go on with typed times, or open the film again")


FLAGS = (
    "--no-config", "--idle=yes", "--pause", "--hr-seek=yes", "--keep-open=yes", "--no-terminal", "--force-window=yes",
    "--osd-level=2", "--input-default-bindings=yes",
)  # fmt: skip


PAIR_HEIGHT = 480
TURNS = {0: "", 90: "transpose=clock,", 180: "hflip,vflip,", 270: "transpose=cclock,"}
"""What sets a film upright that was filmed turned: filters see a film as it is kept."""


def open_player(path: Path, *, flags: Sequence[str] = ()) -> MpvPlayer:
    """The film in mpv, standing still at its beginning.

    flags: more flags of mpv, for a machine without a window. Raises FilmTrouble when mpv or the film is missing or
    the film cannot be shown.
    """
    program = _program()
    _there(path)
    return _started([program, *FLAGS, *flags], str(path.absolute()), path.name)


def open_pair(
    left: tuple[Path, int], right: tuple[Path, int], *, turned: tuple[int, int] = (0, 0), flags: Sequence[str] = ()
) -> MpvPlayer:
    """Two films in one picture of mpv, each from its own start (ms), in step by one clock; standing still at 0.

    Whatever the player is told is told to both: 0 is both starts. turned: by how many degrees each was filmed turned,
    clockwise. Raises FilmTrouble as `open_player` does.
    """
    program = _program()
    for path, _ in (left, right):
        _there(path)
    halves = ";".join(
        f"[vid{place}]{TURNS[degrees % 360]}scale=-2:{PAIR_HEIGHT},setsar=1[{name}]"
        for place, (name, degrees) in enumerate(zip("lr", turned, strict=True), 1)
    )
    words = [
        program, *FLAGS, *flags, "--video-rotate=no", f"--external-file={_from(*right)}",
        f"--lavfi-complex={halves};[l][r]hstack[vo]",
    ]  # fmt: skip
    return _started(words, _from(*left), f"{left[0].name} beside {right[0].name}")


def _from(path: Path, start_ms: int) -> str:
    """A film from a start on, as mpv writes a list of edits: the bytes of a name are counted, so none is special."""
    name = str(path.absolute())
    return f"edl://%{len(os.fsencode(name))}%{name},{start_ms // 1000}.{start_ms % 1000:03d}"


def _program() -> str:
    program = shutil.which("mpv")
    if program is None:
        raise FilmTrouble(MISSING, todo="until then type the times")
    return program


def _there(path: Path) -> None:
    if not path.is_file():
        raise FilmTrouble(f"{path} is not there", todo="name the film, or look for it where it was moved")


def _started(words: Sequence[str], film: str, name: str) -> MpvPlayer:
    ours, theirs = socket.socketpair()
    with theirs:
        process = subprocess.Popen(
            [*words, f"--input-ipc-client=fd://{theirs.fileno()}", "--", film],
            pass_fds=[theirs.fileno()], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
    player = MpvPlayer(process, ours)
    try:
        player.wait_until_loaded()
    except FilmTrouble as trouble:
        player.close()
        raise FilmTrouble(f"{name} cannot be shown ({trouble})", todo="try it in another player") from None
    return player
