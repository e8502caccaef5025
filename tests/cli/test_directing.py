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
