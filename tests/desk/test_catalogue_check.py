from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.desk.catalogue_check import check_catalogue, check_practice
from assess.desk.cycles import cycles
from assess.records.errors import Problem
from assess.store.catalogue_folder import load_catalogue
from assess.store.practice_file import read_practice
from tests.catalogue_maker import LESSONS, line_of, write_catalogue, write_lessons


def checked(root: Path, file: str = "", old: str = "", new: str = "", overlay: str = "") -> list[Problem]:
    changes = {file: (old, new)} if file else {}
    return check_catalogue(load_catalogue(write_catalogue(root / "c", changes, overlay=overlay)))


def practised(root: Path, old: str = "", new: str = "") -> list[Problem]:
    catalogue = load_catalogue(write_catalogue(root / "c")).catalogue
    return check_practice(read_practice(write_lessons(root / "lessons.yaml", old, new)), catalogue)


def test_a_whole_catalogue_and_its_lessons_give_no_finding(tmp_path: Path) -> None:
    assert checked(tmp_path) == []
    assert practised(tmp_path) == []


SPOILT = [
    # file, what stands there, what is put there, the line that is named, words of the finding
    ("faults", "caused_by: [X-cold]", "caused_by: [X-cld]", "X-cld", "stiff names X-cld in caused_by"),
    ("faults", "amplified_by: [late]", "amplified_by: [laet]", "laet", "stiff names laet in amplified_by"),
    ("faults", "look_alike: [stiff]", "look_alike: [stif]", "look_alike: [stif]", "late names stif in look_alike"),
    ("faults", "phase: all", "phase: al", "phase: al", "stiff names al in phase"),
    ("faults", 'seen: "legs like posts"', 'seen: " "', 'seen: " "', "seen of stiff is empty"),
    ("faults", 'action: "move, warm up"', 'action: ""', "X-cold, seen", "action of X-cold is empty"),
    ("faults", "caused_by: [X-cold]", "caused_by: [X-cold, late]", "X-cold, late", "is a root and is caused by late"),
    ("faults", "caused_by: [stiff]", "caused_by: [stiff, slides]", "caused_by: [late]", "caused_by comes back"),
    ("drills", "addresses: [slides]", "addresses: [slide]", "addresses: [slide]", "patience names slide in addresses"),
    ("drills", "addresses: [slides]", "addresses: []", "id: slides", "no drill treats slides"),
    ("drills", "may_worsen: [stiff]", "may_worsen: [stif]", "may_worsen: [stif]", "patience names stif in may_worsen"),
    ("drills", "may_worsen: [stiff]", "may_worsen: [slides]", "may_worsen: [slides]", "slides and may worsen it"),
    ("drills", "supports: [X-cold]", "supports: [stiff]", "supports: [stiff]", "there is no cause outside technique"),
    ("drills", "skills: [grip]", "skills: [grup]", "skills: [grup]", "patience names grup in skills"),
    ("drills", "skills: [grip]", "skills: [stand]", "id: grip", "no drill trains grip"),
    ("drills", "needs: [stand]", "needs: [stond]", "needs: [stond]", "patience names stond in needs"),
    ("drills", "prereq: [bounce]", "prereq: [bounc]", "prereq: [bounc]", "there is no drill of that id"),
    ("drills", "prereq: []", "prereq: [patience]", "prereq: [bounce]", "prereq comes back to where it began"),
    ("drills", "difficulty: 5", "difficulty: 1.5", "prereq: [bounce]", "comes after bounce, which is harder (2)"),
    ("drills", "slope: [2, 6]", "slope: [4, 4]", "slope: [4, 4]", "bounce has the slope 4 to 4"),
    ("drills", "ok: [firm]", "ok: [fern]", "fern", "bounce names fern in snow"),
    ("drills", "ok: [firm], avoid", "ok: [], avoid", "ok: []", "bounce has no snow it works on"),
    ("drills", "avoid: [grabby]", "avoid: [grabby, firm]", "grabby, firm", "works best on firm and avoids it"),
    ("drills", 'hazards: "a long slide"', 'hazards: "none special"', "none special", "patience names nothing"),
    ("drills", 'hazards: "a long slide"', 'hazards: " - "', 'hazards: " - "', "hazards of patience names nothing"),
    ("drills", 'care: ["clean run-out"]', 'care: [" "]', "must: []", "patience has neither a must nor a care line"),
    ("drills", 'check: "smear shrinks"', 'check: ""', 'check: ""', "check of patience is empty"),
    ("skills", "needs: [stand]", "needs: [stnd]", "stnd", "grip names stnd in needs"),
    ("skills", 'needs: [], what: "stand', 'needs: [grip], what: "stand', "id: grip", "needs comes back"),
    ("settings", "service: []", "service: [lift]", "service", "service names lift"),
    ("settings", "{grabby: 1.0}", "{graby: 1.0}", "snow_extra", "did you mean grabby?"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "line", "words"), SPOILT)
def test_what_is_wrong_is_named_with_its_file_line_and_what_to_do(
    tmp_path: Path, file: str, old: str, new: str, line: str, words: str
) -> None:
    found = checked(tmp_path, file, old, new)
    hit = [problem for problem in found if words in str(problem)]
    assert len(hit) == 1, [str(problem) for problem in found]
    assert not hit[0].doubt
    assert hit[0].todo
    assert hit[0].line == line_of(Path(hit[0].file), line)


def test_the_formation_of_a_drill_is_a_word_of_the_vocabulary(tmp_path: Path) -> None:
    found = checked(tmp_path, "vocab", "formation: {line:", "formation: {lane:")
    assert [problem.what.partition(",")[0] for problem in found] == [
        "bounce names line in formation", "patience names line in formation",
    ]  # fmt: skip


def test_a_fault_without_a_cause_and_a_name_for_two_drills_are_doubts(tmp_path: Path) -> None:
    [cause] = checked(tmp_path, "faults", "caused_by: [X-cold]", "caused_by: []")
    assert cause.doubt and "stiff has no cause" in cause.what
    both = checked(tmp_path, "drills", 'aliases: ["bobbing"]', 'aliases: ["long wait"]')
    assert [problem.doubt for problem in both] == [True, True]


def test_without_settings_the_skills_the_program_comes_with_are_doubted(tmp_path: Path) -> None:
    folder = write_catalogue(tmp_path / "c")
    (folder / "settings.yaml").unlink()
    [problem] = check_catalogue(load_catalogue(folder))
    assert problem.doubt
    assert "no settings.yaml" in problem.what


def test_an_overlay_that_switches_off_what_is_nowhere_is_told_with_its_line(tmp_path: Path) -> None:
    [problem] = checked(tmp_path, overlay="off:\n- boounce\n")
    assert Path(problem.file).name == "overlay.yaml"
    assert problem.line == 3
    assert "did you mean bounce?" in str(problem)


def test_an_overlay_that_leaves_a_fault_without_a_drill_is_told_at_the_fault(tmp_path: Path) -> None:
    found = checked(tmp_path, overlay="off: [patience]\n")
    assert [problem.what for problem in found] == ["no drill treats slides", "no drill trains grip"]
    assert found[0].line == line_of(Path(found[0].file), "id: slides")


def test_a_fault_of_the_overlay_is_named_with_the_overlays_line(tmp_path: Path) -> None:
    skill = '{id: grip, level: 2, slope: [6, 12], needs: [stan], what: "hold"}'
    [problem] = checked(tmp_path, overlay=f"skills:\n  - {skill}\n")
    assert Path(problem.file).name == "overlay.yaml"
    assert problem.line == 3


IDS = st.sampled_from("abcdef")


@given(st.dictionaries(IDS, st.lists(IDS, max_size=4), max_size=6))
def test_cycles_are_found_exactly_when_an_id_can_reach_itself(graph: dict[str, list[str]]) -> None:
    def reached(start: str) -> set[str]:
        seen: set[str] = set()
        ahead = list(graph.get(start, ()))
        while ahead:
            step = ahead.pop()
            if step not in seen:
                seen.add(step)
                ahead += graph.get(step, ())
        return seen

    found = cycles(graph)
    assert bool(found) == any(name in reached(name) for name in graph)
    for way in found:
        assert way[0] == way[-1]
        assert all(after in graph[before] for before, after in pairwise(way))


@given(st.dictionaries(IDS, st.lists(IDS, max_size=4), max_size=6))
def test_taking_out_the_last_step_of_every_way_found_leaves_no_cycle(graph: dict[str, list[str]]) -> None:
    cut = {(way[-2], way[-1]) for way in cycles(graph)}
    assert cycles({name: [to for to in steps if (name, to) not in cut] for name, steps in graph.items()}) == []


WRONG = [
    ("snow: firm\n    vis", "snow: furm\n    vis", "snow: furm", "P1: there is no snow furm"),
    ("group_target: stiff", "group_target: stif", "group_target", "there is no fault or cause stif"),
    ("roots: [{id: stiff", "roots: [{id: stuff", "roots:", "P1, ada: there is no fault or cause stuff"),
    ("tolerated: []\n      harmful: []", "tolerated: [lat]\n      harmful: []", "tolerated: [lat]", "mean late?"),
    ("[X-cold, stiff, late, slides]", "[X-cold, late, slides]", "- [X-cold", "X-cold > late is no step"),
    ("[X-cold, stiff, late, slides]", "[stiff, X-cold]", "- [stiff", "X-cold is a cause outside technique and follows"),
    ("{fault: stiff, role", "{fault: stift, role", "stift", "P1-a: there is no fault or cause stift"),
    ("role: root, learner: ada", "role: root, learner: adda", "adda", "there is no learner adda"),
    ("managed: [X-cold]", "managed: [stiff]", "managed", "there is no cause outside technique stiff"),
    ("- {id: patience, slope", "- {id: patient, slope", "patient", "there is no drill patient"),
    ("slope: 8, snow: firm", "slope: 8, snow: ferm", "ferm", "there is no snow ferm"),
    ("hazards_handled: [fence]", "hazards_handled: [fenc]", "fenc]", "there is no hazard of this situation fenc"),
    ("improved: [ada]", "improved: [add]", "group: {seen", "there is no learner add"),
    ("do: drill, ref: bounce", "do: drill, ref: bounse", "bounse", "there is no drill, fault or hazard bounse"),
    ('before: {place: "marked turns", slope: 10, snow: firm', 'before: {place: "marked turns", slope: 10, snow: f',
     "snow: f,", "there is no snow f"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "words"), WRONG)
def test_an_id_or_step_nobody_knows_is_a_problem_with_its_line(
    tmp_path: Path, old: str, new: str, line: str, words: str
) -> None:
    [problem] = practised(tmp_path, old, new)
    assert words in str(problem)
    assert not problem.doubt
    assert problem.todo
    assert problem.line == line_of(tmp_path / "lessons.yaml", line)


DOUBTFUL = [
    ("practice_min: 5", "practice_min: 17", "drills add up to 21 minutes, the lesson lasted 20"),
    ("time: {talk: 5", "time: {talk: 7", "add up to 22 minutes"),
    ("n: 4, practice_min: 4", "n: 11, practice_min: 4", "11 runs take at least 4.4 minutes"),
    ("n: 4, practice_min: 5", "n: 6, practice_min: 5", "patience was done for 6 min and practised for 5"),
    ("slope: 8, snow: firm", "slope: 18, snow: firm", "patience on 18 degrees, and the steepest ground told is 10"),
    ("{t: 4, do: drill", "{t: 24, do: drill", "minute 24 (drill) is after the end"),
    ("reported_breaches: []", "reported_breaches: [{must_not: closed, by: assessor, minute: 21}]", "minute 21 of 20"),
    ("look-up: done", "look-up: na", "look-up is not applicable, and the traffic is 'low'"),
    ("vis: clear", "vis: murky", "vis is 'murky', no word of vocab.yaml"),
    ("tolerated: []\n      harmful: []", "tolerated: [stiff]\n      harmful: []", "stiff is a target and tolerated"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "words"), DOUBTFUL)
def test_minutes_and_ground_that_do_not_fit_are_doubts(tmp_path: Path, old: str, new: str, words: str) -> None:
    [problem] = practised(tmp_path, old, new)
    assert words in problem.what
    assert problem.doubt
    assert problem.line > 1


def test_looking_before_setting_off_may_be_left_out_where_nobody_else_is(tmp_path: Path) -> None:
    write_catalogue(tmp_path / "c")
    path = tmp_path / "lessons.yaml"
    path.write_text(LESSONS.replace("traffic: low", "traffic: none").replace("look-up: done", "look-up: na"), "utf-8")
    assert check_practice(read_practice(path), load_catalogue(tmp_path / "c").catalogue) == []
