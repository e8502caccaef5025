"""What the system itself saw: `saved` is said only after the entry's fsync returned."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = """
import os, sys
from pathlib import Path
from assess.records.facts import Score
from assess.store.writer import Writer
from tests.store.disks import sheet
out = int(sys.argv[2])
box = {}
def say(state):
    os.write(out, b"saved %d\\n" % box["live"].acknowledged)
writer = Writer(on_change=say)
live = box["live"] = writer.open(Path(sys.argv[1]), sheet())
for _ in range(20):
    live.add(Score(criterion="edging", level=3))
    if len(live.entries) % 5 == 0:
        writer.drain(30)
sys.exit(0 if writer.close(30) else 1)
"""
CALL = re.compile(r"^\d+\s+(?P<name>\w+)\((?P<args>.*)\)\s+=\s+(?P<result>-?\d+)")


def traced(folder: Path, log: Path) -> list[re.Match[str]]:
    """The system calls of a program that marks 20 scores, in order, calls cut in two joined."""
    reading, writing = os.pipe()
    calls = "write,fsync,openat,rename,newfstatat,lstat,ftruncate"
    # Newer and older machines name some calls differently; `?` lets strace pass over those it does not know.
    traced_calls = ",".join(f"?{name}" for name in calls.split(","))
    command = ["strace", "-f", "-s", "4096", "-o", str(log), "-e", f"trace={traced_calls}"]
    here = Path(__file__).resolve().parents[2]
    program = [sys.executable, "-c", SCRIPT, str(folder), str(writing)]
    done = subprocess.run(
        [*command, *program], check=False, timeout=60, pass_fds=(writing,), env={**os.environ, "PYTHONPATH": str(here)}
    )
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        said = pipe.read()
    assert done.returncode == 0
    assert said.split(b"\n")[-2] == b"saved 20"
    begun: dict[str, str] = {}
    calls_seen = []
    for line in log.read_text(encoding="utf-8", errors="replace").split("\n"):
        thread = line.split(" ", 1)[0]
        if line.endswith("<unfinished ...>"):
            begun[thread] = line.removesuffix("<unfinished ...>")
            continue
        resumed = re.match(r"^\d+\s+<\.\.\. \w+ resumed>(.*)$", line)
        found = CALL.match(begun.pop(thread) + resumed[1] if resumed else line)
        if found:
            calls_seen.append(found)
    return calls_seen


@pytest.mark.needs_strace
@pytest.mark.skipif(shutil.which("strace") is None, reason="the program strace is not installed")
def test_saved_is_said_only_after_the_fsync_of_that_entry_returned(tmp_path: Path) -> None:
    folder = tmp_path / "sheets"
    folder.mkdir()
    written = synced = said = writes = fsyncs = 0
    ledger: set[str] = set()
    for call in traced(folder, tmp_path / "log"):
        name, arguments = call["name"], call["args"]
        fd = arguments.split(",")[0]
        if name == "openat" and "/sheets/.T1.C04.A2.d7h2k.yaml-" in arguments:
            ledger.add(call["result"])
        elif name == "write" and "saved " in arguments:
            said = int(re.search(r"saved (\d+)", arguments)[1])  # type: ignore[index]
            assert said <= synced
        elif name == "write" and fd in ledger:
            assert '\\"chain\\"' in arguments
            written = int(re.findall(r'- \{\\"n\\": (\d+)', arguments)[-1])
            writes += 1
            assert written == writes
        elif name == "fsync" and fd in ledger:
            assert call["result"] == "0"
            synced = written
            fsyncs += 1
    assert (written, synced, said) == (20, 20, 20)
    assert (writes, fsyncs) == (20, 20)
