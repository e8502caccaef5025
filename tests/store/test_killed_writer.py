"""A real program killed while it writes: every entry it had said to be saved is there, and the next one goes on."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
from pathlib import Path

from assess.store.ledger_file import read_ledger
from assess.store.writer import Writer
from tests.store.disks import facts, sheet

SCRIPT = """
import os, sys
from pathlib import Path
from assess.store.writer import Writer
from tests.store.disks import facts, sheet
said = sys.stdout.fileno()
writer = Writer(on_change=lambda state: os.write(said, b"%d\\n" % live.acknowledged))
live = writer.open(Path(sys.argv[1]), sheet())
for fact in facts(100_000):
    live.add(fact)
    writer.drain(10)
"""


def test_what_a_killed_program_said_to_be_saved_is_there_and_can_be_continued(tmp_path: Path) -> None:
    chance = random.Random(7)
    here = Path(__file__).resolve().parents[2]
    path = tmp_path / "T1.C04.A2.d7h2k.yaml"
    before = 0
    for _ in range(4):
        with subprocess.Popen(
            [sys.executable, "-c", SCRIPT, str(tmp_path)],
            stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(here)},
        ) as program:  # fmt: skip
            assert program.stdout is not None
            said = [program.stdout.readline() for _ in range(chance.randint(1, 60))]
            program.send_signal(signal.SIGKILL)
            said += program.stdout.read().split(b"\n")
        acknowledged = max(int(line) for line in said if line.strip())
        found = read_ledger(path)
        assert not found.bad
        assert len(found.ledger.entries) >= acknowledged > before
        writer = Writer()
        live = writer.open(tmp_path, sheet())
        live.add(facts(1)[0])
        assert writer.close()
        before = len(live.entries)
        assert read_ledger(path).problems == ()
