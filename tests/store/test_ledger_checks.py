"""Everything a ledger may name that is not there: one sentence each, with file and line, never a level or a text."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.records.errors import Problem
from assess.records.facts import (
    AllocationChange,
    BibChange,
    Breach,
    BreachAccount,
    BreachFacts,
    BreachFinding,
    Interruption,
    NamedFault,
    NotApplicable,
    Observation,
    OrderChange,
    Question,
    Rerun,
    RubricAct,
    SafetyItem,
    Score,
    SomeFact,
    Undo,
)
from assess.store.course_folder import load_course
from tests.store.course_maker import REFERENCE, ledger_bytes, make_course, other, put, scores, sheet

SHEET = "sheets/T1.C01.A1.d7h2k.yaml"
KEEP = "settle it with the director; what is written stays"
UNKNOWN = f"which this course does not have; {KEEP}"
LOOK = " (worth a look)"
DAY = other("day", date="2027-02-03")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return make_course(tmp_path / "k")


def told(root: Path) -> list[str]:
    return [f"{problem}{LOOK if problem.doubt else ''}" for problem in load_course(root).problems]


# --- headers ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "sentences"),
    [
        ({"task": "T9"}, [
            f"names task `T9`, {UNKNOWN}",
            f"was marked on a rubric that has no task `T9`; {KEEP}",
            f"`C01` has no slot for task `T9` in the allocation; allocate it{LOOK}",
        ]),
        ({"candidate": "C09"}, [
            f"names candidate `C09`, {UNKNOWN}",
            f"`C09` has no slot for task `T1` in the allocation; allocate it{LOOK}",
        ]),
        ({"assessor": "A9"}, [
            f"names assessor `A9`, {UNKNOWN}",
            f"`A9` is not allocated to this slot; allocate them, or move the sheet{LOOK}",
        ]),
        ({"assessor": "A3"}, [f"`A3` is not allocated to this slot; allocate them, or move the sheet{LOOK}"]),
        ({"task": "T4", "candidate": "C03"}, [
            f"`C03` has no slot for task `T4` in the allocation; allocate it{LOOK}",
        ]),
    ],
)  # fmt: skip
def test_what_a_sheets_header_names_must_be_there(root: Path, header: dict[str, str], sentences: list[str]) -> None:
    about = sheet(**header)
    put(root, about, ledger_bytes(about, []))
    assert sorted(told(root)) == sorted(f"sheets/{about.name}.yaml:2: {sentence}" for sentence in sentences)


def test_a_sheet_marked_on_a_rubric_that_is_not_here_says_where_it_belongs(root: Path) -> None:
    about = sheet(rubric="sha256:" + "0" * 64)
    put(root, about, ledger_bytes(about, scores(77)))
    what = "was marked on a rubric that is not in this course; put that rubric's file back into rubrics/"
    assert f"{SHEET}:2: {what}" in told(root)
    assert not any("77" in sentence for sentence in told(root))


def test_a_shadow_a_second_performance_and_a_taken_over_slot_are_in_order(root: Path) -> None:
    for about in (sheet(candidate="C02", assessor="A3"), sheet(task="T1-2"), sheet(assessor="A3")):
        put(root, about, ledger_bytes(about, scores(3)))
    change = AllocationChange(task="T1", candidate="C01", from_="A2", to="A3", reason="ill")
    put(root, DAY, ledger_bytes(DAY, [change]))
    assert told(root) == []


@pytest.mark.parametrize(
    ("header", "sentence"),
    [
        (other("day", date="2027-03-03"),
         f"is about 2027-03-03, which is no day of the course; correct the days in course.yaml{LOOK}"),
        (other("day", date="2027-02-03", by="D9"), f"names assessor or director `D9`, {UNKNOWN}"),
        (other("decision", candidate="C01", by="D9"),
         f"names assessor or director `D9`, {UNKNOWN}"),
        (other("decision", candidate="C09"), f"names candidate `C09`, {UNKNOWN}"),
        (other("seal", date="2027-02-03", by="D9"), f"names assessor or director `D9`, {UNKNOWN}"),
    ],
)  # fmt: skip
def test_what_the_header_of_another_ledger_names_must_be_there(root: Path, header: object, sentence: str) -> None:
    from assess.records.ledger import Header

    assert isinstance(header, Header)
    path = put(root, header, ledger_bytes(header, []))
    assert told(root) == [f"{path.parent.name}/{path.name}:2: {sentence}"]


# --- entries of a sheet ------------------------------------------------------------------------------

SECRET = Observation(text="secret words", criteria=("edging",))


@pytest.mark.parametrize(
    ("fact", "what"),
    [
        (Score(criterion="plan", level=3), "scores a criterion that is not one of this task"),
        (Score(criterion="style", level=3), "scores a criterion the rubric does not have"),
        (Score(criterion="edging", level=77), "level outside the scale"),
        (Score(criterion="edging", level=-77), "level outside the scale"),
        (Score(criterion="edging", status="scored"), "is a score without a level"),
        (Score(criterion="edging", status="not-observed", level=77), "has a level and says that none was given"),
        (Score(criterion="edging", level=3, evidence=(2,)), "names evidence that is not before it"),
        (Undo(of=2), "points to an entry that is not before it"),
        (BreachFacts(of=7, what="secret words"), "points to an entry that is not before it"),
        (Breach(must_not="other", what="secret words"), "names a must-not the rubric does not have"),
        (SafetyItem(item="other", state="done"), "names a safety item the rubric does not have"),
        (Question(question="other", answer="full"), "names a question the rubric does not have"),
        (Rerun(run=2, why="tired"), "gives a reason for another run the rubric does not have"),
    ],
)
def test_an_entry_of_a_sheet_that_does_not_fit_is_named_without_level_or_text(
    root: Path, fact: SomeFact, what: str
) -> None:
    put(root, sheet(), ledger_bytes(sheet(), [SECRET, fact]))
    [problem] = load_course(root).problems
    assert problem == Problem(SHEET, 5, what, KEEP)
    assert "77" not in str(problem)
    assert "secret" not in str(problem)


def test_what_was_taken_back_or_given_again_is_no_problem_any_more(root: Path) -> None:
    wrong: list[SomeFact] = [Score(criterion="edging", level=77), Score(criterion="style", level=3), Undo(of=2)]
    put(root, sheet(), ledger_bytes(sheet(), [*wrong, Score(criterion="edging", level=3), NamedFault(text="x")]))
    assert told(root) == []


# --- entries of a day and a decision -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fact", "sentence"),
    [
        (BibChange(candidate="C09", bib=7), f"names candidate `C09`, {UNKNOWN}"),
        (OrderChange(task="T9", candidate="C01", change="late"), f"names task `T9`, {UNKNOWN}"),
        (OrderChange(task="T1", candidate="C09", change="late"),
         f"names candidate `C09`, {UNKNOWN}"),
        (Interruption(cause="wind", tasks=("T9",)), f"names task `T9`, {UNKNOWN}"),
        (Interruption(cause="wind", candidates=("C09",)), f"names candidate `C09`, {UNKNOWN}"),
        (NotApplicable(task="T1", criterion="style"), f"names criterion `style`, {UNKNOWN}"),
        (AllocationChange(task="T1", candidate="C01", from_="A9"),
         f"names assessor `A9`, {UNKNOWN}"),
        (AllocationChange(task="T1", candidate="C01", from_="A1", to="A9"),
         f"names assessor `A9`, {UNKNOWN}"),
        (AllocationChange(task="T1", candidate="C03", from_="A1", to="A3"),
         "`A3` has declared a conflict with `C03`; give it to somebody else, or a director waives it with a reason"),
        (RubricAct(area="lore", rubric=REFERENCE, result="refused"),
         f"names area `lore`, {UNKNOWN}"),
    ],
)  # fmt: skip
def test_what_an_entry_of_a_day_names_must_be_there(root: Path, fact: SomeFact, sentence: str) -> None:
    put(root, DAY, ledger_bytes(DAY, [Interruption(cause="wind", tasks=("T1", "T1-2")), fact]))
    assert told(root) == [f"days/{DAY.name}.yaml:5: {sentence}"]


@pytest.mark.parametrize(
    "fact",
    [
        AllocationChange(task="T1", candidate="C01", from_="A2", reason="ill"),
        RubricAct(area="demo", rubric=REFERENCE, result="refused"),
    ],
)
@pytest.mark.parametrize("by", ["D1", "A1"])
def test_an_act_of_the_director_by_somebody_else_is_named(root: Path, by: str, fact: SomeFact) -> None:
    day = other("day", date="2027-02-03", by=by)
    put(root, day, ledger_bytes(day, [fact]))
    what = "is an act of the director by somebody who is none; a director repeats it in their own record"
    assert told(root) == ([] if by == "D1" else [f"days/{day.name}.yaml:4: {what}"])


@pytest.mark.parametrize(
    ("fact", "sentence"),
    [
        (BreachAccount(must_not="other", declined=True), f"names must-not `other`, {UNKNOWN}"),
        (BreachFinding(must_not="beyond-a-closure", state="confirmed", modules=("lore",), reports=(), standard="x"),
         f"names module `lore`, {UNKNOWN}"),
    ],
)  # fmt: skip
def test_what_an_entry_of_a_decision_names_must_be_there(root: Path, fact: SomeFact, sentence: str) -> None:
    about = other("decision", candidate="C01")
    put(root, about, ledger_bytes(about, [fact]))
    assert told(root) == [f"decisions/{about.name}.yaml:4: {sentence}"]
