"""Two and five devices of one course, played by seeds. `ASSESS_PLAYED=1000` plays that many of each kind."""

from __future__ import annotations

import os
from collections import Counter
from pathlib import Path

import pytest

from tests.desk.devices import runs

PLAYED = int(os.environ.get("ASSESS_PLAYED", "4"))


@pytest.mark.parametrize("devices", [2, 5])
def test_whatever_the_order_of_acts_merges_and_crashes_all_come_to_the_same_and_nothing_is_lost(
    devices: int, tmp_path: Path
) -> None:
    counts: Counter[str] = Counter()
    for world in runs(tmp_path, devices, 0, PLAYED):
        counts.update(world.counts)
    assert counts["entries saved"] > 20 * PLAYED and counts["merge"] and counts["lock"]
