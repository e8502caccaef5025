"""mark, lock, import, export, merge, seal, verify: what they say, to whom, and how they end."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from assess.records.errors import Refusal
from tests.cli.commands import assess, assess_process, tree
from tests.courses import build_course, open_desk

T1 = ("over-feet", "edging", "line", "speed-control")
FOURS = [f"{criterion}=4" for criterion in T1]


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", candidates=2)


def test_marks_are_told_back_and_saved_is_said_last(root: Path) -> None:
    ran = assess("mark", root / "T1.C01", "edging=4", "line=no:fog", "over-feet=2", "--as", "A1")
    lines = ran.out.split("\n")
    assert ran.code == 0 and ran.err == ""
    assert lines[:3] == ["edging 4", "line not observed (fog)", "over-feet 2"]
    assert lines[3].startswith("saved ") and len(lines[3]) == len("saved 10:02:19")
    assert lines[4:] == [
        "still missing: speed-control: no mark yet; not observed is a mark",
        "still missing: over-feet: this level needs an observation made in the task",
        "",
    ]
    marks = {mark.criterion: mark.level for mark in open_desk(root).folded("T1", "C01", "A1").marks}
    assert marks == {"over-feet": 2, "edging": 4, "line": None}


def test_a_sheet_is_named_by_slot_by_name_or_by_file(root: Path) -> None:
    assert assess("mark", root / "T1.C01", "edging=4", "--as", "A1").code == 0
    (file,) = (root / "sheets").iterdir()
    assert assess("mark", root / "sheets" / "T1.C01.A1", "edging=5", "--as", "A1").code == 0
    assert assess("mark", file, "edging=6", "--as", "A1").code == 0
    assert [entry.fact.kind for entry in open_desk(root).shelf.sheet(("T1", "C01", "A1"))[0].entries] == ["score"] * 3


def test_everything_wrong_with_the_words_is_told_and_nothing_is_written(root: Path) -> None:
    before = tree(root)
    words = [
        "edging=9",
        "edging=4",
        "line=na",
        "speed=3",
        "over-feet",
        "line=no:No Good",
        "--for",
        "nothing",
        "--run",
        "7",
    ]
    ran = assess("mark", root / "T1.C01", *words, "--as", "A1")
    assert (ran.code, ran.out) == (2, "")
    for said in (
        "9 is no level of edging: 1 to 6, no or na",
        "why is line not applicable? write line=na:reason once",
        "speed is no criterion of T1",
        "`over-feet` gives no mark",
        "`No Good` is no reason for line",
        "nothing is no criterion of T1",
        "--for names criteria, and there is no --note",
        "T1 has 2 runs, not 7",
        "nothing was written",
    ):
        assert said in ran.err
    assert tree(root) == before
    assert assess("mark", root / "T1.C01", "--as", "A1").code == 2


def test_a_note_stands_for_the_criteria_named_or_for_those_that_need_it(root: Path) -> None:
    assess("mark", root / "T1.C01", *FOURS, "--as", "A1")
    assess("mark", root / "T1.C01", "edging=2", "line=3", "--note", "tails [wash] ☃", "--for", "edging", "--as", "A1")
    assert "line: this level needs" in assess("lock", root / "T1.C01", "--as", "A1").out
    ran = assess("mark", root / "T1.C01", "--note", "cuts across", "--as", "A1", "--json")
    assert ran.json == {
        "sheet": "T1.C01.A1", "run": 1, "marks": [], "note": True, "saved": True, "holes": [], "remark": "",
    }  # fmt: skip
    assert assess("lock", root / "T1.C01", "--as", "A1").code == 0
    seen = open_desk(root).folded("T1", "C01", "A1").observations
    assert [(item.fact.text, item.fact.criteria) for item in seen] == [
        ("tails [wash] ☃", ("edging",)),
        ("cuts across", ("line",)),
    ]


def test_runs_and_the_one_overall_mark(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=1, tasks=("T3",))
    name = root / "T3.C01"
    assert assess("mark", name, "absorb=4", "--as", "A1").code == 0
    assert assess("mark", name, "absorb=5", "--run", "2", "--as", "A1").code == 0
    assert "several runs and no overall mark" in assess("lock", name, "--as", "A1").out
    assert assess("mark", name, "absorb=5", "--run", "0", "--as", "A1").code == 0
    assert assess("mark", name, "absorb=no", "--run", "0", "--as", "A1").code == 2
    mark = open_desk(root).folded("T3", "C01", "A1").mark("absorb")
    assert mark is not None and (mark.run, mark.level) == (0, 5)
    other = build_course(tmp_path / "other", candidates=1, tasks=("T1",))
    assert "has no overall mark" in assess("mark", other / "T1.C01", "edging=4", "--run", "0", "--as", "A1").err


def test_a_lock_lists_what_is_missing_and_ends_with_1_then_locks_once(root: Path) -> None:
    holes = assess("lock", root / "T1.C01", "--as", "A1", "--json")
    assert holes.code == 1 and holes.err == "" and holes.json["locked"] is False
    assert [hole["text"].split(":")[0] for hole in holes.json["holes"]] == list(T1)
    assert not list((root / "sheets").iterdir())
    assess("mark", root / "T1.C01", *FOURS, "--as", "A1")
    done = assess("lock", root / "T1.C01", "--as", "A1")
    assert done.code == 0 and "\nT1.C01.A1 locked, saved " in done.out and done.out.startswith("look: run 2 of 2")
    again = assess("lock", root / "T1.C01", "--as", "A1", "--json")
    assert again.code == 1 and again.json["refused"]["what"] == "T1 C01 is locked"
    assert again.err == "T1 C01 is locked; what comes to mind now belongs in the moderation meeting\n"


def test_whose_sheet_it_is_counts_and_not_who_names_it(root: Path) -> None:
    ran = assess("mark", root / "sheets" / "T1.C01.A2", "edging=4", "--as", "A1")
    assert (ran.code, ran.out) == (1, "") and "that is the sheet of A2, and you are A1" in ran.err
    ran = assess("mark", root / "T1.C01", "edging=4", "--as", "D1")
    assert ran.code == 1 and "is not yours to mark" in ran.err
    ran = assess("mark", root / "T1.C99", "edging=4", "--as", "A1")
    assert ran.code == 1 and "T1 C99 is not yours to mark" in ran.err


@pytest.mark.parametrize("where", ["nowhere/T1.C01", "course.yaml", "T1", "../T1.C01", "sheets"])
def test_a_path_that_names_no_sheet_is_told_in_a_sentence(root: Path, where: str) -> None:
    ran = assess("mark", root / where, "edging=4", "--as", "A1")
    assert ran.code == 3 and ran.out == "" and "Traceback" not in ran.err and ran.err.count("\n") == 1


def test_a_course_open_in_another_window_refuses_the_sheet_that_is_written_there(root: Path) -> None:
    other = open_desk(root, "A1", device="d7h2k")
    other.slot("T1", "C01").score("edging", 3)
    assert other.drain(5)
    ran = assess_process(
        "mark", root / "T1.C01", "edging=4", "--as", "A1", ASSESS_STATE_DIR=str(state_of(root, "d7h2k"))
    )
    assert ran.code == 1 and "is open in another window" in ran.err
    other.close()


def state_of(root: Path, device: str) -> Path:
    folder = root.parent / "state of a device"
    folder.mkdir(exist_ok=True)
    (folder / "device").write_text(f"{device}\n")
    return folder


def test_marks_that_cannot_be_saved_are_never_called_saved(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from assess.desk import marks_given
    from assess.store.disk import Disk

    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Disk, "write", full)
    monkeypatch.setattr(marks_given, "PATIENCE", 0.3)
    ran = assess("mark", root / "T1.C01", "edging=4", "--as", "A1")
    assert ran.code == 3 and "saved " not in ran.out
    assert "NOT SAVED: 1 entry; disk full" in ran.err


# --- import and export -------------------------------------------------------------------------------

TABLE = "day,task,order,candidate,assessor,criterion,score,status,rubric\n" + "".join(
    f"1,T1,{place},C0{place},{who},{criterion},{4 if criterion != 'edging' else 2},scored,r-2026.1\n"
    for place in (1, 2)
    for who in ("A1", "A2")
    for criterion in T1
)


def test_an_import_says_what_it_wrote_and_what_is_missing_and_the_second_time_nothing(root: Path) -> None:
    table = root.parent / "scores.csv"
    table.write_text(TABLE)
    first = assess("import", table, "--into", root)
    assert (first.code, first.err) == (0, "")
    assert first.out.split("\n")[:3] == [
        "4 sheets written and locked as imported, 0 there already",
        "rows: 16 scored",
        "holes: 4",
    ]
    after = tree(root)
    second = assess("import", table, "--into", root, "--json")
    assert second.json["written"] == [] and len(second.json["unchanged"]) == 4 and second.json["rows"] == {"scored": 16}
    assert tree(root) == after
    assert assess("check", root, "--as", "D1").code == 0
    exported = assess("export", root, "--to", "csv", "--as", "D1")
    columns, *rows = TABLE.splitlines()
    assert exported.out.splitlines() == [f"{columns},audience", *(f"{row},panel" for row in rows)]
    assert exported.err == "2 slots are left out, wholly or in part: not locked by all, or not released\n"


def test_a_table_with_problems_is_refused_with_all_of_them_and_stdout_stays_empty(root: Path) -> None:
    table = root.parent / "scores.csv"
    table.write_text(TABLE.replace("C02", "C77").replace("1,T1,1,C01,A1,line,4", "1,T1,1,C01,A1,line,44"))
    before = tree(root)
    for more in ([], ["--json"]):
        ran = assess("import", table, "--into", root, *more)
        assert (ran.code, ran.out) == (3, "")
        lines = ran.err.strip().split("\n")
        assert len(lines) == 9 and all(line.startswith(f"{table}:") and "; " in line for line in lines)
    assert tree(root) == before


def test_an_export_goes_to_a_new_file_and_its_report_to_stdout(root: Path, tmp_path: Path) -> None:
    table = root.parent / "scores.csv"
    table.write_text(TABLE)
    assess("import", table, "--into", root)
    out = tmp_path / "out.json"
    ran = assess("export", root, "--to", "json", "--out", out, "--as", "D1", "--json")
    assert ran.json == {"course": "K-TEST", "out": str(out), "rows": 16, "audience": "panel"}
    assert len(json.loads(out.read_text())["scores"]) == 16
    again = assess("export", root, "--to", "json", "--out", out, "--as", "D1")
    assert again.code == 1 and "is there already" in again.err
    assert assess("export", root, "--to", "json", "--as", "D1").json == json.loads(out.read_text())
    assert assess("export", root, "--to", "xlsx").code == 2


# --- merge, seal, verify -----------------------------------------------------------------------------


def test_two_devices_come_together_and_merging_again_says_nothing_new(root: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    shutil.copytree(root, other)
    assess("mark", root / "T1.C01", *FOURS, "--as", "A1")
    desk = open_desk(other, "A2", device="a2a2a")
    desk.slot("T1", "C01").score("edging", 5)
    desk.close()
    ran = assess("merge", root, other, "--as", "A1")
    assert ran.code == 0 and ran.out.endswith("came in from A2: T1 C01\n") and ran.err == ""
    again = assess("merge", root, other, "--as", "A1", "--json").json
    assert (again["taken"], again["findings"], again["came"]) == ([], [], {})
    assert assess("merge", root, other).out.endswith("nothing new\n")


def test_a_merge_of_another_course_or_of_no_course_changes_nothing(root: Path, tmp_path: Path) -> None:
    strange = build_course(tmp_path / "strange")
    text = (strange / "course.yaml").read_text()
    (strange / "course.yaml").write_text(text.replace("id: K-TEST", "id: K-ELSE"))
    before = tree(root)
    ran = assess("merge", root, strange, "--json")
    assert ran.code == 1 and "refused" in ran.json and "K-ELSE" in ran.err
    assert assess("merge", root, tmp_path / "nothing").code == 3
    assert tree(root) == before


def test_a_seal_is_named_and_what_it_recorded_is_verified(root: Path) -> None:
    for who in ("A1", "A2"):
        assess("mark", root / "T1.C01", *FOURS, "--as", who)
        assess("lock", root / "T1.C01", "--as", who)
    sealed = assess("seal", root, "--as", "D1", "--json")
    assert sealed.code == 0 and (root / sealed.json["seal"]).is_file() and sealed.json["by"] == "D1"
    good = assess("verify", root, "--as", "A1", "--json")
    assert good.code == 0 and good.json["holds"] is True and good.json["findings"] == []
    victim = sorted((root / "sheets").glob("*.A2.*"))[0]
    rows = victim.read_bytes().split(b"\n")
    victim.write_bytes(b"\n".join([*rows[:5], b""]))
    bad = assess("verify", root, "--as", "A2")
    assert bad.code == 1 and "cut below a recorded head: entry 5 was sealed" in bad.out
    assert bad.out.startswith("not everything holds")
    # Without its lock the sheet is open again, as far as anybody can tell: the director is told its name alone.
    named = assess("verify", root, "--as", "D1")
    assert named.code == 1 and "sheets/T1.C01.A2: is damaged" in named.out and "entry" not in named.out


def test_acts_need_a_name_and_reading_does_not(root: Path) -> None:
    for words in (["mark", "T1.C01", "edging=4"], ["lock", "T1.C01"], ["seal", "."]):
        ran = assess(words[0], root / words[1], *words[2:])
        assert (ran.code, ran.out) == (2, "")
        assert ran.err == "nobody has said who is writing; say who you are with --as A1 or A2 or D1 or D2\n"
    for words in (["results"], ["check"], ["verify"], ["open"], ["export", "--to", "csv"]):
        assert assess(words[0], root, *words[1:]).code == 0
    unknown = assess("results", root, "--as", "A9")
    assert (unknown.code, unknown.out) == (2, "") and "use one of A1, A2, D1, D2" in unknown.err


def test_who_acted_last_is_remembered_for_this_course_on_this_device(root: Path) -> None:
    assert assess("mark", root / "T1.C01", "edging=4", "--as", "A2").code == 0
    assert assess("results", root, "--as", "D1").code == 0
    assert assess("mark", root / "T1.C01", "line=4").code == 0
    assert {path.name.split(".")[2] for path in (root / "sheets").iterdir()} == {"A2"}


def test_a_note_too_long_for_a_record_is_a_sentence_and_nothing_is_written(root: Path) -> None:
    before = tree(root)
    ran = assess("mark", root / "T1.C01", "edging=4", "--note", "x" * 8001, "--as", "A1")
    assert ran.code == 2 and "the note has 8001 characters, 8000 are the most" in ran.err
    assert tree(root) == before
    desk = open_desk(root, "A1")
    with pytest.raises(Refusal, match="the note has 9000 characters"):
        desk.slot("T1", "C01").note("x" * 9000)
    desk.slot("T1", "C01").note("x" * 8000)
    assert desk.close()
