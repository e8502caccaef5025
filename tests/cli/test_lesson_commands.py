"""`assess lesson` and `assess change`: the readings of the sample lessons against the table worked out by hand."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import ROOT, assess

PRACTICE = ROOT / "sample_sessions" / "practice" / "alpine-ski.yaml"
# The project's own arithmetic, three decimals; the last digit may differ by one.
TABLE = ROOT / "tests" / "data" / "lesson" / "readings.csv"


@pytest.fixture(scope="module")
def said() -> dict[str, dict[str, Any]]:
    ran = assess("lesson", PRACTICE, "--json")
    assert ran.code == 0, ran.err
    return {lesson["id"]: lesson for lesson in ran.json["lessons"]}


def rows() -> list[dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["lesson"])
def test_every_reading_of_the_sample_lessons_is_the_tables(
    said: dict[str, dict[str, Any]], row: dict[str, str]
) -> None:
    lesson = said[row["lesson"]]
    diagnosis, fit, change = lesson["diagnosis"], lesson["drill_fit"], lesson["change"]
    found = {
        "score": diagnosis["score"], "recall": diagnosis["recall"], "ndcg": diagnosis["ndcg"],
        "precision": diagnosis["precision"], "stock_answer": diagnosis["stock_answer"], "drill_fit": fit["value"],
        "own_fit": fit["own_value"], "progression": lesson["progression"]["value"],
        "safety": lesson["safety"]["value"], "hazard_recall": lesson["safety"]["hazard_recall"],
        "delta": change["delta"], "cliff_delta": change["cliff_delta"],
    }  # fmt: skip
    for name, value in found.items():
        if row[name] == "":
            assert value is None, name
        else:
            digits = len(row[name].partition(".")[2])
            assert value is not None and abs(value - float(row[name])) < 1.01 * 10**-digits, name
    assert len(diagnosis["false_alarms"]) == int(row["false_alarms"])
    assert len(diagnosis["harmful"]) == int(row["harmful"])
    assert sorted(lesson["safety"]["possible_breaches"]) == sorted(row["possible_breaches"].split())
    assert change["verdict"] == row["verdict"]


def test_an_unsafe_lesson_that_diagnoses_better_is_shown_as_such_beside_its_possible_breach(said) -> None:
    assert said["S5-unsafe"]["diagnosis"]["score"] > said["S5-mediocre"]["diagnosis"]["score"]
    assert said["S5-unsafe"]["safety"]["possible_breaches"] == ["look-up", "must", "incident"]
    text = assess("lesson", PRACTICE).out
    part = text[text.index("S5-unsafe") :]
    assert "possible breach, look              look-up, must, incident" in part and "found, of what mattered" in part


def test_the_text_gives_no_number_merged_from_several_readings(said) -> None:
    for lesson in said.values():
        assert set(lesson) == {"id", "diagnosis", "drill_fit", "progression", "safety", "change"}


def test_an_unknown_key_is_refused_with_its_line(tmp_path: Path) -> None:
    lines = PRACTICE.read_text(encoding="utf-8").split("\n")
    place = next(number for number, line in enumerate(lines) if line.startswith("  place:"))
    lines.insert(place, "  colour: red")
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text("\n".join(lines), encoding="utf-8")
    ran = assess("lesson", wrong, "--json")
    assert ran.code == 3 and ran.out == ""
    assert f"{wrong}:{place + 1}: " in ran.err and "colour" in ran.err


def test_the_second_activity_is_read_without_being_named() -> None:
    others = sorted(path for path in PRACTICE.parent.glob("*.yaml") if not path.name.startswith("alpine"))
    assert others
    for path in others:
        ran = assess("lesson", path, "--json")
        assert ran.code == 0, ran.err
        assert len(ran.json["lessons"]) >= 2


def side(folder: Path, name: str, runs: list[list[float]], slope: float = 14) -> Path:
    table = folder / f"{name}.csv"
    rows = [f"{r},{t},{value}" for r, run in enumerate(runs, 1) for t, value in enumerate(run, 1)]
    table.write_text("run,turn,value\n" + "\n".join(rows) + "\n", encoding="utf-8")
    about = {
        "measure": {
            "id": "corridor-m", "better": "lower", "what": "metres",
            "mdc95": {"value": 5.4, "of": "difference of two run means", "turns_per_run": 4, "retest_pairs": 12,
                      "ci95": [4, 8], "untaught_change": 0.6},
        },
        "place": "north bowl", "slope": slope, "snow": "hard", "ability": 7,
    }  # fmt: skip
    table.with_suffix(".yaml").write_text(json.dumps(about), encoding="utf-8")
    return table


def test_change_compares_two_tables_and_says_one_of_five_words(tmp_path: Path) -> None:
    before = side(tmp_path, "before", [[68, 70, 66, 69], [71, 65, 70, 69]])
    after = side(tmp_path, "after", [[52, 50, 53, 49], [55, 51, 50, 53]])
    ran = assess("change", before, after, "--json")
    assert ran.code == 0, ran.err
    assert ran.json["verdict"] == "improved" and ran.json["limit"] == 3.82
    steeper = side(tmp_path, "steeper", [[52, 50, 53, 49], [55, 51, 50, 53]], slope=20)
    told = assess("change", before, steeper, "--json").json
    assert told["verdict"] == "not comparable" and told["delta"] is None


def test_a_table_with_a_wrong_row_is_refused_with_its_line(tmp_path: Path) -> None:
    before = side(tmp_path, "before", [[68, 70]])
    after = side(tmp_path, "after", [[52, 50]])
    after.write_text("run,turn,value\n1,1,52\n1,x,9\n1,1,8\n", encoding="utf-8")
    ran = assess("change", before, after)
    assert ran.code == 3
    assert f"{after}:3: " in ran.err and f"{after}:4: " in ran.err


def test_check_takes_catalogues_and_practice_lessons_of_every_activity() -> None:
    catalogues = sorted((ROOT / "rubrics").glob("*/catalogue"))
    assert len(catalogues) >= 2
    ran = assess("check", *catalogues, *sorted(PRACTICE.parent.glob("*.yaml")))
    assert (ran.code, ran.out) == (0, "nothing wrong\n")


def test_open_prints_the_readings_of_a_practice_file_where_there_is_no_screen() -> None:
    assert assess("open", PRACTICE).out == assess("lesson", PRACTICE).out


def test_a_drill_nobody_knows_is_a_finding_with_its_line(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text(PRACTICE.read_text(encoding="utf-8").replace("{id: run-bounce,", "{id: run-bunce,", 1))
    ran = assess("check", wrong)
    assert ran.code == 1 and f"{wrong}:" in ran.out and "run-bunce" in ran.out
