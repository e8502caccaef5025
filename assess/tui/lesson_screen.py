"""The lesson sheet: thin while the lesson runs, full in the minutes after, and the levels at the end."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal

from textual.containers import Vertical, VerticalScroll
from textual.widget import Widget

from assess.records.errors import Refusal
from assess.tui.lesson_asks import LessonAsks
from assess.tui.lesson_lines import (
    clock_words, column, criterion_lines, level_lines, level_text, safety_strip, share_bar, split,
)  # fmt: skip
from assess.tui.levels_panel import all_levels, three_levels
from assess.tui.line import Line
from assess.tui.marking_screen import VIEWS
from assess.tui.shown import Content, joined, lines, shown

if TYPE_CHECKING:
    from assess.desk.lesson_sheet import LessonSheet
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["LessonScreen"]

Mode = Literal["thin", "full", "levels"]


class LessonScreen(LessonAsks):
    """One teaching session. Nothing on it waits for an answer while people are on the snow."""

    DEFAULT_CSS = """
    LessonScreen #clock { height: 3; padding: 1 1 0 1; }
    LessonScreen #lesson-scroll { height: 1fr; padding: 0 1; }
    LessonScreen #lesson { height: auto; text-wrap: wrap; }
    LessonScreen #strips { height: auto; padding: 0 1; border-top: solid $soft; }
    """

    def __init__(self, slot: LessonSheet) -> None:
        super().__init__()
        self.slot = slot
        self.mode: Mode = "thin"
        self.back_to: Mode = "thin"
        self.at = 0
        self.whole = True
        self._foreshown: tuple[int, str] | None = None

    # --- picture -------------------------------------------------------------------------------

    @property
    def place(self) -> str:
        """Which of the three views."""
        return self.mode

    def title_words(self) -> str:
        """Task, candidate, learner, viewpoint."""
        learner = f"learner {self.learner}" if self.learner else ""
        view = VIEWS.get(self.slot.viewpoint or "", "")
        parts = (f"{self.slot.task_id} {self.who_is(self.slot)}", learner, view, self.slot.task.title)
        return " · ".join(part for part in parts if part)

    def body(self) -> Iterable[Widget]:
        """Clock, the view, the strips below it."""
        yield Line(ident="clock")
        scroll = VerticalScroll(Line(ident="lesson"), id="lesson-scroll", classes="scrolls")
        scroll.can_focus = False
        yield scroll
        yield Vertical(Line(ident="strip-lines"), id="strips")

    def on_mount(self) -> None:
        """The clock ticks once a second, and only its line is repainted."""
        super().on_mount()
        self.query_one("#strip-lines", Line).styles.height = "auto"
        self.set_interval(1.0, self.tick)

    def on_resize(self, event: object) -> None:
        """Lay out again."""
        super().on_resize(event)  # type: ignore[arg-type]
        self.draw()

    def tick(self) -> None:
        """Session time; wall time never stops."""
        time, words = clock_words(self.slot, self.slot.clock_ms())
        style = "bold $bad" if self.slot.ended == "unsafe" else "bold $good" if self.slot.practising else ""
        self.query_one("#clock", Line).say(joined([shown(f" {time} ", "bold $cursor-ink on $cursor"), shown(f"  {words}", style)]))

    def draw(self) -> None:
        """The present view afresh."""
        self.tick()
        width = (self.size.width or 80) - 2
        drawn = {"thin": self._thin, "full": self._full, "levels": self._levels}[self.mode](width)
        self.query_one("#lesson", Line).say(lines(drawn), grow=True)
        strips = self._strips(width)
        self.query_one("#strip-lines", Line).say(lines(strips), grow=True)
        self.query_one("#strips").display = bool(strips)

    def _thin(self, width: int) -> list[Content]:
        moments = self.slot.timeline()
        drawn = criterion_lines(self.slot, moments, self.chosen, width)
        hint = "a digit chooses, + seen for, - seen against" if self.chosen is None else "+ seen for, - seen against"
        drawn += [shown(f"    {hint}", "$soft"), shown("")]
        room = max(2, self.size.height - 13 - len(drawn))
        return drawn + column("seen so far", moments, self.labels(), width, room)

    def _full(self, width: int) -> list[Content]:
        before, done, after = split(self.slot.timeline())
        third = width // 3
        room = max(3, self.size.height - 14)
        columns = [
            [*self._planned(third), *column("learner before", before, self.labels(), third, room)],
            column("what was done", done, self.labels(), third, room),
            [*column("learner after", after, self.labels(), third, room), *self._asked(third)],
        ]
        height = max(len(one) for one in columns)
        blank = shown("", cells=third, fill=True)
        return [joined([one[row] if row < len(one) else blank for one in columns]) for row in range(height)]

    def _planned(self, width: int) -> list[Content]:
        plan = self.slot.sheet.plan
        told = (("plan", plan.goal), ("steps", plan.steps), ("plan B", plan.plan_b)) if plan else ()
        return [shown(f"{name}: {text}", "$soft", cells=width, fill=True) for name, text in told if text]

    def _asked(self, width: int) -> list[Content]:
        words = {item.id: item.text for item in self.slot.rubric.questions}
        asked = [seen.fact for seen in self.slot.sheet.questions]
        head = [shown("questions", "bold $mark", cells=width, fill=True)] if asked else []
        return head + [
            shown(f"{fact.answer}: {fact.asked or words.get(fact.question or '', fact.question or '')}", cells=width, fill=True)
            for fact in asked
        ]

    def _levels(self, width: int) -> list[Content]:
        slot, criterion = self.slot, self.slot.criteria[self.at]
        drawn = level_lines(slot, self.slot.timeline(), self.at, self._foreshown, width)
        described = slot.rubric.criteria[criterion]
        text = level_text(slot, criterion)
        given = int(text) if text.isdigit() else None
        levels = tuple(sorted(described.levels.items()))
        drawn.append(shown(""))
        if self.whole:
            drawn.append(all_levels(described.label, described.text, levels, given))
        else:
            middle = given if given is not None else int(slot.rubric.scale.pass_line) + 1
            near = tuple(pair for pair in levels if abs(pair[0] - middle) <= 1)
            drawn.append(three_levels(described.label, near, given, width))
        return drawn

    def _strips(self, width: int) -> list[Content]:
        if self.mode != "full":
            return []
        given = [f"{self.slot.rubric.criteria[name].label} {level_text(self.slot, name) or '·'}" for name in self.slot.criteria]
        return [
            *safety_strip(self.slot.safety_states(), width),
            share_bar(self.slot.time_shares(), width),
            joined([shown("levels  ", "bold $mark"), shown(" · ".join(given), cells=width - 8)]),
        ]

    def labels(self) -> dict[str, str]:
        """Criterion ids and their labels."""
        return {name: self.slot.rubric.criteria[name].label for name in self.slot.criteria}

    # --- state ---------------------------------------------------------------------------------

    def slot_here(self) -> SlotSheet:
        """The one sheet of this screen."""
        return self.slot

    def changed(self, slot: SlotSheet) -> None:
        """Draw what was added."""
        self.draw()
        self.show_saving()

    def show_mode(self, mode: Mode) -> None:
        """Turn to another view."""
        self.mode = mode
        self.tell("")
        self.draw()
        self.refresh_frame()

    # --- views ---------------------------------------------------------------------------------

    def act_full(self, key: str) -> None:
        """Full, or thin again."""
        self.show_mode("thin" if self.mode == "full" else "full")

    def act_levels(self, key: str) -> None:
        """The criteria with their levels."""
        self.back_to = self.mode
        missing = (index for index, name in enumerate(self.slot.criteria) if not level_text(self.slot, name))
        self.at = next(missing, 0)
        self.show_mode("levels")

    def act_back(self, key: str) -> None:
        """From the levels to the view before; from there to the board."""
        if self.mode == "levels":
            self.show_mode(self.back_to)
        else:
            super().act_back(key)

    # --- levels --------------------------------------------------------------------------------

    def act_level(self, key: str) -> None:
        """A level, and on to the next criterion."""
        self.slot.score(self.slot.criteria[self.at], int(key))
        self._next()

    def act_not_observed(self, key: str) -> None:
        """Could have been seen, was not."""
        self.slot.not_observed(self.slot.criteria[self.at])
        self._next()

    async def act_not_applicable(self, key: str) -> None:
        """It cannot exist here; the reason is asked once per task."""
        criterion, reason = self.slot.criteria[self.at], ""
        if self.desk.day_book.reason_not_applicable(self.slot.task_id, criterion) is None:
            label = self.labels()[criterion]
            reason = (await self.tray.text(f"why is {label} not applicable in {self.slot.task_id}? (asked once)") or "").strip()
            if not reason:
                return
        self.slot.not_applicable(criterion, reason)
        self._next()

    def _next(self) -> None:
        order = [*range(self.at + 1, len(self.slot.criteria)), *range(self.at)]
        self.at = next((index for index in order if not level_text(self.slot, self.slot.criteria[index])), self.at)
        done = all(level_text(self.slot, name) for name in self.slot.criteria)
        self.tell("all criteria have a mark; k shows what is missing before the lock" if done else "")
        self.changed(self.slot)

    def act_up(self, key: str) -> None:
        """The criterion before."""
        self.at = max(0, self.at - 1)
        self.draw()

    def act_down(self, key: str) -> None:
        """The criterion after."""
        self.at = min(len(self.slot.criteria) - 1, self.at + 1)
        self.draw()

    def act_descriptors(self, key: str) -> None:
        """All levels in full, or three again."""
        self.whole = not self.whole
        self.draw()

    def foreshow(self, key: str) -> None:
        """Show a level that may yet turn out to be a held key."""
        item = self.assess.keys.at(self.place, key)
        if self.mode != "levels" or self.asker.open_now or item is None or self.slot.locked:
            return
        if item.id == "run.level" and int(key) in self.slot.rubric.scale.levels:
            self._foreshown = (self.at, key)
        elif item.id == "run.not-observed":
            self._foreshown = (self.at, "no")
        self.draw()

    def keep(self, key: str) -> None:
        """Write what was shown."""
        self._foreshown = None
        self.press(key)

    def take_back(self, key: str) -> None:
        """It was a held key: as before."""
        self._foreshown = None
        self.draw()

    # --- undo ----------------------------------------------------------------------------------

    def act_undo(self, key: str) -> None:
        """Take the latest act on this sheet back."""
        if self.slot.locked:
            raise Refusal(f"{self.who_is(self.slot)} is locked", todo="later thoughts belong in the moderation meeting")
        taken = self.slot.undo()
        self.changed(self.slot)
        self.tell(f"taken back: {taken}" if taken else "nothing to take back")
