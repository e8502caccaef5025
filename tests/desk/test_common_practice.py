"""What everybody in the trade would expect of the catalogue and of a progression. Common practice: no source is named.

No test here says which of two right answers is the better one.
"""

from __future__ import annotations

from functools import cache
from itertools import permutations
from pathlib import Path

import pytest

from assess.desk.checking import read_rubric
from assess.lesson.challenge import challenge, steps
from assess.lesson.progression import read_progression
from assess.lesson.technique import technique
from assess.records.catalogue import Catalogue, Drill
from assess.records.practice import GivenDrill, Lesson
from assess.store.catalogue_folder import load_catalogue
from assess.store.practice_file import activities, read_practice

ROOT = Path(__file__).resolve().parents[2]
ACTIVITIES = [folder.parent.name for folder in activities(ROOT / "rubrics")]


@cache
def skiing() -> Catalogue:
    return load_catalogue(ROOT / "rubrics" / "alpine-ski" / "catalogue").catalogue


def drill(name: str) -> Drill:
    return skiing().drill_by_id[name]


def test_a_smear_in_one_of_two_tracks_points_to_one_leg_tipping_before_the_other() -> None:
    """Common practice."""
    roll = drill("ankle-rail")
    assert "smears" in roll.errors
    assert "leg tips after the other" in roll.errors
    assert "uneven track" in skiing().fault_by_id["inner-leg-lazy"].leads_to


def test_drills_that_roll_the_feet_to_leave_two_tracks_treat_the_lazy_inner_leg_and_look_at_the_track() -> None:
    """Common practice."""
    rolling = [item for item in skiing().drills if "ankle" in item.name.casefold() and "lines" in item.name]
    assert rolling
    for item in rolling:
        assert "inner-leg-lazy" in item.addresses
        assert "two thin lines" in item.check


@pytest.mark.parametrize("effect", ["outer-light", "flat-start"])
def test_hips_behind_the_feet_and_leaning_in_both_make_a_light_outer_ski_and_late_grip(effect: str) -> None:
    """Common practice."""
    assert {"aft-stance", "bank-in"} <= set(skiing().fault_by_id[effect].caused_by)


def test_lifting_the_inner_ski_across_the_outer_one_treats_the_inward_lean_and_the_light_outer_ski() -> None:
    """Common practice."""
    crossed = drill("crossed-lift")
    assert {"bank-in", "outer-light"} <= set(crossed.addresses)
    assert "falls inside" in crossed.errors
    assert "tail of the lifted ski drops" in crossed.errors
    assert "hip behind the feet" in crossed.errors
    assert "degree of slope" in crossed.hazards


def test_lifting_the_inner_ski_across_is_harder_on_steeper_ground_and_than_what_comes_before_it() -> None:
    """Common practice."""
    crossed, settings = drill("crossed-lift"), skiing().settings
    asked = [challenge(crossed, slope, "packed", settings) for slope in (10.0, 12.0, 14.0, 17.0)]
    assert asked == sorted(asked)
    assert asked[0] < asked[-1]
    assert all(drill(before).difficulty < crossed.difficulty for before in crossed.prereq)


def test_an_unused_edge_shows_in_a_traverse_and_is_treated_by_leaving_lines() -> None:
    """Common practice."""
    treating = [item for item in skiing().drills if "edge-flat-traverse" in item.addresses]
    assert {"side-step-lines", "track-traverse", "traverse-lift"} <= {item.id for item in treating}
    assert all("line" in item.check for item in treating)


def test_first_wedge_drills_belong_to_ground_a_beginner_can_stop_on() -> None:
    """Common practice."""
    first = [item for item in skiing().drills if {"wedge-control", "wedge-turn"} & set(item.skills)]
    assert first
    assert max(item.slope[1] for item in first) <= 8
    assert all("ice" in item.snow.avoid for item in first)


def test_no_drill_of_a_beginner_asks_for_steep_ground_and_no_steep_drill_for_hard_snow() -> None:
    """Common practice."""
    assert max(item.slope[0] for item in skiing().drills if item.difficulty <= 3) <= 10
    steep = [item for item in skiing().drills if item.slope[0] >= 20]
    assert steep
    assert all({"hard", "ice"} <= set(item.snow.avoid) for item in steep)


@cache
def lesson() -> Lesson:
    [scenario] = [
        scenario
        for scenario in read_practice(ROOT / "sample_sessions" / "practice" / "alpine-ski.yaml").practice.scenarios
        if scenario.id == "S3"
    ]
    return next(item for item in scenario.lessons if item.id == "S3-good")


ABILITY = 7.0
# Part of the turn, linked turns, the full task; easier ground before steeper.
IN_ORDER = (("slip-set", 15), ("half-release", 11), ("tall-to-small", 13), ("top-early-tip", 13), ("top-early-tip", 15))


def given(order: tuple[tuple[str, int], ...]) -> tuple[GivenDrill, ...]:
    pattern = lesson().drills[0]
    return tuple(
        pattern.model_copy(update={"id": name, "slope": float(slope), "snow": "packed"}) for name, slope in order
    )


def value(order: tuple[tuple[str, int], ...], *, remeasure: bool = True) -> float:
    flow = lesson().flow.model_copy(update={"remeasure": remeasure})
    reading = read_progression(lesson().model_copy(update={"drills": given(order), "flow": flow}), ABILITY, skiing())
    assert reading.value is not None
    return reading.value


def test_part_before_whole_and_easier_before_steeper_never_reads_worse_than_the_same_drills_shuffled() -> None:
    """Common practice, where everything asked for is owned, no check failed and no step up is above two points."""
    done = technique(given(IN_ORDER), ABILITY, skiing()).drills
    taken = steps(done, ABILITY, cause_managed=False, settings=skiing().settings)
    assert all(not item.missing and (item.worked or 0) >= 0.5 for item in done)
    assert all(0 <= step.delta <= 2 for step in taken[1:])
    best = value(IN_ORDER)
    shuffled = [value(order) for order in permutations(IN_ORDER)]
    assert max(shuffled) <= best + 1e-12
    assert min(shuffled) < best


def test_measuring_again_at_the_end_never_reads_worse() -> None:
    """Common practice."""
    assert value(IN_ORDER) > value(IN_ORDER, remeasure=False)


@pytest.mark.parametrize("activity", ACTIVITIES)
def test_looking_before_setting_off_is_a_line_of_its_own_on_the_safety_list(activity: str) -> None:
    """Common practice."""
    rubric, _ = read_rubric(ROOT / "rubrics" / activity / "r-2026.1.yaml")
    [item] = [item for item in rubric.safety_list if item.id == "look-up"]
    assert "before setting off" in item.text


@pytest.mark.parametrize("activity", ACTIVITIES)
def test_a_drill_for_setting_off_and_stopping_is_there_and_says_to_look_first(activity: str) -> None:
    """Common practice."""
    catalogue = load_catalogue(ROOT / "rubrics" / activity / "catalogue").catalogue
    [drill] = [item for item in catalogue.drills if item.name == "Set off, stop and wait drill"]
    assert "look" in " ".join((drill.purpose, *drill.must))
    assert all(skill in catalogue.settings.service for skill in drill.skills)
