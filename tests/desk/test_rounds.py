"""A round at the desk: reference, results, rule, chances, where they parted, signing, and what a course gets of it."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from assess.records.facts import CalibrationSigned
from assess.store.course_folder import load_course
from assess.store.heads import head_problems
from assess.store.round_folder import load_round
from tests.cli.commands import assess
from tests.courses import FixedClock, build_course, open_desk
from tests.rounds import build_round, levels_of, mark_all, mark_lesson

SLOTS = ("L01", "L02", "L03", "L01-2")
PANEL = {"P1": 3, "P2": 4, "P3": 4, "P4": 4}


@pytest.fixture(autouse=True)
def state(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    folder = tmp_path / "state"
    folder.mkdir()
    (folder / "device").write_text("d7h2k\n")
    monkeypatch.setenv("ASSESS_STATE_DIR", str(folder))


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A panel that has locked, A1 who has locked, A2 who has one lesson to go."""
    root = build_round(tmp_path / "round")
    for who, level in PANEL.items():
        mark_all(root, who, levels_of(SLOTS[:3], level))
    mark_all(root, "A1", {"L01": (4, 4, 4, 4), "L02": (4, 5, 2, 4), "L03": (4, 4, 4, 3), "L01-2": (4, 4, 4, 5)})
    mark_all(root, "A2", levels_of(SLOTS[:3], 6))
    return root


def round_json(root: Path, *words: str, who: str = "D1", code: int = 0) -> dict[str, Any]:
    ran = assess("round", root, "--as", who, "--json", *words)
    assert ran.code == code, ran.err
    told: dict[str, Any] = ran.json
    return told


def test_the_director_sees_the_reference_who_has_locked_and_results_of_whoever_locked_all(root: Path) -> None:
    told = round_json(root)
    assert told["reference"]["lessons"][0]["levels"]["diagnosis"] == {
        "level": "4", "panel": {"P1": "3", "P2": "4", "P3": "4", "P4": "4"},
    }  # fmt: skip
    assert {each["marker"]: each["locked"] for each in told["locks"]} == {
        "P1": 3, "P2": 3, "P3": 3, "P4": 3, "A1": 4, "A2": 3,
    }  # fmt: skip
    assert [each["assessor"] for each in told["assessors"]] == ["A1"]
    first = told["assessors"][0]
    assert first["counts"] | {"exact": 12, "within_one": 15, "scores": 16} == first["counts"]
    assert first["result"] == "current"
    assert [each["marker"] for each in told["chances"]] == ["good", "severe", "drifting", "flat"]
    assert all(sum(each["shares"].values()) == pytest.approx(1) for each in told["chances"])


def test_where_they_parted_stands_with_what_each_had_seen(root: Path) -> None:
    (root / "reference.yaml").write_text(
        "# assess reference 1\nround: R-TEST\nrevision: 1\nreasons:\n"
        '- {lesson: L02, criterion: build-up, reason: "each step holds"}\n'
    )
    parted = round_json(root, "--assessor", "A1")["assessors"][0]["parted"]
    assert [(each["slot"], each["criterion"], each["level"], each["reference"]) for each in parted] == [
        ("L02", "build-up", "2", "4"), ("L03", "learner-change", "3", "4"),
    ]  # fmt: skip
    assert parted[0]["seen"] == ["A1 saw build-up in L02"]
    assert parted[0]["reason"] == "each step holds"
    assert parted[0]["panel_saw"][0] == "4: P2 saw build-up in L02"
    assert parted[0]["across_the_line"] and (parted[0]["panel_from"], parted[0]["panel_to"]) == ("3", "4")
    text = assess("round", root, "--as", "A1", "--assessor", "A1").out
    assert "noted: A1 saw build-up in L02" in text and "the panel's reason: each step holds" in text


def test_the_lessons_stand_in_the_order_in_which_they_were_marked(tmp_path: Path) -> None:
    root = build_round(tmp_path / "round", more=["orders: {A1: [L03, L02, L01, L01-2]}"])
    for who, level in PANEL.items():
        mark_all(root, who, levels_of(SLOTS[:3], level))
    mark_all(root, "A1", levels_of(("L02", "L03", "L01", "L01-2"), 4))
    lines = round_json(root, "--assessor", "A1")["assessors"][0]["lessons"]
    assert [(line["place"], line["slot"], line["again"]) for line in lines] == [
        (1, "L02", False), (2, "L03", False), (3, "L01", False), (4, "L01-2", True),
    ]  # fmt: skip


def test_imported_sheets_stand_in_the_order_they_were_meant_to_be_marked_in(tmp_path: Path) -> None:
    root = build_round(tmp_path / "round", more=["orders: {A1: [L03, L02, L01, L01-2]}"])
    for who, level in PANEL.items():
        mark_all(root, who, levels_of(SLOTS[:3], level))
    head = "day,task,order,candidate,assessor,criterion,score,status,rubric\n"
    keys = ("diagnosis", "drill-choice", "build-up", "learner-change")
    digest = load_round(root).course.rubrics[0]
    rows = [f"1,T5,,{slot},A1,{key},4,scored,{digest.rubric}\n" for slot in SLOTS for key in keys]
    table = tmp_path / "a1.csv"
    table.write_text(head + "".join(rows))
    ran = assess("import", table, "--into", root, "--as", "D1")
    assert ran.code == 0, ran.err
    told = round_json(root, "--assessor", "A1")["assessors"][0]
    assert [line["slot"] for line in told["lessons"]] == ["L03", "L02", "L01", "L01-2"]
    assert told["counts"]["exact"] == 16


def test_whoever_cannot_lock_is_taken_off_by_a_director_and_the_round_goes_on(tmp_path: Path) -> None:
    root = build_round(tmp_path / "round", panel=(*PANEL, "P5"))
    for who, level in PANEL.items():
        mark_all(root, who, levels_of(SLOTS[:3], level))
    mark_all(root, "P5", levels_of(SLOTS[:2], 6))
    mark_all(root, "A1", levels_of(SLOTS, 4))
    assert round_json(root)["why"] == "the panel has not locked all its sheets yet"
    taken = assess("allocate", root, "T5.L03", "--from", "P5", "--reason", "the machine is gone", "--as", "D1")
    assert taken.code == 0, taken.err
    told = round_json(root)
    assert [each["assessor"] for each in told["assessors"]] == ["A1"]
    panels = [sorted(lesson["levels"]["diagnosis"]["panel"]) for lesson in told["reference"]["lessons"]]
    assert panels == [["P1", "P2", "P3", "P4", "P5"]] * 2 + [["P1", "P2", "P3", "P4"]]
    assert assess("round", root, "--sign", "--as", "D1").code == 0


def test_a_sheet_that_is_not_whole_is_not_used(root: Path) -> None:
    """A1 marked a lesson on two devices, and one of the two is not here."""
    for file in (root / "sheets").glob("T5.L03.A1.*"):
        file.unlink()
    desks = [open_desk(root, "A1", device=device, clock=_later(n)) for n, device in enumerate(("dev1", "dev2"))]
    first = desks[0].slot("T5", "L03")
    first.score("diagnosis", 4)
    assert desks[0].close()
    desk = open_desk(root, "A1", device="dev2", clock=_later(2))
    second = desk.slot("T5", "L03")
    for criterion in second.criteria:
        second.score(criterion, 4)
    second.lock()
    assert desk.close() and desks[1].close()
    assert [each["assessor"] for each in round_json(root)["assessors"]] == ["A1"]
    next((root / "sheets").glob("T5.L03.A1.dev1*")).unlink()
    told = round_json(root)
    assert told["assessors"] == [] and told["notes"][0].startswith("sheets of A1 are not whole and not used")


def _later(hours: int) -> FixedClock:
    return FixedClock(start_ms=1_770_040_000_000 + hours * 3_600_000)


def test_a_panel_of_three_gives_no_reference_and_says_why(tmp_path: Path) -> None:
    root = build_round(tmp_path / "round", panel=("P1", "P2", "P3"))
    told = round_json(root)
    assert told["reference"] is None and told["chances"] is None
    assert told["why"] == "a reference is built from at least 4 blind markings, and the panel has 3"
    check = assess("check", root, "--as", "D1")
    assert check.code == 1 and "at least 4 blind markings, and the panel has 3" in check.out


def test_none_off_by_more_than_one_is_refused_with_the_chance_that_a_good_marker_fails_it(tmp_path: Path) -> None:
    rule = ('current: {within_one_at_least: "1"}',)
    root = build_round(tmp_path / "round", rule=rule)
    sentence = (
        "the rule asks that none of 16 scores be off by more than one level, and a good marker fails that: of 100"
    )
    before = assess("check", root, "--as", "A1")
    assert before.code == 1 and f"round.yaml:17: {sentence} whose scores are off by 0.50 levels" in before.out
    for who, level in {"P1": 2, "P2": 4, "P3": 4, "P4": 6}.items():
        mark_all(root, who, levels_of(SLOTS[:3], level))
    mark_all(root, "A1", levels_of(SLOTS, 4))
    told = round_json(root, code=1)
    assert told["rule"]["refused"].startswith(sentence)
    assert told["assessors"][0]["result"] is None and told["chances"] == []
    shown = assess("round", root, "--as", "D1")
    assert shown.code == 1 and "It cannot be used: the rule asks that none of 16 scores" in shown.out
    refused = assess("round", root, "--sign", "--as", "D1")
    assert refused.code == 1 and "the rule gives no result for A1" in refused.err
    assert not (root / "licences").exists()


def test_a_rule_that_asks_about_repeats_where_there_are_none_is_wrong(tmp_path: Path) -> None:
    rule = ('current: {repeats_within_one_at_least: "0.8"}', 'mark_again: {exact_at_least: "0.5"}')
    root = build_round(tmp_path / "round", repeats=(), rule=rule)
    out = assess("check", root, "--as", "D1").out
    assert "the rule asks about lessons marked twice, and there is none" in out
    assert "`mark_again` asks more of `exact_at_least` than `current` does" in out


# --- signing ------------------------------------------------------------------------------------


def signed_facts(root: Path) -> list[CalibrationSigned]:
    return [
        entry.fact
        for file in load_round(root).ledgers
        if file.ledger.header.kind == "licence"
        for entry in file.ledger.entries
        if isinstance(entry.fact, CalibrationSigned)
    ]


def test_a_director_signs_what_the_rule_gives_and_it_stands_once(root: Path) -> None:
    first = assess("round", root, "--sign", "--as", "D1")
    assert first.code == 0, first.err
    assert first.out == ("A1 Marker A1: current, licence 2026-02-02 to 2027-02-01; signed: licences/A1.D1.d7h2k.yaml\n")
    assert "signed already" in assess("round", root, "--sign", "--as", "D1").out
    facts = signed_facts(root)
    assert len(facts) == 1
    fact = facts[0]
    assert fact.result == "current" and fact.day == "2026-02-02"
    assert fact.licence is not None
    assert (fact.licence.valid_from, fact.licence.valid_to, fact.licence.areas) == (
        "2026-02-02", "2027-02-01", ("teach",),
    )  # fmt: skip
    assert fact.licence.last_calibration == "2026-02-02" and fact.licence.source == "calibration round R-TEST"
    # 4 sheets of A1 and 3 of each of the panel.
    assert len(fact.heads) == 4 + 12
    assert [problem for problem in head_problems(load_round(root)) if not problem.doubt] == []
    assert round_json(root)["assessors"][0]["signed"] == {
        "result": "current", "day": "2026-02-02", "stale": False, "valid_to": "2027-02-01",
    }  # fmt: skip
    assert assess("check", root, "--as", "D1").code == 0


def test_what_was_signed_is_stale_when_the_rule_changes_and_is_signed_anew(root: Path) -> None:
    assess("round", root, "--sign", "--as", "D1")
    file = root / "round.yaml"
    file.write_text(file.read_text().replace('exact_at_least: "0.4"', 'exact_at_least: "0.95"'))
    told = round_json(root)["assessors"][0]
    assert (told["result"], told["signed"]["result"], told["signed"]["stale"]) == ("mark-again", "current", True)
    out = assess("round", root, "--sign", "--as", "D1").out
    assert "A1 Marker A1: mark again, no licence follows; signed:" in out
    assert [fact.result for fact in signed_facts(root)] == ["current", "mark-again"]
    assert signed_facts(root)[1].because == ("exact_at_least 0.95: 0.75",)


def test_a_sheet_changed_under_a_signature_is_found(root: Path) -> None:
    assess("round", root, "--sign", "--as", "D1")
    next((root / "sheets").glob("T5.L02.P3.*")).unlink()
    found = [str(problem) for problem in head_problems(load_round(root)) if not problem.doubt]
    assert any("T5.L02.P3" in text and "licences/A1.D1.d7h2k.yaml" in text for text in found)


@pytest.mark.parametrize("who", ["A1", "P1"])
def test_nobody_but_a_director_signs(root: Path, who: str) -> None:
    ran = assess("round", root, "--sign", "--as", who)
    assert ran.code == 1 and "only a director of the round signs" in ran.err
    assert not (root / "licences").exists()


def test_signing_needs_somebody_and_something(tmp_path: Path) -> None:
    root = build_round(tmp_path / "round")
    assert assess("round", root, "--sign").code == 2
    ran = assess("round", root, "--sign", "--as", "D1")
    assert ran.code == 1 and "nobody has locked everything" in ran.err
    assert assess("round", root, "--into", tmp_path, "--as", "D1").code == 2


def test_a_director_signs_no_result_of_their_own(tmp_path: Path) -> None:
    root = build_round(tmp_path / "round", directors=("D1", "A1"))
    for who, level in PANEL.items():
        mark_all(root, who, levels_of(SLOTS[:3], level))
    mark_all(root, "A1", levels_of(SLOTS, 4))
    ran = assess("round", root, "--sign", "--as", "A1")
    assert ran.code == 1 and "A1 would sign a result of their own" in ran.err
    assert assess("round", root, "--sign", "--as", "D1").code == 0


TERMS = ["licence: {months: 6, areas: [teach, demo], again_months: 2, again_conditions: [only-second]}"]


def course_with(tmp_path: Path, *, a1: str = "Marker A1", d1: str = "Director D1") -> Path:
    course = build_course(tmp_path / "course", candidates=1, tasks=("T4",))
    people = course / "people.yaml"
    text = people.read_text().replace("name: Director One", f"name: {d1}").replace("name: Marker A1", f"name: {a1}")
    people.write_text(text.replace("assessors:\n", "# who marks\nassessors:\n"))
    return course


def marked_with_terms(tmp_path: Path) -> Path:
    root = build_round(tmp_path / "round", more=TERMS)
    for who, level in PANEL.items():
        mark_all(root, who, levels_of(SLOTS[:3], level))
    mark_all(root, "A1", levels_of(SLOTS, 4))
    mark_all(root, "A2", levels_of(SLOTS, 5))
    return root


def test_licences_go_into_a_course_with_its_comments_kept(tmp_path: Path) -> None:
    root, course = marked_with_terms(tmp_path), course_with(tmp_path)
    ran = assess("round", root, "--sign", "--into", course, "--as", "D1")
    assert ran.code == 0, ran.err
    people = load_course(course).people
    assert people.revision == 2
    assert [(each.assessor, each.valid_to, each.areas, each.conditions) for each in people.licences] == [
        ("A1", "2026-08-01", ("teach", "demo"), ()),
        ("A2", "2026-04-01", ("teach", "demo"), ("only-second",)),
    ]
    assert "# who marks\nassessors:\n" in (course / "people.yaml").read_text()
    again = assess("round", root, "--sign", "--into", course, "--as", "D1")
    assert again.out.count("not added: stands there already") == 2
    assert load_course(course).people == people
    assert assess("check", course, "--as", "D1").code == 0


def test_somebody_else_under_the_same_id_gets_nothing(tmp_path: Path) -> None:
    root, course = marked_with_terms(tmp_path), course_with(tmp_path, a1="Somebody Else")
    out = assess("round", root, "--sign", "--into", course, "--as", "D1").out
    assert "not added: is Somebody Else in that course and Marker A1 here" in out
    assert [each.assessor for each in load_course(course).people.licences] == ["A2"]


def test_a_director_of_the_round_alone_changes_no_course(tmp_path: Path) -> None:
    root, course = marked_with_terms(tmp_path), course_with(tmp_path, d1="Another Director")
    before = (course / "people.yaml").read_bytes()
    ran = assess("round", root, "--sign", "--into", course, "--as", "D1")
    assert ran.code == 1 and "D1 is no director of" in ran.err
    assert (course / "people.yaml").read_bytes() == before


# --- words --------------------------------------------------------------------------------------


def test_a_film_without_consent_to_training_is_worth_a_look(root: Path) -> None:
    people = root / "people.yaml"
    consents = 'consents:\n- {who: L01, film: true, scope: [train], by: "all in it", at: "2026-01-01"}\n'
    more = '- {who: L02, film: true, at: "2026-01-01"}\n'
    people.write_text(people.read_text() + consents + more)
    ran = assess("check", root, "--as", "D1")
    said = [line for line in ran.out.split("\n") if "is a film" in line]
    assert ran.code == 0
    assert ["L02 has not agreed to films for training" in said[0], "L03 has not agreed to films" in said[1]] == [
        True,
        True,
    ]
    assert len(said) == 2 and "round.yaml:14" in said[0]


def test_a_course_is_no_round_and_an_unknown_assessor_none_of_it(tmp_path: Path, root: Path) -> None:
    course = build_course(tmp_path / "course")
    ran = assess("round", course, "--as", "D1")
    assert ran.code == 2 and "is a course, no calibration round" in ran.err
    ran = assess("round", root, "--assessor", "A9", "--as", "D1")
    assert ran.code == 2 and "A9 is no assessor of this round" in ran.err
    assert assess("round", tmp_path / "nowhere", "--as", "D1").code == 3


def test_a_round_is_marked_locked_merged_and_verified_like_a_course(tmp_path: Path) -> None:
    root = build_round(tmp_path / "round", lessons=1, repeats=())
    other = tmp_path / "other"
    shutil.copytree(root, other)
    words = ("diagnosis=4", "drill-choice=4", "build-up=4", "learner-change=4")
    assert assess("mark", root / "T5.L01", *words, "--as", "A1").code == 0
    assert assess("lock", root / "T5.L01", "--as", "A1").code == 0
    mark_lesson(other, "P1", "L01", (4, 4, 4, 4))
    assert "came in from P1: T5 L01" in assess("merge", root, other, "--as", "A1").out
    assert assess("seal", root, "--as", "D1").code == 0
    assert "every record you may read is as it was written" in assess("verify", root, "--as", "D1").out
    assert "Lesson 1" in assess("open", root, "--as", "A1", "--plain").out
    assert "a calibration round has no outcomes" in assess("results", root, "--as", "D1").out
