from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from statistics import NormalDist
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from assess.desk.rubric_check import EXPECTED_BEST, check_rubric
from assess.records.errors import Problem
from assess.records.rubric import Rubric
from assess.store.validate import as_model
from assess.store.yaml_file import yaml_doc

SHIPPED = Path(__file__).parents[2] / "rubrics" / "alpine-ski" / "r-2026.1.yaml"
GONE = object()


@cache
def _shipped() -> Any:
    return YAML(typ="safe").load(SHIPPED.read_text(encoding="utf-8"))


def _places(value: Any, place: tuple[str, ...] = ()) -> Iterator[str]:
    if place:
        yield ".".join(place)
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from _places(item, (*place, str(key)))


def _changed(changes: dict[str, Any]) -> Any:
    """The shipped rubric's data with the values at dotted places replaced, added or taken out."""
    data = copy.deepcopy(_shipped())
    for place, value in changes.items():
        *way, last = place.split("/")
        at = data
        for step in way:
            at = at[int(step) if isinstance(at, list) or step.isdigit() else step]
        key: int | str = int(last) if isinstance(at, list) or last.isdigit() else last
        if value is GONE:
            del at[key]
        else:
            at[key] = value
    return data


def _lines(data: Any) -> dict[str, int]:
    return {place: number for number, place in enumerate(_places(data), start=10)}


def _findings(changes: dict[str, Any]) -> tuple[list[Problem], dict[str, int]]:
    data = _changed(changes)
    lines = _lines(data)
    return check_rubric(Rubric.model_validate(data), lines, "r.yaml"), lines


def _only(changes: dict[str, Any], place: str, words: str, *, doubt: bool) -> Problem:
    """The one finding these changes give, at the line of `place`."""
    findings, lines = _findings(changes)
    assert [words in found.what for found in findings] == [True], [str(found) for found in findings]
    found = findings[0]
    assert (found.file, found.doubt) == ("r.yaml", doubt)
    assert found.line == (lines[place] if place else 0)
    assert found.todo
    return found


SAME = "grips on the gentle start, tails wash out on the main slope"
EVEN_WEIGHTS = dict.fromkeys(["separation", "rhythm", "edging", "lane-held"], "1")

PROBLEMS: list[tuple[str, dict[str, Any], str, str]] = [
    ("pass line above the scale", {"scale/pass_line": "6.5"}, "scale.pass_line", "nobody can reach the pass line 6.5"),
    ("pass line under the scale", {"scale/pass_line": "0.5"}, "scale.pass_line",
     "every mark is above the pass line 0.5"),
    ("pass line on a level", {"scale/pass_line": "4"}, "scale.pass_line", "the pass line 4 is a level itself"),
    ("word missing", {"scale/words/3": GONE}, "scale.words", "level 3 has no sentence in the scale"),
    ("word of an unknown level", {"scale/words/7": "one more"}, "scale.words.7", "the scale has no level 7"),
    ("word empty", {"scale/words/2": "  "}, "scale.words.2", "level 2 has no sentence in the scale"),
    ("descriptor missing", {"criteria/edging/levels/3": GONE}, "criteria.edging.levels",
     "level 3 has no sentence in criterion edging"),
    ("descriptor empty", {"criteria/edging/levels/3": ""}, "criteria.edging.levels.3",
     "level 3 has no sentence in criterion edging"),
    ("descriptor extra", {"criteria/edging/levels/0": "nothing"}, "criteria.edging.levels.0",
     "the scale has no level 0"),
    ("two levels alike", {"criteria/edging/levels/4": SAME + "."}, "criteria.edging.levels.4",
     "levels 3 and 4 of criterion edging are the same sentence"),
    ("criterion without a question", {"criteria/line/text": ""}, "criteria.line.text", "criterion line asks nothing"),
    ("criterion without a label", {"criteria/line/label": " "}, "criteria.line.label", "criterion line has no label"),
    ("two labels alike in one task", {"criteria/line/label": "Edging"}, "tasks.T1.criteria",
     "edging stands twice in the labels of task T1"),
    ("two criteria ask the same", {"criteria/line/text": "Do the skis stay on the snow where the ground is rough"},
     "criteria.absorb.text", "criteria line and absorb ask the same"),
    ("criterion of an unknown area", {"criteria/line/area": "freestyle"}, "criteria.line.area", "no area freestyle"),
    ("task of an unknown area", {"tasks/T2/area": "walks"}, "tasks.T2.area", "no area walks"),
    ("task with an unknown criterion", {"tasks/T6/criteria": ["hazards", "rules-and-places", "incident-steps",
     "kit-and-weather", "sunscreen"]}, "tasks.T6.criteria", "there is no criterion sunscreen, yet task T6 names it"),
    ("task with a criterion twice", {"tasks/T6/criteria": ["hazards", "hazards", "rules-and-places", "incident-steps",
     "kit-and-weather"]}, "tasks.T6.criteria", "hazards stands twice in task T6"),
    ("task without a title", {"tasks/T6/title": ""}, "tasks.T6.title", "task T6 has no title"),
    ("slope upside down", {"tasks/T1/terrain/slope_deg": [19, 13]}, "tasks.T1.terrain.slope_deg",
     "the slope of task T1 goes from 19 to 13"),
    ("module of an unknown area", {"modules/safety/area": "walks"}, "modules.safety.area", "no area walks"),
    ("module with an unknown task", {"modules/safety/tasks": ["T6", "T9"]}, "modules.safety.tasks",
     "there is no task T9, yet module safety names it"),
    ("module with another area's task", {"modules/safety/tasks": ["T6", "T1"]}, "modules.safety.tasks",
     "task T1 of area demo stands in module safety"),
    ("module with a task twice", {"modules/demo/tasks": ["T1", "T2", "T3", "T3"]}, "modules.demo.tasks",
     "T3 stands twice in module demo"),
    ("task in no module", {"modules/demo/tasks": ["T1", "T3"], "passes/T2": GONE, "runs/T2": GONE}, "tasks.T2",
     "task T2 is in no module"),
    ("weight nothing", {"weights": "0"}, "weights", "a weight of 0"),
    ("weight negative", {"weights": {"edging": "-1"}}, "weights.edging", "a weight of -1"),
    ("weight of an unknown criterion", {"weights": {"style": "1"}}, "weights.style", "no criterion style"),
    ("coverage nothing", {"coverage": "0"}, "coverage", "coverage 0 is not a share"),
    ("coverage above one", {"coverage": "1.25"}, "coverage", "coverage 1.25 is not a share"),
    ("evidence for an unknown level", {"evidence_needed/also": [6, 9]}, "evidence_needed.also",
     "the scale has no level 9"),
    ("minimum above the scale", {"minimum/value": "6.5"}, "minimum.value", "nobody can reach the minimum 6.5"),
    ("minimum is the top and not enough", {"minimum/value": "6", "minimum/inclusive": False}, "minimum.value",
     "nobody can reach the minimum 6"),
    ("room for an unknown module", {"below_line/moguls": 1}, "below_line.moguls", "no module moguls"),
    ("no sheet error for a module", {"band/sheet_error/teach": GONE}, "band.sheet_error",
     "module teach has no sheet_error"),
    ("sheet error of an unknown module", {"band/sheet_error/moguls": {"value": "0.5", "source": "x",
     "date": "2025-11-30", "n_pairs": 40, "ci95": ["0.4", "0.6"]}}, "band.sheet_error.moguls", "no module moguls"),
    ("sheet error nothing", {"band/sheet_error/demo/value": "0", "band/sheet_error/demo/ci95": ["0", "0.1"]},
     "band.sheet_error.demo.value", "sheet_error of module demo is 0"),
    ("interval beside the value", {"band/sheet_error/demo/ci95": ["0.50", "0.60"]}, "band.sheet_error.demo.ci95",
     "the interval 0.5 to 0.6 does not hold the value 0.46"),
    ("interval upside down", {"band/sheet_error/demo/ci95": ["0.54", "0.40"]}, "band.sheet_error.demo.ci95",
     "the interval 0.54 to 0.4 does not hold the value 0.46"),
    ("sheet error without a source", {"band/sheet_error/demo/source": ""}, "band.sheet_error.demo.source",
     "sheet_error of module demo has no source"),
    ("z nothing", {"band/z": "0"}, "band.z", "z is 0"),
    ("z negative", {"band/z": "-1"}, "band.z", "z is -1"),
    ("runs of an unknown task", {"runs/T9": 2}, "runs.T9", "no task T9"),
    ("runs of a lesson", {"runs/T4": 2, "passes/T4": "last"}, "runs.T4", "task T4 is a lesson"),
    ("runs that nothing folds", {"passes/T1": GONE}, "runs.T1", "task T1 has 2 runs"),
    ("fold of an unknown task", {"passes/T9": "last"}, "passes.T9", "no task T9"),
    ("a fall buys a run", {"rerun_reasons": ["obstructed", "assessor-error", "unsafe-ground", "fall"]}, "rerun_reasons",
     "a fall buys no run"),
    ("must-not without wording", {"must_nots/0/text": ""}, "must_nots.0.text",
     "beyond-a-closure in must_nots has no wording"),
    ("must-not that closes nothing", {"must_nots/0/closes": []}, "must_nots.0.closes",
     "must-not beyond-a-closure closes no module"),
    ("must-not that closes an unknown module", {"must_nots/0/closes": ["teach", "moguls"]}, "must_nots.0.closes",
     "no module moguls"),
    ("two must-nots of one name", {"must_nots/1/id": "beyond-a-closure"}, "must_nots.1",
     "beyond-a-closure stands twice in must_nots"),
    ("no standard of proof", {"breach": None}, "breach", "there are must-nots and no breach standard"),
    ("empty standard of proof", {"breach/standard": ""}, "breach.standard",
     "there are must-nots and no breach standard"),
    ("safety item twice", {"safety_list/1/id": "head-count"}, "safety_list.1",
     "head-count stands twice in safety_list"),
    ("safety item empty", {"safety_list/1/text": ""}, "safety_list.1.text", "look-up in safety_list has no wording"),
    ("question empty", {"questions/1/text": ""}, "questions.1.text", "why-this in questions has no wording"),
    ("more tasks wanted than there are", {"minimum_evidence/tasks": 4}, "minimum_evidence.tasks", "minimum_evidence"),
    ("more viewpoints wanted than there are", {"minimum_evidence/viewpoints": 4}, "minimum_evidence.viewpoints",
     "minimum_evidence"),
    ("band over the whole scale", {"band/z": "8"}, "band.sheet_error.safety",
     "band of module safety reaches over the top"),
]  # fmt: skip

DOUBTS: list[tuple[str, dict[str, Any], str, str]] = [
    ("descriptor of another criterion", {"criteria/line/levels/3": SAME}, "criteria.line.levels.3",
     "level 3 of criterion line is word for word level 3 of criterion edging"),
    ("two levels nearly alike", {"criteria/edging/levels/4": SAME.replace("wash", "washed")},
     "criteria.edging.levels.4",
     "levels 3 and 4 of criterion edging are nearly the same sentence"),
    ("label too wide", {"criteria/edging/label": "Edges in turns"}, "criteria.edging.label", "longer than 12"),
    ("descriptor too long", {"criteria/edging/levels/3": "the tails " + "wash " * 20}, "criteria.edging.levels.3",
     "longer than 95"),
    ("area without tasks", {"areas/theory": {"title": "Theory"}}, "areas.theory", "area theory has no task"),
    ("criterion of no task", {"criteria/extra": {"area": "demo", "label": "Extra", "text": "Anything else seen?",
     "levels": {1: "q", 2: "w", 3: "e", 4: "r", 5: "t", 6: "y"}}}, "criteria.extra", "criterion extra is in no task"),
    ("weight that means nothing", {"weights": {"rhythm": "0.1"}}, "weights.rhythm",
     "criterion rhythm is 3.2 % of task T2"),
    ("weight that outweighs all", {"weights": {**EVEN_WEIGHTS, "rhythm": "16"}}, "weights.rhythm",
     "criterion rhythm alone decides task T2"),
    ("low marks without evidence", {"evidence_needed": {"below": "2.5", "also": [6]}}, "evidence_needed",
     "level 3 is below the line and can be locked with nothing seen"),
    ("every mark wants evidence", {"evidence_needed": {"below": "9"}}, "evidence_needed", "every level needs"),
    ("minimum under the scale", {"minimum/value": "1"}, "minimum.value", "the minimum 1 has no effect"),
    ("minimum above the line", {"minimum/value": "4"}, "minimum.value", "the minimum 4 is above the pass line"),
    ("room for all values", {"below_line/safety": 4}, "below_line.safety", "below_line 4 has no effect"),
    ("module without room", {"below_line/safety": GONE}, "below_line", "module safety has no entry in below_line"),
    ("mixed without its parts", {"minimum": None, "below_line": {}}, "rule", "rule mixed without"),
    ("compensatory with parts of mixed", {"rule": "compensatory"}, "rule", "rule compensatory"),
    ("sheets never apart", {"two_markers/sheet_apart": "5"}, "two_markers.sheet_apart",
     "no two sheets can be more than 5 apart"),
    ("criterion never apart", {"two_markers/criterion_apart": 6}, "two_markers.criterion_apart",
     "no two marks can be 6 apart"),
    ("no band", {"band": None}, "band", "there is no band"),
    ("few pairs", {"band/sheet_error/teach/n_pairs": 29}, "band.sheet_error.teach.n_pairs", "from 29 pairs"),
    ("median of third sheets", {"third_look/median_if_apart": "1.5"}, "third_look.median_if_apart",
     "raising one mark may lower the outcome"),
    ("no minimum evidence", {"minimum_evidence": {"scores": 0, "tasks": 0}}, "minimum_evidence",
     "a criterion nobody marked"),
    ("best of three", {"runs/T2": 3}, "passes.T2", "+0.85"),
    ("best of nobody knows how many", {"runs/T2": GONE}, "passes.T2", "+0.56"),
    ("fold of one run", {"runs/T1": 1}, "passes.T1", "task T1 has one run"),
    ("fold of an unwritten run", {"runs/T1": GONE}, "passes.T1", "task T1 has one run"),
    ("another reason for a run", {"rerun_reasons": ["obstructed", "assessor-error", "unsafe-ground", "cold"]},
     "rerun_reasons", "cold"),
    ("no must-nots", {"must_nots": [], "breach": None}, "must_nots", "there are no must-nots"),
    ("reporter may confirm", {"breach/confirmer_not": ["decider"]}, "breach.confirmer_not", "reporter"),
    ("no resit", {"resit": None}, "resit", "nothing is said about a resit"),
    ("no tries", {"resit/max_tries": 0}, "resit.max_tries", "max_tries 0"),
    ("resit by the same people", {"resit/new_assessors_at_least": 0}, "resit.new_assessors_at_least", "same assessors"),
    ("carried shorter than the resit", {"resit/carried_months": 6}, "resit.carried_months", "carried 6 months"),
    ("lessons without a safety list", {"safety_list": []}, "safety_list", "lessons and no safety list"),
    ("many criteria", {"tasks/T1/criteria": ["over-feet", "edging", "line", "speed-control", "separation", "rhythm",
     "absorb"]}, "tasks.T1.criteria", "task T1 has 7 criteria"),
]  # fmt: skip


def test_the_shipped_rubric_gives_nothing_to_say() -> None:
    assert _findings({}) == ([], _lines(_shipped()))


@pytest.mark.parametrize(("changes", "place", "words"), [case[1:] for case in PROBLEMS], ids=[c[0] for c in PROBLEMS])
def test_a_mistake_is_named_at_its_line_and_nothing_else_is(changes: dict[str, Any], place: str, words: str) -> None:
    _only(changes, place, words, doubt=False)


@pytest.mark.parametrize(("changes", "place", "words"), [case[1:] for case in DOUBTS], ids=[c[0] for c in DOUBTS])
def test_a_doubt_is_named_at_its_line_and_makes_nothing_unusable(
    changes: dict[str, Any], place: str, words: str
) -> None:
    _only(changes, place, words, doubt=True)


def test_a_criterion_in_a_task_of_another_area_is_a_problem_at_the_task() -> None:
    findings, lines = _findings({"criteria/hazards/area": "demo"})
    assert [(found.line, found.doubt) for found in findings] == [(lines["tasks.T6.criteria"], False)]
    assert "criterion hazards of area demo" in findings[0].what


def test_a_scale_without_two_levels_is_named_and_nothing_breaks() -> None:
    findings, lines = _findings({"scale/max": 1, "scale/min": 6})
    assert any(found.line == lines["scale.max"] and "at least two levels" in found.what for found in findings)


def test_a_level_that_is_no_key_is_a_problem() -> None:
    findings, lines = _findings({"scale/min": 0, "scale/max": 7})
    assert any(found.line == lines["scale.min"] and "0 is the key for not observed" in found.what for found in findings)


def test_a_scale_of_a_thousand_million_levels_is_answered_at_once() -> None:
    findings, lines = _findings({"scale/max": 1_000_000_000})
    assert [found.line for found in findings] == [lines["scale.max"]]


def test_an_odd_number_of_levels_has_a_middle_seat() -> None:
    changes: dict[str, Any] = {f"criteria/{name}/levels/6": GONE for name in _shipped()["criteria"]}
    changes |= {"scale/max": 5, "scale/words/6": GONE, "evidence_needed/also": [5]}
    findings, lines = _findings(changes)
    assert [(found.line, found.doubt) for found in findings] == [(lines["scale.max"], True)]
    assert "level 3 is a middle seat" in findings[0].what


def test_a_line_of_something_absent_is_the_line_of_what_it_belongs_to() -> None:
    data = _changed({"criteria/edging/levels/3": GONE})
    found = check_rubric(Rubric.model_validate(data), {"criteria.edging": 77}, "r.yaml")
    assert [item.line for item in found] == [77]


def test_in_a_file_as_people_write_it_a_finding_has_the_line_an_editor_shows() -> None:
    text = SHIPPED.read_text(encoding="utf-8")
    broken = text.replace(f'3: "{SAME}"', '3: ""').replace("closes: [demo, teach, safety]", "closes: [demo, moguls]")
    doc = yaml_doc(broken.encode("utf-8"), SHIPPED, shown="r.yaml", what="rubric")
    rows = broken.split("\n")
    found = check_rubric(as_model(doc, Rubric), doc.lines, "r.yaml")
    assert ['3: ""' in rows[item.line - 1] or "moguls" in rows[item.line - 1] for item in found] == [True, True]


def test_without_lines_every_finding_still_names_the_file() -> None:
    found = check_rubric(Rubric.model_validate(_changed({"coverage": "0"})), {}, "r.yaml")
    assert [str(item).split(": ")[0] for item in found] == ["r.yaml"]


def test_a_task_named_like_a_second_performance_is_refused() -> None:
    task = copy.deepcopy(_shipped()["tasks"]["T6"])
    findings, lines = _findings({"tasks/T6-2": task, "modules/safety/tasks": ["T6", "T6-2"]})
    assert [(found.line, found.doubt) for found in findings] == [(lines["tasks.T6-2"], False)]


def test_findings_come_in_the_order_of_the_file() -> None:
    findings, _ = _findings({"coverage": "0", "scale/pass_line": "4", "resit": None, "tasks/T6/title": ""})
    assert [found.line for found in findings] == sorted(found.line for found in findings)
    assert len(findings) == 4


def test_expected_best_of_normal_runs_is_what_integration_gives() -> None:
    # Mean of the largest of n standard normal values: integral of x n F(x)^(n-1) f(x), trapezoids of 0.01.
    normal = NormalDist()
    for runs, told in EXPECTED_BEST.items():
        steps = [-8 + 0.01 * step for step in range(1601)]
        mean = sum(0.01 * x * runs * normal.cdf(x) ** (runs - 1) * normal.pdf(x) for x in steps)
        assert mean == pytest.approx(told, abs=0.005)


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_whatever_a_valid_rubric_holds_the_check_answers_and_every_finding_says_what_to_do(data: st.DataObject) -> None:
    number = st.integers(-20, 120).map(lambda tenths: f"{tenths / 10:.1f}")
    whole = st.integers(-2, 10)
    changes = {
        "scale/min": data.draw(whole),
        "scale/max": data.draw(whole),
        "scale/pass_line": data.draw(number),
        "coverage": data.draw(number),
        "minimum/value": data.draw(number),
        "band/z": data.draw(number),
        "band/sheet_error/demo/value": data.draw(number),
        "two_markers/sheet_apart": data.draw(number),
        "weights": data.draw(st.one_of(number, st.dictionaries(st.sampled_from(["edging", "line", "style"]), number))),
        "tasks/T1/criteria": data.draw(st.lists(st.sampled_from(["edging", "line", "nothing"]), max_size=3)),
        "modules/demo/tasks": data.draw(st.lists(st.sampled_from(["T1", "T2", "T3", "T9"]), max_size=4)),
        "runs": data.draw(st.dictionaries(st.sampled_from(["T1", "T4", "T9"]), st.integers(1, 9))),
    }
    findings, _ = _findings(changes)
    assert all(found.what and found.todo and found.line for found in findings)
