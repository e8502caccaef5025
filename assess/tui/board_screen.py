"""The course board, the way in: programme, candidates, what is still mine to do, the morning."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from textual.containers import Horizontal, VerticalScroll
from textual.widget import Widget

from assess.records.errors import Refusal
from assess.tui.acts import act
from assess.tui.asking import Option
from assess.tui.board_lines import candidate_lines, programme_lines, remark_lines
from assess.tui.desk_screen import DeskScreen
from assess.tui.line import Line
from assess.tui.shown import lines

if TYPE_CHECKING:
    from assess.desk.board import Board, TaskLine

__all__ = ["BoardScreen"]

AFTER_FIRST_PICTURE = 0.05
CAUSES = {
    "wind": "wind", "lift": "lift", "fog": "fog", "patrol": "patrol or operator", "injury": "injury",
    "course-stopped": "the course is stopped", "other": "something else",
}  # fmt: skip


class BoardScreen(DeskScreen):
    """A digit or Enter opens a task; holes stand before anything else below."""

    DEFAULT_CSS = """
    BoardScreen #board-top { height: auto; }
    BoardScreen #programme { height: auto; width: 45%; padding: 0 1 0 0; }
    BoardScreen #candidates { height: auto; width: 1fr; }
    BoardScreen #board-all { height: 1fr; padding: 0 1; }
    BoardScreen #remarks { height: auto; padding: 1 0 0 0; text-wrap: wrap; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.board: Board | None = None
        self.at = 0

    @property
    def place(self) -> str:
        """The board."""
        return "board"

    @property
    def tasks(self) -> list[TaskLine]:
        """All tasks in the order of the days."""
        return [task for day in self.board.days for task in day.tasks] if self.board else []

    def title_words(self) -> str:
        """Who sits here, at which course."""
        who = f"{self.desk.who} {self.desk.name(self.desk.who)}" if self.desk.who else "looking only"
        return f"{self.desk.course.title} · {who}"

    def body(self) -> Iterable[Widget]:
        """Programme and candidates side by side, the rest below."""
        scroll = VerticalScroll(
            Horizontal(Line(ident="programme"), Line(ident="candidates"), id="board-top"),
            Line(ident="remarks"),
            id="board-all",
            classes="scrolls",
        )
        scroll.can_focus = False
        yield scroll

    def draw(self) -> None:
        """Ask the desk again and show it."""
        first = self.board is None
        self.board = self.desk.board(words=not first)
        if first:
            mine = (index for index, task in enumerate(self.tasks) if task.mine > task.mine_locked)
            self.at = next(mine, 0)
            # The first picture waits for no outcome and no check of files.
            self.call_after_refresh(self.set_timer, AFTER_FIRST_PICTURE, self._complete)
        self._show()

    def _complete(self) -> None:
        """What the first picture did not wait for."""
        self.board = self.desk.board()
        self._show()
        wrong = self.desk.wrong_count()
        if wrong:
            things = "1 thing is" if wrong == 1 else f"{wrong} things are"
            self.tell(f"{things} wrong in this course: see `assess check`", "warn")

    def _show(self) -> None:
        if self.board is None:
            return
        room = (self.size.width or 80) - 2
        left = room * 45 // 100 - 1
        self.query_one("#programme", Line).say(lines(programme_lines(self.board, self.at, left)), grow=True)
        self.query_one("#candidates", Line).say(lines(candidate_lines(self.board, room - left - 1)), grow=True)
        self.query_one("#remarks", Line).say(lines(remark_lines(self.board, room - 1)), grow=True)

    # --- acts ----------------------------------------------------------------------------------

    def act_up(self, key: str) -> None:
        """The task before."""
        self.at = max(0, self.at - 1)
        self._show()

    def act_down(self, key: str) -> None:
        """The task after."""
        self.at = min(max(0, len(self.tasks) - 1), self.at + 1)
        self._show()

    async def act_number(self, key: str) -> None:
        """The task with this number."""
        if int(key) > len(self.tasks):
            raise Refusal(f"there is no task {key} in the list", todo="see the numbers in front of the tasks")
        self.at = int(key) - 1
        self._show()
        await self.act_open(key)

    async def act_open(self, key: str) -> None:
        """The run sheet of a task; of a lesson first whose."""
        if not self.tasks:
            raise Refusal("this course has no task yet", todo="see course.yaml")
        task = self.tasks[self.at]
        if not task.lesson:
            self.assess.open_task(task.id)
            return
        mine = self.desk.mine(task.id)
        if not mine:
            raise Refusal(f"you mark nobody in {task.id}", todo="see the allocation in course.yaml")
        options = [
            Option(
                f"bib {self.desk.bib(slot.candidate)} {self.desk.name(slot.candidate)}",
                slot.candidate,
                "mine locked" if self.desk.locked(task.id, slot.candidate, self.desk.who or "") else "mine open",
            )
            for slot in mine
        ]
        chosen = await self.tray.pick(f"{task.id} {task.title}: whose lesson?", options)
        if chosen is not None:
            self.assess.open_lesson(task.id, chosen)

    def may_marks(self) -> str:
        """Empty for somebody who marks, in a course."""
        if self.desk.folder.frame is not None:
            return "cards are for a course"
        return "" if self.desk.role == "assessor" else "cards are typed in by the assessor who wrote them"

    async def act_card(self, key: str) -> None:
        """A paper card by its number: the time on it, then its boxes."""
        from assess.tui.card_asks import ask_card

        await ask_card(self)

    def act_morning(self, key: str) -> None:
        """Weather, bulletin as read, patrol, radio."""
        from assess.tui.morning_screen import MorningScreen

        self.app.push_screen(MorningScreen())

    async def act_stop(self, key: str) -> None:
        """What stopped the work, and a few words."""
        cause = await self.tray.pick("what stopped the work?", [Option(words, name) for name, words in CAUSES.items()])
        if cause is None:
            return
        text = await self.tray.text(f"{CAUSES[cause]}: since when, which tasks, who said so")
        if text is None:
            return
        self.desk.day_book.interruption(cause, text=text.strip())
        self.tell(f"recorded: {CAUSES[cause]}")

    def act_outcomes(self, key: str) -> None:
        """What the rules give."""
        from assess.tui.outcomes_screen import OutcomesScreen

        self.app.push_screen(OutcomesScreen())

    def act_criteria(self, key: str) -> None:
        """Where assessors part."""
        from assess.tui.criteria_screen import CriteriaScreen

        self.app.push_screen(CriteriaScreen())

    def act_differences(self, key: str) -> None:
        """Where markers differ."""
        from assess.tui.differences_screen import DifferencesScreen

        self.app.push_screen(DifferencesScreen())

    def act_cases(self, key: str) -> None:
        """Appeals and complaints."""
        from assess.tui.cases_screen import CasesScreen

        self.app.push_screen(CasesScreen())

    def act_people(self, key: str) -> None:
        """What is kept about each person."""
        from assess.tui.people_screen import PeopleScreen

        self.app.push_screen(PeopleScreen())

    def act_next(self, key: str) -> None:
        """Would the next course repeat."""
        from assess.tui.next_course_screen import NextCourseScreen

        self.app.push_screen(NextCourseScreen())

    def _key(self, ident: str) -> str:
        return self.assess.keys.first(act(ident))

    def may_direct(self) -> str:
        """Empty for a director, else where one's own page is."""
        if self.desk.role == "director":
            return ""
        return f"this page is a director's; your own marks: {self._key('board.own-marks')}"

    def act_assessors(self, key: str) -> None:
        """The assessors beside one another."""
        from assess.tui.assessors_screen import AssessorsScreen

        self.app.push_screen(AssessorsScreen())

    def act_round(self, key: str) -> None:
        """The calibration round."""
        self.assess.open_round()

    def may_round(self) -> str:
        """Empty in a calibration round."""
        return "" if self.desk.folder.round is not None else "this is a course, no calibration round"

    def may_own_marks(self) -> str:
        """Empty when an assessor may look at their own marks now, else why not."""
        from assess.desk.own_marks import why_not_now

        if self.desk.role != "assessor":
            return f"this page is an assessor's own; a director's: {self._key('board.assessors')}"
        return why_not_now(self.desk)

    def act_own_marks(self, key: str) -> None:
        """How even were my marks."""
        from assess.tui.assessor_screen import AssessorScreen

        self.app.push_screen(AssessorScreen())

    def act_practise(self, key: str) -> None:
        """A written lesson to judge."""
        from assess.tui.practice_screen import PracticeScreen

        self.app.push_screen(PracticeScreen())

    def act_back(self, key: str) -> None:
        """Leave the program."""
        self.assess.leave()
