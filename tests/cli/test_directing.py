from __future__ import annotations

import json
from pathlib import Path

import pytest

from assess.cli.running import run
from tests.courses import ROOT, build_course, open_desk

NEXT = str(ROOT / "rubrics" / "alpine-ski" / "r-2026.2.yaml")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", tasks=("T1", "T4"))


def test_a_director_pins_a_version_and_the_line_says_where_it_stands(root: Path, capsys) -> None:
    words = ["rubric", "pin", str(root), NEXT, "--area", "teach", "--reason", "two readings", "--as", "D1"]
    assert run(words) == 0
    assert capsys.readouterr().out.startswith("in force for teach from day 1: rubrics/r-2026.2@")
    assert open_desk(root, "D1").rubric_for("T4").id == "r-2026.2"


def test_a_marker_is_taken_off_a_slot_and_another_takes_over(root: Path, capsys) -> None:
    words = ["allocate", str(root), "T1.C01", "--from", "A2", "--reason", "ill", "--as", "D1", "--json"]
    assert run(words) == 0
    assert json.loads(capsys.readouterr().out) == {"slot": "T1.C01", "markers": ["A1"], "waivers": []}
    assert run(words) == 1
    assert "does not mark" in capsys.readouterr().err


def test_a_slot_that_is_none_and_an_assessor_who_is_no_director_are_told_so(root: Path, capsys) -> None:
    assert run(["allocate", str(root), "T1", "--from", "A2", "--reason", "ill", "--as", "D1"]) == 2
    assert run(["allocate", str(root), "T1.C01", "--from", "A2", "--reason", "ill", "--as", "A1"]) == 1
    assert "only a director" in capsys.readouterr().err


def test_who_may_not_mark_is_refused_and_let_in_by_a_counted_waiver(tmp_path: Path, capsys) -> None:
    trained = ("trained:", "- {assessor: A2, candidate: C01, ended: 2025-12-10}")
    root = build_course(tmp_path / "course", tasks=("T6",), more_people=trained)
    why = "they trained this candidate until 2025-12-10, and 730 days have to go by"
    assert run(["check", str(root), "--as", "D1"]) == 1
    assert f"`A2` may not mark `C01`: {why}; allocate somebody else, or a director" in capsys.readouterr().out
    act = ["allocate", str(root), "T6.C01", "--to", "A2", "--waive", "nobody else is there"]
    assert run([*act, "--as", "A1"]) == 1
    assert "only a director waives" in capsys.readouterr().err
    assert run([*act, "--as", "D1"]) == 0
    said = f"1 waiver: A2 may mark C01 in T6 although {why} (D1: nobody else is there); in T6.C01"
    assert capsys.readouterr().out.splitlines()[1] == said
    assert run(["check", str(root), "--as", "D1"]) == 0
    assert said in capsys.readouterr().out.splitlines()
    assert run(["results", str(root), "--as", "D1"]) == 0
    assert said in capsys.readouterr().out.splitlines()
    assert run(["results", str(root), "--as", "D1", "--json"]) == 0
    waiver = json.loads(capsys.readouterr().out)["waivers"][0]
    assert (waiver["assessor"], waiver["candidate"], waiver["about"], waiver["by"]) == ("A2", "C01", "trained", "D1")
    assert run([*act, "--as", "D1"]) == 1
    assert "nothing stands against A2 in T6.C01" in capsys.readouterr().err


def test_a_successor_who_may_not_mark_is_refused_with_the_reason(tmp_path: Path, capsys) -> None:
    licences = ("licences:", "- {assessor: A1, activity: alpine-ski, valid_from: 2025-01-01, valid_to: 2026-12-31}")
    root = build_course(tmp_path / "course", tasks=("T6",), assessors=("A1", "A2", "A3"), more_people=licences)
    text = (root / "course.yaml").read_text().replace("assessors: [A1, A2, A3]}", "assessors: [A1]}")
    (root / "course.yaml").write_text(text)
    act = ["allocate", str(root), "T6.C01", "--from", "A1", "--to", "A3", "--reason", "ill", "--as", "D1"]
    assert run(act) == 1
    assert "A3 may not mark C01: no licence is on record" in capsys.readouterr().err
    assert run([*act, "--waive", "A3's papers are on the way", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["markers"], len(told["waivers"])) == (["A3"], 1)


@pytest.mark.parametrize(
    "words", [[], ["--to", "A2"], ["--waive", "x"], ["--from", "A2", "--reason", "x", "--whole-course"]]
)
def test_options_that_do_not_go_together(root: Path, words: list[str], capsys) -> None:
    assert run(["allocate", str(root), "T1.C01", *words, "--as", "D1"]) == 2


def test_without_any_licence_one_sentence_says_so_and_nothing_is_found(root: Path, capsys) -> None:
    assert run(["check", str(root), "--as", "D1"]) == 0
    assert capsys.readouterr().out.count("no licence is on record") == 1
    assert run(["check", str(root), "--as", "D1", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["findings"] == []
