"""The quick reading of a sheet says what the full reading says, or nothing at all."""

from __future__ import annotations

import random
import shutil
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from assess.marking.live import set_aside
from assess.records.facts import Lock, MovedIn, MovedOut, Observation, Score, SomeFact, Undo, View
from assess.records.lesson_facts import Drill, LessonPlan
from assess.store.ledger_file import parse_ledger
from assess.store.quick_course import quick_sheets
from assess.store.quick_scores import QuickMark, quick_sheet
from assess.store.sheet_files import sheet_files
from tests.cli.mutations import mutated_ledger
from tests.courses import ROOT
from tests.store.course_maker import REFERENCE, heads, ledger_bytes, make_course, seal_of, sheet

pytestmark = pytest.mark.usefixtures("own_cache")
NAME = "T1.C01.A1.d7h2k"
SAMPLE = ROOT / "sample_sessions" / "course"

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
criteria = st.sampled_from(["edging", "line", "over-feet", "a.b"])
scores = st.builds(
    Score,
    run=st.integers(0, 3),
    criterion=criteria,
    level=st.integers(-1, 7),
    evidence=st.lists(st.integers(1, 5), max_size=2).map(tuple),
    viewpoint=st.sampled_from([None, "side", "below"]),
)
unseen = st.builds(
    Score,
    run=st.integers(0, 2),
    criterion=criteria,
    status=st.sampled_from(["not-observed", "not-applicable"]),
    why=st.sampled_from([None, "fog"]),
)
beside = st.one_of(
    st.builds(Observation, text=texts, criteria=st.lists(criteria, max_size=2).map(tuple)),
    st.builds(LessonPlan, goal=texts, steps=texts, plan_b=st.none() | texts, handed_in_at=st.none()),
    st.builds(Drill, text=texts),
    st.builds(View, viewpoint=st.sampled_from(["side", "lift"])),
)
numbers = st.lists(st.integers(1, 9), max_size=3).map(tuple)
moves = st.one_of(
    st.builds(MovedOut, to=st.just("T1.C02.A1.d7h2k"), of=numbers),
    st.builds(MovedIn, source=st.just("T1.C02.A1.d7h2k"), of=numbers),
    st.builds(Score, criterion=criteria, level=st.integers(1, 6), moved_from=st.integers(1, 9)),
)
facts = st.lists(st.one_of(scores, scores, unseen, beside, st.builds(Undo, of=st.integers(1, 12))), max_size=12)
moved = st.lists(st.one_of(scores, moves, st.builds(Undo, of=st.integers(1, 12))), max_size=12)


def ledger(given_facts: Sequence[SomeFact], *, lock: bool = True) -> bytes:
    raw = ledger_bytes(sheet(), given_facts)
    if not lock:
        return raw
    head = {NAME: heads(raw)[-1]} if given_facts else {NAME: "0 " + "0" * 16}
    return ledger_bytes(sheet(), [*given_facts, Lock(heads=head, seal=seal_of(head))])


def full_marks(raw: bytes, name: str = NAME) -> tuple[QuickMark, ...]:
    entries = parse_ledger(raw, name).ledger.entries
    aside = set_aside(entries)
    found = []
    for entry in entries:
        if isinstance(entry.fact, Score) and entry.n not in aside:
            level = entry.fact.level if entry.fact.status == "scored" else None
            found.append(QuickMark(entry.fact.run, entry.fact.criterion, entry.fact.status, level))
    return tuple(found)


@given(facts, st.booleans())
@example([Score(criterion="edging", level=4), Undo(of=1), Undo(of=2)], True)
@example([Score(criterion="edging", level=4), Undo(of=3), Undo(of=2)], True)
def test_what_is_read_quickly_is_what_is_read_in_full(held: list[SomeFact], lock: bool) -> None:
    raw = ledger(held, lock=lock and bool(held))
    quick = quick_sheet(raw, NAME)
    assert quick is not None
    assert quick.marks == full_marks(raw)
    assert quick.locked is parse_ledger(raw, NAME).ledger.locked
    assert (quick.course, quick.task, quick.candidate, quick.assessor) == ("K-1", "T1", "C01", "A1")
    assert quick.rubric == REFERENCE


@given(moved)
@example([MovedIn(source="T1.C02.A1.d7h2k", of=(2,)), Score(criterion="line", level=4, moved_from=2), Undo(of=1)])
@example([Score(criterion="line", level=4), MovedOut(to="T1.C02.A1.d7h2k", of=(1,)), Undo(of=2)])
def test_moved_marks_are_read_as_in_full_or_left_to_it_where_some_were_sent_back(held: list[SomeFact]) -> None:
    raw = ledger(held, lock=bool(held))
    quick = quick_sheet(raw, NAME)
    aside = set_aside(parse_ledger(raw, NAME).ledger.entries)
    sent_back = any(isinstance(fact, MovedIn) and aside.get(n) == "taken back" for n, fact in enumerate(held, 1))
    assert (quick is None) == sent_back
    if quick is not None:
        assert quick.marks == full_marks(raw)


@given(facts, st.data())
def test_one_changed_byte_is_found_or_changes_nothing(held: list[SomeFact], data: st.DataObject) -> None:
    raw = bytearray(ledger([*held, Score(criterion="line", level=3)]))
    at = data.draw(st.integers(0, len(raw) - 1))
    raw[at] = data.draw(st.integers(0, 255).filter(lambda byte: byte != raw[at]))
    quick = quick_sheet(bytes(raw), NAME)
    if quick is not None:
        file = parse_ledger(bytes(raw), NAME)
        assert not file.problems and quick.marks == full_marks(bytes(raw))


@given(facts, st.data())
def test_a_ledger_cut_short_anywhere_is_read_in_full_unless_it_is_cut_between_two_entries(
    held: list[SomeFact], data: st.DataObject
) -> None:
    raw = ledger([*held, Score(criterion="line", level=3)])
    cut = raw[: data.draw(st.integers(0, len(raw) - 1))]
    quick = quick_sheet(cut, NAME)
    assert (quick is not None) == (cut.endswith(b"\n") and cut.count(b"\n") >= 3)
    if quick is not None:
        assert not quick.locked and quick.marks == full_marks(cut)


def test_ledgers_with_other_values_that_are_chained_anew_are_read_alike_or_left_to_the_full_reading() -> None:
    """Values of every sort in every place, the same ones each time; whatever is not read in full is as if it were."""
    files = sorted((SAMPLE / "sheets").glob("*.yaml"))
    read = 0
    for seed in range(600):
        pick = random.Random(seed)
        file = pick.choice(files)
        raw = mutated_ledger(file.read_bytes(), pick)
        quick = quick_sheet(raw, file.stem)
        if quick is not None:
            whole = parse_ledger(raw, file.stem)
            assert whole.problems == () and quick.marks == full_marks(raw), seed
            assert quick.locked is whole.ledger.locked, seed
            read += 1
    assert 20 < read < 300


SCORE = Score(criterion="edging", level=4)
OTHER = {NAME: "1 " + "a" * 16, "T1.C01.A1.zzzzz": "1 " + "b" * 16}


@pytest.mark.parametrize(
    "held",
    [
        [SCORE, Lock(heads=OTHER, seal=seal_of(OTHER))],
        [SCORE, Lock(heads={NAME: "1 " + "a" * 16}, seal=seal_of(OTHER))],
    ],
    ids=["two devices", "sealed otherwise"],
)
def test_locks_over_more_than_this_ledger_are_left_to_the_full_reading(held: list[SomeFact]) -> None:
    assert quick_sheet(ledger_bytes(sheet(), held), NAME) is None


def test_an_entry_after_the_lock_another_name_and_the_hand_of_an_editor_are_left_to_the_full_reading() -> None:
    raw = ledger([SCORE])
    lines = raw.split(b"\n")
    assert quick_sheet(raw, NAME) is not None
    assert quick_sheet(raw, "T1.C02.A1.d7h2k") is None
    assert quick_sheet(b"\n".join([*lines[:-1], lines[3], b""]), NAME) is None
    assert quick_sheet(raw.replace(b'"n": 1,', b'"n":1,'), NAME) is None
    assert quick_sheet(raw.replace(b"\n", b"\r\n"), NAME) is None
    assert quick_sheet(raw.replace(b'"level": 4', b'"level": 5'), NAME) is None


def names_of(root: Path) -> list[str]:
    return [name for held in sheet_files(root) for name in held.names]


def test_of_the_sample_course_no_sheet_is_left_to_the_full_reading() -> None:
    files = sheet_files(SAMPLE)
    assert len(files) == 120 and all(len(held.names) == 1 and held.aside == 0 for held in files)
    for name, quick in quick_sheets(SAMPLE, names_of(SAMPLE)).items():
        assert quick is not None and quick.locked
        assert quick.marks == full_marks((SAMPLE / "sheets" / name).read_bytes(), name.removesuffix(".yaml"))


def test_devices_and_other_versions_are_found_by_their_names_alone(tmp_path: Path) -> None:
    root = make_course(tmp_path / "course")
    (root / "sheets").mkdir()
    for name in (
        "T1.C01.A1.d7h2k.yaml", "T1.C01.A1.zzzzz.yaml", "T1.C01.A1.d7h2k~3f9c02aa.yaml",
        "T1.C02.A1.d7h2k~bad-3f9c02aa.yaml", "T1.C01.A1.d7h2k.torn-3f9c02aa", "notes.txt", "T1.C01.A1 (copy).yaml",
    ):  # fmt: skip
        (root / "sheets" / name).write_bytes(b"not read")
    (root / "sheets" / "T1.C03.A1.d7h2k.yaml").mkdir()
    first, second = sheet_files(root)
    assert first.names == ("T1.C01.A1.d7h2k.yaml", "T1.C01.A1.zzzzz.yaml")
    assert (first.candidate, first.aside) == ("C01", 2)
    assert (second.candidate, second.names, second.aside) == ("C02", (), 1)


def test_links_are_followed_inside_the_course_only(tmp_path: Path) -> None:
    root = make_course(tmp_path / "course")
    (root / "sheets").mkdir()
    for place, name in ((tmp_path, "T1.C01.A1.d7h2k.yaml"), (root, "T1.C02.A1.d7h2k.yaml")):
        (place / "elsewhere").write_bytes(b"x")
        (root / "sheets" / name).symlink_to(place / "elsewhere")
    assert names_of(root) == ["T1.C02.A1.d7h2k.yaml"]
    (root / "sheets").rename(tmp_path / "sheets")
    (root / "sheets").symlink_to(tmp_path / "sheets")
    assert sheet_files(root) == ()


def test_without_course_yaml_and_without_a_sheets_folder_nothing_is_missed(tmp_path: Path) -> None:
    shutil.copytree(SAMPLE / "sheets", tmp_path / "sheets")
    assert len(sheet_files(tmp_path)) == 120
    assert sheet_files(tmp_path / "sheets") == ()


def test_a_file_that_cannot_be_read_gives_nothing(tmp_path: Path) -> None:
    (tmp_path / "sheets").mkdir()
    (tmp_path / "sheets" / NAME).mkdir()
    assert quick_sheets(tmp_path, [NAME, "T1.C02.A1.d7h2k.yaml"]) == {NAME: None, "T1.C02.A1.d7h2k.yaml": None}


@pytest.fixture
def finished(tmp_path: Path) -> Path:
    (tmp_path / "sheets").mkdir()
    (tmp_path / "sheets" / f"{NAME}.yaml").write_bytes(ledger([SCORE, Score(criterion="line", status="not-observed")]))
    return tmp_path


def remembered(own_folders: Path) -> list[Path]:
    return sorted((own_folders / "cache").rglob("*.json"))


def test_a_finished_course_is_remembered_by_its_bytes_and_read_anew_when_one_changes(
    finished: Path, own_folders: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = quick_sheets(finished, [f"{NAME}.yaml"])
    assert read[f"{NAME}.yaml"] is not None and len(remembered(own_folders)) == 1
    monkeypatch.setattr("assess.store.quick_course.quick_sheet", lambda raw, name: pytest.fail("was read anew"))
    assert quick_sheets(finished, [f"{NAME}.yaml"]) == read
    monkeypatch.undo()
    (finished / "sheets" / f"{NAME}.yaml").write_bytes(ledger([Score(criterion="edging", level=2)]))
    changed = quick_sheets(finished, [f"{NAME}.yaml"])[f"{NAME}.yaml"]
    assert changed is not None and changed.marks == (QuickMark(1, "edging", "scored", 2),)


def test_what_is_remembered_and_damaged_is_read_anew(finished: Path, own_folders: Path) -> None:
    read = quick_sheets(finished, [f"{NAME}.yaml"])
    (kept,) = remembered(own_folders)
    kept.write_bytes(kept.read_bytes().replace(b"4", b"5"))
    assert quick_sheets(finished, [f"{NAME}.yaml"]) == read


def test_nothing_of_a_course_with_an_open_sheet_is_kept_outside_its_ledgers(finished: Path, own_folders: Path) -> None:
    other = "T1.C01.A1.zzzzz"
    (finished / "sheets" / f"{other}.yaml").write_bytes(ledger_bytes(sheet(device="zzzzz"), [SCORE]))
    read = quick_sheets(finished, [f"{NAME}.yaml", f"{other}.yaml"])
    assert all(read.values()) and remembered(own_folders) == []
