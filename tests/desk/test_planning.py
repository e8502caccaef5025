"""`assess plan` on courses: what it writes is looked at by a checker that shares no code with it."""

from __future__ import annotations

import re
import shutil
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.cli.commands import Ran, assess, tree
from tests.courses import ROOT, build_course, open_desk
from tests.desk.plan_checker import check_allocation
from tests.desk.planned_course import large_course, planned_course, task_line

SAMPLE = ROOT / "sample_sessions" / "course"
AS = ("--as", "D1")


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    """The sample course before its first day: nobody has marked anything."""
    root = tmp_path / "sample"
    shutil.copytree(SAMPLE, root)
    for folder in ("sheets", "days", "decisions", "seals", "moderation", "cases"):
        shutil.rmtree(root / folder, ignore_errors=True)
    return root


def written(root: Path, *more: str) -> Ran:
    ran = assess("plan", root, "--write", *AS, *more)
    assert ran.code == 0, ran.all
    return ran


def wrong(root: Path) -> str:
    """The last line a check says."""
    return assess("check", root, *AS).out.rstrip().rpartition("\n")[2]


# --- the plan is valid ---------------------------------------------------------------------------


def test_the_checker_finds_the_allocation_of_the_sample_right_but_for_a_worn_out_learner(sample: Path) -> None:
    assert check_allocation(sample) == []


def test_the_checker_finds_what_is_not_allowed(sample: Path) -> None:
    file = sample / "course.yaml"
    good = file.read_text(encoding="utf-8")
    slot = '- {task: T1, order: 1, round: 1, pair: 1, at: "09:45", candidate: C04, assessors: [A1, A2]}'
    for old, new, told in (
        (slot, slot.replace("[A1, A2]", "[A1, A3]"), "T1: ['A1'] sit in two pairs"),
        (slot, slot.replace("[A1, A2]", "[A1]"), "T1.C04 is marked by ['A1']"),
        (slot, slot.replace("09:45", "12:10"), "T1.C04 at 12:10 is out of the light"),
        (slot, slot.replace("C04", "C08"), "T1.C04 stands 0 times"),
        ("candidate: C07, assessors: [A3, A4]", "candidate: C07, assessors: [A1, A2]", "A1 may not mark T1.C07"),
        ("candidate: C06, assessors: [A1, A3]", "candidate: C06, assessors: [A1, A2]", "T2: ['A1'] sit in two pairs"),
        ("learners: [L6, L7, L8, L9, L10]", "learners: [L1, L7]", "L1 is in T4.C02 and T4.C07 at the same time"),
        ("learners: [L26]", "learners: [L26, L27]", "T5.C05 has too many learners"),
    ):  # fmt: skip
        assert old in good
        file.write_text(good.replace(old, new, 1), encoding="utf-8")
        assert told in check_allocation(sample), told


def test_a_plan_for_the_sample_course_is_valid_and_equal(sample: Path) -> None:
    before = (sample / "course.yaml").read_text(encoding="utf-8")
    written(sample)
    after = (sample / "course.yaml").read_text(encoding="utf-8")
    assert check_allocation(sample, spread=0) == []
    assert wrong(sample) == "nothing wrong"
    assert [line for line in after.split("\n") if line.startswith("#")] == [
        line for line in before.split("\n") if line.startswith("#")
    ]
    assert after.count("revision: 8") == 1 and "seed: " in after
    begin = {task: re.search(rf'task: {task}, order: 1, .*?at: "(..:..)"', after) for task in ("T1", "T3", "T4", "T6")}
    assert {task: found[1] for task, found in begin.items() if found} == {
        "T1": "09:45", "T3": "13:15", "T4": "09:00", "T6": "13:00"
    }  # fmt: skip


def test_forty_candidates_twelve_assessors_and_eight_tasks_in_less_than_a_minute(tmp_path: Path) -> None:
    root = large_course(tmp_path / "large")
    start = time.process_time()
    written(root)
    assert time.process_time() - start < 60
    # A5 holds no licence in the second half.
    found = check_allocation(root, spread=12)
    assert found == []
    assert wrong(root) == "nothing wrong"


courses = st.fixed_dictionaries(
    {
        "assessors": st.integers(4, 7),
        "candidates": st.integers(4, 9),
        "tasks": st.lists(st.sampled_from(["demo", "demo", "teach", "safety"]), min_size=2, max_size=5),
        "conflicts": st.lists(st.tuples(st.integers(1, 7), st.integers(1, 9)), max_size=3, unique=True),
        "at_once": st.sampled_from(["", "at_once: 1", "at_once: 2"]),
        "seed": st.integers(0, 999),
    }
)


@given(courses)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_small_courses_get_valid_plans_or_a_named_obstacle(tmp_path: Path, drawn: dict) -> None:  # type: ignore[type-arg]
    root = tmp_path / "small"
    shutil.rmtree(root, ignore_errors=True)
    minutes = {"demo": 6, "teach": 25, "safety": 15}
    # Two tasks a day, so that pairs can change between them.
    tasks = {
        f"T{n}": task_line(area, (n + 1) // 2, minutes[area], learners=2 * (area == "teach"))
        for n, area in enumerate(drawn["tasks"], 1)
    }
    pairs = [(a, c) for a, c in drawn["conflicts"] if a <= drawn["assessors"] and c <= drawn["candidates"]]
    people = (
        ["conflicts:", *(f"- {{assessor: A{a}, candidate: C{c:02d}, why: kin}}" for a, c in pairs)] if pairs else []
    )
    plan = "  tasks:\n" + "".join(f"  - {{task: {name}, {drawn['at_once']}}}\n" for name in tasks)
    planned_course(
        root, tasks, candidates=drawn["candidates"], assessors=drawn["assessors"], plan=plan, people=people, learners=12
    )
    ran = assess("plan", root, "--write", "--seed", str(drawn["seed"]), *AS)
    if ran.code == 1:
        assert ran.out.startswith("There is no plan. What stands in the way:\n- ")
        assert re.search(r"- (T\d|C0\d|Day \d|Every)", ran.out)
        return
    assert ran.code == 0, ran.all
    # Equal but for what sitting out a task takes: one pair's share of one task.
    found = check_allocation(root, spread=drawn["candidates"], pair_twice_a_day=True)
    assert found == []
    assert wrong(root) == "nothing wrong"


# --- what stands in the way ----------------------------------------------------------------------


def obstacles(ran: Ran) -> list[str]:
    assert ran.code == 1 and ran.json["feasible"] is False and ran.json["slots"] == []
    return [each["sentence"] for each in ran.json["obstacles"]]


def test_a_candidate_whom_one_assessor_only_may_mark_is_named_with_the_reasons(tmp_path: Path) -> None:
    people = [
        "conflicts:", '- {assessor: A1, candidate: C03, why: "trained this candidate"}', "licences:",
        "- {assessor: A1, activity: gliding, valid_from: 2026-01-01, valid_to: 2027-12-31}",
        "- {assessor: A2, activity: gliding, valid_from: 2026-01-01, valid_to: 2027-12-31}",
        "- {assessor: A3, activity: gliding, valid_from: 2026-01-01, valid_to: 2027-01-31}",
    ]  # fmt: skip
    root = planned_course(
        tmp_path / "k", {"T1": task_line("demo", 1, 6)}, candidates=3, assessors=3, people=people, plan="  fresh: 0"
    )
    before = tree(root)
    assert obstacles(assess("plan", root, "--json", *AS)) == [
        "C03 can be marked by one assessor only, A2 (A1: a conflict is declared: trained this candidate;"
        " A3: the licence ended on 2027-01-31)."
    ]
    # What was declared about it is for the director and those it concerns.
    assert "A1: a conflict is declared; A3" in obstacles(assess("plan", root, "--json"))[0]
    text = assess("plan", root, "--write", *AS)
    assert text.code == 1 and "C03 can be marked by one assessor only, A2" in text.out
    assert tree(root) == before


def test_a_task_that_is_too_long_for_what_is_left_of_its_day_is_named(tmp_path: Path) -> None:
    tasks = {"T3": task_line("demo", 1, 6), "T4": task_line("teach", 1, 25, learners=1)}
    root = planned_course(
        tmp_path / "k", tasks, candidates=10, assessors=4, learners=9, plan="  tasks: [{task: T4, at_once: 1}]"
    )
    assert obstacles(assess("plan", root, "--json", *AS)) == [
        "T4 needs 350 minutes (10 rounds of 35), 240 are left on day 1 beside T3 (60)."
    ]
    said = assess("plan", root, *AS).out.replace("\n", " ")
    assert "with `at_once: 2` T4 needs 175 minutes, and the day holds it" in re.sub(r" +", " ", said)


def test_two_assessors_leave_nobody_fresh(tmp_path: Path) -> None:
    assert assess("new", "course", tmp_path / "week").code == 0
    ran = assess("plan", tmp_path / "week", "--json", "--as", "D1")
    assert obstacles(ran) == [
        "Every candidate can be marked by A1 and A2 only: that is one pair, and nobody is fresh for a third look."
    ]
    course = tmp_path / "week" / "course.yaml"
    course.write_text(course.read_text() + "plan: {fresh: 0}\n")
    assert assess("plan", tmp_path / "week", "--json", "--as", "D1").json["feasible"] is True


def test_candidates_who_cannot_all_have_two_markers_are_named(tmp_path: Path) -> None:
    conflicts = [f'- {{assessor: A{n}, candidate: C0{n}, why: "is a relative"}}' for n in (1, 2, 3)]
    root = planned_course(
        tmp_path / "k", {"T1": task_line("demo", 1, 6)}, candidates=4, assessors=3, plan="  fresh: 0",
        people=["conflicts:", *conflicts],
    )  # fmt: skip
    assert obstacles(assess("plan", root, "--json", *AS)) == [
        "T1: two markers cannot be found for C02 (by A1 and A3) and C03 (by A1 and A2),"
        " so that nobody sits in two pairs."
    ]


def test_settings_that_contradict_themselves_are_told_with_their_line(tmp_path: Path) -> None:
    root = planned_course(
        tmp_path / "k",
        {"T1": task_line("demo", 1, 6)},
        candidates=3,
        assessors=3,
        plan="  tasks: [{task: T1, every: 3}]",
    )
    ran = assess("plan", root, *AS)
    assert ran.code == 3 and ran.out == ""
    assert re.search(r"course.yaml:\d+: `T1` takes 6 minutes, the next turn begins after 3; write 6 or more", ran.err)


# --- who may, and what stays ---------------------------------------------------------------------


def test_without_write_nothing_is_written_and_anybody_may_look(sample: Path) -> None:
    before = tree(sample)
    said = {assess("plan", sample, *who).out for who in ((), ("--as", "A1"), AS)}
    assert len(said) == 1 and "Seed 122604, made of the course's id and its first day" in said.pop().replace("\n", " ")
    assert tree(sample) == before


def test_what_anybody_has_marked_plays_no_part_in_a_plan(sample: Path) -> None:
    for who in ((), ("--as", "A1"), AS):
        assert assess("plan", sample, "--json", *who).code == 0
    before = [assess("plan", sample, "--json", *who).all for who in ((), ("--as", "A1"), AS)]
    partner = open_desk(sample, "A2", device="a2a2a")
    partner.slot("T1", "C04").score("edging", 2)
    assert partner.close()
    assert [assess("plan", sample, "--json", *who).all for who in ((), ("--as", "A1"), AS)] == before
    # Only the director who asks for it is told which tasks have begun.
    assert assess("plan", sample, "--rest", "--json", *AS).json["kept"] == ["T1"]


def test_only_a_director_writes(sample: Path) -> None:
    before = tree(sample)
    assert assess("plan", sample, "--write").code == 2
    ran = assess("plan", sample, "--write", "--as", "A1")
    assert ran.code == 1 and "only a director" in ran.err
    ran = assess("plan", sample, "--rest", "--as", "A1")
    assert ran.code == 1 and "only a director" in ran.err
    assert tree(sample) == before


def test_the_same_seed_gives_the_same_file_and_another_another(sample: Path, tmp_path: Path) -> None:
    written(sample, "--seed", "5")
    first = (sample / "course.yaml").read_text(encoding="utf-8")
    assert "  seed: 5\n" in first
    written(sample)
    assert (sample / "course.yaml").read_text(encoding="utf-8") == first.replace("revision: 8", "revision: 9")
    written(sample, "--seed", "6")
    assert check_allocation(sample, spread=0) == []
    assert (sample / "course.yaml").read_text(encoding="utf-8").count("candidate: C04") == first.count("candidate: C04")
    assert "seed: 6" in (sample / "course.yaml").read_text(encoding="utf-8")


def test_a_course_that_has_begun_is_not_planned_anew(tmp_path: Path) -> None:
    root = tmp_path / "course"
    shutil.copytree(SAMPLE, root)
    before = tree(root)
    ran = assess("plan", root, "--write", *AS)
    assert ran.code == 1 and "would change and have a sheet; with --rest" in ran.err
    assert tree(root) == before


def test_the_rest_of_a_course_is_planned_around_what_has_begun(sample: Path) -> None:
    desk = open_desk(sample, "A1")
    desk.slot("T1", "C04").score("edging", 4)
    assert desk.close()
    file = sample / "course.yaml"
    before = [line for line in file.read_text(encoding="utf-8").split("\n") if "task: T1," in line]
    ran = assess("plan", sample, "--write", "--rest", "--json", *AS)
    assert ran.code == 0 and ran.json["kept"] == ["T1"] and ran.json["written"] is True
    assert [line for line in file.read_text(encoding="utf-8").split("\n") if "task: T1," in line] == before
    assert check_allocation(sample) == []
    assert {slot["stays"] for slot in ran.json["slots"] if slot["task"] == "T1"} == {True}


def test_a_sheet_that_is_begun_while_the_plan_is_looked_at_is_seen(sample: Path) -> None:
    from assess.desk.planning import plan_course
    from assess.desk.planning_write import write_plan
    from assess.records.errors import Refusal

    director = open_desk(sample, "D1", device="d2d2d")
    planned = plan_course(director)
    marker = open_desk(sample, "A1")
    marker.slot("T1", "C04").score("edging", 4)
    before = (sample / "course.yaml").read_bytes()
    with pytest.raises(Refusal, match="open in another window"):
        write_plan(director, planned)
    assert marker.close()
    with pytest.raises(Refusal, match=r"T1\.C04 would change and has a sheet"):
        write_plan(director, planned)
    assert (sample / "course.yaml").read_bytes() == before


def test_a_file_that_was_changed_since_it_was_planned_is_not_written(sample: Path) -> None:
    from assess.desk.planning import plan_course
    from assess.desk.planning_write import write_plan
    from assess.records.errors import Refusal

    director, file = open_desk(sample, "D1"), sample / "course.yaml"
    planned = plan_course(director)
    changed = file.read_bytes().replace(b"candidates: [C01, ", b"candidates: [")
    file.write_bytes(changed)
    with pytest.raises(Refusal, match="changed since it was planned"):
        write_plan(director, planned)
    assert file.read_bytes() == changed


def test_a_change_of_markers_on_record_keeps_its_task(sample: Path) -> None:
    assert assess("allocate", sample, "T5.C02", "--from", "A2", "--reason", "ill", *AS).code == 0
    ran = assess("plan", sample, "--write", *AS)
    assert ran.code == 1 and "T5.C02 would change and has a change of markers on record" in ran.err
    ran = assess("plan", sample, "--write", "--rest", "--json", *AS)
    assert ran.json["kept"] == ["T5"]


def test_shadows_stay_where_they_can(tmp_path: Path) -> None:
    root = build_course(tmp_path / "k", candidates=4, assessors=("A1", "A2", "A3", "A4", "A5"), tasks=("T1",))
    file = root / "course.yaml"
    text = file.read_text(encoding="utf-8").replace(
        "assessors: [A1, A2, A3, A4, A5]}", "assessors: [A1, A2], shadows: [A3, A5]}"
    )
    file.write_text(text, encoding="utf-8")
    ran = assess("plan", root, "--write", "--json", *AS)
    assert ran.code == 0
    told = {tuple(re.findall(r"A\d|T1\.C\d+", note)) for note in ran.json["notes"]}
    for slot in ran.json["slots"]:
        line = next(line for line in file.read_text().split("\n") if f"candidate: {slot['candidate']}," in line)
        for who in ("A3", "A5"):
            shadows = re.search(r"shadows: \[(.*?)\]", line)
            stays = shadows is not None and who in shadows[1]
            assert stays == (who not in slot["assessors"]) == ((who, f"T1.{slot['candidate']}") not in told)
    assert wrong(root) == "nothing wrong"


def test_a_candidate_who_has_withdrawn_is_planned_for_nothing_more(sample: Path) -> None:
    desk = open_desk(sample, "A1")
    desk.run_sheet("T2").order("C05", "withdrawn")
    assert desk.close()
    ran = assess("plan", sample, "--json", *AS)
    assert ran.json["withdrawn"] == ["C05"] and len(ran.json["slots"]) == 54
    assert "C05" not in {slot["candidate"] for slot in ran.json["slots"]}
    assert "These have withdrawn and are planned for nothing more: C05." in assess("plan", sample, *AS).out


def test_the_day_of_the_allocation_is_written_and_what_was_agreed_before_it_is_shown(sample: Path) -> None:
    people, course = sample / "people.yaml", sample / "course.yaml"
    agreed = '- {candidate: C04, what: "reads the task twice", changes: time, tasks: [T4], agreed_by: D1'
    text = people.read_text(encoding="utf-8")
    assert "accommodations:" not in text
    people.write_text(f"{text}accommodations:\n{agreed}, agreed_at: 2026-01-20}}\n", encoding="utf-8")
    assert "- Dario Felske in T4: reads the task twice (time)\n" in assess("plan", sample, *AS).out
    assert "reads the task" not in assess("plan", sample, "--as", "A1").out
    written(sample)
    day = re.search(r"^allocated_on: [\"']?(\d{4}-\d\d-\d\d)", course.read_text(encoding="utf-8"), re.M)
    assert day and wrong(sample) == "nothing wrong"
    people.write_text(f"{text}accommodations:\n{agreed}, agreed_at: {day[1]}}}\n", encoding="utf-8")
    assert "not before the allocation was made" in assess("check", sample, *AS).out


def test_a_calibration_round_is_not_planned() -> None:
    ran = assess("plan", ROOT / "sample_sessions" / "calibration")
    assert ran.code == 1 and "only a course is planned" in ran.err


def test_a_second_performance_stays_as_it_is(sample: Path) -> None:
    file = sample / "course.yaml"
    extra = '- {task: T2-2, order: 1, at: "09:00", day: 4, candidate: C02, assessors: [A1, A3]}'
    file.write_text(
        file.read_text(encoding="utf-8").replace("allocation:\n", f"allocation:\n{extra}\n"), encoding="utf-8"
    )
    ran = written(sample, "--json")
    assert extra in file.read_text(encoding="utf-8")
    assert [slot["task"] for slot in ran.json["slots"] if slot["stays"]] == ["T2-2"]
    assert next(load["sheets"] for load in ran.json["loads"] if load["assessor"] == "A2") >= 30


# --- the programme -------------------------------------------------------------------------------


def test_a_course_without_a_programme_gets_one_and_one_written_by_hand_stays(tmp_path: Path, sample: Path) -> None:
    tasks = {"T1": task_line("demo", 1, 6), "T2": task_line("demo", 1, 6)}
    root = planned_course(tmp_path / "k", tasks, candidates=4, assessors=4)
    written(root)
    file = root / "course.yaml"
    assert "- {day: 1, text: 09:00 T1; 09:39 T2}" in file.read_text(encoding="utf-8")
    file.write_text(file.read_text(encoding="utf-8").replace("  seed", "  between: 30\n  seed"), encoding="utf-8")
    written(root)
    assert "09:00 T1; 09:54 T2" in file.read_text(encoding="utf-8")
    assert "lines under `programme` stay as they are" in written(sample).out.replace("\n", " ")


def test_the_programme_of_an_allocation_is_printed_for_everybody(sample: Path) -> None:
    ran = assess("plan", sample, "--programme")
    assert ran.code == 0
    assert "T1  Long turns, medium speed, moderate slope: Long Shelf, upper half\n" in ran.out
    assert "  1  09:45  23 Dario Felske (C04)   A1 A2\n" in ran.out
    assert "  1  09:00  21 Beric Stannow (C02)  A1 A3\n            with L1 L2 L3 L4 L5\n" in ran.out
    assert "fresh" not in ran.out and "sheets" not in ran.out
    found = assess("plan", sample, "--programme", "--json").json
    assert found["seed"] is None and len(found["slots"]) == 60
    assert (
        found["not_met"][-1]
        == "L27 (3 times) are taught 3 times or more: who has had so many lessons is no beginner any more."
    )


def test_a_course_without_an_allocation_has_no_programme(tmp_path: Path) -> None:
    root = planned_course(tmp_path / "k", {"T1": task_line("demo", 1, 6)}, candidates=3, assessors=3)
    ran = assess("plan", root, "--programme")
    assert ran.code == 1 and "no allocation yet" in ran.err
    assert assess("plan", root, "--programme", "--write", *AS).code == 2
