"""A lesson noted on a sheet is read as the same lesson written down would be."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import pytest

from assess.desk.catalogue_names import catalogue_names
from assess.desk.reading_lines import reading_lines
from assess.desk.sheet_readings import NO_VIEW, course_catalogue
from assess.lesson.change import read_change
from assess.lesson.diagnosis import read_diagnosis
from assess.lesson.drill_fit import read_drill_fit
from assess.lesson.progression import read_progression
from assess.lesson.safety import read_safety
from assess.records.practice import Hazard, LearnerReference, Lesson, Scenario
from assess.store.practice_file import read_practice
from tests.courses import FixedClock, build_course, open_desk

MINUTE = 60_000
PRACTICE = Path(__file__).parents[2] / "sample_sessions" / "practice" / "alpine-ski.yaml"
SCENARIOS = read_practice(PRACTICE).practice.scenarios
LESSONS = [(scenario, lesson) for scenario in SCENARIOS for lesson in scenario.lessons]
STEPS = {"goal": "goal", "whole_first": "whole-first", "whole_last": "whole-last", "remeasure": "remeasure"}


@pytest.fixture
def clock():
    return FixedClock(step_ms=0)


@pytest.fixture
def sheet(tmp_path, clock):
    desk = open_desk(build_course(tmp_path / "course", tasks=("T1", "T5")), clock=clock)
    yield desk.lesson("T5", "C01")
    desk.close()


def catalogue_of(desk):
    catalogue = course_catalogue(desk)
    assert catalogue is not None
    return catalogue


def of_target(scenario: Scenario, lesson: Lesson) -> Lesson:
    """The lesson with what was named for the target only: a sheet of one learner holds nothing else."""
    target = scenario.reference.target
    named = tuple(name for name in lesson.named if name.learner == target)
    return lesson.model_copy(update={"named": named})


def note(sheet, clock, scenario: Scenario, lesson: Lesson) -> None:
    """Every fact of a written lesson, put on a sheet as an assessor would."""
    sheet.start()
    clock.ms += MINUTE
    for name in lesson.named:
        role = name.role.replace("_", "-")
        met = name.fault in lesson.managed
        sheet.name_fault("", role, fault=name.fault, met=met)
    for managed in lesson.managed:
        if managed not in [name.fault for name in lesson.named]:
            sheet.name_fault("", "ruled-out", fault=managed, met=True)
    for root in scenario.reference.target_learner.roots:
        sheet.name_fault("", "root", fault=root.id, whose="assessor")
    for chain in scenario.reference.target_learner.chains:
        for below in chain[1:]:
            sheet.name_fault("", "link", fault=below, whose="assessor")
    sheet.learner_is(ability=int(scenario.learner.ability), tired=scenario.learner.tired)
    for drill in lesson.drills:
        details = {
            "drill": drill.id, "slope_deg": int(drill.slope), "on_snow": drill.snow, "dose": drill.n,
            "demo": drill.demo, "feedback": drill.fb, "check": drill.check,
        }  # fmt: skip
        tried = {"worked": drill.success.ok, "tried": drill.success.of} if drill.success else {}
        minutes = {} if drill.practice_min is None else {"practice_ms": int(drill.practice_min * MINUTE)}
        sheet.drill("", **details, **tried, **minutes, tired=drill.tired)
    for field, step in STEPS.items():
        sheet.step(step, getattr(lesson.flow, field))
    for item, state in lesson.safety.states:
        sheet.safety_item(item, "not-applicable" if state == "na" else state)
    for hazard in scenario.hazards:
        handled = "named" if hazard.id in lesson.hazards_handled else "no"
        sheet.hazard("", handled, critical=hazard.crit, hazard=hazard.id)
    for when in ("before", "after"):
        side = getattr(lesson.outcome, when)
        for run in side.runs:
            told = {
                "measure": scenario.measure.id,
                "slope_deg": int(side.slope),
                "on_snow": side.snow,
                "text": side.place,
            }
            sheet.measured(when, run, **told)
    for use in ("practise", "wait", "lift"):
        if lesson.time is not None and getattr(lesson.time, use):
            sheet.interval(use, True)
            clock.ms += round(getattr(lesson.time, use) * MINUTE)
            sheet.interval(use, False)
    clock.ms = clock.ms - sheet.clock_ms() + round(lesson.minutes * MINUTE)
    ended = lesson.ended_for_safety
    sheet.end("unsafe" if ended else "done", ended.why if ended else "", ended.judged if ended else None)


@pytest.mark.parametrize(("scenario", "lesson"), LESSONS, ids=[lesson.id for _, lesson in LESSONS])
def test_a_lesson_noted_on_a_sheet_reads_as_the_written_one(sheet, clock, scenario, lesson) -> None:
    catalogue = catalogue_of(sheet.desk)
    lesson = of_target(scenario, lesson)
    note(sheet, clock, scenario, lesson)
    read = sheet.readings(catalogue).readings
    target = scenario.reference.target_learner
    # One assessor's view has equal weights, and one shortest way from each root; no panel's word on harm.
    view = sheet.desk.folded("T5", "C01", "A1")
    mine = LearnerReference.model_validate(
        {
            "id": "1", "roots": [{"id": root.id, "w": 1 / len(target.roots)} for root in target.roots],
            "chains": chains_of(read, view, catalogue), "tolerated": [], "harmful": [],
        }
    )  # fmt: skip
    named = tuple(name.model_copy(update={"learner": "1"}) for name in lesson.named)
    lesson = lesson.model_copy(update={"named": named})
    ability = float(int(scenario.learner.ability))
    diagnosis = read_diagnosis(lesson.named, mine, catalogue)
    assert (read.diagnosis.recall, read.diagnosis.ndcg) == (diagnosis.recall, diagnosis.ndcg)
    fit = read_drill_fit(lesson, mine, ability, catalogue)
    assert (read.drill_fit.value, read.drill_fit.own_value) == (fit.value, pytest.approx(fit.own_value))
    progression = read_progression(lesson, ability, catalogue)
    assert read.progression.value == (None if progression.value is None else pytest.approx(progression.value, abs=0.02))
    hazards = tuple(Hazard(id=hazard.id, w=1.0, crit=hazard.crit) for hazard in scenario.hazards)
    safety = read_safety(lesson, hazards, catalogue.settings)
    assert asdict(read.safety) == asdict(safety)
    if scenario.measure.id in catalogue.measure_by_id:
        change = read_change(scenario.measure, lesson.outcome, ability, catalogue.settings)
        assert (read.change.verdict, read.change.delta, read.change.limit) == (
            change.verdict,
            change.delta,
            change.limit,
        )


@pytest.mark.parametrize(("scenario", "lesson"), LESSONS[:6], ids=[lesson.id for _, lesson in LESSONS[:6]])
def test_everything_noted_is_read_again_from_the_disk(tmp_path, clock, scenario, lesson) -> None:
    root = build_course(tmp_path / "course", tasks=("T1", "T5"))
    desk = open_desk(root, clock=clock)
    note(desk.lesson("T5", "C01"), clock, scenario, of_target(scenario, lesson))
    shown = desk.folded("T5", "C01", "A1")
    assert desk.close()
    again = open_desk(root, clock=clock)
    assert again.folder.problems == () and again.folded("T5", "C01", "A1") == shown
    again.close()


def chains_of(read, sheet, catalogue):
    from assess.desk.learner_views import view_of

    return [list(chain) for chain in view_of("assessor", sheet, "1", catalogue).chains]


def test_what_a_reading_needs_and_the_sheet_does_not_say_is_asked_for_not_guessed(sheet, clock) -> None:
    catalogue = catalogue_of(sheet.desk)
    sheet.start()
    sheet.drill("", drill="flat-glide")
    sheet.end()
    read = sheet.readings(catalogue).readings
    assert read.diagnosis.void == NO_VIEW
    assert read.progression.void is not None and read.progression.value is None
    asked = " ".join(read.progression.why)
    for what in ("how able the learner is", "shown or not, feedback, check, how often", "was the goal told"):
        assert what in asked
    assert read.safety.void == "not judged yet, 1 to note" and read.safety.value is None
    assert read.change.verdict == "too few"


def test_words_outside_the_catalogue_are_told_and_not_judged(sheet, clock) -> None:
    sheet.start()
    sheet.name_fault("something of our own", "root")
    sheet.drill("a game of ours")
    sheet.end()
    read = sheet.readings(catalogue_of(sheet.desk))
    assert read.readings.diagnosis.false_alarms == ()
    assert any("something of our own" in told for told in read.told)
    assert any("a game of ours" in told for told in read.told)


def test_practice_counted_by_the_space_bar_belongs_to_the_drill_that_ran(sheet, clock) -> None:
    sheet.start()
    for name, minutes in (("flat-glide", 4), ("wedge-size", 6)):
        sheet.drill("", drill=name)
        sheet.practise(True)
        clock.ms += minutes * MINUTE
        sheet.practise(False)
        clock.ms += MINUTE
    sheet.end()
    from assess.desk.lesson_case import lesson_case

    case = lesson_case(sheet.sheet, sheet.learners, None, catalogue_of(sheet.desk), None, 25)
    assert [drill.practice_min for drill in case.lesson.drills] == [4, 6]
    assert case.lesson.minutes == 12 and case.lesson.time is not None
    assert (case.lesson.time.practise, case.lesson.time.talk) == (10, 2)


def test_the_lines_of_a_reading_never_hold_one_number_of_several(sheet, clock) -> None:
    scenario, lesson = next((s, item) for s, item in LESSONS if item.id == "S5-unsafe")
    note(sheet, clock, scenario, of_target(scenario, lesson))
    lines = reading_lines(sheet.readings(catalogue_of(sheet.desk)).readings)
    look = [line for line in lines if line.look]
    assert [line.value for line in look] == ["look-up, must, incident"]
    assert {line.reading for line in lines} == {"diagnosis", "drills", "build-up", "safety", "change"}


def test_a_house_switches_drills_off_for_its_course_without_touching_what_was_shipped(sheet) -> None:
    root = sheet.desk.folder.root
    (root / "overlay.yaml").write_text("# assess catalogue 1\noff: [flat-glide]\n", encoding="utf-8")
    names = catalogue_names(sheet.desk)
    assert names.drill("flat-glide") is None and names.drill("wedge-size") is not None


def test_tables_in_the_measures_folder_are_the_change_of_that_lesson(sheet, clock) -> None:
    folder = sheet.desk.folder.root / "measures"
    folder.mkdir()
    side = (
        "measure: {id: stop-m, better: lower, what: metres, mdc95: {value: 1.6, of: difference of two run means,"
        " turns_per_run: 3, retest_pairs: 12, ci95: [1.1, 2.6], untaught_change: 0.1}}\n"
        "place: belt\nslope: 6\nsnow: packed\nability: 3\n"
    )
    for when, level in (("before", 8), ("after", 4)):
        rows = "".join(f"{run},{turn},{level + turn / 10}\n" for run in (1, 2) for turn in (1, 2, 3))
        (folder / f"T5.C01.{when}.csv").write_text("run,turn,value\n" + rows, encoding="utf-8")
        (folder / f"T5.C01.{when}.yaml").write_text("# assess lesson 1\n" + side, encoding="utf-8")
    sheet.start()
    sheet.end()
    read = sheet.readings(catalogue_of(sheet.desk))
    assert read.readings.change.verdict == "improved"
    (folder / "T5.C01.after.csv").write_text("run,turn,value\n1,1,x\n", encoding="utf-8")
    sheet.note("again", ())
    read = sheet.readings(catalogue_of(sheet.desk))
    assert read.readings.change.verdict == "too few"
    assert any("T5.C01.after.csv:2" in told for told in read.told)


def test_a_lesson_whose_end_nobody_noted_is_taken_as_long_as_planned_and_says_so(sheet, clock) -> None:
    sheet.drill("", drill="flex-check", practice_ms=3 * MINUTE)
    read = sheet.readings(catalogue_of(sheet.desk))
    assert "how long it lasted is not noted: taken as the 25 minutes planned" in read.told
    assert read.readings.inconsistent == ()
    sheet.start()
    clock.ms += 12 * MINUTE
    sheet.end()
    read = sheet.readings(catalogue_of(sheet.desk))
    assert not [told for told in read.told if "planned" in told]
    assert read.readings.drill_fit.drills_per_ten_minutes == pytest.approx(10 / 12)
