"""The assessors' pages: the sample course, who may see what, and when."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.agreement.bootstrap import Cancelled
from assess.agreement.results.raters import Effect, EffectName
from assess.desk.assessors import AssessorPages, assessors_document, assessors_of, pages_of
from assess.records.errors import InputError, Refusal, UsageError
from tests.agreement.test_rater_effects import DRIFT, SEVERITY, SHEETS
from tests.courses import ROOT, FixedClock, build_course, open_desk
from tests.desk.rater_courses import dated, lock_sheets, marked_course, reopened

SAMPLE = ROOT / "sample_sessions" / "course"


@pytest.fixture(scope="module")
def sample() -> AssessorPages:
    return assessors_of([SAMPLE], "D1")


def effect(found: AssessorPages, who: str, name: EffectName, course: int = 0) -> Effect:
    rater = found.raters.courses[course].rater(who)
    assert rater is not None
    return rater.effect(name)


def test_the_sample_course_from_its_ledgers_is_what_its_own_description_says(sample: AssessorPages) -> None:
    """The values and where they come from stand in tests/agreement/test_rater_effects.py."""
    for name, table in (("severity", SEVERITY), ("drift", DRIFT)):
        for who, (estimate, low, high) in table.items():
            one = effect(sample, who, "severity" if name == "severity" else "drift")
            assert one.estimate == pytest.approx(estimate, abs=0.006)
            assert one.ci95 is not None and one.ci95[0] < low + 0.02 and high - 0.02 < one.ci95[1]
    course = sample.raters.courses[0]
    assert {r.id: (r.n_sheets, r.n_flat) for r in course.raters} == {who: row[:2] for who, row in SHEETS.items()}
    looks = {(r.id, e.name) for r in course.raters for e in r.effects if e.verdict == "look"}
    assert looks == {("A2", "flat"), ("A2", "spread"), ("A3", "severity")}
    assert {advice.do for advice in sample.raters.advice} == {"wait for the next course"}


def test_what_it_rests_on_comes_first_and_then_what_was_not_used(sample: AssessorPages) -> None:
    assert sample.told[0].startswith("This rests on 10 candidates, 4 assessors, 6 tasks and 120 sheets; one course is")
    assert "12 sheets are not used: too little of the task was seen" in sample.told
    assert sample.raters.courses[0].date == "2026-02-02"


def test_everybody_has_a_name_a_licence_and_a_sentence_about_the_model(sample: AssessorPages) -> None:
    about = sample.about("K-2026-01", "A2")
    assert about.name == "Fen Marlowe" and "2027-10-31" in about.licence
    assert about.fit.startswith("A2's marks scatter less than the model of the whole course foresees (0.6")
    assert "fit the model of the whole course well enough" in sample.about("K-2026-01", "A1").fit


def test_the_document_holds_ids_and_no_names_and_ends_with_the_sentence(sample: AssessorPages) -> None:
    document = assessors_document(sample)
    assert document["own"] is None and document["never"].startswith("Never a sanction")
    assert "Marlowe" not in repr(document)
    one = document["courses"][0]["assessors"][1]
    assert one["id"] == "A2" and one["flat_sheets"] == 24
    assert {e["name"] for e in one["effects"]} == {
        "severity", "drift", "days", "flat", "spread", "central", "contrast", "repeat", "line",
    }  # fmt: skip
    assert document["courses"][0]["family"]["name"] == "All effects of course K-2026-01"


IN_FORCE = "{assessor: A1, activity: alpine-ski, valid_from: 2020-01-01, valid_to: "


@pytest.mark.parametrize(
    ("licences", "words"),
    [
        ([IN_FORCE + "2099-03-31}"], "licence until 2099-03-31"),
        ([IN_FORCE + "2026-03-31}"], "demo: the licence ended on 2026-03-31"),
        ([IN_FORCE + "2099-03-31}",
          "{assessor: A1, activity: alpine-ski, valid_from: 2026-03-01, valid_to: 2099-03-31, suspended: true}"],
         "demo: the licence is suspended"),
        ([], "no licence on record"),
    ],
)  # fmt: skip
def test_the_licence_is_told_as_it_stands_on_the_day_of_looking(
    tmp_path: Path, licences: list[str], words: str
) -> None:
    """All of them let A1 mark on the course's day, 2026-02-02; somebody looks in the summer."""
    root = marked_course(tmp_path / "course", tasks=("T1",))
    others = [IN_FORCE.replace("A1", who) + "2099-03-31}" for who in ("A2", "A3")]
    with (root / "people.yaml").open("a", encoding="utf-8") as people:
        people.write("licences:\n" + "".join(f"- {line}\n" for line in (*licences, *others)) if licences else "")
    summer = FixedClock(start_ms=1_782_000_000_000)
    desk = open_desk(root, "D1", device="reading", clock=summer)
    assert desk.today() == "2026-06-21"
    assert pages_of([desk], replicates=20).about("K-TEST", "A1").licence == words
    desk.close()


def test_a_shadow_is_told_nothing_between_candidates_and_is_in_no_number(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=8, tasks=("T1",), assessors=("A1", "A2", "A3"))
    course = root / "course.yaml"
    course.write_text(
        course.read_text("utf-8").replace("assessors: [A1, A2, A3]}", "assessors: [A1, A2], shadows: [A3]}"), "utf-8"
    )
    for who in ("A1", "A2"):
        lock_sheets(root, who)
    before = assessors_document(page(root, "D1"))
    lock_sheets(root, "A3", candidates=range(1, 3))
    assert assessors_document(page(root, "D1")) == before
    with pytest.raises(Refusal, match="T1 is begun, 2 of your 8"):
        page(root, "A3")
    lock_sheets(root, "A3", candidates=range(3, 9))
    assert assessors_document(page(root, "D1")) == before
    with pytest.raises(Refusal, match="no sheet of A3 stands beside another's that is locked"):
        page(root, "A3")


def test_a_slot_in_which_nobody_may_mark_gives_no_sheet(tmp_path: Path) -> None:
    """A conflict of each of its markers: the sheets are kept and used for nothing."""
    root = marked_course(tmp_path / "course", tasks=("T1",))
    conflicts = "".join(f"- {{assessor: {who}, candidate: C01, why: related}}\n" for who in ("A1", "A2", "A3"))
    with (root / "people.yaml").open("a", encoding="utf-8") as people:
        people.write(f"conflicts:\n{conflicts}")
    found = page(root, "D1")
    assert found.raters.courses[0].n_candidates == 7 and "7 of 8 turns are used" in " ".join(found.told)


# --- who may see what ------------------------------------------------------------------------------


def test_an_assessor_sees_their_own_page_and_nothing_that_is_another_assessors(tmp_path: Path) -> None:
    root = marked_course(tmp_path / "course", more=-2)
    desk = reopened(root, "A1")
    found = pages_of([desk], replicates=50)
    desk.close()
    (course,) = found.raters.courses
    assert found.own == "A1" and [rater.id for rater in course.raters] == ["A1"]
    assert [about.id for about in found.people] == ["A1"]
    assert {advice.assessor for advice in found.raters.advice} <= {"A1"}
    said = repr(assessors_document(found))
    assert "A2" not in said.replace("'groups': [['A1', 'A2', 'A3']]", "") and "A3 " not in said
    assert effect(found, "A1", "flat").sentence.startswith("One digit for everything stands on ")
    assert "of your 16 sheets" in effect(found, "A1", "flat").sentence


def test_a_mirror_of_somebody_is_told_to_the_assessor_without_the_name(tmp_path: Path) -> None:
    root = marked_course(tmp_path / "course", more=-2)
    director, own = reopened(root, "D1"), reopened(root, "A1")
    all_of_it = pages_of([director], replicates=50)
    assert effect(all_of_it, "A1", "severity").mirror_of == "A3"
    mine = effect(pages_of([own], replicates=50), "A1", "severity")
    assert mine.mirror_of == "" and "without somebody further out" in mine.sentence and "A3" not in mine.sentence
    assert mine.estimate == effect(all_of_it, "A1", "severity").estimate
    director.close(), own.close()


def test_another_page_is_refused_to_an_assessor_and_any_is_to_nobody(tmp_path: Path) -> None:
    root = marked_course(tmp_path / "course", tasks=("T1",))
    desk, nobody = reopened(root, "A1"), reopened(root, None)
    with pytest.raises(Refusal, match="only their own page"):
        pages_of([desk], assessor="A2")
    assert pages_of([desk], assessor="A1", replicates=20).own == "A1"
    with pytest.raises(Refusal, match="--as"):
        pages_of([nobody])
    desk.close(), nobody.close()


def test_a_director_may_ask_for_one_page(tmp_path: Path) -> None:
    desk = reopened(marked_course(tmp_path / "course", tasks=("T1",)), "D1")
    found = pages_of([desk], assessor="A2", replicates=20)
    assert (found.own, [r.id for r in found.raters.courses[0].raters]) == ("", ["A2"])
    assert effect(found, "A2", "severity").sentence.startswith("A2 marks")
    with pytest.raises(UsageError, match="A9 is no assessor"):
        pages_of([desk], assessor="A9")
    desk.close()


# --- when ------------------------------------------------------------------------------------------


def page(root: Path, who: str = "A1") -> AssessorPages:
    desk = reopened(root, who)
    try:
        return pages_of([desk], replicates=20)
    finally:
        desk.close()


def test_ones_own_page_is_shown_before_a_task_and_after_it_and_never_between_its_candidates(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=8, tasks=("T1", "T2"), assessors=("A1", "A2", "A3"))
    for who in ("A2", "A3"):
        lock_sheets(root, who)
    with pytest.raises(Refusal, match="no turn of a candidate has all its sheets locked yet"):
        page(root)
    lock_sheets(root, "A1", candidates=range(1, 2), lock=False)
    with pytest.raises(Refusal, match=r"T1 is begun, 0 of your 8 sheets are locked.*never between candidates"):
        page(root)
    lock_sheets(root, "A1", candidates=range(2, 8))
    with pytest.raises(Refusal, match="T1 is begun, 6 of your 8 sheets are locked"):
        page(root)
    desk = open_desk(root, "A1", device="a1a1a", clock=FixedClock())
    desk.slot("T1", "C01").lock()
    assert desk.close()
    lock_sheets(root, "A1", candidates=range(8, 9))
    # T2 is not begun: this is before its first slot.
    assert effect(page(root), "A1", "flat").n == 8
    lock_sheets(root, "A1", "T2", candidates=range(1, 2))
    with pytest.raises(Refusal, match="T2 is begun, 1 of your 8"):
        page(root)
    # The partners have not begun T2 and see theirs; the director sees all at any time.
    assert page(root, "A2").own == "A2" and page(root, "D1").own == ""


def test_who_is_absent_or_withdrawn_keeps_no_task_open(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=8, tasks=("T1",), assessors=("A1", "A2", "A3"))
    for who in ("A1", "A2", "A3"):
        lock_sheets(root, who, candidates=range(1, 8))
    with pytest.raises(Refusal, match="T1 is begun, 7 of your 8"):
        page(root)
    desk = open_desk(root, "A1", device="a1a1a", clock=FixedClock())
    desk.run_sheet("T1").order("C08", "absent")
    assert desk.close()
    assert effect(page(root), "A1", "severity").n == 7


def test_a_marker_who_was_taken_off_waits_for_nothing(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=8, tasks=("T1",), assessors=("A1", "A2", "A3"))
    for who in ("A1", "A2", "A3"):
        lock_sheets(root, who, candidates=range(1, 8))
    desk = open_desk(root, "D1", clock=FixedClock())
    desk.day_book.change_allocation("T1", "C08", "A1", None, "ill")
    assert desk.close()
    assert effect(page(root), "A1", "severity").n == 7


# --- several courses -------------------------------------------------------------------------------


def season(tmp_path: Path, flat: tuple[str, ...]) -> list[Path]:
    roots = []
    for number, who in enumerate(flat, 1):
        root = build_course(tmp_path / f"k{number}", candidates=8, tasks=("T1", "T2"), assessors=("A1", "A2", "A3"))
        dated(root, f"K-{number}", f"2026-0{number}-02")
        for assessor in ("A1", "A2", "A3"):
            for task in ("T1", "T2"):
                lock_sheets(root, assessor, task, flat=assessor == who)
        roots.append(root)
    return roots


def test_two_courses_running_advise_a_talk_where_ids_are_the_same_people(tmp_path: Path) -> None:
    first, second = season(tmp_path, ("A2", "A2"))
    found = assessors_of([second, first], "D1", same_assessors=True, replicates=100)
    assert [course.course for course in found.raters.courses] == ["K-1", "K-2"]
    assert {(a.assessor, a.name, a.do, a.flagged_in) for a in found.raters.advice if a.name == "flat"} == {
        ("A2", "flat", "talk", ("K-1", "K-2"))
    }
    together = found.raters.together
    assert together is not None and together.n_candidates == 16 and together.course == "2 courses together"
    apart = assessors_of([first, second], "D1", replicates=100)
    assert apart.raters.together is None and {a.do for a in apart.raters.advice} == {"wait for the next course"}
    assert apart.told[0].startswith("K-1: This rests on 8 candidates")


def test_an_assessor_of_several_courses_says_that_the_ids_are_theirs(tmp_path: Path) -> None:
    roots = season(tmp_path, ("A2", ""))
    with pytest.raises(UsageError, match="--same-assessors"):
        assessors_of(roots, "A2")
    found = assessors_of(roots, "A2", same_assessors=True, replicates=50)
    assert [[r.id for r in course.raters] for course in found.raters.courses] == [["A2"], ["A2"]]
    assert found.raters.together is not None and [r.id for r in found.raters.together.raters] == ["A2"]


def test_the_same_course_twice_a_table_and_no_course_are_told(tmp_path: Path) -> None:
    (root,) = season(tmp_path, ("A2",))
    with pytest.raises(InputError, match="is course K-1, and so is"):
        assessors_of([root, root], "D1")
    table = tmp_path / "scores.csv"
    table.write_text("candidate,assessor,score\n")
    with pytest.raises(InputError, match="no running order and no roles"):
        assessors_of([table], "D1")
    with pytest.raises(UsageError, match="no course is named"):
        assessors_of([], "D1")
    with pytest.raises(UsageError, match="X9 is nobody of this course"):
        assessors_of([root], "X9")


def test_work_that_is_left_ends(tmp_path: Path) -> None:
    desk = reopened(marked_course(tmp_path / "course", tasks=("T1",)), "D1")
    with pytest.raises(Cancelled):
        pages_of([desk], progress=lambda share: False)
    desk.close()
