"""Who has a course open: many may work in it, a merge wants it alone, and no lock outlives its process."""

from __future__ import annotations

import errno
import fcntl
import os
import subprocess
import sys
from pathlib import Path

import pytest

from assess.records.errors import InputError, Refusal, StorageTrouble
from assess.store.course_lock import course_lock
from assess.store.merge import merge
from tests.store.course_maker import ledger_bytes, make_course, put, scores, sheet, tree

ROOT = Path(__file__).resolve().parents[2]
SHEET = f"sheets/{sheet().name}.yaml"


@pytest.fixture
def course(tmp_path: Path) -> Path:
    return make_course(tmp_path / "into")


def run(program: str, *arguments: str, **more: object) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", program, *arguments]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stdin=subprocess.PIPE, text=True)


HOLDS = """
import sys
from pathlib import Path
from assess.store.course_lock import course_lock
with course_lock(Path(sys.argv[1]), exclusive=sys.argv[2] == "alone"):
    print("held", flush=True)
    sys.stdin.read()
"""


def test_several_may_work_in_a_course_at_once(course: Path) -> None:
    with course_lock(course, exclusive=False), course_lock(course, exclusive=False):
        other = run(HOLDS, str(course), "shared")
        assert other.communicate("")[0] == "held\n"
        assert other.returncode == 0


def test_no_merge_into_a_course_that_is_open_and_no_opening_during_a_merge(course: Path, tmp_path: Path) -> None:
    stick = make_course(tmp_path / "stick")
    put(stick, sheet(), ledger_bytes(sheet(), scores(3)))
    before = tree(course)
    with course_lock(course, exclusive=False):
        with pytest.raises(Refusal) as caught:
            merge(course, [stick])
        assert caught.value.sentence == (
            f"{course}: this course is open in another window; close it there, then try again"
        )
        assert tree(course) == before
    with course_lock(course, exclusive=True):
        with pytest.raises(Refusal) as caught, course_lock(course, exclusive=False):
            pass
        assert caught.value.sentence == (
            f"{course}: records are being merged into this course; wait until that has finished, then try again"
        )
    assert merge(course, [stick]).taken == (SHEET,)


@pytest.mark.parametrize(("held", "wanted"), [("shared", True), ("alone", False), ("alone", True)])
def test_a_course_held_by_another_process_is_refused(course: Path, held: str, wanted: bool) -> None:
    other = run(HOLDS, str(course), held)
    assert other.stdout is not None
    assert other.stdout.readline() == "held\n"
    with pytest.raises(Refusal), course_lock(course, exclusive=wanted):
        pass
    other.communicate("")
    with course_lock(course, exclusive=wanted):
        pass


def test_the_lock_ends_with_the_process_that_held_it(course: Path) -> None:
    other = run(HOLDS, str(course), "alone")
    assert other.stdout is not None
    assert other.stdout.readline() == "held\n"
    other.kill()
    other.communicate()
    with course_lock(course, exclusive=True):
        pass


def test_the_lock_ends_when_the_work_fails(course: Path) -> None:
    with pytest.raises(ZeroDivisionError), course_lock(course, exclusive=True):
        raise ZeroDivisionError
    with course_lock(course, exclusive=True):
        pass


def test_programs_started_meanwhile_do_not_keep_the_course_locked(course: Path) -> None:
    with course_lock(course, exclusive=True):
        child = run("import sys; sys.stdin.read()")
    with course_lock(course, exclusive=True):
        pass
    child.communicate("")


@pytest.mark.parametrize("kind", ["nothing", "file"])
def test_what_is_no_folder_cannot_be_locked(tmp_path: Path, kind: str) -> None:
    (tmp_path / "file").write_bytes(b"")
    with (
        pytest.raises(InputError, match="is no folder that can be opened"),
        course_lock(tmp_path / kind, exclusive=True),
    ):
        pass


@pytest.mark.parametrize("number", [errno.ENOLCK, errno.EBADF, errno.EOPNOTSUPP])
def test_a_disk_without_locks_may_be_worked_on_but_not_merged_into(
    course: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    def no_locks(_fd: int, _how: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(fcntl, "flock", no_locks)
    with course_lock(course, exclusive=False):
        pass
    with pytest.raises(StorageTrouble) as caught, course_lock(course, exclusive=True):
        pass
    assert caught.value.sentence == (
        f"{course}: this disk has no locks; copy the course to a disk of this device and merge there"
    )


def test_a_disk_that_fails_to_lock_is_trouble_in_either_case(course: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_fd: int, _how: int) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(fcntl, "flock", broken)
    for exclusive in (False, True):
        with pytest.raises(StorageTrouble, match="cannot be locked"), course_lock(course, exclusive=exclusive):
            pass
