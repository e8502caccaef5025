"""What candidates told of themselves, in a course folder: it is in the copy for the person, and it is to go."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assess.desk.person_erase import erasure_told
from assess.desk.person_export import export_person
from assess.records.errors import InputError
from tests.courses import build_course, open_desk

GROUPS = """\
# assess groups 1
asked: "by form"
persons:
- {id: p1, attempts: [K-OLD/C02, K-TEST/C01], groups: {first-language: mine}}
- {id: p2, attempts: [K-TEST/C02, K-OLD/C01], groups: {first-language: another}}
"""


@pytest.fixture
def root(tmp_path: Path) -> Path:
    root = build_course(tmp_path / "course", names=("Aldous Prynne", "Beric Stannow", "Calla Wendt"))
    (root / "groups.yaml").write_text(GROUPS, encoding="utf-8")
    return root


def about(root: Path, who: str) -> object:
    files = export_person(open_desk(root, "D1"), who).files
    return json.loads(files["person.json"])["told_of_themselves"]


def test_a_copy_holds_the_persons_own_entry_and_no_other(root: Path) -> None:
    assert about(root, "C01") == [{"first-language": "mine"}]
    assert about(root, "C02") == [{"first-language": "another"}]
    assert about(root, "C03") == about(root, "A1") == []
    (root / "groups.yaml").unlink()
    assert about(root, "C01") == []


def test_an_erasure_names_the_line_a_person_has_to_take_out(root: Path) -> None:
    left = erasure_told(open_desk(root, "D1"), "C02").left
    assert [(found.file, found.line, found.what) for found in left] == [
        ("groups.yaml", 5, "holds what this person told of themselves")
    ]
    assert "another" not in str(left[0])
    assert erasure_told(open_desk(root, "D1"), "C03").left == ()


def test_a_groups_file_that_cannot_be_read_is_named_and_nothing_is_promised(root: Path) -> None:
    (root / "groups.yaml").write_text(GROUPS.replace("asked", "ask"), encoding="utf-8")
    assert {found.file for found in erasure_told(open_desk(root, "D1"), "C01").left} == {"groups.yaml"}
    with pytest.raises(InputError):
        export_person(open_desk(root, "D1"), "C01")
