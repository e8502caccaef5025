"""Scores straight from sheets: always what marking's fold gives, of nothing but wholly locked slots."""

from __future__ import annotations

import hashlib
import shutil
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.desk.score_sources import FEW_COURSES, QUICK, ScoreSource, read_source
from assess.desk.sheet_scores import RubricShelf, course_scores, quick_values
from assess.marking.fold import fold_sheet
from assess.records.errors import InputError, Refusal, UsageError
from assess.records.facts import Lock, Score, SomeFact, Undo
from assess.records.ledger import Ledger
from assess.store.course_folder import load_course
from assess.store.ledger_file import parse_ledger
from assess.store.quick_scores import quick_sheet
from tests.courses import ROOT
from tests.marking.building import rubric
from tests.store.course_maker import RUBRIC, heads, ledger_bytes, make_course, seal_of, sheet

SAMPLE = ROOT / "sample_sessions" / "course"
Values = dict[tuple[str, ...], float]


def values(source: ScoreSource) -> Values:
    columns = (source.task or [], source.candidate, source.assessor, source.criterion or [])
    found: Values = dict(zip(zip(*columns, strict=True), source.score, strict=True))
    assert len(found) == len(source.score)
    return found


def put(root: Path, who: str, facts: Sequence[SomeFact], *, lock: bool = True, **more: Any) -> Path:
    """A sheet of one assessor in a course; its file."""
    header = sheet(assessor=who, **more)
    raw = ledger_bytes(header, facts)
    if lock:
        head = {header.name: heads(raw)[-1]}
        raw = ledger_bytes(header, [*facts, Lock(heads=head, seal=seal_of(head))])
    path = root / "sheets" / f"{header.name}.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(raw)
    return path


def marks(edging: int = 4, line: int = 3) -> list[SomeFact]:
    return [Score(criterion="edging", level=edging), Score(criterion="line", level=line)]


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """Two slots of T1 with both markers' sheets locked, in a folder of sheets alone."""
    course = make_course(tmp_path / "course")
    (course / "course.yaml").unlink()
    for candidate in ("C01", "C02"):
        put(course, "A1", marks(), candidate=candidate)
        put(course, "A2", marks(5), candidate=candidate)
    return course


def test_the_sample_course_gives_every_level_its_fold_gives() -> None:
    folder = load_course(SAMPLE)
    sheets: dict[tuple[str, ...], list[Ledger]] = defaultdict(list)
    for file in folder.ledgers:
        header = file.ledger.header
        if header.kind == "sheet":
            sheets[header.task or "", header.candidate or "", header.assessor or ""].append(file.ledger)
    folded = {
        (*key, mark.criterion): float(mark.value)
        for key, ledgers in sheets.items()
        for mark in fold_sheet(ledgers, rubric=folder.rubrics[ledgers[0].header.rubric or ""]).marks
        if mark.value is not None
    }
    source = read_source([SAMPLE])
    assert values(source) == folded and len(folded) == 448
    assert (source.levels, source.line) == ((1.0, 2.0, 3.0, 4.0, 5.0, 6.0), 3.5)
    assert (source.n_courses, source.n_sheets) == (1, 120)


criteria = st.sampled_from(["edging", "line", "elsewhere"])
facts = st.lists(
    st.one_of(
        st.builds(Score, run=st.integers(0, 3), criterion=criteria, level=st.one_of(st.none(), st.integers(0, 7))),
        st.builds(Score, run=st.integers(0, 3), criterion=criteria, level=st.integers(1, 6)),
        st.builds(
            Score,
            run=st.integers(0, 2),
            criterion=criteria,
            status=st.sampled_from(["not-observed", "not-applicable"]),
        ),
        st.builds(Undo, of=st.integers(1, 12)),
    ),
    max_size=12,
)


@given(facts, st.sampled_from(["last", "median", "best", "overall"]))
def test_the_quick_reading_folds_as_marking_does(held: list[SomeFact], how: str) -> None:
    rules = rubric({"T1": ("edging", "line")}, passes={"T1": how})
    raw = ledger_bytes(sheet(), held)
    quick = quick_sheet(raw, "T1.C01.A1.d7h2k")
    assert quick is not None
    folded = fold_sheet([parse_ledger(raw, "T1.C01.A1.d7h2k").ledger], rubric=rules)
    assert quick_values(quick.marks, frozenset({"edging", "line"}), rules.scale.levels, how) == {
        mark.criterion: mark.value for mark in folded.marks if mark.value is not None
    }


def test_a_course_whose_allocation_cannot_be_read_says_nothing(root: Path) -> None:
    (root / "course.yaml").write_text("[ not read")
    with pytest.raises(InputError, match=r"course\.yaml"):
        read_source([root])


def test_of_many_courses_the_sheets_alone_are_read_and_that_is_told(root: Path, tmp_path: Path) -> None:
    roots = []
    for number in range(FEW_COURSES + 1):
        folder = tmp_path / f"many-{number}"
        with_rubric(folder, f"K-{number}", b"", b"")
        (folder / "course.yaml").write_text("never read")
        roots.append(folder)
    found = read_source(roots)
    assert found.n_courses == FEW_COURSES + 1 and QUICK in found.warnings


def test_a_slot_with_an_open_sheet_gives_nothing_of_anybody(root: Path) -> None:
    put(root, "A2", marks(6), candidate="C02", lock=False)
    found = read_source([root])
    assert {key[1] for key in values(found)} == {"C01"}
    assert found.warnings[0].startswith("1 locked sheet is not used: another sheet of the same turn is missing")


def test_a_locked_sheet_that_stands_alone_may_be_the_first_of_two_and_is_not_used(root: Path) -> None:
    put(root, "A1", marks(), candidate="C03")
    found = read_source([root])
    assert {key[1] for key in values(found)} == {"C01", "C02"}
    assert "1 locked sheet is not used" in found.warnings[0]


def damaged(path: Path) -> None:
    path.write_bytes(path.read_bytes().replace(b'"level": 5', b'"level": 6'))


def gone_on(path: Path) -> None:
    raw = path.read_bytes()
    path.write_bytes(raw + raw.split(b"\n")[-2] + b"\n")


@pytest.mark.parametrize(
    "spoil",
    [
        damaged,
        gone_on,
        lambda path: path.write_bytes(path.read_bytes()[:-9]),
        lambda path: path.write_bytes(b""),
        lambda path: (path.unlink(), path.mkdir()),
        lambda path: path.rename(path.with_name(f"{path.stem}~3f9c02aa.yaml")),
        lambda path: path.rename(path.with_name("T1.C02.A2.zzzzz.yaml")),
        lambda path: path.write_bytes(path.read_bytes().replace(b"K-1", b"K-2")),
    ],
    ids=["a byte", "after the lock", "cut short", "empty", "a folder", "set aside", "renamed", "another course"],
)
def test_a_damaged_sheet_takes_its_slot_with_it_and_only_its_slot(root: Path, spoil: Any) -> None:
    spoil(root / "sheets" / "T1.C02.A2.d7h2k.yaml")
    found = read_source([root])
    assert {key[1] for key in values(found)} == {"C01"}
    assert "1 locked sheet is not used" in found.warnings[0]


def test_whatever_a_partner_has_not_locked_leaves_the_source_as_it_is(root: Path) -> None:
    put(root, "A1", marks(), candidate="C03")
    alone = read_source([root])
    for facts_of_a2 in ([], marks(1, 1), [*marks(6, 6), Undo(of=2)]):
        path = put(root, "A2", facts_of_a2, candidate="C03", lock=False)
        assert read_source([root]) == alone
        path.write_bytes(path.read_bytes()[:-20])
        assert read_source([root]) == alone
        shutil.copy(path, path.with_name(f"{path.stem}~bad-3f9c02aa.yaml"))
        assert read_source([root]) == alone


def two_devices(root: Path, second: list[SomeFact]) -> None:
    """A2 goes on with the sheet of C02 on a second device, whose lock seals both ledgers."""
    first, other = (sheet(assessor="A2", candidate="C02", device=device) for device in ("d7h2k", "zzzzz"))
    raw = ledger_bytes(first, marks(5))
    begun = ledger_bytes(other, second, start_ms=1_900_000_000_000)
    sealed = {first.name: heads(raw)[-1], other.name: heads(begun)[-1]}
    lock = Lock(heads=sealed, seal=seal_of(sealed))
    (root / "sheets" / f"{first.name}.yaml").write_bytes(raw)
    whole = ledger_bytes(other, [*second, lock], start_ms=1_900_000_000_000)
    (root / "sheets" / f"{other.name}.yaml").write_bytes(whole)


def test_a_sheet_of_two_devices_is_joined_as_marking_joins_it(root: Path) -> None:
    two_devices(root, [Score(criterion="line", level=6)])
    found = values(read_source([root]))
    assert found["T1", "C02", "A2", "edging"] == 5 and found["T1", "C02", "A2", "line"] == 6


def test_a_sheet_whose_lock_names_a_ledger_that_is_not_here_is_not_used(root: Path) -> None:
    two_devices(root, [Score(criterion="line", level=6)])
    (root / "sheets" / "T1.C02.A2.d7h2k.yaml").unlink()
    assert {key[1] for key in values(read_source([root]))} == {"C01"}


def test_other_versions_are_not_read_and_are_told_only_beside_sheets_in_use(root: Path) -> None:
    before = read_source([root])
    put(root, "A1", marks(), candidate="C03")
    for name in ("T1.C01.A1.d7h2k", "T1.C03.A2.d7h2k"):
        (root / "sheets" / f"{name}~3f9c02aa.yaml").write_bytes(b"another version")
    found = read_source([root])
    assert values(found) == values(before)
    assert [warning for warning in found.warnings if "version" in warning] == [
        "1 other version is kept aside beside the sheets used, not read; `assess check` names them"
    ]


def test_a_rubric_that_is_not_there_is_told(root: Path) -> None:
    shutil.rmtree(root / "rubrics")
    with pytest.raises(Refusal):
        read_source([root])
    found = course_scores(root, RubricShelf())
    assert (found.sheets, found.unknown, found.not_used) == ((), 4, 0)


def test_nothing_locked_is_a_refusal_that_counts_nobodys_sheets(tmp_path: Path) -> None:
    root = make_course(tmp_path / "course")
    said = []
    for who in ("A1", "A2"):
        put(root, who, marks(), lock=False)
        with pytest.raises(Refusal) as refusal:
            read_source([root])
        said.append(refusal.value.sentence)
    assert said[0] == said[1] and "there is nothing to compare" in said[0]


def with_rubric(folder: Path, course: str, old: bytes, new: bytes) -> Path:
    """Another course of two slots, marked by the rubric with some bytes changed."""
    text = RUBRIC.replace(old, new)
    digest = hashlib.sha256(text).hexdigest()
    (folder / "rubrics").mkdir(parents=True)
    (folder / "rubrics" / f"r-1@{digest[:8]}.yaml").write_bytes(text)
    for who in ("A1", "A2"):
        for candidate in ("C01", "C02"):
            told: dict[str, Any] = {"rubric": f"sha256:{digest}", "course": course, "candidate": candidate}
            put(folder, who, marks(), **told)
    return folder


def test_courses_are_pooled_with_every_person_kept_apart(root: Path, tmp_path: Path) -> None:
    other = with_rubric(tmp_path / "other", "K-2", b"", b"")
    found = read_source([root, other])
    assert {key[1] for key in values(found)} == {"K-1:C01", "K-1:C02", "K-2:C01", "K-2:C02"}
    assert {key[2] for key in values(found)} == {"K-1:A1", "K-1:A2", "K-2:A1", "K-2:A2"}
    assert any("A1 of one course is not taken to be A1 of another" in warning for warning in found.warnings)
    assert (found.n_courses, found.n_sheets) == (2, 8)
    same = read_source([root, other], same_assessors=True)
    assert {key[2] for key in values(same)} == {"A1", "A2"} and {key[1] for key in values(same)} == {
        key[1] for key in values(found)
    }
    assert any("same person in every course" in warning for warning in same.warnings)


def test_the_same_course_twice_is_refused(root: Path, tmp_path: Path) -> None:
    shutil.copytree(root, tmp_path / "copy")
    for second in (tmp_path / "copy", root):
        with pytest.raises(InputError, match=r"is course K-1, and so is .*assess merge"):
            read_source([root, second])


def test_different_scales_are_refused_in_a_sentence(root: Path, tmp_path: Path) -> None:
    other = with_rubric(
        tmp_path / "other", "K-2", b"max: 6, pass_line: \"3.5\", words: {1: a, 2: b, 3: c, 4: d, 5: e, 6: f}",
        b"max: 5, pass_line: \"3.5\", words: {1: a, 2: b, 3: c, 4: d, 5: e}",
    )  # fmt: skip
    with pytest.raises(Refusal, match=r"different scales and cannot be compared: 1 to 5 \(r-1\), 1 to 6 \(r-1\)"):
        read_source([root, other])


def test_of_different_pass_lines_none_is_used(root: Path, tmp_path: Path) -> None:
    found = read_source([root, with_rubric(tmp_path / "other", "K-2", b'"3.5"', b'"4"')])
    assert found.line is None and found.levels == (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
    assert any("different pass lines (3.5, 4)" in warning for warning in found.warnings)


def test_half_levels_of_a_median_widen_the_scale_and_are_told(tmp_path: Path) -> None:
    other = with_rubric(tmp_path / "other", "K-2", b"coverage:", b"passes: {T1: median}\ncoverage:")
    told: dict[str, Any] = {"course": "K-2", "rubric": f"sha256:{next_digest(other)}"}
    put(other, "A1", [*marks(4), Score(run=2, criterion="edging", level=5)], **told)
    found = read_source([other])
    assert values(found)["T1", "C01", "A1", "edging"] == 4.5
    assert found.levels is not None and 4.5 in found.levels and len(found.levels) == 11
    assert any("half levels" in warning for warning in found.warnings)


def next_digest(course: Path) -> str:
    (file,) = (course / "rubrics").iterdir()
    return hashlib.sha256(file.read_bytes()).hexdigest()


def test_a_damaged_rubric_is_told_with_its_line(tmp_path: Path) -> None:
    other = with_rubric(tmp_path / "other", "K-2", b"coverage:", b"coverage: 1\ncoverag:")
    with pytest.raises(InputError) as trouble:
        read_source([other])
    assert all(problem.file.startswith(str(other / "rubrics")) and problem.line for problem in trouble.value.problems)


def test_sources_of_two_kinds_no_source_and_no_folder_of_a_course_are_told(root: Path, tmp_path: Path) -> None:
    table = tmp_path / "t.csv"
    table.write_text("candidate,assessor,score\nC1,A1,\n")
    for paths in ([root, table], [table, table], []):
        with pytest.raises(UsageError):
            read_source(paths)
    with pytest.raises(InputError, match="is not there"):
        read_source([root, tmp_path / "nowhere"])
    with pytest.raises(InputError, match=r"without course\.yaml"):
        read_source([tmp_path])
    with pytest.raises(InputError, match="no row of this table has a score"):
        read_source([table])


def test_a_table_is_a_source_with_its_unknown_columns_told(tmp_path: Path) -> None:
    table = tmp_path / "t.csv"
    table.write_text("candidate,assessor,score,note\nC1,A1,4,x\nC1,A2,,x\n")
    found = read_source([table])
    assert (found.candidate, found.levels, found.line, found.task) == (["C1", "C1"], None, None, None)
    assert found.warnings == (f"{table}:1: the column `note` is not read",)
    assert str(found.problem(1, "twice").problems[0]) == f"{table}:3: twice; put it right"
