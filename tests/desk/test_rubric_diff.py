from __future__ import annotations

import copy
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel
from ruamel.yaml import YAML

from assess.desk.rubric_diff import Change, RubricDiff, diff_rubrics
from assess.records.rubric import Rubric

SHIPPED = Path(__file__).parents[2] / "rubrics" / "alpine-ski"
# What the shipped rubric leaves open, so that every part of the model has a value.
ALL_OF_IT = {
    "note": "a note", "replaces": "r-2025.9", "third_look": {"median_if_apart": "1.5"},
    "weights": {"edging": "2", "line": "1"},
}  # fmt: skip
OTHER_WORDS = {
    "rule": "conjunctive", "over": None, "slot_value": None, "after": None, "language": "de", "activity": "telemark",
    "date": "2024-01-31", "replaces": "r-2024.1", "id": "r-other",
    "passes": "median",
}  # fmt: skip


@cache
def _data(name: str = "r-2026.1") -> Any:
    return YAML(typ="safe").load((SHIPPED / f"{name}.yaml").read_text(encoding="utf-8"))


@cache
def _full() -> Rubric:
    return Rubric.model_validate({**copy.deepcopy(_data()), **ALL_OF_IT})


def _leaves(value: Any, place: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    if isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from _leaves(getattr(value, name), (*place, name))
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _leaves(item, (*place, key))
    elif isinstance(value, tuple) and value and place[-1] != "ci95" and place[-1] != "slope_deg":
        for at, item in enumerate(value):
            yield from _leaves(item, (*place, at))
    else:
        yield place, value


def _other(place: tuple[str | int, ...], value: Any) -> Any:
    """Another value of the same kind; None where the model allows only one."""
    names = [part for part in place if isinstance(part, str)]
    if names[-1] == "area":
        return "teach" if value == "safety" else "safety"
    if names[-1] == "observable_from":
        return "side" if value == "film" else "film"
    for word in (names[-1], names[0]):
        if word in OTHER_WORDS:
            return OTHER_WORDS[word]
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 1
    if isinstance(value, Fraction):
        return value + Fraction(1, 4)
    if isinstance(value, tuple):
        return tuple(item + 1 for item in value) or ("more",)
    return f"{value}-x" if value is not None else None


def _replaced(value: Any, place: tuple[str | int, ...], new: Any) -> Any:
    if not place:
        return new
    first, rest = place[0], place[1:]
    if isinstance(value, BaseModel):
        return value.model_copy(update={str(first): _replaced(getattr(value, str(first)), rest, new)})
    if isinstance(value, dict):
        return {key: _replaced(item, rest, new) if key == first else item for key, item in value.items()}
    return tuple(_replaced(item, rest, new) if at == first else item for at, item in enumerate(value))


LEAVES = [(place, value) for place, value in _leaves(_full()) if _other(place, value) is not None]


def _diff(changes: dict[str, Any], base: Any = None) -> RubricDiff:
    data = copy.deepcopy(base if base is not None else _data())
    old = Rubric.model_validate(copy.deepcopy(data))
    for place, value in changes.items():
        *way, last = place.split("/")
        at = data
        for step in way:
            at = at[int(step) if isinstance(at, list) or step.isdigit() else step]
        if value is None and isinstance(at, dict) and last in at:
            del at[last]
        else:
            at[int(last) if isinstance(at, list) or last.isdigit() else last] = value
    return diff_rubrics(old, Rubric.model_validate(data))


def _one(changes: dict[str, Any]) -> Change:
    diff = _diff(changes)
    assert len(diff.changes) == 1, [change.text for change in diff.changes]
    return diff.changes[0]


def test_equal_rubrics_give_an_empty_diff() -> None:
    diff = diff_rubrics(_full(), Rubric.model_validate(_full().model_dump(mode="json")))
    assert (diff.changes, diff.could_change_outcomes, diff.areas) == ((), False, ())
    assert diff.sentences == ("Nothing differs.",)


@pytest.mark.parametrize("key", list(Rubric.model_fields))
def test_every_single_value_that_differs_is_named_once(key: str) -> None:
    leaves = [(place, value) for place, value in LEAVES if place[0] == key]
    assert leaves
    for place, value in leaves:
        new = _replaced(_full(), place, _other(place, value))
        assert new != _full()
        changes = diff_rubrics(_full(), new).changes
        renamed = place[-1] == "id" and len(place) > 1
        assert len(changes) == (2 if renamed else 1), (place, [change.text for change in changes])
        assert {change.path.split(".")[0] for change in changes} == {key}
        assert all(change.why for change in changes)


def _without(value: Any, place: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Every optional part, entry and item of the full rubric, with what stays when it is taken out."""
    if isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            part = getattr(value, name)
            if part is not None and type(None) in get_args(field.annotation):
                yield (*place, name), None
            yield from _without(part, (*place, name))
    elif isinstance(value, dict):
        for key, item in value.items():
            yield place, {other: kept for other, kept in value.items() if other != key}
            yield from _without(item, (*place, key))
    elif isinstance(value, tuple) and place[-1] not in ("ci95", "slope_deg"):
        for at, item in enumerate(value):
            yield place, (*value[:at], *value[at + 1 :])
            yield from _without(item, (*place, at))


def test_whatever_is_taken_out_or_put_in_is_named_once() -> None:
    cases = list(_without(_full()))
    assert len(cases) > 300
    for place, rest in cases:
        new = _replaced(_full(), place, rest)
        for diff in (diff_rubrics(_full(), new), diff_rubrics(new, _full())):
            assert len(diff.changes) == 1, (place, [change.text for change in diff.changes])


def test_every_part_of_the_model_has_words_of_its_own() -> None:
    found = [
        change
        for place, value in LEAVES
        for change in diff_rubrics(_full(), _replaced(_full(), place, _other(place, value))).changes
    ]
    assert not [change.text for change in found if "." in change.path and change.text.startswith(change.path)]


@given(
    st.lists(
        st.sampled_from([leaf for leaf in LEAVES if leaf[0][-1] != "id"]),
        min_size=2,
        max_size=5,
        unique_by=lambda leaf: leaf[0],
    )
)
@settings(max_examples=60, deadline=None)
def test_several_differences_are_all_named_and_none_besides(leaves: list[tuple[tuple[str | int, ...], Any]]) -> None:
    single: set[str] = set()
    new = _full()
    for place, value in leaves:
        other = _other(place, value)
        single |= {change.path for change in diff_rubrics(_full(), _replaced(_full(), place, other)).changes}
        new = _replaced(new, place, other)
    assert {change.path for change in diff_rubrics(_full(), new).changes} == single


def test_the_two_shipped_versions_differ_in_the_wording_of_two_teaching_sentences() -> None:
    diff = diff_rubrics(Rubric.model_validate(_data()), Rubric.model_validate(_data("r-2026.2")))
    touching = [change for change in diff.changes if change.areas]
    assert [(change.path, change.group, change.areas) for change in touching] == [
        ("criteria.show-and-tell.levels.4", "wording", ("teach",)),
        ("criteria.learner-change.levels.5", "wording", ("teach",)),
    ]
    assert {change.path for change in diff.changes} - {change.path for change in touching} == {"id", "note", "replaces"}
    assert not diff.could_change_outcomes
    assert diff.areas == ("teach",)
    assert diff.sentences == (
        "Wording only: the numbers of marks already given would lead to the same outcomes; "
        "assessors may mark differently.",
        "Touched: teach. Not touched: demo, safety.",
    )


def test_lines_about_the_file_itself_touch_no_area() -> None:
    diff = _diff({"note": "read in two ways", "title": "Another title"})
    assert (diff.areas, diff.could_change_outcomes) == ((), False)
    assert diff.sentences[0] == "Only lines about the file itself differ: no mark and no outcome is touched."


CHANGES: list[tuple[str, dict[str, Any], str, str, tuple[str, ...], bool]] = [
    ("a sentence", {"criteria/edging/levels/3": "slides"}, "wording",
     'criterion edging, level 3: was "grips on the gentle start, tails wash out on the main slope", is now "slides"',
     ("demo",), False),
    ("the pass line", {"scale/pass_line": "2.5"}, "rules", "pass line: was 3.5, is now 2.5",
     ("demo", "teach", "safety"), True),
    ("room below the line", {"below_line/teach": 1}, "rules",
     "values allowed below the line in module teach: was 2, is now 1",
     ("teach",), True),
    ("the band's error", {"band/sheet_error/demo/value": "0.48"}, "rules",
     "sheet_error of module demo: was 0.46, is now 0.48", ("demo",), True),
    ("the source of an error", {"band/sheet_error/demo/source": "elsewhere"}, "wording",
     "sheet_error of module demo, source",
     ("demo",), False),
    ("evidence before a lock", {"evidence_needed/also": [1, 6]}, "rules",
     "levels that need something seen in any case: was 6, is now 1, 6", ("demo", "teach", "safety"), False),
    ("what a must-not closes", {"must_nots/0/closes": ["safety"]}, "rules",
     "must-not beyond-a-closure closes: was teach, safety, is now safety", ("teach", "safety"), True),
    ("a must-not's wording", {"must_nots/2/text": "sends somebody into others"}, "rules", "must-not people-put-at-risk",
     ("demo", "teach", "safety"), True),
    ("a new must-not", {"must_nots": [*_data()["must_nots"], {"id": "alone", "text": "leaves a child alone",
     "closes": ["teach"]}]}, "rules", 'must-not alone is new: "leaves a child alone"', ("teach",), True),
    ("must-nots in another order", {"must_nots": _data()["must_nots"][::-1]}, "structure", "order of must_nots",
     ("demo", "teach", "safety"), False),
    ("criteria of a task in another order", {"tasks/T1/criteria": ["edging", "over-feet", "line", "speed-control"]},
     "structure", "task T1, criteria: was over-feet, edging", ("demo",), False),
    ("a criterion less", {"tasks/T1/criteria": ["over-feet", "edging", "line"]}, "structure", "task T1, criteria",
     ("demo",), True),
    ("a new criterion", {"criteria/calm": {"area": "safety", "label": "Calm", "text": "Calm?", "levels": {}}},
     "structure", "criterion calm is new: \"Calm\"", ("safety",), True),
    ("a task gone", {"tasks/T6": None}, "structure",
     'task T6 is gone: it was "Hazard walk and incident talk-through, 15 min"', ("safety",), True),
    ("a spare plan", {"tasks/T6/plan_b": "tell it indoors"}, "wording", "task T6, spare plan", ("safety",), False),
    ("the ground", {"tasks/T1/terrain/slope_deg": [11, 17]}, "structure",
     "task T1, slope in degrees: was 13-19, is now 11-17",
     ("demo",), False),
    ("no band any more", {"band": None}, "rules", "the band is gone", ("demo", "teach", "safety"), True),
    ("no minimum any more", {"minimum": None}, "rules", "the minimum is gone", ("demo", "teach", "safety"), True),
    ("how runs fold", {"passes/T2": "last"}, "rules", "how the runs of task T2 become one mark: was best, is now last",
     ("demo",), True),
    ("one weight", {"weights": {"edging": "2"}}, "rules",
     "weight of criterion edging: was 1, is now 2", ("demo",), True),
    ("the same weights in other words", {"weights": {"edging": "1"}}, "rules", "weights: written in another way",
     (), False),
    ("the resit", {"resit/max_tries": 3}, "rules", "resit, tries at most: was 2, is now 3", ("demo", "teach",
     "safety"), False),
    ("a question", {"questions/0/text": "What changed?"}, "wording", "question what-changed", ("teach",), False),
    ("a safety item gone", {"safety_list": _data()["safety_list"][1:]}, "structure",
     'safety list item head-count is gone: it was "people counted', ("teach",), False),
    ("a reason for a run", {"rerun_reasons": ["obstructed"]}, "rules", "reasons for another run",
     ("demo", "teach", "safety"), False),
    ("a task of another area", {"tasks/T6/area": "teach"}, "structure", "task T6, area: was safety, is now teach",
     ("teach", "safety"), True),
]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "group", "text", "areas", "outcomes"), [case[1:] for case in CHANGES], ids=[c[0] for c in CHANGES]
)
def test_a_change_is_told_in_plain_words_with_its_areas_and_whether_outcomes_could_change(
    changes: dict[str, Any], group: str, text: str, areas: tuple[str, ...], outcomes: bool
) -> None:
    change = _one(changes)
    assert text in change.text
    assert (change.group, change.areas, change.could_change_outcomes) == (group, areas, outcomes)
    assert change.why


def test_a_change_that_can_change_outcomes_leads_the_sentences() -> None:
    diff = _diff({"scale/pass_line": "2.5", "criteria/edging/levels/3": "slides"})
    assert diff.could_change_outcomes
    assert diff.sentences[0] == "Marks already given could lead to other outcomes: 1 of 2 differences can do that."


def test_rules_that_change_no_outcome_are_not_called_wording() -> None:
    diff = _diff({"resit/max_tries": 3})
    assert diff.sentences[0] == (
        "Marks already given would lead to the same outcomes; what is asked, noted or offered changes."
    )


def test_differences_of_one_area_are_those_that_touch_it_or_all() -> None:
    diff = _diff({"scale/pass_line": "2.5", "criteria/edging/levels/3": "slides", "below_line/teach": 1})
    assert [change.path for change in diff.of_area("demo")] == ["criteria.edging.levels.3", "scale.pass_line"]
    assert [change.path for change in diff.of_area("teach")] == ["scale.pass_line", "below_line.teach"]


def test_two_must_nots_of_one_name_are_still_compared() -> None:
    data = copy.deepcopy(_data())
    data["must_nots"][1]["id"] = data["must_nots"][0]["id"]
    old = Rubric.model_validate(data)
    data["must_nots"][1]["text"] = "something else"
    assert len(diff_rubrics(old, Rubric.model_validate(data)).changes) == 1


def test_groups_come_in_the_order_wording_rules_structure() -> None:
    diff = _diff({"scale/pass_line": "2.5", "criteria/edging/levels/3": "slides", "tasks/T1/minutes": 7})
    assert [change.group for change in diff.changes] == ["wording", "rules", "structure"]
