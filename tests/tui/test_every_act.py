"""One scenario for every act of the table: the keys, and what is then on the desk or on the screen."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import pytest

from assess.desk.card_numbers import cards_of
from assess.tui.acts import ACTS, PLACES, act, acts_at
from assess.tui.assessor_screen import AssessorScreen
from assess.tui.assessors_screen import AssessorsScreen
from assess.tui.board_screen import BoardScreen
from assess.tui.card_screen import CardScreen
from assess.tui.cases_screen import CasesScreen
from assess.tui.criteria_screen import CriteriaScreen
from assess.tui.differences_screen import DifferencesScreen
from assess.tui.film_lesson import FilmLesson, FilmLevels
from assess.tui.film_screen import FilmScreen
from assess.tui.help_screen import PLACE_NAMES, HelpScreen
from assess.tui.lesson_screen import LessonScreen
from assess.tui.lock_screen import LockScreen
from assess.tui.marker_screen import MarkerScreen
from assess.tui.morning_screen import MorningScreen
from assess.tui.next_course_screen import NextCourseScreen
from assess.tui.outcomes_screen import OutcomesScreen
from assess.tui.pair_screen import PairScreen
from assess.tui.people_screen import PeopleScreen
from assess.tui.practice_screen import PracticeScreen
from assess.tui.round_screen import RoundScreen
from assess.tui.run_screen import RunScreen
from assess.tui.season_screen import SeasonScreen
from assess.tui.text_screen import TextScreen
from tests.courses import build_course, open_desk
from tests.rounds import build_round, levels_of, mark_all
from tests.seasons import build_season, film_desk, mark_film
from tests.tui.rest import rest
from tests.tui.seat import Seat, at_seat
from tests.tui.toy_film import ToyFilm

RUN, LESSON, BOARD, OVERALL = ("task", "T1"), ("lesson", "T4", "C01"), "board", ("task", "T3")
ROUND = "round"
FILM, SEASON = ("film", "F1"), "season"
Scenario = tuple[object, Callable[[Seat], Awaitable[None]], str]
SCENARIOS: dict[str, Scenario] = {}


def scenario(ident: str, start: object, who: str = "A1"):
    def keep(doing: Callable[[Seat], Awaitable[None]]) -> Callable[[Seat], Awaitable[None]]:
        assert ident not in SCENARIOS
        SCENARIOS[ident] = (start, doing, who)
        return doing

    return keep


def marked_apart(root) -> None:
    """Two candidates whose two markers differ: C01 in the band of the line, C02 clear of it; everything locked."""
    build_course(root, candidates=2, tasks=("T6",), assessors=("A1", "A2", "A3"))
    course = root / "course.yaml"
    course.write_text(course.read_text().replace("assessors: [A1, A2, A3]}", "assessors: [A1, A2]}"))
    for who, levels in (("A1", {"C01": 3, "C02": 5}), ("A2", {"C01": 4, "C02": 4})):
        desk = open_desk(root, who, device=f"{who.lower()}x9z")
        for candidate, level in levels.items():
            sheet = desk.slot("T6", candidate)
            for criterion in sheet.criteria:
                sheet.score(criterion, level)
            if sheet.needing_evidence():
                sheet.note("seen from the side")
            sheet.lock()
        assert desk.close()


def marked_round(root) -> None:
    """A calibration round of three lessons: the panel and A1 have locked everything."""
    build_round(root)
    for who, level in {"P1": 3, "P2": 4, "P3": 4, "P4": 4}.items():
        mark_all(root, who, levels_of(("L01", "L02", "L03"), level))
    mark_all(root, "A1", levels_of(("L01", "L02", "L03", "L01-2"), 4))


@pytest.mark.parametrize("ident", [item.id for item in ACTS])
async def test_every_act_does_what_its_line_says(ident: str, tmp_path) -> None:
    assert ident in SCENARIOS, f"{ident} has no scenario"
    start, doing, who = SCENARIOS[ident]
    if start in (FILM, SEASON):
        root = build_season(tmp_path / "season")
        mark_film(root, "M1", "F2", (4, 4, 4, 4))
        mark_film(root, "TR", "F2", (5, 4, 4, 4))
        desk = film_desk(root, "TR")
        async with at_seat(tmp_path, start if start == FILM else "board", desk=desk) as seat:
            await doing(seat)
        return
    tasks = ("T3",) if start == OVERALL else ("T6",) if who == "D1" else ("T1", "T4")
    if start == ROUND:
        marked_round(tmp_path / "course")
    elif who == "D1":
        marked_apart(tmp_path / "course")
    async with at_seat(tmp_path, start, who=who, tasks=tasks) as seat:
        await doing(seat)


def test_no_scenario_is_left_of_an_act_that_is_gone() -> None:
    assert {item.id for item in ACTS} == set(SCENARIOS)


@pytest.mark.parametrize("item", ACTS, ids=lambda item: item.id)
def test_every_act_has_its_method_on_the_screen_of_each_of_its_places(item) -> None:
    screens = {
        "board": BoardScreen, "run": RunScreen, "thin": LessonScreen, "full": LessonScreen, "levels": LessonScreen,
        "readings": LessonScreen, "criteria": CriteriaScreen, "next": NextCourseScreen,
        "assessors": AssessorsScreen, "assessor": AssessorScreen, "round": RoundScreen, "marker": MarkerScreen,
        "differences": DifferencesScreen, "cases": CasesScreen, "people": PeopleScreen, "file": TextScreen,
        "season": SeasonScreen, "film": FilmScreen, "pair": PairScreen,
        "practice": PracticeScreen, "lock": LockScreen,
        "outcomes": OutcomesScreen, "morning": MorningScreen, "help": HelpScreen,
    }  # fmt: skip
    assert item.where <= set(PLACES)
    for place in item.where:
        assert callable(getattr(screens[place], item.method))
        assert not item.needs or callable(getattr(screens[place], f"may_{item.needs}"))


@pytest.mark.parametrize("place", PLACES)
async def test_help_opens_for_every_place(place: str, tmp_path) -> None:
    async with at_seat(tmp_path, BOARD) as seat:
        seat.app.push_screen(HelpScreen(place))
        await rest(seat.pilot)
        assert isinstance(seat.app.screen, HelpScreen) and PLACE_NAMES[place] in seat.text


def test_every_act_says_what_it_does_and_key_lines_are_short() -> None:
    for item in ACTS:
        assert item.title
        assert item.help
        assert not item.help.endswith(".")
    for place in PLACES:
        last = [item.id for item in acts_at(place) if item.foot][-2:]
        assert last[-1] in ("any.help", "view.back"), place


def lesson(seat: Seat):
    return seat.desk.lesson("T4", "C01")


def slot(seat: Seat, who: str = "C01"):
    return seat.desk.slot("T1", who)


# --- marking ---


@scenario("run.level", RUN)
async def _(seat):
    await seat.press("5")
    assert slot(seat).sheet.mark("over-feet").level == 5


@scenario("run.not-observed", RUN)
async def _(seat):
    await seat.press("0")
    assert slot(seat).sheet.mark("over-feet").status == "not-observed"


@scenario("run.not-applicable", RUN)
async def _(seat):
    await seat.press("full_stop")
    await seat.type("flat")
    await seat.press("enter")
    assert slot(seat).sheet.mark("over-feet").status == "not-applicable"


@scenario("mark.breach", RUN)
async def _(seat):
    await seat.press("slash")
    assert slot(seat).sheet.breaches[0].lacking == ("must_not", "what", "where", "who")
    assert "who at risk" in seat.text


@scenario("mark.undo", RUN)
async def _(seat):
    await seat.press("5 asterisk")
    assert slot(seat).sheet.mark("over-feet") is None
    assert seat.message.startswith("taken back")


@scenario("run.belongs", RUN)
async def _(seat):
    await seat.press("5 x 2 1")
    assert slot(seat, "C02").sheet.mark("over-feet").level == 5


@scenario("run.order", RUN)
async def _(seat):
    await seat.press("o 5")
    assert "absent" in seat.line("20 Aldous")
    await seat.press("b 2 0 o 7")
    assert "absent" not in seat.line("20 Aldous")


@scenario("mark.note", RUN)
async def _(seat):
    await seat.press("n")
    await seat.type("3 turns ok")
    await seat.press("enter")
    assert slot(seat).sheet.observations[0].fact.text == "3 turns ok"
    assert slot(seat).sheet.marks == ()


@scenario("run.jump", RUN)
async def _(seat):
    await seat.press("minus 2 2")
    assert "> 22" in seat.text


@scenario("mark.lock", RUN)
async def _(seat):
    await seat.press("enter")
    assert isinstance(seat.app.screen, LockScreen)


@scenario("mark.tag", RUN)
async def _(seat):
    await seat.press("t")
    await seat.type("outer ski light")
    await seat.press("enter down t")
    await seat.type("ou")
    assert "outer ski light" in seat.text
    await seat.press("enter")
    assert slot(seat, "C02").sheet.observations[0].fact.tags == ("outer ski light",)


@scenario("run.again", RUN)
async def _(seat):
    await seat.press("r")
    for words in ("mark run 2", "obstructed", "marker's error", "unsafe ground", "a fall is no reason"):
        assert words in seat.text
    await seat.press("1 4")
    assert slot(seat).sheet.run_mark(2, "over-feet").level == 4


@scenario("mark.view", RUN)
async def _(seat):
    await seat.press("v 2 4")
    assert "from the side" in seat.text.splitlines()[0]
    assert slot(seat).sheet.mark("over-feet").viewpoint == "side"


@scenario("run.other", RUN)
async def _(seat):
    await seat.press("4 b 2 3 tab")
    assert "> 20" in seat.text


@scenario("run.descriptors", RUN)
async def _(seat):
    before = len(seat.text.split("Over feet")[1].splitlines())
    await seat.press("h")
    assert len(seat.text.split("Over feet")[-1].splitlines()) > before
    await seat.press("h")
    assert len(seat.text.split("Over feet")[1].splitlines()) == before


@scenario("run.overall", OVERALL)
async def _(seat):
    await seat.press("a 5")
    assert seat.desk.slot("T3", "C01").sheet.run_mark(0, "over-feet").level == 5


@scenario("mark.facts", RUN)
async def _(seat):
    await seat.press("g escape c 1 escape")
    assert slot(seat).sheet.breaches[0].must_not == "beyond-a-closure"


@scenario("run.up", RUN)
async def _(seat):
    await seat.press("down down up")
    assert "> 21" in seat.text


@scenario("run.down", RUN)
async def _(seat):
    await seat.press("down")
    assert "> 21" in seat.text


@scenario("run.left", RUN)
async def _(seat):
    await seat.press("4 left 3")
    assert slot(seat).sheet.mark("over-feet").level == 3


@scenario("run.right", RUN)
async def _(seat):
    await seat.press("right 3")
    assert slot(seat).sheet.mark("edging").level == 3


# --- lesson ---


@scenario("lesson.criterion", LESSON)
async def _(seat):
    await seat.press("2")
    assert seat.line("Show, tell").startswith("  > 2") or "> 2" in seat.line("Show, tell")
    await seat.press("9")
    assert "no criterion 9" in seat.message


@scenario("lesson.for", LESSON)
async def _(seat):
    await seat.press("plus")
    assert "digit first" in seat.message
    await seat.press("1 plus equals_sign")
    assert [m.direction for m in lesson(seat).timeline()] == ["for", "for"]


@scenario("lesson.against", LESSON)
async def _(seat):
    await seat.press("3 minus")
    assert [(m.direction, m.criteria) for m in lesson(seat).timeline()] == [("against", ("group-and-place",))]


@scenario("lesson.drill", LESSON)
async def _(seat):
    await seat.press("d f d")
    await seat.names_read()
    await seat.type("walk, p")
    await seat.press("enter d")
    await seat.type("our own")
    await seat.press("enter")
    drills = [(seen.fact.text, seen.fact.drill) for seen in lesson(seat).sheet.drills]
    assert drills == [(None, None), ("Walk, push, glide on one then two skis", "flat-glide"), ("our own", None)]


@scenario("lesson.practise", LESSON)
async def _(seat):
    await seat.press("space")
    assert lesson(seat).practising
    assert "--:--   practising" in seat.text
    await seat.press("0")
    assert "--:--   not practising" in seat.text
    assert not lesson(seat).practising


@scenario("lesson.end", LESSON)
async def _(seat):
    await seat.press("s e 2 1")
    assert (lesson(seat).ended, lesson(seat).sheet.ended.judged) == ("unsafe", "rightly")
    assert "not judged" in seat.text


@scenario("lesson.full", LESSON)
async def _(seat):
    await seat.press("f")
    for words in ("learner before", "what was done", "learner after", "safety", "time not recorded", "levels"):
        assert words in seat.text
    await seat.press("f")
    assert "learner before" not in seat.text


@scenario("lesson.levels", LESSON)
async def _(seat):
    await seat.press("m 4 3")
    assert lesson(seat).sheet.mark("plan-and-fit").level == 4
    assert lesson(seat).sheet.mark("show-and-tell").level == 3
    await seat.press("escape")
    assert "seen so far" in seat.text


@scenario("lesson.start", LESSON)
async def _(seat):
    assert "--:--" in seat.text
    await seat.press("s")
    assert lesson(seat).started
    await seat.press("s 1 2 enter")
    assert lesson(seat).clock_ms() >= 12 * 60_000


@scenario("lesson.named", LESSON)
async def _(seat):
    await seat.press("w")
    await seat.type("late pressure")
    await seat.press("enter 1")
    named = lesson(seat).sheet.named_faults[0].fact
    assert (named.text, named.role, named.rank) == ("late pressure", "root", 1)


@scenario("lesson.safety", LESSON)
async def _(seat):
    await seat.press("l 1 1 2 5 escape")
    states = list(lesson(seat).safety_states().values())
    assert states[:3] == ["done", "violated", None]
    assert lesson(seat).sheet.breaches == (), "only a person's own key reports a breach"


@scenario("lesson.own-view", LESSON)
async def _(seat):
    await seat.press("y")
    await seat.names_read()
    await seat.type("hips behind")
    await seat.press("enter 1")
    seen = lesson(seat).sheet.named_faults[0].fact
    assert (seen.fault, seen.role, seen.whose, seen.rank) == ("aft-stance", "root", "assessor", 1)


@scenario("lesson.drill-details", LESSON)
async def _(seat):
    await seat.press("j")
    assert seat.message == "no drill was begun on this device; d begins one"
    await seat.press("d j 1")
    await seat.names_read()
    await seat.type("walk, p")
    # Name, then line after line: slope 6, snow, 4 times, 5 minutes, shown, feedback, check, 3 of 4.
    await seat.press("enter")
    await seat.press("6 enter")
    await seat.type("packed")
    await seat.press("enter 4 enter 5 enter 1 1 1 4 enter 3 enter escape")
    drill = lesson(seat).sheet.drills[0].fact
    assert (drill.drill, drill.slope_deg, drill.on_snow, drill.dose, drill.practice_ms) == (
        "flat-glide",
        6,
        "packed",
        4,
        300_000,
    )
    assert (drill.demo, drill.feedback, drill.check, drill.worked, drill.tried) == (True, "specific", True, 3, 4)


@scenario("lesson.parts", LESSON)
async def _(seat):
    await seat.press("b 1 1 2 2 escape")
    assert lesson(seat).steps() == {"goal": True, "whole-first": False, "whole-last": None, "remeasure": None}


@scenario("lesson.about-learner", LESSON)
async def _(seat):
    await seat.press("x 1 4 enter x 4")
    await seat.names_read()
    await seat.type("stop")
    await seat.press("enter")
    await seat.type("7,5 8")
    await seat.press("enter x 6 1")
    sheet = lesson(seat).sheet
    assert sheet.learners_met[0].ability == 4
    measured = sheet.measured[0].fact
    assert (measured.when, measured.run, measured.values, measured.measure) == (
        "before",
        1,
        (7.5, 8.0),
        "stop-distance-m",
    )
    assert sheet.attended[0].how == "seen-alone"


@scenario("lesson.hazard", LESSON)
async def _(seat):
    await seat.press("z")
    await seat.type("merge from the right")
    await seat.press("enter 3 2")
    hazard = lesson(seat).sheet.hazards[0].fact
    assert (hazard.text, hazard.handled, hazard.critical) == ("merge from the right", "no", True)


@scenario("lesson.readings", LESSON)
async def _(seat):
    await seat.press("r")
    await seat.names_read()
    assert "evidence to look at, never a score" in seat.text and "not judged yet" in seat.text
    await seat.press("escape")
    assert "a digit chooses" in seat.text


@scenario("lesson.plan", LESSON)
async def _(seat):
    await seat.press("p")
    await seat.type("stop anywhere")
    await seat.press("enter")
    await seat.type("walk then slide")
    await seat.press("escape")
    assert lesson(seat).sheet.plan.goal == "stop anywhere"


@scenario("lesson.question", LESSON)
async def _(seat):
    await seat.press("a 1 2")
    assert lesson(seat).sheet.questions[0].fact.answer == "prompted"


@scenario("lesson.learner", LESSON)
async def _(seat):
    await seat.press("o 2 n")
    await seat.type("falls")
    await seat.press("enter")
    assert lesson(seat).timeline()[0].learner == "2"


@scenario("lesson.use", LESSON)
async def _(seat):
    await seat.press("i 1")
    assert [(m.kind, m.text) for m in lesson(seat).timeline()] == [("talk", "begins")]
    await seat.press("i")
    assert "stops" in seat.line("1 talk")


# --- before the lock ---


@scenario("lock.this", RUN)
async def _(seat):
    await seat.press("4 5 4 5 k enter")
    assert slot(seat).locked


@scenario("lock.all", RUN)
async def _(seat):
    await seat.press("4 5 4 5 4 5 4 5 k a enter")
    assert slot(seat, "C01").locked
    assert slot(seat, "C02").locked


# --- board ---


@scenario("board.open", BOARD)
async def _(seat):
    await seat.press("down enter 2")
    assert isinstance(seat.app.screen, LessonScreen)
    assert seat.app.screen.slot.candidate == "C02"


@scenario("board.number", BOARD)
async def _(seat):
    await seat.press("1")
    assert isinstance(seat.app.screen, RunScreen)


@scenario("board.up", BOARD)
async def _(seat):
    await seat.press("down up up")
    assert seat.line(">1").startswith(" >1 T1")


@scenario("board.down", BOARD)
async def _(seat):
    await seat.press("down")
    assert seat.line(">2").startswith(" >2 T4")


@scenario("board.morning", BOARD)
async def _(seat):
    await seat.press("m")
    assert isinstance(seat.app.screen, MorningScreen)
    assert "signs and patrol go first" in " ".join(seat.text.split())


@scenario("board.stop", BOARD)
async def _(seat):
    await seat.press("i 1")
    await seat.type("lift held")
    await seat.press("enter")
    facts = [entry.fact for _, entry in seat.desk.shelf.entries("day")]
    assert [(fact.cause, fact.text) for fact in facts] == [("wind", "lift held")]


@scenario("board.card", BOARD)
async def _(seat: Seat) -> None:
    plan = next(plan for plan in cards_of(seat.desk, "A1") if plan.kind == "run")
    await seat.press(["t", *plan.number, "enter", "0", "9", "4", "6", "4"])
    assert isinstance(seat.app.screen, CardScreen)
    assert seat.desk.slot("T1", plan.candidates[0]).sheet.run_mark(1, plan.criteria[0]).level == 4


@scenario("board.outcomes", BOARD)
async def _(seat):
    await seat.press("r")
    assert isinstance(seat.app.screen, OutcomesScreen)
    assert "not released" in seat.text


@scenario("board.criteria", BOARD)
async def _(seat):
    await seat.press("c")
    await seat.worked()
    assert "shown to a director" in seat.text
    await seat.press("escape")
    assert "criteria ·" not in seat.text


@scenario("board.differences", BOARD, "D1")
async def _(seat):
    await seat.press("d")
    assert isinstance(seat.app.screen, DifferencesScreen)
    assert "2 due" in seat.text
    assert "Marker A1" in seat.text


@scenario("differences.both", BOARD, "D1")
async def _(seat):
    from assess.desk.moderating import standing_moderation

    await seat.press("d k enter")
    await seat.type("both stand")
    await seat.press("enter")
    found: Any = standing_moderation(seat.desk, "T6", "C01").standing
    assert found.fact.outcome == "keep-both"
    assert found.fact.present == ("A1", "A2", "D1")
    assert "written down" in seat.text


@scenario("differences.value", BOARD, "D1")
async def _(seat):
    from assess.desk.moderating import standing_moderation

    await seat.press("d e 1 4 1 enter")
    await seat.type("seen on film")
    await seat.press("enter")
    found: Any = standing_moderation(seat.desk, "T6", "C01").standing
    assert found.fact.values == {"hazards": 4}


@scenario("differences.ask", BOARD, "D1")
async def _(seat):
    from assess.desk.moderating import standing_moderation

    await seat.press("d t 1 enter")
    await seat.type("the film is there")
    await seat.press("enter")
    found: Any = standing_moderation(seat.desk, "T6", "C01").standing
    assert found.fact.outcome == "third-look"


@scenario("differences.idle", BOARD, "D1")
async def _(seat):
    await seat.press("d i")
    await seat.type("no module can change")
    await seat.press("enter")
    assert "kept both in 1 slot" in seat.text
    await seat.press("i")
    assert "can change something" in seat.text


@scenario("outcomes.sign", BOARD, "D1")
async def _(seat):
    from assess.desk.deciding import decisions
    from assess.desk.moderating import moderate

    moderate(seat.desk, "T6.C02", "keep-both", present=("A1", "A2"), reason="both stand")
    for keys in ("r down", "s", "1", "enter", "1"):
        await seat.press(keys)
    for _ in range(100):
        if decisions(seat.desk, "C02"):
            break
        await seat.pilot.pause(0.02)
    await rest(seat.pilot)
    (signed,) = decisions(seat.desk, "C02")
    assert (signed.by, signed.fact.decision) == ("D1", "grant")
    assert "signed: grant" in seat.text


@scenario("outcomes.look", BOARD, "D1")
async def _(seat):
    from assess.desk.third_looks import look_of

    await seat.press("r t 1 enter 1")
    await seat.type("T6.C02")
    await seat.press("enter")
    await seat.type("in the band")
    await seat.press("enter")
    look: Any = look_of(seat.desk, "C01", "safety")
    assert (look.fact.marker, look.fact.slots, look.fact.mixed, look.closed) == ("A3", ("T6",), ("T6.C02",), False)
    await seat.press("t 1")
    assert "A3 has not locked" in seat.text


@scenario("outcomes.release", BOARD, "D1")
async def _(seat):
    assert not seat.desk.sight.released("safety", "C01")
    await seat.press("r e 1")
    assert seat.desk.sight.released("safety", "C01")
    await seat.press("e 2")
    assert "not signed" in seat.text


@scenario("board.cases", BOARD, "D1")
async def _(seat):
    await seat.press("f")
    assert isinstance(seat.app.screen, CasesScreen)
    assert "no appeal and no complaint" in seat.text


@scenario("list.open", BOARD, "D1")
async def _(seat):
    await seat.press("f enter")
    await seat.worked()
    assert "What is missing" in seat.text
    await seat.press("escape escape p enter")
    await seat.worked()
    assert "In people.yaml" in seat.text
    await seat.press("escape escape a")
    await seat.worked()
    await seat.press("enter")
    assert isinstance(seat.app.screen, AssessorScreen)


@scenario("board.people", BOARD, "D1")
async def _(seat):
    await seat.press("p")
    assert isinstance(seat.app.screen, PeopleScreen)
    assert "Person 1" in seat.text
    assert "director" in seat.text


@scenario("board.round", BOARD)
async def _(seat):
    await seat.press("k")
    assert "this is a course, no calibration round" in seat.text


@scenario("round.sign", ROUND, "D1")
async def _(seat):
    from assess.desk.round_signing import signed_result

    await seat.worked()
    assert signed_result(seat.desk, "A1") == (None, False)
    await seat.press("s 1")
    signed, stale = signed_result(seat.desk, "A1")
    assert signed is not None
    assert (signed.result, stale) == ("current", False)
    assert "signed: A1 current" in seat.text


@scenario("board.next", BOARD)
async def _(seat):
    await seat.press("n")
    await seat.worked()
    assert "shown to a director" in seat.text
    await seat.press("escape")
    assert "next course ·" not in seat.text


@scenario("board.assessors", BOARD)
async def _(seat):
    await seat.press("a")
    assert seat.message == "this page is a director's; your own marks: e"
    assert isinstance(seat.app.screen, BoardScreen)


@scenario("board.own-marks", BOARD)
async def _(seat):
    await seat.press("e")
    assert isinstance(seat.app.screen, AssessorScreen)
    await seat.worked()
    assert "no turn of a candidate has all its sheets locked yet" in seat.text
    await seat.press("escape")
    slot(seat).score("edging", 4)
    await seat.press("e")
    assert seat.message.startswith("T1 is begun, 0 of your 4 sheets are locked") and "even were" not in seat.text


@scenario("morning.line", BOARD)
async def _(seat):
    await seat.press("m 4")
    await seat.type("cold")
    await seat.press("enter")
    assert seat.message.startswith("temperature, C: ")
    await seat.press("escape 3")
    await seat.type("20")
    await seat.press("enter")
    await seat.type("-10")
    await seat.press("enter escape")
    assert seat.desk.day_book.morning() == {"wind_kmh": "20", "temp_c": "-10"}
    assert "wind chill -18 C" in seat.text


@scenario("morning.write", BOARD)
async def _(seat):
    await seat.press("m enter")
    await seat.type("clear")
    await seat.press("enter")
    await seat.type("calm")
    await seat.press("enter escape")
    assert seat.desk.day_book.morning() == {"weather": "clear", "wind": "calm"}
    await seat.press("escape")
    assert "weather: clear" in seat.text


# --- everywhere ---


@scenario("any.scroll-down", BOARD)
async def _(seat):
    await seat.press("1 question_mark")
    first = seat.text
    await seat.press("pagedown")
    assert seat.text != first


@scenario("any.scroll-up", BOARD)
async def _(seat):
    await seat.press("1 question_mark")
    first = seat.text
    await seat.press("pagedown pageup")
    assert seat.text == first


@scenario("any.find", RUN)
async def _(seat):
    await seat.press("f2")
    await seat.type("viewp")
    await seat.press("enter 3")
    assert seat.app.screen.sheet.viewpoint == "below"


@scenario("any.theme", RUN)
async def _(seat):
    await seat.press("f3 3")
    assert seat.app.theme == "outdoor"


@scenario("any.back", RUN)
async def _(seat):
    await seat.press("q")
    assert isinstance(seat.app.screen, BoardScreen)
    await seat.press("q")
    assert seat.app.return_code == 0


@scenario("view.back", RUN)
async def _(seat):
    for key in ("escape", "q", "minus"):
        await seat.press(f"k {key}")
        assert isinstance(seat.app.screen, RunScreen)


@scenario("any.menu", RUN)
async def _(seat):
    await seat.press("plus")
    assert "1 marks belong to" in seat.text
    await seat.press("0 minus 4")
    assert slot(seat).sheet.mark("over-feet").level == 4


@scenario("lesson.menu", LESSON)
async def _(seat):
    await seat.press("full_stop 1")
    assert len(lesson(seat).timeline()) == 1


@scenario("any.help", RUN)
async def _(seat):
    await seat.press("f1")
    assert isinstance(seat.app.screen, HelpScreen)
    for item in acts_at("run"):
        assert item.title in "\n".join(line for line in help_lines(seat))


def help_lines(seat: Seat) -> list[str]:
    from assess.tui.line import Line

    return list(seat.app.screen.query_one("#help-lines", Line).content_now.plain.splitlines())


# --- the pad ---


@pytest.mark.parametrize("place", ["run", "thin", "full", "levels", "lock"])
def test_every_act_of_a_marking_screen_sits_on_a_bare_pad_or_in_the_numbered_list(place: str) -> None:
    from assess.tui.keys import Keys

    keys = Keys.with_changes()
    menu = act("lesson.menu" if place in ("thin", "full") else "any.menu")
    assert place in menu.where
    assert keys.on_pad(menu)
    listed = {item.id for item in acts_at(place) if not keys.on_pad(item)}
    on_pad = {item.id for item in acts_at(place) if keys.on_pad(item)}
    assert {"mark.undo", "mark.breach", "mark.lock"} <= on_pad or place == "lock"
    assert listed | on_pad == {item.id for item in acts_at(place)}


async def test_the_numbered_list_holds_every_act_the_pad_lacks(tmp_path) -> None:
    from assess.tui.keys import Keys

    keys = Keys.with_changes()
    async with at_seat(tmp_path, RUN) as seat:
        await seat.press("plus")
        offered = {option.value.id for option in seat.app.screen.tray.ask.options}
        lacking = {item.id for item in acts_at("run") if not keys.on_pad(item)}
        assert offered == lacking - {"run.overall"}, "an overall mark only where the rubric asks for one"


# --- a film of one's own lesson ---


async def film_looked_for(seat: Seat) -> None:
    """Wait for the look for the film that runs beside the keys: its news would take a toy away."""
    for _ in range(1500):
        if not seat.app.screen.opening:
            return
        await asyncio.sleep(0.02)
    raise AssertionError("the film is still looked for")


async def with_toy(seat: Seat) -> ToyFilm:
    """A film that needs no player, as if mpv showed it."""
    await film_looked_for(seat)
    toy, screen = ToyFilm(), seat.app.screen
    screen.player, screen.with_film, screen.opening = toy, True, False
    return toy


def film(seat: Seat):
    return seat.desk.film("T5", "F1")


async def told_first(seat: Seat) -> None:
    sheet = seat.app.screen.slot
    sheet.name_fault("late", whose="assessor")
    sheet.plan(steps="traverse")
    for at in (30_000, 10_000, 20_000):
        sheet.note(f"at {at}", ("diagnosis",), film_ms=at)
    seat.app.screen.draw()


@scenario("film.note", FILM)
async def _(seat):
    await seat.press("6 6 0")
    await seat.type("asks first")
    await seat.press("enter 3")
    assert [(n.film_ms, n.text, n.criteria) for n in film(seat).noted()] == [(10_000, "asks first", ("build-up",))]


@scenario("film.play", FILM)
async def _(seat):
    await film_looked_for(seat)
    await seat.press("5")  # looked for once more
    assert seat.app.screen.opening or "is not there" in seat.message
    toy = await with_toy(seat)
    await seat.press("5")
    assert not toy.paused and "playing" in seat.text


@scenario("film.begin", FILM)
async def _(seat):
    await seat.press("6 7")
    assert "from 0:05 to ..." in seat.text


@scenario("film.end", FILM)
async def _(seat):
    await seat.press("9")
    assert "no stretch was begun" in seat.message
    await seat.press("6 7 6 6 9")
    await seat.type("talks")
    await seat.press("enter 5")
    assert [(n.film_ms, n.end_ms, n.criteria) for n in film(seat).noted()] == [(5000, 15_000, ())]
    assert "0:05-0:15" in seat.text


@scenario("film.go", FILM)
async def _(seat):
    await told_first(seat)
    await seat.press("down enter")
    assert seat.app.screen.slot.at_ms == 20_000


@scenario("film.repeat", FILM)
async def _(seat):
    await told_first(seat)
    toy = await with_toy(seat)
    await seat.press("down r")
    assert toy.looped == [(10_000, 20_000)] and "again and again" in seat.text
    await seat.press("r")
    assert toy.looped[1:] == [(None, None)] and "again and again" not in seat.text


@scenario("film.slower", FILM)
async def _(seat):
    toy = await with_toy(seat)
    await seat.press("slash slash slash s")
    assert toy.factor == 0.5 and "at half its speed" in seat.text


@scenario("film.earlier", FILM)
async def _(seat):
    await seat.press("6 6 4 4 4")
    assert seat.app.screen.here() == 0


@scenario("film.later", FILM)
async def _(seat):
    await seat.press("right 6")
    assert seat.app.screen.here() == 10_000 and "0:10" in seat.text


@scenario("film.frame", FILM)
async def _(seat):
    await seat.press("3 y")
    assert seat.app.screen.here() == 80


@scenario("film.frame-back", FILM)
async def _(seat):
    await seat.press("6 1")
    assert seat.app.screen.here() == 4960


@scenario("film.time", FILM)
async def _(seat):
    await seat.press("g")
    await seat.type("12:05")
    await seat.press("enter")
    assert seat.app.screen.here() == 725_000
    await seat.press("2")
    await seat.type("soon")
    await seat.press("enter")
    assert "is no time in a film" in seat.message and seat.app.screen.here() == 725_000


@scenario("film.fault", FILM)
async def _(seat):
    await seat.press("w")
    await seat.names_read()
    await seat.type("late pres")
    await seat.press("enter")
    assert film(seat).sheet.named_faults[0].fact.fault == "late-pressure"
    assert "p first: your plan, what you would do" in seat.text


@scenario("film.plan", FILM)
async def _(seat):
    await seat.press("p")
    await seat.type("one turn")
    await seat.press("enter")
    assert film(seat).sheet.plan.steps == "one turn"


@scenario("film.drill", FILM)
async def _(seat):
    await seat.press("6 d")
    await seat.type("something new")
    await seat.press("enter")
    assert [(d.fact.text, d.fact.minute_ms) for d in film(seat).sheet.drills] == [("something new", 5000)]


@scenario("film.kind", FILM)
async def _(seat):
    await seat.press("c 3")
    await seat.type("slips")
    await seat.press("enter")
    assert [(n.category, n.text, n.criteria) for n in film(seat).noted()] == [("fall", "slips", ())]


@scenario("film.use", FILM)
async def _(seat):
    await seat.press("i 1 6 i 2")
    told = [(i.fact.use, i.fact.on, i.fact.minute_ms) for i in film(seat).sheet.intervals]
    assert len(told) == 3 and told[0][1:] == (True, 0) and told[1][1:] == (False, 5000) and told[2][1:] == (True, 5000)
    assert told[0][0] == told[1][0] != told[2][0]


@scenario("film.look", FILM)
async def _(seat):
    from assess.desk.film_counts import looks_of

    await seat.press("l 1 2 1 escape")
    found = looks_of(film(seat).sheet)
    assert found is not None and (found.n, found.every_ms) == (3, 10_000) and seat.app.screen.here() == 30_000
    assert {s.use: round(3 * s.share) for s in found.shares if s.share} == {"practise": 2, "talk": 1}
    assert film(seat).noted() == ()


@scenario("film.count", FILM)
async def _(seat):
    from assess.desk.film_counts import counted

    await seat.press("a 1 6 a 5")
    assert [(c.name, c.count, c.rate) for c in counted(film(seat).sheet, 60_000)] == [
        ("feedback-correcting", 1, 1.0), ("question-open", 1, 1.0)
    ]  # fmt: skip
    assert "questions, open" in seat.text


@scenario("film.levels", FILM)
async def _(seat):
    await seat.press("m")
    assert "fault as you see it" in seat.message
    await told_first(seat)
    await seat.press("m")
    assert isinstance(seat.app.screen, FilmLevels)
    await seat.press("3 q")
    assert isinstance(seat.app.screen, FilmScreen) and film(seat).sheet.mark("diagnosis").level == 3


@scenario("film.lock", FILM)
async def _(seat):
    await seat.press("k")
    assert isinstance(seat.app.screen, LockScreen) and "fault as you see it" in seat.text


@scenario("film.undo", FILM)
async def _(seat):
    await told_first(seat)
    await seat.press("asterisk")
    assert len(film(seat).noted()) == 2


@scenario("film.compare", FILM)
async def _(seat):
    await seat.press("b")
    assert "nothing to compare before you have locked" in seat.message
    seat.app.pop_screen()
    seat.app.open_film("F2")
    await rest(seat.pilot)
    await seat.press("b")
    await seat.worked()
    assert "Beside Person M1" in seat.text and "[1:00]" in seat.text


@scenario("film.both", FILM)
async def _(seat):
    await seat.press("x")
    assert "nothing to compare before you have locked" in seat.message
    seat.app.pop_screen()
    seat.app.open_film("F2")
    await rest(seat.pilot)
    await seat.press("x")
    assert "Diagnosis: you 5 at 1:00" in seat.message and seat.app.screen.here() == 60_000
    await seat.press("x")
    assert "Diagnosis: Person M1 4 at 1:00" in seat.message


@scenario("film.whole", FILM)
async def _(seat):
    await told_first(seat)
    await seat.press("v")
    await seat.worked()
    assert isinstance(seat.app.screen, TextScreen) and "at 10000" in seat.text and "Use of time" in seat.text


@scenario("film.sheet", FILM)
async def _(seat):
    await seat.press("e l 1 1 escape escape")
    assert film(seat).safety_states()["head-count"] == "done" and isinstance(seat.app.screen, FilmLesson)


@scenario("season.beside", SEASON)
async def _(seat):
    await seat.press("down b 1")
    screen = seat.app.screen
    assert isinstance(screen, PairScreen) and screen.films == ("F1", "F2")  # the earlier one at the left
    assert "F1 Lesson 1 beside F2 Lesson 2" in seat.text


@scenario("pair.starts", SEASON)
async def _(seat):
    await seat.press("b 1")
    toy = await with_toy(seat)
    toy.position_ms = 9000
    await seat.press("b")
    await seat.type("0:12")
    await seat.press("enter")
    await seat.type("1:20")
    await seat.press("enter")
    assert seat.app.screen.starts_ms == (12_000, 80_000) and seat.app.screen.at_ms == 0
    toy = await with_toy(seat)
    toy.position_ms = 3000
    seat.app.screen.draw()
    await seat.pilot.pause()
    assert "F1   at 0:15, begins at 0:12" in seat.text and "F2   at 1:23, begins at 1:20" in seat.text


@scenario("season.practised", SEASON)
async def _(seat):
    await seat.press("p")
    await seat.names_read()
    await seat.type("late pres")
    await seat.press("enter 2 4 enter")
    found = seat.desk.folder.season.films[0].practised
    assert found.faults == ("late-pressure",) and found.ability == 4 and found.snow
    await seat.press("v")
    await seat.worked()
    assert "Never practised in 1 film" in seat.text


@scenario("season.mentor", SEASON)
async def _(seat):
    await seat.press("m")
    await seat.type("Matis Torvald")
    await seat.press("enter")
    assert seat.desk.folder.season.mentors == ("M1", "MT") and "--as MT" in seat.message


@scenario("season.shots", SEASON)
async def _(seat):
    await seat.press("f")
    await seat.worked()
    assert "the learner's last six turns" in seat.text


@scenario("season.whole", SEASON)
async def _(seat):
    await seat.press("v")
    await seat.worked()
    assert isinstance(seat.app.screen, TextScreen) and "For training alone" in seat.text


@scenario("season.work-on", SEASON)
async def _(seat):
    await seat.press("n")
    for text in ("one word", "counted", "soon"):
        await seat.type(text)
        await seat.press("enter")
    assert "is no day" in seat.text and not seat.desk.folder.season.actions
    await seat.type("1.3.2026")
    await seat.press("enter")
    assert seat.desk.folder.season.actions[0].remeasure_on == "2026-03-01"
    assert seat.desk.folder.season.actions[0].behaviour == "one word" and "one word" in seat.text


@scenario("season.close", SEASON)
async def _(seat):
    from assess.desk.season_edit import open_action

    open_action(seat.desk, "one word", how="counted", checked_by="", remeasure_on="2026-03-01")
    seat.app.screen.draw()
    await seat.press("c 1")
    await seat.type("from 9 to 3")
    await seat.press("enter")
    assert seat.desk.folder.season.actions[0].result == "from 9 to 3"


# --- practice at judging ---


async def practising(seat, *, told: bool = False) -> PracticeScreen:
    """The lesson read; told: all that happens in it too."""
    await seat.press("j")
    await seat.worked()
    screen = seat.app.screen
    assert isinstance(screen, PracticeScreen)
    if told:
        await seat.press(["enter"] * len(screen.found.unfolding))
    return screen


@scenario("board.practise", BOARD)
async def _(seat):
    screen = await practising(seat)
    assert screen.found.scenario.title in seat.text and "Enter: what happens next" in seat.text


@scenario("practice.go-on", BOARD)
async def _(seat):
    screen = await practising(seat)
    first, second = (what for _, what in screen.found.unfolding[:2])
    await seat.press("enter")
    assert first[:30] in seat.text and second[:30] not in seat.text and "1 of" in seat.text
    await seat.press(["space"] * len(screen.found.unfolding))
    assert "that was the lesson" in seat.message


async def said(seat, key: str, name: str) -> list[str]:
    screen = await practising(seat)
    await seat.press(f"{key} down enter")
    assert len(screen.answer[name]) == 1
    words = screen.found.choices({"drills": "drills", "hazards": "hazards"}.get(name, "faults"))
    assert words[screen.answer[name][0]][:20] in seat.text
    return screen.answer[name]


@scenario("practice.ruled-out", BOARD)
async def _(seat):
    await said(seat, "o", "ruled_out")


@scenario("practice.named", BOARD)
async def _(seat):
    await said(seat, "2", "named")


@scenario("practice.drill", BOARD)
async def _(seat):
    await said(seat, "d", "drills")


@scenario("practice.danger", BOARD)
async def _(seat):
    screen = await practising(seat)
    await seat.press("4 enter")
    assert screen.answer["hazards"] == [screen.found.scenario.hazards[0].id]


@scenario("practice.undo", BOARD)
async def _(seat):
    assert await said(seat, "n", "named")
    await seat.press("asterisk")
    assert seat.app.screen.answer["named"] == []
    await seat.press("u")
    assert "nothing was said yet" in seat.message


@scenario("practice.panel", BOARD)
async def _(seat):
    from assess.desk.judging import attempts_of

    screen = await practising(seat)
    await seat.press("k")
    assert "the lesson goes on" in seat.message
    await seat.press(["enter"] * len(screen.found.unfolding))
    await seat.press("5")
    assert "your own view comes first" in seat.message and not attempts_of("A1")
    await seat.press("n enter d enter k")
    assert f"your drill {screen.found.choices('drills')[screen.answer['drills'][0]]}:" in " ".join(seat.text.split())
    assert "the panel holds:" in seat.text and [item["lesson"] for item in attempts_of("A1")] == [
        screen.found.lesson.id
    ]
    await seat.press("n")
    assert "the panel has been shown" in seat.message and len(attempts_of("A1")) == 1


@scenario("practice.another", BOARD)
async def _(seat):
    screen = await practising(seat, told=True)
    first = screen.found.lesson.id
    await seat.press("n enter k a")
    await seat.worked()
    assert screen.found.lesson.id != first and screen.shown_to == 0 and screen.answer["named"] == []


@scenario("practice.history", BOARD)
async def _(seat):
    screen = await practising(seat, told=True)
    await seat.press("n enter k h")
    await seat.worked()
    assert isinstance(seat.app.screen, TextScreen) and screen.found.lesson.id in seat.text
