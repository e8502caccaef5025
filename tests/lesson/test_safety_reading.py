"""The safety reading: states, hazards, where to look; and that it never reports a breach (own arithmetic)."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, get_args

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from assess.lesson.lesson_json import to_json
from assess.lesson.reading import read_lesson
from assess.lesson.results import SafetyReading
from assess.lesson.safety import hazard_recall, item_mean, possible_breaches, read_safety
from assess.records.practice import Hazard
from assess.records.reading_settings import SAFETY_ITEMS, SafetyState
from tests.lesson.samples import catalogue, changed, lesson, safety, scenario

ITEMS = (
    "kit", "look-up", "side-stop", "no-blind-spot", "terrain-fit", "spacing", "head-count", "view-all", "must",
    "closures", "weather", "incident",
)  # fmt: skip
WORTH = {
    "done": 1, "missed-once": 0.5, "missed": 0, "missed-twice": 0, "missed-with-traffic": 0, "violated": 0,
    "not-acted-upon": 0,
}  # fmt: skip
LOOK = {(item, "violated") for item in (
    "terrain-fit", "closures", "no-blind-spot", "must", "head-count", "weather", "view-all", "look-up", "incident",
)} | {("look-up", "missed-twice"), ("look-up", "missed-with-traffic"), ("incident", "not-acted-upon")}  # fmt: skip
STATES = st.fixed_dictionaries({item: st.sampled_from([*WORTH, "na"]) for item in ITEMS})


def hazard(name: str, w: float, crit: bool = False) -> Hazard:
    return Hazard.model_validate({"id": name, "w": float(w), "crit": crit})


def read(states: dict[str, str], hazards: tuple[Hazard, ...] = (), handled: tuple[str, ...] = ()) -> SafetyReading:
    items = safety(**{item.replace("-", "_"): state for item, state in states.items()})
    return read_safety(changed("S3-good", safety=items, hazards_handled=handled), hazards, catalogue().settings)


def test_the_list_has_these_twelve_items_and_these_states() -> None:
    assert set(SAFETY_ITEMS) == set(ITEMS) and len(SAFETY_ITEMS) == 12
    assert set(get_args(SafetyState)) == {*WORTH, "na"}


@pytest.mark.parametrize("item", ITEMS)
@pytest.mark.parametrize("state", [*WORTH, "na"])
def test_where_to_look_is_exactly_what_is_listed(item: str, state: str) -> None:
    expected = (item,) if (item, state) in LOOK else ()
    assert possible_breaches(safety(**{item.replace("-", "_"): state}), catalogue().settings) == expected


@pytest.mark.parametrize(("state", "worth"), WORTH.items())
def test_the_worth_of_each_state(state: str, worth: float) -> None:
    # kit has this state, eleven others are done.
    assert item_mean(safety(kit=state), catalogue().settings) == pytest.approx((11 + worth) / 12)


@drawn(STATES)
@settings(deadline=None, max_examples=100)
def test_items_that_do_not_apply_are_left_out_of_the_mean(states) -> None:
    reading = read(states)
    worth = [WORTH[state] for state in states.values() if state != "na"]
    if not worth:
        assert reading.value is None and reading.void is not None
    else:
        assert reading.base == pytest.approx(sum(worth) / len(worth)) and reading.value == reading.base
        assert reading.basis.n == len(worth)
    assert set(reading.possible_breaches) == {item for item, state in states.items() if (item, state) in LOOK}


def test_without_hazards_recall_is_not_a_number_and_the_items_alone_are_the_value() -> None:
    reading = read({"kit": "missed"})
    assert reading.hazard_recall is None and reading.value == pytest.approx(11 / 12)
    assert any("no hazard was listed" in sentence for sentence in reading.why)


def test_hazards_count_by_their_weight_and_a_strange_id_counts_for_nothing() -> None:
    hazards = (hazard("fence", 3), hazard("lift", 2), hazard("strap", 1))
    assert hazard_recall(hazards, ["fence", "strap", "strap", "nobody-knows"]) == pytest.approx(4 / 6)
    assert hazard_recall(hazards, []) == 0
    assert read({}, hazards, ("fence",)).value == pytest.approx(0.6 + 0.4 * 0.5)


def test_very_large_weights_of_hazards_are_still_shares() -> None:
    hazards = (hazard("fence", 1.5e308), hazard("lift", 1.5e308))
    assert hazard_recall(hazards, ["fence"]) == pytest.approx(0.5)


def test_critical_hazards_nobody_handled_are_listed_even_when_nothing_happened() -> None:
    hazards = (hazard("fence", 1, True), hazard("lift", 9), hazard("roll", 2, True), hazard("strap", 1))
    reading = read({}, hazards, ("lift", "roll"))
    assert reading.possible_breaches == () and reading.critical_missed == ("fence",)
    assert any("fence" in sentence and "luck is not safety" in sentence for sentence in reading.why)
    assert any(sentence == "hazard neither named nor avoided: strap" for sentence in reading.why)


def test_the_unsafe_lesson_of_the_fifth_learner() -> None:
    reading = read_safety(lesson("S5-unsafe"), scenario("S5").hazards, catalogue().settings)
    assert reading.basis.n == 12
    assert sum(state == "done" for _, state in reading.states) == 8
    assert reading.base == pytest.approx(0.667, abs=0.0005)
    assert reading.hazard_recall == pytest.approx(0.20) and reading.value == pytest.approx(0.48)
    assert reading.possible_breaches == ("look-up", "must", "incident")


def test_no_item_at_all_is_not_judged_and_hazards_are_told_all_the_same() -> None:
    reading = read(dict.fromkeys(ITEMS, "na"), (hazard("fence", 1, True),))
    assert reading.value is None and reading.void == "not judged: no item of the safety list applied"
    assert reading.hazard_recall == 0 and reading.critical_missed == ("fence",)


REPORTS = st.lists(
    st.fixed_dictionaries({
        "must_not": st.sampled_from(["beyond-a-closure", "people-put-at-risk"]),
        "by": st.just("assessor"), "minute": st.sampled_from([0.0, 3.0]),
    }),
    max_size=3,
)  # fmt: skip


@drawn(st.sampled_from(["S1-unsafe", "S3-good", "S5-unsafe"]), STATES, REPORTS)
@settings(deadline=None, max_examples=60)
def test_a_reading_never_reports_a_breach_and_a_report_changes_no_reading(name, states, reports) -> None:
    items = safety(**{item.replace("-", "_"): state for item, state in states.items()})

    def all_of(reported: list[dict[str, Any]]) -> Any:
        one = changed(name, safety=items, reported_breaches=reported)
        readings = read_lesson(one, scenario(name), catalogue(), {})
        return to_json([readings], catalogue().settings)["lessons"]

    assert all_of(reports) == all_of([])


def test_the_safety_reading_has_no_place_for_a_breach_and_says_who_reports_one() -> None:
    assert [field.name for field in fields(SafetyReading) if "breach" in field.name] == ["possible_breaches"]
    told = [sentence for sentence in read({"must": "violated"}).why if "breach" in sentence]
    assert told and all("possible breach" in sentence and "only a person reports one" in sentence for sentence in told)


def test_an_item_in_danger_does_not_lower_or_raise_what_was_diagnosed() -> None:
    unsafe = read_lesson(
        changed("S3-good", safety=safety(must="violated", closures="violated")), scenario("S3"), catalogue(), {}
    )
    safe = read_lesson(lesson("S3-good"), scenario("S3"), catalogue(), {})
    assert unsafe.diagnosis == safe.diagnosis and unsafe.change == safe.change
    assert unsafe.drill_fit.value is None
