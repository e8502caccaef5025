"""Practice at judging: a written lesson unfolds line by line; one says what one sees; then the panel's reference."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from assess.records.errors import Refusal
from assess.tui.asking import Option, SearchAsk
from assess.tui.shown import Content, joined, shown, wrapped
from assess.tui.worked_screen import WorkedScreen

if TYPE_CHECKING:
    from assess.desk.judging import Judged, PracticeLesson

__all__ = ["PracticeScreen"]

LISTS = {
    "ruled_out": ("ruled out", "what is it not?", "faults"),
    "named": ("named", "faults and causes, the weightiest first:", "faults"),
    "drills": ("drills", "a drill you would take:", "drills"),
    "hazards": ("dangers", "a danger of the place:", "hazards"),
}


class PracticeScreen(WorkedScreen):
    """One lesson at a time. What is kept is for whoever practises: no mark, and in no decision."""

    def __init__(self) -> None:
        super().__init__()
        self.shown_to = 0
        self.answer: dict[str, list[str]] = {name: [] for name in LISTS}
        self.given: list[str] = []
        self.judged: Judged | None = None

    @property
    def place(self) -> str:
        """Practice."""
        return "practice"

    @property
    def who(self) -> str:
        """Whose attempts these are on this device."""
        return self.desk.who or "me"

    def title_words(self) -> str:
        """That it is practice, and what of the lesson is told."""
        if self.found is None:
            return "practise judging"
        told = len(self.found.unfolding)
        return f"practise judging · {self.shown_to} of {told} told · {self.found.scenario.title}"

    # --- picture -------------------------------------------------------------------------------

    def work(self, progress: Callable[[float], bool]) -> Any:
        """The lesson this person has not seen for longest."""
        from assess.desk.judging import chosen_lesson

        return chosen_lesson((), self.who, None)

    def page(self, found: PracticeLesson, width: int) -> list[Content]:
        """Who is taught and where, what happened so far, what was answered, and in the end the panel."""
        drawn = [line for told in found.scene for line in wrapped(told, width)]
        drawn.append(shown(""))
        for minute, what in found.unfolding[: self.shown_to]:
            rows = wrapped(what, width - 8)
            heads = (shown(f"{minute:4g} min", "$mark"), *(shown(" " * 8) for _ in rows[1:]))
            drawn += [joined([head, shown(" "), row]) for head, row in zip(heads, rows, strict=True)]
        if self.shown_to < len(found.unfolding):
            drawn.append(shown("Enter: what happens next", "$soft"))
        drawn.append(shown(""))
        drawn += [line for name in LISTS for line in self._answered(found, name, width)]
        if self.judged is not None:
            from assess.desk.judging import judged_lines

            drawn.append(shown(""))
            drawn += [
                row for told in judged_lines(self.judged, found) for row in wrapped(told, width, indent=_indent(told))
            ]
        return drawn

    def _answered(self, found: PracticeLesson, name: str, width: int) -> list[Content]:
        head, _, of = LISTS[name]
        words = found.choices(of)
        told = "; ".join(words[item] for item in self.answer[name]) or "-"
        rows = wrapped(told, width - 11, "bold" if self.answer[name] else "$soft")
        heads = (shown(f"{head:<10}", "$mark"), *(shown(" " * 10) for _ in rows[1:]))
        return [joined([first, shown(" "), row]) for first, row in zip(heads, rows, strict=True)]

    def draw(self) -> None:
        """The page, its end in sight."""
        super().draw()
        if self.found is not None:
            self.refresh_frame()
            self.call_after_refresh(self._to_the_end)

    def _to_the_end(self) -> None:
        for body in self.query(".scrolls"):
            body.scroll_end(animate=False)

    # --- acts ----------------------------------------------------------------------------------

    def may_answer(self) -> str:
        """Empty while the panel's reference is not shown."""
        if self.found is None:
            return "the lesson is being read"
        return "the panel has been shown; take another lesson" if self.judged is not None else ""

    def act_go_on(self, key: str) -> None:
        """What happens next."""
        if self.shown_to >= len(self.found.unfolding):
            raise Refusal("that was the lesson", todo="say what you saw, then see what the panel holds")
        self.shown_to += 1
        self.draw()

    async def act_ruled_out(self, key: str) -> None:
        """A cause it is not."""
        await self._say("ruled_out", key)

    async def act_named(self, key: str) -> None:
        """A fault or cause, the weightiest first."""
        await self._say("named", key)

    async def act_drill(self, key: str) -> None:
        """A drill one would take."""
        await self._say("drills", key)

    async def act_danger(self, key: str) -> None:
        """A danger of the place."""
        await self._say("hazards", key)

    async def _say(self, name: str, key: str) -> None:
        _, asked, of = LISTS[name]
        taken = {item for items in self.answer.values() for item in items}
        options = [Option(words, item) for item, words in self.found.choices(of).items() if item not in taken]
        chosen = await self.tray.search(SearchAsk(asked, options), opened_by=key)
        if chosen is not None:
            self.answer[name].append(chosen)
            self.given.append(name)
            self.draw()

    def act_undo(self, key: str) -> None:
        """Take the latest name back."""
        if not self.given:
            raise Refusal("nothing was said yet", todo="name what you see")
        self.answer[self.given.pop()].pop()
        self.draw()

    def act_panel(self, key: str) -> None:
        """What the panel holds, once the lesson is over and something was said."""
        from assess.desk.judging import Answer, judged_and_kept

        if self.shown_to < len(self.found.unfolding):
            raise Refusal("the lesson goes on", todo="Enter tells what happens next")
        if not self.given:
            raise Refusal("your own view comes first", todo="name at least one thing")
        answer = Answer(**{name: tuple(items) for name, items in self.answer.items()})
        self.judged = judged_and_kept(self.found, answer, self.who)
        self.draw()

    def act_another(self, key: str) -> None:
        """The lesson not seen for longest."""
        self.found, self.judged, self.shown_to = None, None, 0
        self.answer, self.given = {name: [] for name in LISTS}, []
        self.draw()
        self.begin()

    def act_history(self, key: str) -> None:
        """What came of every attempt on this device."""
        from assess.desk.judging import history_of
        from assess.tui.text_screen import TextScreen

        who = self.who
        self.app.push_screen(TextScreen("file", f"practice of {who}", lambda: list(history_of(who))))


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))
