"""Every kind of file that the program reads or writes as its own has a schema; a new one without is found here.

The source is read for the two ways in which structured files come about: a model that reads one, and JSON that is
written. What is no file of ours is named with its reason.
"""

from __future__ import annotations

import ast
import io
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest

from assess.desk.printed import FILES
from assess.desk.schemas import SCHEMA_NAMES, model_of, schema
from tests.cli.commands import ROOT, assess
from tests.cli.json_contract import closed
from tests.courses import build_course
from tests.desk.test_person_export import root as full_course  # noqa: F401 - a fixture
from tests.seasons import build_season

PACKAGE = ROOT / "assess"
MODELS = {model.__name__ for name in SCHEMA_NAMES if (model := model_of(name)) is not None}
# Where the model is not written out: a table of models, which is held to the schemas beside.
TABLES = {"FRAMES[kind]", "HAND_EDITED[what]", "HAND_EDITED[group.stem]", "_MODELS[what]", "model"}

KEPT_HERE = "this device's own memory: it may be deleted, and no other program reads it"
NO_FILE = "never a file: hashed, compared, or said to another program that is running"
STANDARD = "the format of an open standard, whose own tables it is held to"
# Function in which JSON is written -> the schema of what it is, or why there is none.
WRITES: dict[str, str] = {
    "cli/outcomes.py:_to_file": "json-export",
    "cli/say.py:show_json": "json-results",
    "desk/case_page.py:case_json_bytes": "case",
    "desk/deciding.py:result_bytes": NO_FILE,
    "desk/person_export.py:export_person": "person",
    "desk/rubric_give.py:raw": "rubric-package",
    "desk/rubric_give.py:__init__": NO_FILE,
    "desk/rubric_give.py:give_rubric": "rubric-package",
    "desk/rubric_take.py:read_package": "rubric-package",
    "desk/film_start.py:_quoted": "season",
    "film/player.py:_answer": NO_FILE,
    "film/webvtt.py:data_cue": "cue",
    "reports/table_json.py:_bytes": "tables",
    "store/bundle.py:bundled_files": "bundle",
    "store/copies.py:remember_copies": KEPT_HERE,
    "store/film_digests.py:_keep": KEPT_HERE,
    "store/identity.py:_keep": KEPT_HERE,
    "store/jwt_file.py:_part": STANDARD,
    "store/parse_cache.py:remember": KEPT_HERE,
    "store/practice_results.py:add_result": "attempt",
    "store/quick_course.py:quick_sheets": KEPT_HERE,
    "store/strangers.py:held": NO_FILE,
    "store/unlocked.py:keep_unlocked": KEPT_HERE,
    "store/yaml_written.py:_flow": "course",
    "store/yaml_written.py:_quoted": "course",
}
"""Ledgers are written line by line in `store/lines.py`: the schemas `header` and `entry`."""


def calls(name: str) -> Iterator[tuple[str, ast.Call]]:
    """(file:function, call) for every call of a function with this name."""
    for path in sorted(PACKAGE.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for function in ast.walk(tree):
            if isinstance(function, ast.FunctionDef):
                for node in ast.walk(function):
                    if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] == name:
                        yield f"{path.relative_to(PACKAGE)}:{function.name}", node


def test_every_model_that_reads_a_file_has_a_schema() -> None:
    read = {ast.unparse(call.args[1]) for _, call in calls("as_model") if len(call.args) > 1}
    assert len(read) > 10
    assert read - MODELS - TABLES == set()


def test_the_tables_of_models_hold_none_without_a_schema() -> None:
    from assess.records.frame import FRAMES
    from assess.store.merge_rules import HAND_EDITED
    from assess.store.names_out import _MODELS

    for table in (FRAMES, HAND_EDITED, _MODELS):
        assert {model.__name__ for model in table.values()} <= MODELS


def test_all_json_that_is_written_has_a_schema_or_a_reason_why_it_is_no_file_of_ours() -> None:
    assert {place for place, _ in calls("dumps")} == set(WRITES)
    known = set(SCHEMA_NAMES) | {KEPT_HERE, NO_FILE, STANDARD}
    assert set(WRITES.values()) <= known
    assert set(FILES) <= set(WRITES.values())


def held(name: str, raw: str | bytes) -> None:
    validator = jsonschema.Draft202012Validator(closed(schema(name)))
    assert [f"{error.json_path}: {error.message[:200]}" for error in validator.iter_errors(json.loads(raw))] == []


def test_what_is_in_archives_and_tables_fits_its_schema(full_course: Path, tmp_path: Path) -> None:  # noqa: F811
    copy, case, tables = tmp_path / "c.zip", tmp_path / "case.zip", tmp_path / "tables"
    for words in (
        ("person", "export", full_course, "C01", "--to", copy),
        ("case", full_course, "C01", "--zip", case),
        ("export", full_course, "--to", "tables", "--out", tables),
    ):
        ran = assess(*words, "--as", "D1")
        assert ran.code == 0, ran.all
    with zipfile.ZipFile(copy) as archive:
        held("person", archive.read("person.json"))
    with zipfile.ZipFile(case) as archive:
        held("case", next(archive.read(name) for name in archive.namelist() if name.endswith("case.json")))
    held("tables", (tables / "tables.json").read_bytes())


def test_a_bundle_an_attempt_and_a_cue_fit_their_schemas(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    course = build_course(tmp_path / "course", candidates=2)
    assert assess("mark", course / "T1.C01", "over-feet=4", "--as", "A1").code == 0
    assert assess("bundle", course, "--to", tmp_path, "--as", "A1").code == 0
    with zipfile.ZipFile(io.BytesIO(next(tmp_path.glob("*.zip")).read_bytes())) as archive:
        held("bundle", archive.read("bundle.json"))

    monkeypatch.setenv("ASSESS_DATA_DIR", str(tmp_path / "data"))
    lesson = ROOT / "sample_sessions" / "practice" / "alpine-ski.yaml"
    assert assess("practice", lesson, "--named", "aft-stance", "--as", "KW").code == 0
    (line,) = next((tmp_path / "data").rglob("*.jsonl")).read_text(encoding="utf-8").splitlines()
    held("attempt", line)

    season = build_season(tmp_path / "season", films=1)
    assert assess("film", season, "F1", "--fault", "late", "--plan", "earlier", "--as", "TR").code in (0, 1)
    for words in (("--fault", "late"), ("--plan", "earlier"), ("--note", "seen", "--at", "0:30")):
        assert assess("film", season, "F1", *words, "--as", "TR").code in (0, 1)
    assert assess("film", season, "F1", "--to-vtt", tmp_path / "f.vtt", "--as", "TR").code == 0
    cues = [row for row in (tmp_path / "f.data.vtt").read_text(encoding="utf-8").split("\n") if row.startswith("{")]
    assert cues
    for cue in cues:
        held("cue", cue)
