"""What `check` finds, with file and line; and whom it tells what."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from assess.desk.checking import CheckReport, check_paths
from assess.desk.importing import import_scores
from assess.desk.sealing import seal
from assess.desk.verifying import verify
from tests.cli.commands import tree
from tests.courses import RUBRIC, build_course, open_desk


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", candidates=2, tasks=("T1",))


def mark(root: Path, who: str, device: str, candidates: tuple[str, ...] = ("C01",), *, lock: bool = True) -> None:
    desk = open_desk(root, who, device=device)
    for candidate in candidates:
        sheet = desk.slot("T1", candidate)
        for criterion in sheet.criteria:
            sheet.score(criterion, 4)
        if lock:
            sheet.lock()
    assert desk.close()


def damage(root: Path, name: str, n: int = 2) -> None:
    """Change one level of one entry and leave its chain as it was."""
    file = root / "sheets" / name
    rows = file.read_bytes().split(b"\n")
    assert b'"level": 4' in rows[2 + n]
    rows[2 + n] = rows[2 + n].replace(b'"level": 4', b'"level": 5')
    file.write_bytes(b"\n".join(rows))


def said(report: CheckReport) -> list[tuple[str, int, str]]:
    return [(Path(p.file).name, p.line, p.what) for p in report.findings if not p.doubt]


def test_a_course_in_order_and_sealed_has_no_finding(root: Path) -> None:
    mark(root, "A1", "d7h2k")
    mark(root, "A2", "a2a2a")
    assert check_paths([root], "A1").clean
    seal(open_desk(root, "D1", device="d1d1d"))
    report = check_paths([root], "A1")
    assert report.findings == () and report.clean


def test_a_changed_mark_is_found_with_its_line_by_anybody_once_all_have_locked(root: Path) -> None:
    mark(root, "A1", "d7h2k")
    mark(root, "A2", "a2a2a")
    damage(root, "T1.C01.A2.a2a2a.yaml")
    for who in ("A1", "A2", "D1", None):
        found = said(check_paths([root], who))
        assert ("T1.C01.A2.a2a2a.yaml", 5) in [(file, line) for file, line, _ in found]
        assert "does not fit the chain" in found[0][2]
        assert not check_paths([root / "sheets" / "T1.C01.A2.a2a2a.yaml"], who).clean


def test_damage_in_an_open_slot_is_told_to_its_marker_named_to_the_director_and_hidden_from_partners(
    root: Path,
) -> None:
    mark(root, "A2", "a2a2a", lock=False)
    damage(root, "T1.C01.A2.a2a2a.yaml")
    assert said(check_paths([root], "A2"))[0][:2] == ("T1.C01.A2.a2a2a.yaml", 5)
    assert said(check_paths([root], "D1")) == [("T1.C01.A2", 0, "is damaged, or does not fit the course")]
    assert said(check_paths([root], None)) == said(check_paths([root], "D1"))
    assert said(check_paths([root], "A1")) == []
    assert check_paths([root], "A1").not_read == (f"{root}/sheets",)


def test_one_file_of_an_open_slot_is_left_alone_and_that_is_said(root: Path) -> None:
    mark(root, "A2", "a2a2a", lock=False)
    file = root / "sheets" / "T1.C01.A2.a2a2a.yaml"
    before = check_paths([file], "A1")
    damage(root, file.name)
    assert check_paths([file], "A1") == before == CheckReport((), (str(file),))


def test_problems_of_course_people_and_rubric_are_told_together(root: Path) -> None:
    course = root / "course.yaml"
    course.write_text(course.read_text().replace("revision: 1", "revision: none").replace("activity:", "activitty:"))
    people = root / "people.yaml"
    people.write_text(people.read_text().replace("name: Marker A1", "nmae: Marker A1"))
    files = [file for file, _, _ in said(check_paths([root]))]
    assert files.count("course.yaml") >= 2 and "people.yaml" in files
    only = check_paths([people])
    assert only.findings and {Path(problem.file).name for problem in only.findings} == {"people.yaml"}


def test_an_edited_rubric_and_a_strange_file_are_found(root: Path) -> None:
    (rubric,) = (root / "rubrics").iterdir()
    rubric.write_bytes(rubric.read_bytes() + b"# one more word\n")
    (root / "sheets" / "notes.txt").write_text("x")
    found = check_paths([root])
    assert any("edited" in what for _, _, what in said(found))
    assert any(problem.doubt and problem.file.endswith("notes.txt") for problem in found.findings)


def test_a_rubric_alone_is_checked_as_a_rubric(tmp_path: Path) -> None:
    file = tmp_path / "r.yaml"
    file.write_bytes(RUBRIC.read_bytes().replace(b'pass_line: "3.5"', b'pass_line: "9.5"', 1))
    assert next((name, line > 0) for name, line, _ in said(check_paths([file]))) == ("r.yaml", True)


def test_a_ledger_outside_a_course_is_checked_by_its_chain(root: Path, tmp_path: Path) -> None:
    mark(root, "A1", "d7h2k")
    name = "T1.C01.A1.d7h2k.yaml"
    damage(root, name)
    loose = tmp_path / name
    loose.write_bytes((root / "sheets" / name).read_bytes())
    assert said(check_paths([loose]))[0][:2] == (name, 5)


def test_an_imported_hole_is_worth_a_look_and_nothing_wrong(root: Path) -> None:
    table = root.parent / "scores.csv"
    rows = [f"1,T1,1,C01,{who},edging,2,scored,r-2026.1" for who in ("A1", "A2")]
    header = "day,task,order,candidate,assessor,criterion,score,status,rubric"
    table.write_text("\n".join([header, *rows, ""]))
    import_scores(open_desk(root, "D1"), table)
    report = check_paths([root], "D1")
    assert report.clean
    assert len([problem for problem in report.findings if "was imported without" in problem.what]) == 2


def test_a_cut_below_a_seal_is_found_and_of_an_open_slot_not_told_to_a_partner(root: Path) -> None:
    mark(root, "A2", "a2a2a", lock=False)
    seal(open_desk(root, "D1", device="d1d1d"))
    file = root / "sheets" / "T1.C01.A2.a2a2a.yaml"
    before = (check_paths([root], "A1"), verify(open_desk(root, "A1")))
    file.write_bytes(b"\n".join(file.read_bytes().split(b"\n")[:4]) + b"\n")
    assert (check_paths([root], "A1"), verify(open_desk(root, "A1"))) == before
    assert "cut below a recorded head: entry 4 was sealed" in said(check_paths([root], "A2"))[0][2]
    assert said(check_paths([root], "D1")) == [("T1.C01.A2", 0, "is damaged, or does not fit the course")]
    assert verify(open_desk(root, "A2")).holds is False
    assert verify(open_desk(root, "D1")).problems[0].line == 0


@pytest.mark.parametrize("kind", ["nothing", "folder", "text", "pipe", "binary", "dangling"])
def test_a_path_that_is_none_of_our_files_is_a_finding(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "thing"
    if kind == "folder":
        path.mkdir()
    elif kind == "text":
        path.write_text("hello")
    elif kind == "pipe":
        os.mkfifo(path)
    elif kind == "binary":
        path.write_bytes(bytes(range(256)))
    elif kind == "dangling":
        path.symlink_to(tmp_path / "nowhere")
    report = check_paths([path])
    assert len(report.findings) == 1 and not report.clean and report.findings[0].todo


def test_a_sheet_that_is_a_link_out_of_the_course_is_told_and_never_read(root: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside.yaml"
    outside.write_text("secret")
    (root / "sheets" / "T1.C02.A1.d7h2k.yaml").symlink_to(outside)
    (found,) = said(check_paths([root], "A1"))
    assert "link that leads out of the course" in found[2] and "secret" not in str(found)


def test_checking_writes_nothing(root: Path, own_folders: Path) -> None:
    mark(root, "A2", "a2a2a", lock=False)
    before, state = tree(root), own_folders / "state"
    check_paths([root, root / "course.yaml"], "A1")
    assert tree(root) == before and not state.exists()
