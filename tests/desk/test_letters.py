"""Letters to candidates: from what is signed and released alone; nobody else in them; the same bytes every time."""

from __future__ import annotations

import html
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assess.desk import cases
from assess.desk.deciding import sign, standing_decision
from assess.desk.feedback import observations_of, plan_action, release
from assess.desk.letter_facts import letter_of
from assess.desk.letters import letter_files, told_decisions
from assess.desk.resits import open_resit
from assess.records.errors import Refusal, UsageError
from assess.reports.page import Setting
from assess.reports.pdf import page_count
from tests.courses import FixedClock, build_course, open_desk
from tests.sample.story import DAY_9, Story


def words(raw: bytes) -> str:
    """What a reader reads of a page."""
    text = re.sub(r"<style>.*?</style>", "", raw.decode("utf-8"), flags=re.DOTALL)
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)))


@pytest.fixture(scope="module")
def story(morning: Story, tmp_path_factory: pytest.TempPathFactory) -> Story:
    """Signed and released; C08 has something to train, a resit and an appeal that was closed; C02 waits."""
    story = morning.again(tmp_path_factory.mktemp("story"))
    people = story.root / "people.yaml"
    text = people.read_text(encoding="utf-8")
    text = text.replace("directors:", 'reviewers:\n- {id: R1, name: "Tove Lindahl"}\ndirectors:')
    people.write_text(text, encoding="utf-8")
    story.clock.ms = DAY_9
    story.sign_all()
    with story.desk("D1") as desk:
        seen = next(name for name, fact in observations_of(desk, "C08").items() if fact.text == "on the tails in the first bumps of the pitch")  # noqa: E501  # fmt: skip
        plan_action(
            desk, "C08", "demo", behaviour="Stays over the feet through bumps", criterion="over-feet", evidence=[seen],
            drills=["hop-turns"] if "hop-turns" in _drills(desk) else sorted(_drills(desk))[:1],
            practice="twice a week, last run of the day", checked_by="ten bumps on film, seen from the side",
            by_when="2026-12-01",
        )  # fmt: skip
        open_resit(desk, "C08", "demo", opens="2026-12-05", closes="2026-12-06", max_tries=3)
        cases.open_case(desk, "C08", claim="too late", grounds=("procedure",), received="2026-02-10", module="teach")
        cases.acknowledge(desk, "C08-1", "2026-02-10", "it came in")
        cases.set_reviewer(desk, "C08-1", "R1")
        cases.find_on(desk, "C08-1", "rejected", "A2 gave 3.00 as A4 did")
        cases.close_case(desk, "C08-1", "2026-02-12", "told")
        release(desk, "candidates", candidates=[f"C{n:02d}" for n in range(1, 11) if n != 2])
    return story


def _drills(desk: Any) -> frozenset[str]:
    from assess.desk.sheet_readings import course_catalogue

    catalogue = course_catalogue(desk)
    assert catalogue is not None
    return frozenset(catalogue.drill_by_id)


@pytest.fixture(scope="module")
def letters(story: Story) -> dict[str, str]:
    with story.desk("D1") as desk:
        files, left_out = letter_files(desk)
    assert [line.split(":")[0] for line in left_out] == ["C02"] and "released" in left_out[0]
    return {item.name.split("-")[1]: words(item.content) for item in files}


def test_the_outcome_is_the_first_thing_and_in_words(letters: dict[str, str]) -> None:
    assert "You have passed Demonstration, Teaching and Safety." in letters["C01"]
    assert "You have passed Safety. You have not passed Demonstration and Teaching this time." in letters["C08"]
    assert "Teaching and Safety: not finished" in letters["C05"]
    assert "One learner, find and treat the fault" in letters["C05"]
    passed, line = letters["C08"].index("You have passed"), letters["C08"].index("3.25 ± 0.19 from 6 marking sheets")
    assert passed < line


def test_an_uncertainty_is_said_to_be_what_it_is_and_no_more(letters: dict[str, str]) -> None:
    said = " ".join(letters["C08"].split())
    assert "can easily differ with other assessors; another day is not in it" in said
    assert "half a level to either side, is a reminder of that and was not measured" in said


def test_what_to_train_has_its_evidence_its_step_its_drill_and_its_day(letters: dict[str, str]) -> None:
    text = letters["C08"]
    assert "Stays over the feet through bumps" in text and "on the tails in the first bumps of the pitch" in text
    assert "You showed: “over the feet on the gentle start, pushed back on the main slope”" in text
    assert "The next level shows: “over the feet all down the main slope, left turns and right”" in text
    assert "Drill: " in text and "ten bumps on film, seen from the side. By 1 December 2026." in text
    assert "Nothing has been agreed" not in text and "Nothing has been agreed" in letters["C01"]
    assert "Drills are general" in text and "Drills are general" not in letters["C01"]


def test_resit_and_appeal_have_their_dates(letters: dict[str, str]) -> None:
    assert "Demonstration again from 5 December 2026 to 6 December 2026" in letters["C08"]
    assert "12 February 2026 The result" in letters["C08"] and "10 February 2026 The result" in letters["C01"]
    assert "try 2 of 3" in letters["C08"]
    assert "Teaching again until 10 February 2027, with 2 tries in all" in letters["C08"]
    assert "appeal against the decision on Demonstration until 10 March 2026" in letters["C08"]
    assert "appeal about Teaching of 10 February 2026 was looked into" in letters["C08"]
    assert "told the reasons on 12 February 2026" in letters["C08"]
    assert "you can appeal until 10 March 2026" in letters["C01"]


def test_a_breach_decides_alone_and_is_not_followed_by_praise_or_drills_for_it(letters: dict[str, str]) -> None:
    text = letters["C09"]
    assert "A safety rule was broken: “goes, or takes people, past a rope, sign or closed line”" in text
    assert "The next step is the safety rule" in text
    best = text[text.index("What went best") : text.index("What to work on")]
    assert "(Demonstration)" in best and "(Teaching)" not in best and "(Safety)" not in best


def test_nobody_else_is_in_a_letter(story: Story, letters: dict[str, str]) -> None:
    with story.desk("D1") as desk:
        people, course = desk.people, desk.course
    assert len(letters) == 9
    for who, text in letters.items():
        others = {each.id: each.name for each in people.candidates if each.id != who}
        others |= {each.id: each.name for each in people.assessors}
        for other, name in others.items():
            assert re.search(rf"\b{other}\b", text) is None, (who, other)
            assert not [part for part in name.split() if re.search(rf"\b{re.escape(part)}\b", text)], (who, name)
        assert not re.search(r"\b(?:L\d+|R1|D1)\b", text), who
        assert "Tove Lindahl" not in text and "A2 gave" not in text
        assert not re.search(r"probab|likely to pass|\d ?%", text)
        assert course.title in text


def test_a_pass_has_one_page_and_no_letter_more_than_two(story: Story) -> None:
    with story.desk("D1") as desk:
        files, _ = letter_files(desk, ["C01", "C05", "C08", "C09"], forms=("pdf",))
        german, _ = letter_files(desk, ["C01", "C08"], language="de", forms=("pdf",))
        again, _ = letter_files(desk, ["C01", "C08"], language="de", forms=("pdf",))
    pages = {item.name.split("-")[1]: page_count(item.content) for item in files}
    assert pages["C01"] == 1 and max(pages.values()) <= 2
    assert page_count(german[0].content) == 1 and page_count(german[1].content) <= 2
    assert [item.content for item in german] == [item.content for item in again]


def test_a_pdf_letter_holds_what_it_claims(story: Story) -> None:
    from tests.reports.test_pdf import claims_wrong

    with story.desk("D1") as desk:
        files, _ = letter_files(desk, ["C09"], language="de", forms=("pdf",))
    assert claims_wrong(files[0].content) == []


def test_in_german_everything_of_the_letter_itself_is_german(story: Story) -> None:
    with story.desk("D1") as desk:
        files, _ = letter_files(desk, ["C08"], language="de")
    text = words(files[0].content)
    assert '<html lang="de"' in files[0].content.decode("utf-8")
    assert "Diesmal haben Sie nicht bestanden: Demonstration und Teaching." in text
    assert "Mittelwert 3,25 ± 0,19 aus 6 Bewertungsbögen" in text and "Bis zum 1. Dezember 2026." in text
    assert "stehen in der Sprache, in der sie geschrieben wurden" in text
    assert not re.search(r"\b(?:You|you|the line|again|until|director)\b", _without_quotes(text))


def _without_quotes(text: str) -> str:
    return re.sub(r"„[^“]*“|Übung: .*? Geben|Geben Sie acht: .*?So wird|So üben Sie: .*? Übung", "", text)


def test_only_a_director_writes_letters_and_only_to_candidates(story: Story) -> None:
    with story.desk("A1") as desk, pytest.raises(Refusal, match="only a director"):
        letter_files(desk)
    with story.desk("D1") as desk:
        with pytest.raises(UsageError, match="C99"):
            letter_files(desk, ["C99"])
        with pytest.raises(UsageError, match="en or de"):
            letter_files(desk, ["C01"], language="fr")


# --- a small course ----------------------------------------------------------------------------------------

Levels = tuple[int, ...]


def signed_course(
    root: Path, first: Levels, second: Levels, note: str = "eyes up at every stop", names: tuple[str, ...] = ()
) -> Path:
    """One candidate in T6, marked by A1 and A2 with these levels, signed by D1 and released."""
    build_course(root, candidates=2, names=names, tasks=("T6",))
    for who, levels, device in (("A1", first, "d7h2k"), ("A2", second, "m4qzt")):
        desk = open_desk(root, who, device=device)
        sheet = desk.slot("T6", "C01")
        for criterion, level in zip(sheet.criteria, levels, strict=True):
            sheet.score(criterion, level)
        for direction in ("for", "against"):
            sheet.note(f"{note} {direction}", sheet.criteria, direction=direction)
        sheet.lock()
        assert desk.close()
    sign_it(root)
    return root


def sign_it(root: Path, reason: str = "", start: int = DAY_9, to_candidates: bool = True) -> None:
    from assess.desk.deciding import proposal
    from assess.desk.moderating import differences, moderate

    desk = open_desk(root, "D1", device="b5nqf", clock=FixedClock(start))
    for item in [item for item in differences(desk) if item.found.due]:
        moderate(desk, item.slot, "keep-both", present=("A1", "A2"), reason="both stand")
    found = proposal(desk, "C01", "safety")
    if found.follows is None:
        sign(desk, "C01", "safety", kind="void", reason="no result on this day")
    else:
        sign(desk, "C01", "safety", reason=reason)
    if to_candidates:
        release(desk, "candidates", candidates=["C01"])
    assert desk.close()


def letter_text(root: Path, language: str = "en") -> str:
    return words(letter_bytes(root, language))


def letter_bytes(root: Path, language: str = "en") -> bytes:
    desk = open_desk(root, "D1", device="b5nqf", clock=FixedClock(DAY_9 + 10**6))
    try:
        files, left_out = letter_files(desk, ["C01"], language=language)
    finally:
        assert desk.close()
    assert left_out == []
    return files[0].content


level = st.integers(min_value=1, max_value=6)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(first=st.tuples(level, level, level, level), second=st.tuples(level, level, level, level))
def test_who_gave_which_level_cannot_be_told_from_a_letter(
    first: Levels, second: Levels, tmp_path_factory: pytest.TempPathFactory
) -> None:
    one = signed_course(tmp_path_factory.mktemp("one") / "c", first, second)
    other = signed_course(tmp_path_factory.mktemp("other") / "c", second, first)
    assert letter_bytes(one) == letter_bytes(other)


def test_a_criterion_one_assessor_alone_saw_is_told_without_its_level(tmp_path: Path) -> None:
    root = build_course(tmp_path / "c", candidates=1, assessors=("A1",), tasks=("T6",))
    desk = open_desk(root, "A1")
    sheet = desk.slot("T6", "C01")
    for criterion in sheet.criteria:
        sheet.score(criterion, 5)
    sheet.note("sees the pylon", sheet.criteria, direction="for")
    sheet.lock()
    assert desk.close()
    sign_it(root)
    desk = open_desk(root, "D1", device="b5nqf")
    letter, missing = letter_of(desk, "C01", told_decisions(desk, "C01"))
    assert {(place.value, place.where) for place in letter.places} == {(None, "single")}
    assert letter.strengths == () and any("no strength" in line for line in missing)
    assert desk.close()
    assert "sees near and far ones" not in letter_text(root)


@pytest.mark.parametrize("note", ["better than Person 2", "like C02 before", "as A2 said", "gave level 3", "D1 saw it"])
def test_a_note_that_names_anybody_or_a_level_stays_out(tmp_path: Path, note: str) -> None:
    root = signed_course(tmp_path / "c", (4, 4, 4, 4), (4, 4, 4, 4), note=note)
    assert note not in letter_text(root)
    plain = signed_course(tmp_path / "d", (4, 4, 4, 4), (4, 4, 4, 4))
    assert "eyes up at every stop" in letter_text(plain)


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", "{name} {0} %s", "ليلى بنت", "山田 花子", "$x^2$", "a\u202eb", "'\"&"]
)
def test_names_and_notes_are_text_whatever_they_are(tmp_path: Path, text: str) -> None:
    name = f"Ida {text}".replace('"', "")
    root = signed_course(tmp_path / "c", (4, 4, 5, 5), (4, 4, 5, 5), note=text, names=(name,))
    raw = letter_bytes(root, "de").decode("utf-8")
    assert "<script" not in raw and "\u202e" not in raw
    assert name.replace("\u202e", "\u2426") in words(raw.encode("utf-8"))


def test_without_a_signature_or_a_release_there_is_no_letter_and_the_reason_is_said(tmp_path: Path) -> None:
    root = build_course(tmp_path / "c", candidates=1, tasks=("T6",))
    desk = open_desk(root, "D1", device="b5nqf")
    assert letter_files(desk) == ([], ["C01: nothing is signed; `assess decide` shows what the rules propose"])
    assert desk.close()
    one = signed_course(tmp_path / "d", (4, 4, 4, 4), (4, 4, 4, 4))
    for file in (one / "days").glob("*D1*"):
        file.unlink()
    desk = open_desk(one, "D1", device="b5nqf")
    files, left_out = letter_files(desk, ["C01"])
    assert files == [] and "released" in left_out[0]
    assert desk.close()


def test_the_newest_decision_is_told_and_not_the_one_it_stands_in_for(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "c", (5, 5, 5, 5), (5, 5, 5, 5))
    assert "You have passed Safety." in letter_text(root)
    desk = open_desk(root, "D1", device="b5nqf", clock=FixedClock(DAY_9 + 86_400_000))
    sign(desk, "C01", "safety", kind="suspend", reason="a complaint is being looked into")
    assert standing_decision(desk, "C01", "safety") is not None
    assert desk.close()
    text = letter_text(root)
    assert "Safety: suspended for now. Reason: “a complaint is being looked into”. Ask the director" in text
    assert "You have passed" not in text and "11 February 2026" in text


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("void", "Safety: the result does not count. Reason: “as it was told”. Ask the director what happens next."),
        ("withdraw", "Safety: withdrawn. Reason: “as it was told”. Ask the director what happens next."),
        ("renew", "Safety: renewed. Reason: “as it was told”. Safety: valid until 3 March 2029."),
    ],
)
def test_a_later_decision_is_told_with_its_reason_in_quotes(kind: str, told: str, tmp_path: Path) -> None:
    root = signed_course(tmp_path / "c", (5, 5, 5, 5), (5, 5, 5, 5))
    desk = open_desk(root, "D1", device="b5nqf", clock=FixedClock(DAY_9 + 86_400_000))
    until = "2029-03-03" if kind == "renew" else None
    sign(desk, "C01", "safety", kind=kind, reason="as it was told.", valid_to=until)  # type: ignore[arg-type]
    assert desk.close()
    assert told in letter_text(root)


def test_a_reason_that_names_another_is_left_out_whole(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "c", (5, 5, 5, 5), (5, 5, 5, 5))
    desk = open_desk(root, "D1", device="b5nqf", clock=FixedClock(DAY_9 + 86_400_000))
    sign(desk, "C01", "safety", kind="void", reason="as A2 said")
    assert desk.close()
    text = letter_text(root)
    assert "Safety: the result does not count. Ask the director" in text and "Reason" not in text


def test_a_waiver_is_told_and_nobody_named(tmp_path: Path) -> None:
    from assess.desk.waiving import waive

    more = ("trained:", "- {assessor: A2, candidate: C01, ended: 2025-12-10}",
            "- {assessor: D1, candidate: C01, ended: 2025-12-10}")  # fmt: skip
    root = build_course(tmp_path / "c", candidates=1, tasks=("T6",), more_people=more)
    for who, device in (("A1", "d7h2k"), ("A2", "m4qzt")):
        desk = open_desk(root, who, device=device)
        sheet = desk.slot("T6", "C01")
        for criterion in sheet.criteria:
            sheet.note("seen", (criterion,), direction="for")
            sheet.score(criterion, 5)
        sheet.lock()
        assert desk.close()
    desk = open_desk(root, "D1", device="b5nqf", clock=FixedClock(DAY_9))
    waive(desk, "A2", "T6", "C01", "nobody else speaks the language")
    with pytest.raises(Refusal, match="may not decide"):
        sign(desk, "C01", "safety")
    sign(desk, "C01", "safety", waiver="the only director here")
    release(desk, "candidates")
    assert desk.close()
    text = letter_text(root)
    assert "Somebody who trained you or is close to you marked this too, by a written exception." in text
    assert "It was decided, by a written exception, by somebody who is close to you" in text
    assert "speaks the language" not in text and "the only director" not in text and not re.search(r"\bA2\b", text)
    assert "written exception" not in letter_text(signed_course(tmp_path / "d", (5, 5, 5, 5), (5, 5, 5, 5)))


def test_titles_with_commas_stay_apart(letters: dict[str, str]) -> None:
    tasks = "“Long turns, medium speed, moderate slope”, “Short turns in a 5 m lane” and “Cut-up snow or bumps”"
    assert f"from 5 December 2026 to 6 December 2026: {tasks}." in letters["C08"]
    assert "Teaching. Still to be seen: “One learner, find and treat the fault, 25 min”. The" in letters["C05"]


def test_a_name_written_from_right_to_left_keeps_the_day_in_its_place(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "c", (5, 5, 5, 5), (5, 5, 5, 5), names=("ليلى بنت",))
    page = letter_bytes(root, "de").decode("utf-8")
    assert '<p class="audience"><bdi>Nur für ليلى بنت</bdi> · ' in page


def test_a_decision_whose_record_was_changed_gives_no_letter(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "c", (4, 4, 4, 4), (4, 4, 4, 4))
    for file in (root / "sheets").glob("T6.C01.A2.*"):
        file.unlink()
    desk = open_desk(root, "D1", device="b5nqf")
    files, left_out = letter_files(desk, ["C01"])
    assert files == [] and "is not as it was when it was signed" in left_out[0]
    assert desk.close()


def test_a_note_of_a_shadow_is_in_no_letter(tmp_path: Path) -> None:
    root = build_course(tmp_path / "c", candidates=1, tasks=("T6",))
    course = root / "course.yaml"
    text = course.read_text(encoding="utf-8")
    text = text.replace("assessors: [A1, A2]}", "assessors: [A1, A2], shadows: [A3]}")
    course.write_text(text.replace("assessors: [A1, A2]\n", "assessors: [A1, A2, A3]\n"), encoding="utf-8")
    people = root / "people.yaml"
    text = people.read_text(encoding="utf-8").replace("assessors:\n", 'assessors:\n- {id: A3, name: "Kim Third"}\n')
    people.write_text(text, encoding="utf-8")
    for who, device, note in (("A1", "d7h2k", "pylon"), ("A2", "m4qzt", "fog"), ("A3", "p3wzc", "shadowed words")):
        desk = open_desk(root, who, device=device)
        sheet = desk.slot("T6", "C01")
        for criterion in sheet.criteria:
            sheet.score(criterion, 1 if who == "A3" else 5)
        sheet.note(f"{note} seen", sheet.criteria, direction="for")
        sheet.note(f"{note} seen", sheet.criteria, direction="against")
        sheet.lock()
        assert desk.close()
    sign_it(root)
    text = letter_text(root)
    assert "pylon seen" in text or "fog seen" in text
    assert "shadowed words" not in text
    assert "mean 5.00" in text


@pytest.mark.parametrize(("sentences", "pages"), [(1, 1), (30, 2)])
def test_a_pass_with_much_to_train_is_set_closer_and_told_when_that_is_not_enough(
    story: Story, tmp_path: Path, sentences: int, pages: int
) -> None:
    root = tmp_path / "c"
    shutil.copytree(story.root, root)
    desk = open_desk(root, "D1", device="b5nqf", clock=FixedClock(DAY_9 + 10**7))
    seen = next(iter(observations_of(desk, "C01")))
    for module in ("demo", "teach", "safety"):
        plan_action(
            desk, "C01", module, behaviour=f"holds it all the way down in {module}", evidence=[seen],
            practice="on the last run of the day, twice a week, looking far ahead. " * sentences,
            checked_by="film", by_when="2026-12-01",
        )  # fmt: skip
    files, _ = letter_files(desk, ["C01"], forms=("pdf",))
    assert desk.close()
    assert page_count(files[0].content) == pages
    assert any("it has 2 pages" in line for line in files[0].missing) == (pages == 2)


def test_an_action_that_names_another_is_left_out_and_said(story: Story, tmp_path: Path) -> None:
    root = tmp_path / "c"
    shutil.copytree(story.root, root)
    desk = open_desk(root, "D1", device="b5nqf", clock=FixedClock(DAY_9 + 10**7))
    seen = next(iter(observations_of(desk, "C04")))
    plan_action(
        desk, "C04", "demo", behaviour="skis as Aldous Prynne does", evidence=[seen], checked_by="film",
        by_when="2026-12-01",
    )  # fmt: skip
    files, _ = letter_files(desk, ["C04"])
    assert desk.close()
    assert "Prynne" not in words(files[0].content)
    assert any("names another person" in line for line in files[0].missing)


@pytest.mark.parametrize(("sections", "setting"), [(6, ""), (10, "roomy"), (13, ""), (15, "close"), (17, "tight")])
def test_a_letter_that_needs_a_second_page_anyway_is_set_larger(sections: int, setting: Setting) -> None:
    from assess.desk.letters import _fitted
    from assess.reports.document import Document, Section, Text
    from assess.reports.pdf import as_pdf

    parts = tuple(Section(f"Part {n}", (Text("looking far ahead, over the feet. " * 20),)) for n in range(sections))
    document = Document("A letter", "", "For nobody", "2026-02-10", parts)
    raw, missing = _fitted(document, 2, ())
    assert raw == as_pdf(document, "letter", setting) and missing == () and page_count(raw) <= 2
