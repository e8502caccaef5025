"""A course on two and on five devices, played by seeds: whether all come to the same, and whether anything is lost.

The same as `tests/desk/test_devices.py`, many more times; a run that fails says its seed and ends the simulation.
"""

from __future__ import annotations

import os
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.desk.devices import runs

__all__ = ["rows"]

TOLD_EVERY = 100


def rows(count: int = 1000) -> Iterator[str]:
    """So many courses on two devices and as many on five; a line for every hundred, then what was done in all."""
    with tempfile.TemporaryDirectory(prefix="assess-played-") as passing:
        base = Path(passing)
        os.environ["ASSESS_STATE_DIR"], os.environ["ASSESS_CACHE_DIR"] = str(base / "state"), str(base / "cache")
        for devices in (2, 5):
            counts: Counter[str] = Counter()
            for number, world in enumerate(runs(base / "courses", devices, 0, count), start=1):
                counts.update(world.counts)
                if number % TOLD_EVERY == 0 or number == count:
                    yield f"{devices} devices: {number} courses, all to the same folder, nothing lost, nobody told"
            yield "  " + ", ".join(f"{what} {times}" for what, times in sorted(counts.items()))
