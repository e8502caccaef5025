"""Two and five devices of one course, played by seeds. `ASSESS_PLAYED=1000` plays that many of each kind."""

from __future__ import annotations

import os
from collections import Counter
from pathlib import Path

import pytest

from assess.desk.moderating import moderate
from assess.desk.session import Desk
from assess.store.merge import merge
from tests.desk.devices import begun, runs
from tests.desk.devices_moderating import finished

PLAYED = int(os.environ.get("ASSESS_PLAYED", "4"))


@pytest.mark.parametrize("devices", [2, 5])
def test_whatever_the_order_of_acts_merges_and_crashes_all_come_to_the_same_and_nothing_is_lost(
    devices: int, tmp_path: Path
) -> None:
    counts: Counter[str] = Counter()
    for world in runs(tmp_path, devices, 0, PLAYED):
        counts.update(world.counts)
    assert counts["entries saved"] > 20 * PLAYED and counts["merge"] and counts["lock"]


def test_the_interleavings_hold_meetings_and_third_looks_from_the_order_to_the_close(tmp_path: Path) -> None:
    counts: Counter[str] = Counter()
    for world in runs(tmp_path, 5, 0, 12):
        counts.update(world.counts)
    assert counts["entries of kind moderated"] > 12
    assert counts["entries of kind third-look"] and counts["entries of kind third-look-closed"]
    assert counts["entries of kind decision"] > 12 and counts["decisions worked out again"] > 6
    assert counts["entries of kind late-evidence"] and counts["entries of kind repeat-offer"]


def test_a_moderation_that_arrives_before_its_sheets_tells_a_director_nothing_of_them(tmp_path: Path) -> None:
    world = begun(tmp_path, 1, 5)
    at = {device.who: device for device in world.devices}
    slot = world.desk(at["D1"], "D1").course.allocation[0]
    one, two = slot.assessors

    def locked(desk: Desk) -> None:
        finished(world, desk, slot.task, slot.candidate, lock=True)

    for who in (one, two):
        assert world.session(at[who], who, locked)
    merge(at[two].root, [at[one].root])
    name = f"{slot.task}.{slot.candidate}"
    wrote = world.session(
        at[two], two, lambda desk: moderate(desk, name, "keep-both", present=[two], reason="looked at together")
    )
    assert wrote
    # What the second marker hands over holds the moderation and one of the two sheets it rests on.
    merge(at["D1"].root, [world.bundle(at[two])])
    assert list((at["D1"].root / "moderation").iterdir()) and len(list((at["D1"].root / "sheets").iterdir())) == 1
    world.blind((at["D1"], "D1"))


def test_a_seed_plays_the_same_course_each_time(tmp_path: Path) -> None:
    (one,), (two,) = (list(runs(tmp_path / name, 2, 3, 1)) for name in ("one", "two"))
    assert (one.saved, one.counts) == (two.saved, two.counts)
    assert one.counts["entries saved"] > 20
