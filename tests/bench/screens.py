"""First paint and key to repainted row, on a pty, against a bare Textual app in the same run."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.bench.measuring import Measured, in_turn, timed
from tests.courses import ROOT, build_course
from tests.pty.terminal import Terminal

__all__ = ["rows"]

BARE = Path(__file__).with_name("bare_app.py")


def rows() -> Iterator[Measured]:
    """Every row about screens and start-up."""
    yield _help()
    with tempfile.TemporaryDirectory() as place:
        env = {"ASSESS_STATE_DIR": f"{place}/state", "ASSESS_CACHE_DIR": f"{place}/cache"}
        sample = ROOT / "sample_sessions" / "course"
        yield _first_paint("warm", sample, env, lambda: None, 1.3)
        yield _first_paint("cold", sample, env, lambda: _empty(Path(place) / "cache"), 3.0)
        yield _key_to_row(Path(place), env)


def _help() -> Measured:
    def run(*words: str) -> Callable[[], float]:
        return lambda: timed(lambda: subprocess.run([sys.executable, *words], capture_output=True, check=True))

    ours, other = in_turn(run("-m", "assess", "--help"), run("-c", "import typer"), 11)
    return Measured("assess --help", "process", ours, other, "import typer", "under 1.3x", ours < 1.3 * other)


def _paint(start: Callable[[], Terminal], seen: str) -> float:
    begin = time.perf_counter()
    terminal = start()
    try:
        terminal.wait(lambda text: seen in text)
        return time.perf_counter() - begin
    finally:
        terminal.close()


def _first_paint(name: str, course: Path, env: dict[str, str], before: Callable[[], None], goal: float) -> Measured:
    def ours() -> float:
        before()
        return _paint(lambda: Terminal(["open", str(course), "--as", "A1"], env=env), "Day 1")

    ours_s, bare_s = in_turn(ours, lambda: _paint(lambda: Terminal(["bare"], env=env, program=BARE), "line 11"), 7)
    what = f"open the sample course to first paint, cache {name}"
    return Measured(what, "80x24", ours_s, bare_s, "bare Textual app", f"under {goal}x", ours_s < goal * bare_s)


def _empty(cache: Path) -> None:
    for file in cache.rglob("*"):
        if file.is_file():
            file.unlink()


def _key_to_row(place: Path, env: dict[str, str]) -> Measured:
    course = build_course(place / "keys", candidates=10, assessors=("A1",), tasks=("T1",), names=list("abcdefghij"))
    terminal = Terminal(["open", str(course), "--as", "A1"], env=env)
    bare = Terminal(["bare"], env=env, program=BARE)
    try:
        terminal.wait(lambda text: "T1" in text)
        terminal.type("1")
        terminal.wait(lambda text: "Edging" in text)
        bare.wait(lambda text: "line 11" in text)
        for each in (terminal, bare):
            each.quiet()
        ours, theirs = [], []
        for number in range(36):
            key = "456"[number % 3]
            ours.append(_answer(terminal, key))
            theirs.append(_answer(bare, key))
    finally:
        terminal.close()
        bare.close()
    a, b = statistics.median(ours), statistics.median(theirs)
    return Measured("key to repainted row", "80x24", a, b, "bare Textual app", "median at most 10 ms", a <= 0.010)


def _answer(terminal: Terminal, key: str) -> float:
    """Seconds from the key to the first bytes of its picture."""
    terminal.quiet(0.08)
    before, begin = terminal.written, time.perf_counter()
    terminal.type(key)
    while terminal.written == before:
        terminal.feed(0.5)
    return time.perf_counter() - begin
