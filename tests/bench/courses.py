"""`assess agreement` as a whole process: on the sample course, and on two hundred courses from disk."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from tests.bench.many_courses import SAMPLE, digest, make_courses
from tests.bench.measuring import Measured
from tests.courses import ROOT

__all__ = ["rows"]

N_COURSES = 200


def rows() -> Iterator[Measured | str]:
    """Seconds of the process and its peak memory, the first time and once finished courses are remembered."""
    with tempfile.TemporaryDirectory() as place:
        yield from _told("assess agreement, the sample course", "1 course", [SAMPLE], Path(place) / "cache-1", 1.5)
        roots = make_courses(Path(place) / "courses", N_COURSES)
        yield f"{N_COURSES} courses made from the sample course, sheets {digest(roots)}"
        size = f"{N_COURSES} courses"
        yield from _told("assess agreement", size, roots, Path(place) / "cache-2", 4.0)
        yield from _told(
            "assess agreement --same-assessors", size, roots, Path(place) / "cache-3", 4.0, "--same-assessors"
        )


def _told(what: str, size: str, roots: list[Path], cache: Path, goal: float, *words: str) -> Iterator[Measured | str]:
    for state in ("first time", "remembered"):
        runs = [_process(roots, cache, *words) for _ in range(1 if state == "first time" else 3)]
        seconds = sorted(run[0] for run in runs)[len(runs) // 2]
        bare, _ = _bare()
        told = f"import numpy, scipy.special; {runs[0][1]:.0f} MB at most"
        yield Measured(f"{what}, {state}", size, seconds, bare, told, f"under {goal:g} s", seconds < goal)


def _process(roots: list[Path], cache: Path, *words: str) -> tuple[float, float]:
    """Seconds and peak memory in MB of one process."""
    command = [sys.executable, "-m", "assess", "agreement", *map(str, roots), "--json", *words]
    return _measured(command, {"ASSESS_CACHE_DIR": str(cache), "ASSESS_STATE_DIR": str(cache)})


def _bare() -> tuple[float, float]:
    return _measured([sys.executable, "-c", "import numpy, scipy.special"], {})


def _measured(command: list[str], more: dict[str, str]) -> tuple[float, float]:
    begin = time.perf_counter()
    process = subprocess.Popen(command, cwd=ROOT, env={**os.environ, **more}, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - begin
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"the process ended with {process.returncode}")
    # Kilobytes on Linux, bytes on macOS.
    return seconds, used.ru_maxrss / (1024 if sys.platform != "darwin" else 1024 * 1024)
