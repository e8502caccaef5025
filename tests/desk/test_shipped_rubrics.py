from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from assess.desk.rubric_check import check_rubric
from assess.records.rubric import Rubric
from assess.store.validate import as_model
from assess.store.yaml_file import YamlDoc, read_yaml

FOLDER = Path(__file__).parents[2] / "rubrics" / "alpine-ski"
FILES = ("r-2026.1", "r-2026.2")
# A level's sentence on a screen of 80 columns: a space, the label (12), a space, the digit, a space.
ROOM = 80 - (1 + 12 + 1 + 1 + 1)

# The tasks of the sample course, each with its criteria in the order of the score table's rows.
TASKS = {
    "T1": ("demo", "Long turns, medium speed, moderate slope", 6, ["over-feet", "edging", "line", "speed-control"]),
    "T2": ("demo", "Short turns in a 5 m lane", 6, ["separation", "rhythm", "edging", "lane-held"]),
    "T3": ("demo", "Cut-up snow or bumps", 8, ["over-feet", "absorb", "line", "speed-control"]),
    "T4": ("teach", "Beginner group of five, 25 min", 25,
           ["plan-and-fit", "show-and-tell", "group-and-place", "learner-change"]),
    "T5": ("teach", "One learner, find and treat the fault, 25 min", 25,
           ["diagnosis", "drill-choice", "build-up", "learner-change"]),
    "T6": ("safety", "Hazard walk and incident talk-through, 15 min", 15,
           ["hazards", "rules-and-places", "incident-steps", "kit-and-weather"]),
}  # fmt: skip

# The rules the sample course is decided by; its outcomes rest on every one of these values.
RULES = """
scale:
  min: 1
  max: 6
  pass_line: "3.5"
  words:
    1: "somebody was put at risk, or it cannot be tried yet"
    2: "parts of it, on easier ground than asked"
    3: "holds on easier ground, goes on the task's own"
    4: "holds on the task's own ground"
    5: "holds when snow, slope or learner change"
    6: "one would film it for the others"
weights: "1"
coverage: "0.75"
evidence_needed: {below: "3.5", also: [6]}
rule: mixed
minimum: {value: "2.5", over: task_criterion_mean, inclusive: true}
below_line: {demo: 3, teach: 2, safety: 1}
two_markers: {sheet_apart: "0.75", other_side_of_line: true, criterion_apart: 2}
band:
  z: "1"
  sheet_error:
    demo: {value: "0.46", source: "courses of 2023-2025 (invented), pairs of this module", date: "2025-11-30",
           n_pairs: 84, ci95: ["0.40", "0.54"]}
    teach: {value: "0.55", source: "courses of 2023-2025 (invented), pairs of this module", date: "2025-11-30",
            n_pairs: 52, ci95: ["0.46", "0.68"]}
    safety: {value: "0.47", source: "pooled over modules, own pairs fewer than 30 (21)", date: "2025-11-30",
             n_pairs: 157, ci95: ["0.42", "0.53"]}
third_look: {slot_value: mean, median_if_apart: null, after: result_stands}
minimum_evidence: {scores: 1, viewpoints: 0, tasks: 1}
passes: {T1: last, T2: best, T3: overall}
rerun_reasons: [obstructed, assessor-error, unsafe-ground]
must_nots:
- {id: beyond-a-closure, text: "goes, or takes people, past a rope, sign or closed line", closes: [teach, safety]}
- {id: too-steep-for-learner, text: "takes a learner onto ground they cannot leave on their own feet",
   closes: [teach, safety]}
- {id: people-put-at-risk, text: "sends somebody into the path of others", closes: [demo, teach, safety]}
- {id: group-out-of-count, text: "goes on while somebody of the group is missing", closes: [teach, safety]}
- {id: stop-under-danger, text: "lets people stand where something can come down on them", closes: [teach, safety]}
- {id: incident-ignored, text: "does not act on an incident of their own group", closes: [teach, safety]}
breach: {standard: "more likely than not, on first-hand evidence",
         confirmer_not: [reporter, decider, partner-who-did-not-see]}
resit: {within_months: 12, max_tries: 2, new_assessors_at_least: 1, carried_months: 24}
"""


@cache
def _doc(name: str) -> YamlDoc:
    return read_yaml(FOLDER / f"{name}.yaml", shown=f"{name}.yaml", what="rubric")


@cache
def _rubric(name: str) -> Rubric:
    return as_model(_doc(name), Rubric)


def _sentences(rubric: Rubric) -> Iterator[tuple[str, int, str]]:
    for name, criterion in rubric.criteria.items():
        for level, sentence in criterion.levels.items():
            yield name, level, sentence


def _different(one: Any, two: Any, place: str = "") -> Iterator[str]:
    if isinstance(one, dict) and isinstance(two, dict):
        for key in sorted({*one, *two}, key=str):
            yield from _different(one.get(key), two.get(key), f"{place}.{key}" if place else str(key))
    elif one != two:
        yield place


@pytest.mark.parametrize("name", FILES)
def test_a_shipped_rubric_is_named_as_its_file_and_the_check_has_nothing_to_say(name: str) -> None:
    assert _rubric(name).id == name
    assert check_rubric(_rubric(name), _doc(name).lines, name) == []


@pytest.mark.parametrize("name", FILES)
def test_the_store_reads_what_a_yaml_1_2_parser_reads(name: str) -> None:
    plain = YAML(typ="safe", pure=True).load(_doc(name).raw.decode("utf-8"))
    assert plain == _doc(name).data


@pytest.mark.parametrize("name", FILES)
def test_the_rules_are_those_the_sample_course_is_decided_by(name: str) -> None:
    given = YAML(typ="safe").load(RULES)
    expected = Rubric.model_validate({**_doc(name).data, **given})
    assert _rubric(name) == expected
    assert _rubric(name).scale.pass_line == Fraction(7, 2)


@pytest.mark.parametrize("name", FILES)
def test_the_tasks_are_those_of_the_sample_course(name: str) -> None:
    rubric = _rubric(name)
    told = {key: (t.area, t.title, t.minutes, list(t.criteria)) for key, t in rubric.tasks.items()}
    assert told == TASKS
    assert {key: module.tasks for key, module in rubric.modules.items()} == {
        "demo": ("T1", "T2", "T3"), "teach": ("T4", "T5"), "safety": ("T6",),
    }  # fmt: skip
    assert [key for key, task in rubric.tasks.items() if task.lesson] == ["T4", "T5"]
    assert rubric.tasks["T4"].learners == 5
    assert set(rubric.criteria) == {criterion for _, _, _, criteria in TASKS.values() for criterion in criteria}


@pytest.mark.parametrize("name", FILES)
def test_every_task_says_its_ground_in_degrees_and_a_spare_plan(name: str) -> None:
    for task in _rubric(name).tasks.values():
        assert task.terrain is not None
        assert task.terrain.slope_deg is not None
        assert task.plan_b


@pytest.mark.parametrize("name", FILES)
def test_every_criterion_has_six_sentences_and_no_sentence_stands_twice(name: str) -> None:
    sentences = [sentence.casefold().strip(" .") for _, _, sentence in _sentences(_rubric(name))]
    assert len(sentences) == 19 * 6
    assert len(set(sentences)) == len(sentences)


@pytest.mark.parametrize("name", FILES)
def test_every_sentence_fits_beside_its_label_on_eighty_columns(name: str) -> None:
    rubric = _rubric(name)
    listed = [item.text for item in rubric.must_nots]
    listed += [item.text for item in rubric.safety_list] + [item.text for item in rubric.questions]
    assert [sentence for _, _, sentence in _sentences(rubric) if len(sentence) > ROOM] == []
    assert [text for text in listed if len(text) > ROOM] == []
    assert [item.label for item in rubric.criteria.values() if len(item.label) > 12] == []


@pytest.mark.parametrize("name", FILES)
def test_no_sentence_praises_names_a_fall_or_rewards_a_way_of_cueing(name: str) -> None:
    # A fall alone changes no mark; whether a cue points outward or inward, and the order of practice, earn nothing.
    words = (
        r"\b(excellent|good|bad|poor|nice|perfect|adequate|weak|falls?|fell|external|internal|cues?|random|blocked)\b"
    )
    assert [sentence for _, _, sentence in _sentences(_rubric(name)) if re.search(words, sentence)] == []


@pytest.mark.parametrize("name", FILES)
def test_the_first_level_of_every_criterion_is_a_risk_or_something_that_cannot_be_tried(name: str) -> None:
    risk = r"others' way|at risk|danger|people|control|will not|nothing|none|no |never|setting"
    assert [s for _, level, s in _sentences(_rubric(name)) if level == 1 and not re.search(risk, s)] == []


@pytest.mark.parametrize("name", FILES)
def test_a_demonstration_is_marked_by_where_it_holds(name: str) -> None:
    demo = [criterion for criterion in _rubric(name).criteria.values() if criterion.area == "demo"]
    assert all(re.search("gentle start|walking speed", item.levels[2]) for item in demo)
    assert all("main slope" in item.levels[3] and "gentle start" in item.levels[3] for item in demo)
    assert all("main slope" in item.levels[4] for item in demo)


@pytest.mark.parametrize("name", FILES)
def test_the_safety_list_has_eight_to_ten_items(name: str) -> None:
    assert 8 <= len(_rubric(name).safety_list) <= 10


def test_the_second_version_rewords_two_teaching_sentences_and_nothing_else() -> None:
    first, second = (_doc(name).data for name in FILES)
    assert sorted(_different(first, second)) == [
        "criteria.learner-change.levels.5", "criteria.show-and-tell.levels.4", "id", "note", "replaces",
    ]  # fmt: skip
    assert second["replaces"] == first["id"]
    assert all(_rubric(FILES[1]).criteria[key].area == "teach" for key in ("learner-change", "show-and-tell"))


@pytest.mark.parametrize("name", FILES)
def test_the_file_begins_with_what_it_is_and_how_to_edit_it(name: str) -> None:
    lines = _doc(name).raw.decode("utf-8").split("\n")
    assert lines[0] == "# assess rubric 1"
    head = "\n".join(lines[: next(number for number, line in enumerate(lines) if not line.startswith("#"))])
    assert "HOW TO EDIT THIS FILE" in head
    assert "assess rubric check FILE" in head
