"""Every constant of the readings stands in the settings, is printed with them, and is the one that is used."""

from __future__ import annotations

import ast
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from assess.lesson.lesson_json import to_json
from assess.lesson.reading import read_lesson
from assess.records.catalogue import Catalogue
from assess.records.practice import Lesson, Scenario
from assess.records.reading_settings import Settings
from assess.store.yaml_file import read_yaml
from tests.cli.commands import ROOT, assess
from tests.lesson.samples import (
    PRACTICE,
    catalogue,
    changed,
    given,
    learner,
    named,
    safety,
    scenario,
    scenarios,
    split,
    with_parts,
)

# Every constant with its value (the project's own table of judgements), by the key it has in settings.yaml.
TABLE: dict[str, Any] = {
    "names_counted": 3, "down": 0.5, "up": 0.7, "w_found": 0.60, "w_order": 0.25, "w_ground": 0.15, "harm": 0.25,
    "address_link": [0.6, 0.4], "address_before": 0.7, "support": 0.5, "managed": 1.0,
    "harder_slack": 0.5, "harder_width": 2.5, "easier_width": 5.0, "easier_floor": 0.7,
    "slope_flat_width": 5.0, "slope_flat_floor": 0.7, "slope_steep_low": 3.0, "slope_steep_high": 5.0,
    "low_ability": 4.0, "snow_avoid": 0.4, "prereq_floor": 0.5, "own_margin": 1.0,
    "skill_from": [2.0, 4.0, 5.0, 7.0, 8.0, 10.0], "worsen": 0.5, "tired_from": 2.0, "tired_step": 0.15,
    "tired_stop": 4.0, "exp_level": 0.3, "exp_snow": 0.2, "exp_prereq": 0.2, "best_share": 0.8, "longest": 3,
    "service": ["gear-sense", "traffic-sense", "lift-use"], "voids": ["terrain-fit", "must", "closures"],
    "w_orderly": 0.15, "w_step": 0.20, "w_whole": 0.15, "w_demo": 0.05, "w_dose": 0.10, "w_feedback": 0.10,
    "w_check": 0.05, "w_remeasure": 0.10, "w_practice": 0.10,
    "step_big_down": 0.6, "step_far_down": 2.0, "step_down": 0.85, "step_ok": 2.0, "step_zero": 4.0, "stubborn": 0.6,
    "check_half": 0.5, "slope_per_point": 4.0,
    "snow_extra": {"hard": 1.0, "ice": 1.5, "wet-heavy": 1.0, "cut-up": 0.8, "crust": 1.5, "fresh-deep": 0.8},
    "feedback": {"specific": 1.0, "general": 0.4, "none": 0.0}, "overdose": 2.0, "run_minutes": 0.4,
    "practice_full": 0.50, "practice_low": 0.25, "practice_cap": 0.5,
    "w_items": 0.6, "w_hazards": 0.4,
    "state": {
        "done": 1.0, "missed-once": 0.5, "missed": 0.0, "missed-twice": 0.0, "missed-with-traffic": 0.0,
        "violated": 0.0, "not-acted-upon": 0.0,
    },
    "look": {
        "look-up": ["missed-twice", "missed-with-traffic", "violated"], "terrain-fit": ["violated"],
        "head-count": ["violated"], "no-blind-spot": ["violated"], "must": ["violated"], "closures": ["violated"],
        "weather": ["violated"], "view-all": ["violated"], "incident": ["not-acted-upon", "violated"],
    },
    "min_values": 5, "min_retest": 10, "slope_same_low": 1.0, "slope_same_high": 2.0,
}  # fmt: skip
# What a change of each constant is; numbers not named here are moved a little down.
ANOTHER: dict[str, Any] = {
    "names_counted": 1, "address_link": (0.5, 0.2), "skill_from": (10.0,) * 6, "longest": 1, "service": (), "voids": (),
    "snow_extra": {"hard": 0.4}, "feedback": {"specific": 0.8, "general": 0.2, "none": 0.1},
    "state": {**TABLE["state"], "missed": 0.3}, "look": {}, "min_values": 50, "min_retest": 40, "low_ability": 6.0,
    "practice_low": 0.05, "own_margin": 3.0, "tired_stop": 5.0, "check_half": 0.1, "step_far_down": 9.0,
    "overdose": 9.0,
}  # fmt: skip


def test_the_settings_are_exactly_these_constants_with_these_values() -> None:
    assert Settings().model_dump(mode="json") == TABLE


def test_every_constant_stands_in_the_file_of_the_shipped_activity_with_its_value() -> None:
    path = ROOT / "rubrics" / "alpine-ski" / "catalogue" / "settings.yaml"
    assert read_yaml(path, shown=str(path), what="catalogue").data == TABLE


@pytest.mark.parametrize("path", sorted(PRACTICE.parent.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_constant_is_printed_with_the_readings(path: Path) -> None:
    assert set(assess("lesson", path, "--json").json["settings"]) == set(TABLE)


@lru_cache
def cases() -> tuple[Lesson, ...]:
    """The sample lessons, and a few that touch what those leave alone."""
    who, ilse = learner("S3").id, learner("S1").id
    low = next(drill for drill in catalogue().drills if drill.needs)
    prepares = {"prereq": "tall-to-small", "link": "frame-poles"}
    told = [one for place in scenarios() for one in place.lessons]
    told += [
        changed("S3-good", named=named("late-pressure", learner=who)),
        changed("S3-good", named=named("flat-start", "pop-up", learner=who)),
        changed("S5-good", named=named("X-misread", "X-fatigue", "X-range", learner=learner("S5").id)),
        *(changed("S3-good", drills=(given(name, 13, practice_min=4.0),)) for name in prepares.values()),
        changed("S3-good", drills=(given("half-release", 4), given("half-release", 18), given("wedge-size", 5, "ice"))),
        changed("S3-good", drills=(given("half-release", 4),)),
        changed("S3-good", drills=(given("half-release", 7.5),)),
        changed("S3-good", drills=(given("top-early-tip", 16, tired=3.5), given("top-early-tip", 13, tired=4.5))),
        changed("S3-good", drills=(given("pivot-lane", 14), given("run-bounce", 3), given("set-rebound", 20))),
        changed("S3-good", drills=(given("run-bounce", 3, fb="general"), given("pivot-lane", 16, fb="none"))),
        changed("S3-good", drills=(given("top-early-tip", 13).model_copy(update={"n": 13.0}),)),
        changed("S3-good", drills=(given("half-release", 13, success={"ok": 1, "of": 4}), given("half-release", 13))),
        changed("S3-good", drills=(given("half-release", 13, practice_min=1.5), given("slip-set", 13))),
        changed("S3-good", drills=(given("kit-walk", 0), given("half-release", 13))),
        changed("S3-good", drills=(given(low.id, 5),)),
        changed("S3-good", drills=(given("half-release", 16),), safety=safety(must="violated")),
        changed("S3-good", time=split(18, 4, 1, 2)),
        changed("S3-good", time=split(12, 10, 1, 2)),
        changed("S1-good", named=named("X-fear", learner=ilse), drills=(given("look-call", 5),), managed=()),
        changed("S1-good", drills=(given("run-bounce", 8.5), given("wedge-size", 8))),
        *(apart(name, by) for name, by in (("S1-good", 0.9), ("S3-good", 1.9))),
    ]
    return tuple(told)


def apart(name: str, degrees: float) -> Lesson:
    """The lesson, measured afterwards on ground so much steeper."""
    outcome = changed(name).outcome
    after = outcome.after.model_copy(update={"slope": outcome.before.slope + degrees})
    return changed(name, outcome={"before": outcome.before, "after": after})


def upper() -> Scenario:
    """The third situation, had the panel found the middle of a chain."""
    place, who = scenario("S3"), learner("S3")
    only = who.model_copy(update={"roots": (who.roots[1].model_copy(update={"w": 1.0}),)})
    return place.model_copy(update={"reference": place.reference.model_copy(update={"learners": (only,)})})


def numbers(known: Catalogue) -> list[Any]:
    """Every number and every id of the readings of all cases, without the sentences."""
    read = [read_lesson(one, scenario(one.id), known, {}) for one in cases()]
    read.append(
        read_lesson(changed("S3-mediocre", named=named("flat-start", learner=learner("S3").id)), upper(), known, {})
    )
    told = to_json(read, known.settings)["lessons"]
    return [
        {part: {key: value for key, value in one[part].items() if key not in ("why", "void")}
         for part in ("diagnosis", "drill_fit", "progression", "safety", "change")}
        for one in told
    ]  # fmt: skip


@lru_cache
def as_they_are() -> list[Any]:
    return numbers(catalogue())


@pytest.mark.parametrize("name", TABLE)
def test_changing_a_constant_changes_a_reading(name: str) -> None:
    value = TABLE[name]
    other = ANOTHER[name] if name in ANOTHER else 0.7 * value
    known = with_parts(settings=catalogue().settings.model_copy(update={name: other}))
    assert numbers(known) != as_they_are()


# Numbers of mathematics, not of judgement: one, halves and squares, hours of ten minutes, percent.
PLAIN = {0, 1, 2, 10, -1}
READINGS = ("fit", "drill_fit", "challenge", "progression", "safety", "technique", "credit", "diagnosis")


@pytest.mark.parametrize("module", READINGS)
def test_no_constant_hides_in_the_code_of_a_reading(module: str) -> None:
    tree = ast.parse((ROOT / "assess" / "lesson" / f"{module}.py").read_text(encoding="utf-8"))
    # A format such as {x:.2f} is text; rounding and percent of a sentence stand in calls of `rounded`.
    spoken = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "rounded"
        for inner in ast.walk(node)
    }
    found = [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, (int, float))
        and not isinstance(node.value, bool)
        and id(node) not in spoken
    ]
    assert [value for value in found if value not in PLAIN] == []
