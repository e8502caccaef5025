"""The catalogues and practice lessons that come with the program, and that no code knows an activity by name."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from assess.desk.catalogue_check import check_catalogue, check_practice
from assess.desk.checking import read_rubric, rubric_findings
from assess.lesson.reading import read_scenarios
from assess.lesson.results import LessonReadings
from assess.records.practice import Lesson, Scenario
from assess.records.reading_settings import Settings
from assess.store.catalogue_folder import CatalogueFolder, load_catalogue
from assess.store.practice_file import activities, catalogue_for, read_practice

ROOT = Path(__file__).resolve().parents[2]
RUBRICS = ROOT / "rubrics"
PRACTICE = ROOT / "sample_sessions" / "practice"
ACTIVITIES = [folder.parent.name for folder in activities(RUBRICS)]
FILES = sorted(path.name for path in PRACTICE.glob("*.yaml"))
# What the readings of the five worked lessons rest on; texts may be made better, these may not change unseen.
# The copies under tests/data/lesson are the data the worked values were computed with.
FIXED = {
    "faults": ("id", "layer", "phase", "caused_by", "amplified_by"),
    "drills": (
        "id", "addresses", "supports", "may_worsen", "skills", "prereq", "needs", "difficulty", "slope", "snow", "dose",
    ),
    "skills": ("id", "level", "slope", "needs"),
}  # fmt: skip


@cache
def folder(activity: str) -> CatalogueFolder:
    return load_catalogue(RUBRICS / activity / "catalogue")


@cache
def scenarios(name: str) -> tuple[Scenario, ...]:
    return read_practice(PRACTICE / name).practice.scenarios


def lessons(name: str) -> list[tuple[Scenario, Lesson]]:
    return [(scenario, lesson) for scenario in scenarios(name) for lesson in scenario.lessons]


@cache
def readings(name: str) -> dict[str, LessonReadings]:
    catalogue = catalogue_for(read_practice(PRACTICE / name).practice, PRACTICE / name, RUBRICS).catalogue
    return {read.lesson: read for read in read_scenarios(scenarios(name), catalogue)}


def plain(path: Path) -> Any:
    return YAML(typ="safe", pure=True).load(path.read_text(encoding="utf-8"))


def test_two_activities_and_three_files_of_practice_lessons_are_shipped() -> None:
    assert len(ACTIVITIES) == 2
    assert len(FILES) == 3


@pytest.mark.parametrize("activity", ACTIVITIES)
def test_the_check_has_nothing_to_say_about_a_shipped_catalogue(activity: str) -> None:
    assert check_catalogue(folder(activity)) == []


@pytest.mark.parametrize("name", FILES)
def test_the_check_has_nothing_to_say_about_shipped_practice_lessons(name: str) -> None:
    file = read_practice(PRACTICE / name)
    assert check_practice(file, catalogue_for(file.practice, PRACTICE / name, RUBRICS).catalogue) == []


@pytest.mark.parametrize("name", FILES)
def test_practice_lessons_find_the_catalogue_of_their_own_activity(name: str) -> None:
    activity = catalogue_for(read_practice(PRACTICE / name).practice, PRACTICE / name, RUBRICS).root.parent.name
    assert name.startswith(activity)


@pytest.mark.parametrize("activity", ACTIVITIES)
def test_a_drill_has_a_range_of_slopes_snow_a_hazard_line_a_must_or_care_line_and_a_check(activity: str) -> None:
    for drill in folder(activity).catalogue.drills:
        assert drill.slope[0] < drill.slope[1], drill.id
        assert drill.snow.ok, drill.id
        assert len(drill.hazards.split()) >= 3, drill.id
        assert drill.must or drill.care, drill.id
        assert drill.check, drill.id
        assert "none special" not in drill.hazards, drill.id


def test_the_first_activity_keeps_the_ids_numbers_and_edges_its_worked_values_rest_on() -> None:
    for file, fields in FIXED.items():
        shipped = plain(RUBRICS / "alpine-ski" / "catalogue" / f"{file}.yaml")[file]
        worked = plain(ROOT / "tests" / "data" / "lesson" / f"{file}.yaml")[file]
        assert [{key: entry.get(key) for key in fields} for entry in shipped] == [
            {key: entry.get(key) for key in fields} for entry in worked
        ]
    shipped_roots = folder("alpine-ski").catalogue.root_by_id
    worked_roots = plain(ROOT / "tests" / "data" / "lesson" / "faults.yaml")["non_technique_roots"]
    assert list(shipped_roots) == [root["id"] for root in worked_roots]


def test_the_five_worked_situations_are_shipped_as_they_are() -> None:
    worked = plain(ROOT / "tests" / "data" / "lesson" / "scenarios.yaml")
    assert plain(PRACTICE / "alpine-ski.yaml") == worked


@pytest.mark.parametrize("activity", ACTIVITIES)
def test_every_constant_stands_in_the_settings_file_below_a_line_that_says_what_it_does_and_that_it_is_judgement(
    activity: str,
) -> None:
    path = RUBRICS / activity / "catalogue" / "settings.yaml"
    lines = path.read_text(encoding="utf-8").split("\n")
    for name in Settings.model_fields:
        [at] = [number for number, line in enumerate(lines) if line.startswith(f"{name}:")]
        assert lines[at - 1].startswith("# judgement: "), name
        assert len(lines[at - 1].split()) >= 4, name


def test_the_first_activitys_constants_are_those_the_program_comes_with() -> None:
    assert folder("alpine-ski").catalogue.settings == Settings()


def test_nicknames_of_the_trade_are_found_by_typing_and_are_no_names() -> None:
    catalogue = folder("alpine-ski").catalogue
    names = {
        "garland": "half-release", "javelin turn": "crossed-lift", "falling leaf": "leaf-slip",
        "hockey stop": "quick-stop", "pivot slips": "pivot-lane", "thousand steps": "many-steps",
    }  # fmt: skip
    for nickname, drill in names.items():
        assert nickname in catalogue.drill_by_id[drill].aliases
    shown = [drill.name.casefold() for drill in catalogue.drills]
    for alias in [alias for drill in catalogue.drills for alias in drill.aliases]:
        assert not any(alias.casefold() in name for name in shown), alias


@pytest.mark.parametrize("activity", ACTIVITIES)
def test_a_rubric_of_each_activity_is_named_as_its_folder_and_its_check_has_nothing_to_say(activity: str) -> None:
    path = RUBRICS / activity / "r-2026.1.yaml"
    rubric, _ = read_rubric(path)
    assert rubric.activity == activity
    assert rubric_findings(path) == ()
    for criterion in rubric.criteria.values():
        assert set(criterion.levels) == set(rubric.scale.levels)


def test_the_second_activitys_rubric_fits_eighty_columns_and_repeats_no_sentence() -> None:
    rubric, _ = read_rubric(RUBRICS / "mountain-biking" / "r-2026.1.yaml")
    sentences = [text for criterion in rubric.criteria.values() for text in criterion.levels.values()]
    # A space, the label (12), a space, the digit, a space.
    assert [text for text in sentences if len(text) > 80 - 16] == []
    assert [criterion.label for criterion in rubric.criteria.values() if len(criterion.label) > 12] == []
    assert len(set(sentences)) == len(sentences)
    praise = r"\b(excellent|good|bad|poor|nice|perfect|adequate|weak|falls?|fell)\b"
    assert [text for text in sentences if re.search(praise, text)] == []


@pytest.mark.parametrize("name", FILES)
def test_looking_before_setting_off_is_an_item_of_every_lesson_with_traffic(name: str) -> None:
    """Common practice."""
    assert all(scenario.conditions.traffic for scenario in scenarios(name))
    assert [lesson.id for _, lesson in lessons(name) if lesson.safety.look_up == "na"] == []


@pytest.mark.parametrize("name", FILES)
def test_every_situation_has_a_good_a_mediocre_and_an_unsafe_lesson(name: str) -> None:
    for scenario in scenarios(name):
        ids = {lesson.id for lesson in scenario.lessons}
        assert {f"{scenario.id}-{kind}" for kind in ("good", "mediocre", "unsafe")} <= ids


@pytest.mark.parametrize("name", FILES)
def test_the_good_lesson_reads_no_worse_than_the_mediocre_one_and_only_the_unsafe_one_points_at_a_breach(
    name: str,
) -> None:
    """A sanity check of invented lessons, which says nothing about lessons on a hill."""
    for scenario in scenarios(name):
        good, mediocre, unsafe = (readings(name)[f"{scenario.id}-{kind}"] for kind in ("good", "mediocre", "unsafe"))
        assert (good.diagnosis.score or 0) > (mediocre.diagnosis.score or 0)
        assert (good.drill_fit.value or 0) > (mediocre.drill_fit.value or 0)
        assert (good.progression.value or 0) > (mediocre.progression.value or 0)
        assert (good.change.verdict, mediocre.change.verdict) == ("improved", "not shown")
        assert good.safety.possible_breaches == mediocre.safety.possible_breaches == ()
        assert unsafe.safety.possible_breaches
        assert unsafe.drill_fit.value is None
        assert "not judged: safety" in (unsafe.drill_fit.void or "")


def test_a_lesson_ended_rightly_for_safety_is_not_judged_for_what_it_did_not_reach() -> None:
    ended = readings("alpine-ski-more.yaml")["S7-ended"]
    assert ended.drill_fit.value is None
    assert ended.progression.value is None
    assert ended.change.verdict == "too few"
    assert ended.diagnosis.score == pytest.approx(1.0)
    assert ended.safety.possible_breaches == ()


def test_an_unsafe_lesson_of_the_second_activity_finds_more_than_the_mediocre_one() -> None:
    read = readings("mountain-biking.yaml")
    assert (read["B2-unsafe"].diagnosis.score or 0) > (read["B2-mediocre"].diagnosis.score or 0)
    assert read["B2-unsafe"].safety.possible_breaches == ("terrain-fit", "must")


def test_no_code_knows_an_activity_by_name() -> None:
    spellings = {word for name in ACTIVITIES for word in (name, name.replace("-", " "), name.replace("-", "_"))}
    spellings |= {"alpine", "biking", "mountain-bike", "mountain bike"}
    pattern = re.compile("|".join(sorted(map(re.escape, spellings))), re.IGNORECASE)
    files = [path for path in (ROOT / "assess").rglob("*") if path.suffix in {".py", ".tcss", ".json", ".yaml"}]
    assert len(files) > 50
    hits = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()}"
        for path in files
        if "shipped" not in path.parts
        for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), 1)
        if pattern.search(line)
    ]
    assert hits == []


def test_no_code_knows_an_entry_of_a_shipped_catalogue() -> None:
    """Ids that are everyday words of the program as well (`line`, `stance`) would say nothing; those with a dash do."""
    known = {
        name
        for activity in ACTIVITIES
        for name in (*folder(activity).catalogue.fault_by_id, *folder(activity).catalogue.drill_by_id)
        if "-" in name
    }
    pattern = re.compile(r"(?<![\w-])(" + "|".join(sorted(known)) + r")(?![\w-])")
    hits = [
        f"{path.relative_to(ROOT)}: {found.group()}"
        for path in sorted((ROOT / "assess").rglob("*.py"))
        for found in pattern.finditer(path.read_text(encoding="utf-8"))
    ]
    assert hits == []
