from __future__ import annotations

import copy
import unicodedata
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from assess.desk.rubric_show import show_rubric
from assess.records.errors import UsageError
from assess.records.rubric import Rubric

SHIPPED = Path(__file__).parents[2] / "rubrics" / "alpine-ski" / "r-2026.2.yaml"
WIDTH = 100


@cache
def _data() -> Any:
    return YAML(typ="safe").load(SHIPPED.read_text(encoding="utf-8"))


@cache
def _shipped() -> Rubric:
    return Rubric.model_validate(_data())


def _listed() -> list[Any]:
    return [*_shipped().must_nots, *_shipped().safety_list, *_shipped().questions]


def _cells(line: str) -> int:
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in line
    )


def _running(lines: list[str]) -> str:
    """The lines as one text, as somebody reads on over a line's end."""
    return " ".join(" ".join(lines).split())


def test_every_sentence_of_the_rubric_is_shown() -> None:
    shown = _running(show_rubric(_shipped()))
    rubric = _shipped()
    sentences = [
        rubric.title, rubric.note, *rubric.scale.words.values(),
        *(area.title for area in rubric.areas.values()),
        *(text for task in rubric.tasks.values() for text in (task.title, task.plan_b)),
        *(feature for task in rubric.tasks.values() if task.terrain for feature in task.terrain.features),
        *(text for item in rubric.criteria.values() for text in (item.label, item.text, *item.levels.values())),
        *(item.text for item in _listed()),
        *(error.source for error in (rubric.band.sheet_error.values() if rubric.band else ())),
        rubric.breach.standard if rubric.breach else "",
    ]  # fmt: skip
    assert [text for text in sentences if text not in shown] == []


def test_every_id_one_types_is_shown() -> None:
    shown = _running(show_rubric(_shipped()))
    rubric = _shipped()
    ids = [*rubric.areas, *rubric.modules, *rubric.tasks, *rubric.criteria]
    ids += [item.id for item in _listed()]
    assert [name for name in ids if name not in shown] == []


@pytest.mark.parametrize("task", [None, "T1", "T4", "T6"])
def test_no_line_is_wider_than_a_hundred_cells_or_ends_in_a_space(task: str | None) -> None:
    lines = show_rubric(_shipped(), task=task)
    assert [line for line in lines if _cells(line) > WIDTH or line != line.rstrip() or "\n" in line] == []


@pytest.mark.parametrize(
    "sentence",
    [
        "pass line 3.5: a value of 3.5 or more is above it",
        "at least 0.75 of a sheet's weight must have been seen",
        "something seen in the task is needed for every level below 3.5, and for 6",
        "no value under 2.5; at most 3 of 12 values below the line in demo, 2 of 8 in teach, 1 of 4 in safety",
        "sheets more than 0.75 apart, or on different sides of the line, or one criterion 2 or more apart",
        "T2 2 runs, the best counts (on average 0.56 of the run-to-run noise above one run)",
        "T3 2 runs, one overall mark counts",
        "another run only for: obstructed, assessor-error, unsafe-ground",
        "within 12 months, at most 2 tries, at least 1 assessor who is new; passed modules are carried 24 months",
        "not by: reporter, decider, partner-who-did-not-see",
        "demo 0.188 on both sides of the line with 6 sheets",
    ],
)
def test_the_rules_are_told_in_sentences(sentence: str) -> None:
    assert sentence in _running(show_rubric(_shipped()))


def test_levels_stand_one_to_a_line_lowest_first() -> None:
    lines = show_rubric(_shipped(), task="T2")
    at = next(number for number, line in enumerate(lines) if "Rhythm" in line)
    levels = [line.split()[0] for line in lines[at + 1 :] if line.strip()[:1].isdigit()][:6]
    assert levels == ["1", "2", "3", "4", "5", "6"]


def test_one_task_shows_its_own_criteria_and_no_others() -> None:
    shown = _running(show_rubric(_shipped(), task="T4"))
    rubric = _shipped()
    assert all(rubric.criteria[name].text in shown for name in rubric.tasks["T4"].criteria)
    assert not any(rubric.criteria[name].text in shown for name in rubric.tasks["T5"].criteria[:3])


def test_a_lesson_shows_its_safety_list_questions_and_must_nots_and_a_demonstration_only_what_closes_it() -> None:
    rubric = _shipped()
    lesson, demo = (_running(show_rubric(rubric, task=task)) for task in ("T5", "T1"))
    assert all(item.text in lesson for item in _listed())
    assert not any(item.text in demo for item in _listed() if item not in rubric.must_nots)
    assert [rule.id for rule in rubric.must_nots if rule.text in demo] == ["people-put-at-risk"]


def test_a_second_performance_shows_the_task_it_belongs_to() -> None:
    assert show_rubric(_shipped(), task="T2-2") == show_rubric(_shipped(), task="T2")


def test_an_unknown_task_is_refused_with_the_tasks_there_are() -> None:
    with pytest.raises(UsageError) as caught:
        show_rubric(_shipped(), task="T9")
    assert "T9" in caught.value.sentence
    assert "T1, T2, T3, T4, T5, T6" in caught.value.sentence


def test_a_bare_rubric_is_shown_without_the_parts_it_does_not_have() -> None:
    data = copy.deepcopy(_data())
    for key in ("band", "minimum", "breach", "resit", "below_line", "must_nots", "safety_list", "questions", "passes",
                "runs", "rerun_reasons", "note", "replaces", "evidence_needed"):  # fmt: skip
        del data[key]
    for task in data["tasks"].values():
        task.pop("terrain", None)
        task.pop("plan_b", None)
    lines = show_rubric(Rubric.model_validate(data))
    assert "no band" in _running(lines)
    assert "MUST-NOTS" not in lines


def test_weights_that_differ_stand_with_their_criteria() -> None:
    data = {**_data(), "weights": {"edging": "2"}}
    lines = show_rubric(Rubric.model_validate(data))
    assert [line for line in lines if "weight 2" in line and "edging" in line]
    assert not [line for line in show_rubric(_shipped()) if "weight 1" in line]


@given(st.text(min_size=1, max_size=300))
@settings(max_examples=60, deadline=None)
def test_any_text_fits_the_width_and_shows_no_control_characters(text: str) -> None:
    data = copy.deepcopy(_data())
    data["title"] = text[:120]
    data["criteria"]["edging"]["levels"][3] = text
    data["must_nots"][0]["text"] = text
    lines = show_rubric(Rubric.model_validate(data))
    assert all(_cells(line) <= WIDTH for line in lines)
    assert not [char for line in lines for char in line if unicodedata.category(char) in ("Cc", "Cs")]


def test_wide_letters_are_counted_as_two_cells() -> None:
    data = copy.deepcopy(_data())
    data["criteria"]["edging"]["levels"][3] = "雪" * 130
    lines = show_rubric(Rubric.model_validate(data))
    held = [line for line in lines if "雪" in line]
    assert sum(line.count("雪") for line in held) == 130
    assert all(_cells(line) <= WIDTH for line in held)
