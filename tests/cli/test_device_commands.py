"""merge, its report for somebody tired, settle, bundle, and the warning about a single copy."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assess.desk.copies import make_bundle, only_here
from assess.desk.merging import merge_courses
from assess.desk.settling import settle, versions_of
from assess.records.errors import Refusal, StorageTrouble
from assess.records.facts import Settled
from assess.store.merge import merge
from tests.cli.commands import assess
from tests.courses import FixedClock, build_course, open_desk
from tests.store.course_maker import QUICK, tree

TASKS = ("T1",)


@pytest.fixture
def device(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """This device is called d7h2k."""
    state = tmp_path / "state"
    state.mkdir()
    (state / "device").write_text("d7h2k\n")
    monkeypatch.setenv("ASSESS_STATE_DIR", str(state))
    return state


@pytest.fixture
def two(tmp_path: Path, device: Path) -> tuple[Path, Path]:
    """The laptop of A1, all locked, and the tablet of A2."""
    laptop = build_course(tmp_path / "laptop", candidates=2, tasks=TASKS)
    tablet = Path(shutil.copytree(laptop, tmp_path / "tablet"))
    mark(laptop, "A1", "d7h2k")
    mark(tablet, "A2", "t2t2t")
    return laptop, tablet


def mark(root: Path, who: str, device: str, *, level: int = 4, lock: bool = True, only: str = "") -> None:
    desk = open_desk(root, who, device=device, clock=FixedClock(start_ms=1_770_025_500_000 + level * 10_000_000))
    for slot in desk.mine("T1"):
        if only in slot.candidate:
            sheet = desk.slot("T1", slot.candidate)
            for criterion in sheet.criteria:
                sheet.score(criterion, level)
            if lock:
                sheet.lock()
    assert desk.close()


# --- the report ----------------------------------------------------------------------------------------


def test_when_all_is_there_the_first_line_says_so(two: tuple[Path, Path]) -> None:
    laptop, tablet = two
    ran = assess("merge", laptop, tablet, "--as", "D1")
    assert ran.code == 0
    assert ran.out == "All there. Nothing to do.\ncame in from A2: T1 C01 C02\n"
    again = assess("merge", laptop, tablet, "--as", "D1")
    assert again.out == "All there. Nothing to do.\nnothing new\n"
    told = assess("merge", laptop, tablet, "--as", "D1", "--json").json
    assert told == {
        "first_line": "All there. Nothing to do.", "needs": [], "taken": [], "came": {}, "missing": [], "findings": [],
    }  # fmt: skip


def test_what_is_still_missing_is_named_by_person_and_task(tmp_path: Path, device: Path) -> None:
    laptop = build_course(tmp_path / "laptop", candidates=2, tasks=TASKS)
    tablet = Path(shutil.copytree(laptop, tmp_path / "tablet"))
    mark(laptop, "A1", "d7h2k", only="C01")
    mark(tablet, "A2", "t2t2t", only="C02")
    told = merge_courses(laptop, [tablet], "A1")
    assert told.first_line == "2 things need you:"
    assert told.needs == (
        "you have not locked here: T1 C02",
        "A2 has not locked, or was not brought yet: T1 C01. Merge A2's device or bundle once more",
    )
    assert [(each.assessor, each.task, each.candidates) for each in told.missing] == [
        ("A1", "T1", ("C02",)), ("A2", "T1", ("C01",)),
    ]  # fmt: skip


def test_a_task_whose_day_has_not_come_is_not_missing(tmp_path: Path, device: Path) -> None:
    laptop = build_course(tmp_path / "laptop", candidates=1, tasks=("T1", "T4"))
    course = laptop / "course.yaml"
    text = course.read_text().replace('days: ["2026-02-02", "2026-02-03"]', 'days: ["2026-02-02", "2999-02-03"]')
    course.write_text(text.replace("{id: T4, area: teach, day: 1}", "{id: T4, area: teach, day: 2}"))
    other = Path(shutil.copytree(laptop, tmp_path / "other"))
    assert {each.task for each in merge_courses(laptop, [other], "D1").missing} == {"T1"}


def test_damage_and_what_was_not_taken_need_somebody(two: tuple[Path, Path]) -> None:
    laptop, tablet = two
    damaged = tablet / "sheets" / "T1.C01.A2.t2t2t.yaml"
    damaged.write_bytes(damaged.read_bytes().replace(b'"level": 4', b'"level": 5', 1))
    (tablet / "sheets" / "T1.C01.A2 (copy).yaml").write_bytes(damaged.read_bytes())
    merge_courses(laptop, [tablet], "A2")
    told = merge_courses(laptop, [tablet], "A2")
    assert told.first_line.endswith("need you:")
    text = "\n".join(told.needs)
    assert "sheets/T1.C01.A2.t2t2t" in text and "--settle" in text
    assert "T1.C01.A2 (copy).yaml: is not named as a record" in text


# --- settling ------------------------------------------------------------------------------------------


@pytest.fixture
def forked(two: tuple[Path, Path], tmp_path: Path) -> Path:
    """A1's record of C01 went on differently on a copy of the laptop."""
    laptop, _ = two
    (laptop / "sheets" / "T1.C01.A1.d7h2k.yaml").unlink()
    copy = Path(shutil.copytree(laptop, tmp_path / "copy"))
    mark(laptop, "A1", "d7h2k", level=3, lock=False, only="C01")
    mark(copy, "A1", "d7h2k", level=5, lock=False, only="C01")
    merge(laptop, [copy], disk=QUICK)
    return laptop


def levels(root: Path) -> set[object]:
    return {mark.level for mark in open_desk(root, "A1").folded("T1", "C01", "A1").marks}


@pytest.mark.parametrize("level", [3, 5])
def test_the_version_that_is_kept_is_used_and_the_other_is_not_reported_again(forked: Path, level: int) -> None:
    name = "T1.C01.A1.d7h2k"
    shown = assess("merge", forked, "--settle", name, "--as", "A1")
    assert shown.code == 0 and "criterion edging, status scored, level 3" in shown.out and "level 5" in shown.out
    desk = open_desk(forked, "A1")
    wanted = next(v for v in versions_of(desk, name) if f"level {level}" in v.own[0])
    desk.close()
    assert levels(forked) in ({3}, {5})
    keep = "in-use" if wanted.in_use else wanted.name.partition("~")[2][:4]
    ran = assess("merge", forked, "--settle", f"sheets/{name}.yaml", "--keep", keep, "--reason", "x", "--as", "A1")
    assert ran.code == 0 and levels(forked) == {level}
    problems = [p for p in open_desk(forked, "A1").folder.problems if "kept aside" in p.what]
    assert problems == [] and len(list((forked / "sheets").glob(f"{name}~*"))) == 1
    (fact,) = [e.fact for _, e in open_desk(forked, "A1").shelf.entries("day") if isinstance(e.fact, Settled)]
    assert set(fact.kept) == {wanted.name} and fact.reason == "x"
    # It holds on every copy that comes in later, whichever version that has.
    before = tree(forked)
    assert merge(forked, [forked.parent / "copy"], disk=QUICK).forks == () and tree(forked) == before


def test_a_version_is_settled_by_its_writer_or_by_a_director_once_all_have_locked(forked: Path) -> None:
    for who in ("A2", "D1"):
        desk = open_desk(forked, who)
        # Said of any name alike: whether there are versions of an open sheet is not told.
        for name in ("T1.C01.A1.d7h2k", "T1.C01.A1.zzzzz"):
            with pytest.raises(Refusal, match=f"{name} is not yours to settle"):
                versions_of(desk, name)
            with pytest.raises(Refusal, match=f"{name} is not yours to settle"):
                settle(desk, name, "in-use", "x")
        desk.close()
    mark(forked, "A1", "d7h2k", only="C01")
    merge(forked, [forked.parent / "tablet"], disk=QUICK)
    desk = open_desk(forked, "D1")
    assert len(versions_of(desk, "T1.C01.A1.d7h2k")) == 2
    desk.close()


def test_nothing_is_settled_without_a_reason_or_a_version(forked: Path) -> None:
    before = tree(forked)
    words: list[str | Path] = ["merge", forked, "--settle", "T1.C01.A1.d7h2k", "--as", "A1"]
    assert assess(*words, "--keep", "in-use").code == 1
    ran = assess(*words, "--keep", "ffff0000", "--reason", "x")
    assert ran.code == 1 and "use one of in-use, " in ran.err
    assert assess("merge", forked, "--settle", "T1.C02.A1.d7h2k", "--as", "A1").code == 1
    assert assess("merge", forked, "--keep", "in-use").code == 2
    assert assess("merge", forked).code == 2
    assert assess(*words, forked.parent / "copy").code == 2
    assert {k: v for k, v in tree(forked).items() if not k.startswith("days")} == {
        k: v for k, v in before.items() if not k.startswith("days")
    }


def test_a_fork_of_the_course_file_is_settled_by_a_director(two: tuple[Path, Path]) -> None:
    laptop, tablet = two
    for root, title in ((laptop, "One"), (tablet, "Two")):
        course = root / "course.yaml"
        course.write_text(course.read_text().replace("revision: 1", "revision: 2").replace("A small course", title))
    merge(laptop, [tablet], disk=QUICK)
    with pytest.raises(Refusal, match="a director settles it"):
        versions_of(open_desk(laptop, "A1"), "course")
    desk = open_desk(laptop, "D1", device="d31kq")
    aside = next(v for v in versions_of(desk, "course") if not v.in_use)
    other = "Two" if desk.course.title == "One" else "One"
    settle(desk, "course", aside.name, "the one that was agreed")
    assert open_desk(laptop, "D1").course.title == other
    assert [p for p in open_desk(laptop, "D1").folder.problems if "kept aside" in p.what] == []


# --- a second copy ---------------------------------------------------------------------------------------


def test_until_it_is_bundled_or_merged_ones_own_work_stands_on_one_device(two: tuple[Path, Path], device: Path) -> None:
    laptop, tablet = two
    alone = only_here(open_desk(laptop, "A1"))
    assert alone.startswith("since ") and alone.endswith("; `assess bundle` makes a second")
    assert open_desk(laptop, "A1").board().one_copy == alone
    assert "One copy only" in assess("open", laptop, "--as", "A1").out
    # What others wrote came from elsewhere, and a director wrote nothing.
    assert only_here(open_desk(laptop, "D1")) == "" and only_here(open_desk(tablet, "A2")) == ""
    assert assess("bundle", laptop, "--as", "A1", "--to", device).code == 0
    assert only_here(open_desk(laptop, "A1")) == "" and "One copy only" not in assess("open", laptop, "--as", "A1").out
    desk = open_desk(laptop, "A1", clock=FixedClock(start_ms=1_770_112_800_000))
    desk.day_book.interruption("wind")
    assert only_here(desk).startswith("since 10:00 today")
    assert desk.close()
    assert only_here(open_desk(laptop, "A1")) != ""


def test_merging_my_device_into_another_counts_as_a_second_copy(two: tuple[Path, Path]) -> None:
    laptop, tablet = two
    merge_courses(tablet, [laptop], "A1")
    assert only_here(open_desk(laptop, "A1")) == ""


def test_a_bundle_is_named_by_course_person_and_device_and_written_over(two: tuple[Path, Path], tmp_path: Path) -> None:
    laptop, _ = two
    stick = tmp_path / "stick"
    stick.mkdir()
    ran = assess("bundle", laptop, "--as", "A1", "--to", stick, "--json")
    assert ran.code == 0 and ran.json["audience"] == "panel" and "people.yaml" not in ran.json["files"]
    assert [path.name for path in stick.iterdir()] == ["K-TEST.A1.d7h2k.zip"]
    again = assess("bundle", laptop, "--as", "A1", "--to", stick)
    assert "in place of the one before" in again.out and "copy it to a stick" in again.out
    assert assess("bundle", laptop, "--as", "A1", "--to", tmp_path / "nowhere").code == 3
    assert assess("bundle", laptop, "--to", stick).code == 0  # remembered from the act before
    into = build_course(tmp_path / "into", candidates=2, tasks=TASKS)
    assert "came in from A1: T1 C01 C02" in assess("merge", into, stick / "K-TEST.A1.d7h2k.zip", "--as", "D1").out


def test_what_is_not_saved_is_not_bundled(
    two: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = open_desk(two[0], "A1")
    monkeypatch.setattr(desk, "drain", lambda seconds: False)
    with pytest.raises(StorageTrouble, match="not saved"):
        make_bundle(desk, tmp_path)
    assert list(tmp_path.glob("*.zip")) == []
    desk.close()


@pytest.mark.parametrize("name", ["quality.yaml", "groups.yaml"])
def test_a_file_no_merge_takes_is_named_to_a_director_alone_until_both_are_the_same(
    two: tuple[Path, Path], name: str
) -> None:
    laptop, tablet = two
    (tablet / name).write_text("# of the director\n")
    for there in (False, True):
        if there:
            (laptop / name).write_text("# another\n")
        told = assess("merge", laptop, tablet, "--as", "D1").out
        word = "is not the one here" if there else "is not here"
        assert f"{tablet / name} {word}, and no merge takes it" in told and "All there" not in told
        assert name not in assess("merge", laptop, tablet, "--as", "A1").out
    shutil.copy(tablet / name, laptop / name)
    assert assess("merge", laptop, tablet, "--as", "D1").out.startswith("All there. Nothing to do.")
