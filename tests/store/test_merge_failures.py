"""A merge that fails or dies midway: every file stays whole, no version is lost, and the same merge finishes."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from assess.records.errors import StorageTrouble
from assess.store.merge import merge
from tests.store.course_maker import (
    COURSE,
    PEOPLE,
    QUICK,
    QuickDisk,
    hash8,
    ledger_bytes,
    make_course,
    other,
    scores,
    sheet,
    tree,
)

NAME = "T1.C01.A1.d7h2k"
SHEET = f"sheets/{NAME}.yaml"
ONE, FIVE = ledger_bytes(sheet(), scores(1)), ledger_bytes(sheet(), scores(5))
DAY = other("day", date="2027-02-03")
# Two names kept aside hold each other's bytes, as after a slip in a file manager.
SWAPPED = [(f"sheets/{NAME}~{hash8(FIVE)}.yaml", ONE), (f"sheets/{NAME}~{hash8(ONE)}.yaml", FIVE)]
MINE = [(SHEET, ledger_bytes(sheet(), scores(3, 4, 5))[:-5]), *SWAPPED]
THEIRS = [
    (SHEET, ledger_bytes(sheet(), scores(6))),
    (f"days/{DAY.name}.yaml", ledger_bytes(DAY, [])),
    ("course.yaml", COURSE.replace("revision: 1", "revision: 2").encode()),
    ("people.yaml", PEOPLE.replace("Odo", "Otto").encode()),
]


def copy_with(root: Path, files: list[tuple[str, bytes]]) -> Path:
    make_course(root)
    for path, body in files:
        (root / path).parent.mkdir(exist_ok=True)
        (root / path).write_bytes(body)
    return root


def standing(root: Path) -> dict[str, bytes]:
    """What has its name; hidden files are what a failure left on the way."""
    return {path: body for path, body in tree(root).items() if not Path(path).name.startswith(".")}


class FailingDisk(QuickDisk):
    """Does `fail` at its `fails_at`-th change of a name or a byte, and ever after."""

    def __init__(self, fails_at: int, fail: Callable[[], None]) -> None:
        self.left, self.fail = fails_at, fail

    def _count(self) -> None:
        self.left -= 1
        if self.left < 0:
            self.fail()

    def write(self, fd: int, data: bytes) -> int:
        self._count()
        return super().write(fd, data)

    def replace(self, source: Path, target: Path) -> None:
        self._count()
        super().replace(source, target)

    def unlink(self, path: Path) -> None:
        self._count()
        super().unlink(path)

    def mkdir(self, path: Path) -> None:
        self._count()
        super().mkdir(path)


def no_room() -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def assert_nothing_lost(held: set[tuple[str, bytes]], root: Path) -> None:
    bodies = set(standing(root).values())
    for path, body in held:
        assert "/" not in path or any(kept.startswith(body) for kept in bodies), path


def test_after_a_failure_at_any_point_every_version_is_whole_and_the_same_merge_finishes(tmp_path: Path) -> None:
    stick = copy_with(tmp_path / "stick", THEIRS)
    complete = copy_with(tmp_path / "complete", MINE)
    merge(complete, [stick], disk=QUICK)
    expected, failures = tree(complete), 0
    for fails_at in range(100):
        into = copy_with(tmp_path / f"into{fails_at}", MINE)
        held = set(tree(into).items())
        disk = FailingDisk(fails_at, no_room)
        try:
            merge(into, [stick], disk=disk)
        except StorageTrouble as trouble:
            failures += 1
            assert "disk full" in trouble.sentence
            assert "merge again" in trouble.sentence
            assert_nothing_lost(held, into)
        merge(into, [stick], disk=QUICK)
        assert standing(into) == expected
        if disk.left >= 0:
            break
    assert failures > 10


DIES = """
import os, signal, sys
from pathlib import Path
from assess.store.merge import merge
from tests.store.test_merge_failures import FailingDisk
disk = FailingDisk(int(sys.argv[3]), lambda: os.kill(os.getpid(), signal.SIGKILL))
merge(Path(sys.argv[1]), [Path(sys.argv[2])], disk=disk)
"""


@pytest.mark.parametrize("dies_at", [0, 5, 11])
def test_a_merge_that_is_killed_leaves_whole_files_and_no_lock_and_a_second_one_finishes(
    tmp_path: Path, dies_at: int
) -> None:
    stick = copy_with(tmp_path / "stick", THEIRS)
    complete, into = copy_with(tmp_path / "complete", MINE), copy_with(tmp_path / "into", MINE)
    merge(complete, [stick], disk=QUICK)
    held = set(tree(into).items())
    root = Path(__file__).resolve().parents[2]
    command = [sys.executable, "-c", DIES, str(into), str(stick), str(dies_at)]
    assert subprocess.run(command, cwd=root, check=False).returncode == -9
    assert_nothing_lost(held, into)
    merge(into, [stick], disk=QUICK)
    assert standing(into) == tree(complete)
