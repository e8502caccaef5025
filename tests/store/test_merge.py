"""Bringing devices together: a function of the set of files, whatever the order, and never a lost byte."""

from __future__ import annotations

import errno
import hashlib
import os
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.errors import InputError, Refusal, StorageTrouble
from assess.records.facts import Observation, Settled, SomeFact
from assess.store.course_folder import load_course
from assess.store.course_lock import course_lock
from assess.store.disk import Disk
from assess.store.merge import MergeReport, merge
from assess.store.merge_rules import Group, resolve
from tests.store.course_maker import (
    COURSE,
    PEOPLE,
    RUBRIC,
    RUBRIC_NAME,
    heads,
    ledger_bytes,
    lock,
    make_course,
    other,
    put,
    scores,
    sheet,
    tree,
)

NAME = "T1.C01.A1.d7h2k"
SHEET = f"sheets/{NAME}.yaml"


class QuickDisk(Disk):
    """Does not wait for the platters: what is tested here is what is written, not when."""

    def fsync(self, fd: int) -> None:
        return None

    def sync_folder(self, path: Path) -> None:
        return None


QUICK = QuickDisk()


def hash8(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()[:8]


def versions(*bodies: bytes) -> list[bytes]:
    """Bodies ordered as the merge orders them: the one that keeps the name first."""
    return sorted(bodies, key=lambda raw: hashlib.sha256(raw).hexdigest())


@pytest.fixture
def course(tmp_path: Path) -> Path:
    return make_course(tmp_path / "into")


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    return make_course(tmp_path / "stick")


THREE = ledger_bytes(sheet(), scores(3))
THREE_FOUR = ledger_bytes(sheet(), scores(3, 4))
FIVE = ledger_bytes(sheet(), scores(5))


def test_a_new_record_and_a_longer_one_are_taken(course: Path, stick: Path) -> None:
    put(course, sheet(), THREE)
    put(stick, sheet(), THREE_FOUR)
    put(stick, other("day", date="2027-02-03"), ledger_bytes(other("day", date="2027-02-03"), []))
    report = merge(course, [stick])
    assert report == MergeReport(("days/2027-02-03.D1.d31kq.yaml", SHEET), (), (), ())
    assert tree(course) == tree(stick)


def test_a_shorter_one_changes_nothing_and_merging_again_changes_nothing(course: Path, stick: Path) -> None:
    put(course, sheet(), THREE_FOUR)
    put(stick, sheet(), THREE)
    before = tree(course)
    for _ in range(2):
        assert merge(course, [stick]) == MergeReport((), (), (), ())
        assert tree(course) == before


def test_two_versions_of_which_neither_goes_on_from_the_other_are_both_kept(course: Path, stick: Path) -> None:
    first, second = versions(THREE_FOUR, FIVE)
    put(course, sheet(), second)
    put(stick, sheet(), first)
    report = merge(course, [stick])
    fork = f"sheets/{NAME}~{hash8(second)}.yaml"
    assert (report.taken, report.forks, report.bad) == ((SHEET,), (fork,), ())
    kept = tree(course)
    assert (kept[SHEET], kept[fork]) == (first, second)
    assert [str(problem).split(";")[0] for problem in report.problems] == [
        f"{fork}: is another version, kept aside and not used"
    ]


def test_a_fork_that_grows_on_takes_its_place_again(course: Path, stick: Path) -> None:
    longer = ledger_bytes(sheet(), scores(5, 5, 5))
    put(course, sheet(), THREE)
    put(course, sheet(), FIVE, suffix=f"~{hash8(FIVE)}")
    put(stick, sheet(), longer)
    merge(course, [stick])
    first, second = versions(THREE, longer)
    assert tree(course / "sheets") == {f"{NAME}.yaml": first, f"{NAME}~{hash8(second)}.yaml": second}


def test_a_version_that_fails_its_chain_is_kept_named_and_never_adopted(course: Path, stick: Path) -> None:
    damaged = THREE_FOUR.replace(b'"level": 3', b'"level": 6')
    put(course, sheet(), THREE)
    put(stick, sheet(), damaged)
    report = merge(course, [stick])
    bad = f"sheets/{NAME}~bad-{hash8(damaged)}.yaml"
    assert (report.taken, report.forks, report.bad) == ((), (), (bad,))
    assert tree(course)[SHEET] == THREE
    assert tree(course)[bad] == damaged


def test_ones_own_damaged_version_gives_way_to_a_sound_one_and_is_kept(course: Path, stick: Path) -> None:
    damaged = THREE_FOUR.replace(b'"level": 3', b'"level": 6')
    put(course, sheet(), damaged)
    put(stick, sheet(), THREE)
    merge(course, [stick])
    assert tree(course / "sheets") == {f"{NAME}.yaml": THREE, f"{NAME}~bad-{hash8(damaged)}.yaml": damaged}


@pytest.mark.parametrize(
    "raw",
    [
        ledger_bytes(sheet(), [*scores(3), lock(), *scores(4)]),
        ledger_bytes(sheet(candidate="C02"), scores(3)),
        ledger_bytes(sheet(course="K-9"), scores(3)),
        ledger_bytes(other("day", date="2027-02-03"), []),
        THREE.replace(b"# assess ledger 1", b"# assess ledger 2"),
        b"",
        b"\xff\xfe",
    ],
)
def test_what_goes_on_after_a_lock_or_is_no_ledger_of_this_name_is_never_adopted(
    course: Path, stick: Path, raw: bytes
) -> None:
    put(stick, sheet(), raw)
    report = merge(course, [stick])
    assert report.taken == ()
    assert report.bad == (f"sheets/{NAME}~bad-{hash8(raw)}.yaml",)
    assert tree(course)[report.bad[0]] == raw


def test_a_locked_version_stands_above_the_one_it_goes_on_from(course: Path, stick: Path) -> None:
    locked = ledger_bytes(sheet(), [*scores(3), lock(**{NAME: heads(THREE)[-1]})])
    put(course, sheet(), THREE)
    put(stick, sheet(), locked)
    merge(course, [stick])
    assert tree(course / "sheets") == {f"{NAME}.yaml": locked}


def test_a_torn_version_gives_its_whole_lines_and_its_bytes_are_kept(course: Path, stick: Path) -> None:
    torn = THREE_FOUR[:-10]
    put(stick, sheet(), torn)
    report = merge(course, [stick])
    assert tree(course / "sheets") == {f"{NAME}.yaml": THREE, f"{NAME}~bad-{hash8(torn)}.yaml": torn}
    assert report.bad == (f"sheets/{NAME}~bad-{hash8(torn)}.yaml",)
    put(stick, sheet(), THREE_FOUR)
    assert merge(course, [stick]).bad == ()
    assert tree(course / "sheets") == {f"{NAME}.yaml": THREE_FOUR}


def test_names_that_are_no_records_are_left_where_they_are(course: Path, stick: Path) -> None:
    for name in (
        "T1.C01.A1.d7h2k (1).yaml",
        "..yaml",
        "T1~x.yaml",
        "notes.txt",
        ".hidden.yaml",
        "T1.C01.A1.d7h2k.yaml.torn-1",
    ):
        (stick / "sheets").mkdir(exist_ok=True)
        (stick / "sheets" / name).write_bytes(THREE)
    (stick / "other").mkdir()
    (stick / "other" / f"{NAME}.yaml").write_bytes(THREE)
    before = tree(course)
    report = merge(course, [stick])
    assert tree(course) == before
    assert report == MergeReport((), (), (), ())


def test_links_and_pipes_elsewhere_are_not_taken_and_named(course: Path, stick: Path) -> None:
    outside = stick.parent / "outside.yaml"
    outside.write_bytes(THREE)
    (stick / "sheets").mkdir()
    (stick / "sheets" / f"{NAME}.yaml").symlink_to(outside)
    os.mkfifo(stick / "sheets" / "T1.C02.A1.d7h2k.yaml")
    before = tree(course)
    report = merge(course, [stick])
    assert tree(course) == before
    assert [Path(problem.file).name for problem in report.left] == [f"{NAME}.yaml", "T1.C02.A1.d7h2k.yaml"]


def test_nothing_is_merged_into_a_course_that_cannot_be_read_whole(course: Path, stick: Path) -> None:
    outside = stick.parent / "outside.yaml"
    outside.write_bytes(THREE)
    (course / "sheets").mkdir()
    (course / "sheets" / f"{NAME}.yaml").symlink_to(outside)
    put(stick, sheet(), THREE_FOUR)
    put(stick, sheet(task="T4"), ledger_bytes(sheet(task="T4"), []))
    before = tree(course)
    with pytest.raises(InputError, match="leads out of the course"):
        merge(course, [stick])
    assert tree(course) == before
    assert outside.read_bytes() == THREE


def test_another_course_is_refused_with_both_ids(course: Path, tmp_path: Path) -> None:
    elsewhere = make_course(tmp_path / "else", course=COURSE.replace("id: K-1", "id: K-2"))
    with pytest.raises(Refusal, match=r"is course `K-2`, and .* is course `K-1`; merge copies of one"):
        merge(course, [elsewhere])


@pytest.mark.parametrize("file", ["course.yaml", "people.yaml"])
@pytest.mark.parametrize("side", ["into", "stick"])
def test_a_slip_in_a_hand_edited_file_stops_the_merge_before_anything_is_written(
    course: Path, stick: Path, file: str, side: str
) -> None:
    put(stick, sheet(), THREE)
    (course.parent / side / file).write_bytes(b"# assess " + file[:6].encode() + b" 1\nrevision: x\n")
    before = tree(course)
    with pytest.raises(InputError, match=file):
        merge(course, [stick])
    assert tree(course) == before


def test_of_a_hand_edited_file_the_higher_revision_is_taken_and_the_lower_is_not(course: Path, stick: Path) -> None:
    newer = COURSE.replace("revision: 1", "revision: 2").replace("A small course", "A renamed course")
    (stick / "course.yaml").write_text(newer)
    assert merge(course, [stick]).taken == ("course.yaml",)
    assert (course / "course.yaml").read_text() == newer
    (stick / "course.yaml").write_text(COURSE)
    assert merge(course, [stick]) == MergeReport((), (), (), ())
    assert (course / "course.yaml").read_text() == newer


def test_equal_revisions_that_differ_are_a_fork_until_a_higher_one_comes(course: Path, stick: Path) -> None:
    changed = PEOPLE.replace("Pia Lund", "Pia Lunde")
    (stick / "people.yaml").write_text(changed)
    first, second = versions(PEOPLE.encode(), changed.encode())
    report = merge(course, [stick])
    assert report.forks == (f"people~{hash8(second)}.yaml",)
    assert (course / "people.yaml").read_bytes() == first
    assert (course / report.forks[0]).read_bytes() == second
    assert load_course(course).people.revision == 1
    (stick / "people.yaml").write_text(changed.replace("revision: 1", "revision: 2"))
    assert merge(course, [stick]).forks == ()
    assert [name for name in tree(course) if name.startswith("people")] == ["people.yaml"]


def test_a_rubric_is_copied_when_absent_and_an_edited_one_never_takes_its_name(course: Path, stick: Path) -> None:
    (course / "rubrics" / RUBRIC_NAME).unlink()
    assert merge(course, [stick]).taken == (f"rubrics/{RUBRIC_NAME}",)
    edited = RUBRIC.replace(b"Long turns", b"Short turns")
    (stick / "rubrics" / RUBRIC_NAME).write_bytes(edited)
    report = merge(course, [stick])
    assert (course / "rubrics" / RUBRIC_NAME).read_bytes() == RUBRIC
    assert report.bad == (f"rubrics/{RUBRIC_NAME.removesuffix('.yaml')}~bad-{hash8(edited)}.yaml",)


def test_a_settled_fork_is_not_reported_again(course: Path, stick: Path) -> None:
    first, second = versions(THREE_FOUR, FIVE)
    put(course, sheet(), first)
    put(stick, sheet(), second)
    day = other("day", date="2027-02-03")
    settled = Settled(kept={NAME: heads(first)[-1]}, aside={f"{NAME}~{hash8(second)}": heads(second)[-1]})
    put(stick, day, ledger_bytes(day, [settled]))
    assert merge(course, [stick]).forks == ()
    assert load_course(course).problems == ()
    put(stick, sheet(), second + b"")
    put(stick, sheet(), ledger_bytes(sheet(), scores(6)))
    assert len(merge(course, [stick]).forks) == 1


def test_a_report_names_files_and_says_nothing_of_what_is_in_them(course: Path, stick: Path) -> None:
    facts: list[SomeFact] = [Observation(text="secret words"), *scores(2)]
    put(course, sheet(), ledger_bytes(sheet(), facts))
    put(stick, sheet(), ledger_bytes(sheet(), [*facts[::-1], *scores(6)]))
    put(stick, sheet(candidate="C02"), ledger_bytes(sheet(candidate="C02"), facts)[:-4])
    report = merge(course, [stick])
    told = repr(report) + " ".join(map(str, report.problems))
    assert report.forks
    assert report.bad
    assert "secret" not in told
    assert "level" not in told
    assert all(problem.line == 0 for problem in report.problems)


def test_no_merge_into_a_course_that_is_open_and_no_opening_during_a_merge(course: Path, stick: Path) -> None:
    put(stick, sheet(), THREE)
    with course_lock(course, exclusive=False):
        with course_lock(course, exclusive=False), pytest.raises(Refusal, match="open in another window"):
            merge(course, [stick])
        assert SHEET not in tree(course)
    with course_lock(course, exclusive=True), pytest.raises(Refusal, match="being merged"), course_lock(course, False):
        pass
    merge(course, [stick])
    assert SHEET in tree(course)


def test_the_lock_ends_with_the_process_that_held_it(course: Path, stick: Path) -> None:
    program = (
        "import sys, os, signal; from pathlib import Path; from assess.store.course_lock import course_lock\n"
        "with course_lock(Path(sys.argv[1]), exclusive=False):\n"
        "    print('held', flush=True); os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        [sys.executable, "-c", program, str(course)], cwd=root, capture_output=True, text=True, check=False
    )
    assert done.stdout == "held\n"
    merge(course, [stick])


def test_a_folder_that_is_not_there_cannot_be_locked(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is no folder"), course_lock(tmp_path / "nothing", exclusive=True):
        pass


@pytest.mark.parametrize("number", [errno.ENOLCK, errno.EBADF])
def test_a_disk_without_locks_may_be_worked_on_but_not_merged_into(
    course: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    def no_locks(_fd: int, _how: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr("assess.store.course_lock.fcntl.flock", no_locks)
    with course_lock(course, exclusive=False):
        pass
    with pytest.raises(StorageTrouble, match="this disk has no locks"), course_lock(course, exclusive=True):
        pass


# --- always ------------------------------------------------------------------------------------------


def _pool() -> list[tuple[str, bytes]]:
    """(path, bytes) of versions in every state a record can be in."""
    third = ledger_bytes(sheet(), scores(3, 4, 5))
    locked = ledger_bytes(sheet(), [*scores(3, 4), lock()])
    day = other("day", date="2027-02-03")
    days = [ledger_bytes(day, [Observation(text="x")]), ledger_bytes(day, [])]
    bodies = [
        THREE, THREE_FOUR, third, FIVE, ledger_bytes(sheet(), scores(5, 6)), locked,
        ledger_bytes(sheet(), [*scores(3, 4), lock(), *scores(1)]),
        THREE_FOUR[:-1], THREE_FOUR[:-20], third[:-5], THREE[: len(THREE) // 2], b"",
        THREE_FOUR.replace(b'"level": 3', b'"level": 2'), third.replace(b'"level": 5', b'"level": 6'),
        ledger_bytes(sheet(candidate="C02"), scores(2)),
    ]  # fmt: skip
    two = COURSE.replace("revision: 1", "revision: 2")
    courses = [
        COURSE,
        COURSE.replace("small", "little"),
        two,
        two.replace("small", "tiny"),
        two.replace("small", "wee"),
    ]
    people = [PEOPLE, PEOPLE.replace("Odo", "Otto"), PEOPLE.replace("revision: 1", "revision: 3")]
    return [
        *((SHEET, body) for body in bodies),
        *((f"days/{day.name}.yaml", body) for body in days),
        *(("course.yaml", body.encode()) for body in courses),
        *(("people.yaml", body.encode()) for body in people),
        (f"rubrics/{RUBRIC_NAME}", RUBRIC),
        (f"rubrics/{RUBRIC_NAME}", RUBRIC + b"# edited\n"),
    ]


POOL = _pool()


def _device(root: Path, files: list[tuple[str, bytes]]) -> Path:
    """A device's copy: of two versions under one name the later one stands, as on a disk."""
    for path, body in [("course.yaml", COURSE.encode()), *files]:
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(body)
    return root


def _joined(into: Path, froms: list[Path], chance: random.Random) -> dict[str, bytes]:
    """Merge in some order, some of them twice, some in one go, some by way of another device."""
    order = froms + chance.sample(froms, chance.randint(0, len(froms)))
    chance.shuffle(order)
    while order:
        several = [order.pop() for _ in range(min(len(order), chance.randint(1, 2)))]
        if len(several) == 2 and several[0] != several[1] and chance.random() < 0.5:
            by_way = Path(tempfile.mkdtemp(dir=into.parent))
            shutil.copytree(several[0], by_way, dirs_exist_ok=True)
            merge(by_way, several[1:], disk=QUICK)
            several = [by_way]
        merge(into, several, disk=QUICK)
    return tree(into)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.lists(st.sampled_from(POOL), max_size=6), min_size=2, max_size=4),
    st.randoms(use_true_random=False),
)
def test_any_order_any_repetition_and_any_way_round_give_the_same_bytes(
    tmp_path_factory: pytest.TempPathFactory, devices: list[list[tuple[str, bytes]]], chance: random.Random
) -> None:
    base = tmp_path_factory.mktemp("merge")
    roots = [_device(base / f"device{number}", files) for number, files in enumerate(devices)]
    held = {(path, body) for root in roots for path, body in tree(root).items()}
    ends = []
    for number, root in enumerate(roots):
        into = base / f"into{number}"
        shutil.copytree(root, into)
        ends.append(_joined(into, [each for each in roots if each != root], chance))
    assert all(end == ends[0] for end in ends)
    _nothing_lost(held, ends[0])
    shutil.rmtree(base)


def _nothing_lost(held: set[tuple[str, bytes]], end: dict[str, bytes]) -> None:
    """Every version of a ledger or rubric is still there, or is the beginning of one that is."""
    for path, body in held:
        if "/" in path:
            stem = path.removesuffix(".yaml")
            group = [kept for name, kept in end.items() if name == path or name.startswith(f"{stem}~")]
            assert any(kept.startswith(body) for kept in group), path


@settings(max_examples=200, deadline=None)
@given(st.sets(st.sampled_from([body for path, body in POOL if path == SHEET])), st.data())
def test_the_outcome_of_a_union_is_the_outcome_of_the_outcomes(bodies: set[bytes], data: st.DataObject) -> None:
    part = data.draw(st.sets(st.sampled_from(sorted(bodies)))) if bodies else set()
    group = Group("sheets", NAME, "K-1")
    whole = resolve(group, bodies)
    again = resolve(group, {*resolve(group, part).files.values(), *resolve(group, bodies - part).files.values()})
    assert whole.files == again.files
    assert resolve(group, set(whole.files.values())).files == whole.files
    rivals = [whole.files[name] for name in {NAME, *whole.forks} & set(whole.files)]
    assert rivals == [] or versions(*rivals)[0] == whole.files[NAME]


class FailingDisk(QuickDisk):
    """Fails at its `fails_at`-th change of a name or a byte, and ever after."""

    def __init__(self, fails_at: int) -> None:
        self.left = fails_at

    def _count(self) -> None:
        self.left -= 1
        if self.left < 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

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


def test_after_a_failure_at_any_point_every_version_is_whole_and_the_same_merge_finishes(tmp_path: Path) -> None:
    # Two names kept aside hold each other's bytes, as after a slip in a file manager.
    swapped = [(f"sheets/{NAME}~{hash8(FIVE)}.yaml", THREE), (f"sheets/{NAME}~{hash8(THREE)}.yaml", FIVE)]
    mine = [(SHEET, ledger_bytes(sheet(), scores(3, 4, 5))[:-5]), *swapped]
    theirs = [(SHEET, ledger_bytes(sheet(), scores(6))), ("course.yaml", POOL[18][1]), *POOL[15:17]]
    stick = _device(tmp_path / "stick", theirs)
    complete = _device(tmp_path / "complete", mine)
    merge(complete, [stick], disk=QUICK)
    expected, failures = tree(complete), 0
    for fails_at in range(100):
        into = _device(tmp_path / f"into{fails_at}", mine)
        held = set(tree(into).items())
        disk = FailingDisk(fails_at)
        try:
            merge(into, [stick], disk=disk)
        except StorageTrouble as trouble:
            failures += 1
            assert "disk full" in trouble.sentence
            assert "merge again" in trouble.sentence
            standing = {path: body for path, body in tree(into).items() if not Path(path).name.startswith(".")}
            bodies = set(standing.values())
            assert all(any(kept.startswith(body) for kept in bodies) for path, body in held if "/" in path)
        merge(into, [stick], disk=QUICK)
        finished = {path: body for path, body in tree(into).items() if not Path(path).name.startswith(".")}
        assert finished == expected
        if disk.left >= 0:
            break
    assert failures > 10
