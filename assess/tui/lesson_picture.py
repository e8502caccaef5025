"""The lesson sheet as it is seen: thin, full, the levels, and the readings."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal

from textual.containers import Vertical, VerticalScroll
from textual.widget import Widget

from assess.tui.lesson_after import LessonAfter
from assess.tui.lesson_lines import (
    clock_words,
    column,
    criterion_lines,
    for_and_against,
    level_lines,
    level_text,
    safety_strip,
    share_bar,
    split,
)  # fmt: skip
from assess.tui.levels_panel import all_levels, three_levels
from assess.tui.line import Line
from assess.tui.marking_screen import VIEWS
from assess.tui.reading_picture import reading_page, reading_summary
from assess.tui.shown import Content, joined, lines, shown, wrapped

if TYPE_CHECKING:
    from assess.desk.lesson_sheet import LessonSheet
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["LessonPicture"]

Mode = Literal["thin", "full", "levels", "readings"]
TALL = 22
EMPTY = 16


class LessonPicture(LessonAfter):
    """The views of one sheet; the clock's line alone is repainted every second."""

    DEFAULT_CSS = """
    LessonPicture #clock { height: 2; padding: 0 1; }
    LessonPicture #lesson-scroll { height: 1fr; padding: 0 1; }
    LessonPicture #lesson { height: auto; text-wrap: wrap; }
    LessonPicture #strips { height: auto; padding: 0 1; border-top: solid $soft; }
    LessonPicture #strips.-empty { display: none; }
    """

    def __init__(self, slot: LessonSheet) -> None:
        super().__init__()
        self.slot = slot
        self.mode: Mode = "thin"
        self.back_to: Mode = "thin"
        self.before_readings: Mode = "thin"
        self.at = 0
        self.whole = True
        self._foreshown: tuple[int, str] | None = None

    # --- picture -------------------------------------------------------------------------------

    @property
    def place(self) -> str:
        """Which of the views."""
        return self.mode

    def title_words(self) -> str:
        """Task, candidate, learner, viewpoint."""
        learner = f"learner {self.learner}" if self.learner else ""
        view = VIEWS.get(self.slot.viewpoint or "", "")
        ground = self.slot.ground()
        parts = (f"{self.slot.task_id} {self.who_is(self.slot)}", learner, view, ground, self.slot.task.title)
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

    def tick(self) -> None:
        """Session time; wall time never stops."""
        time, words = self.clock_line()
        style = "bold $bad" if self.slot.ended == "unsafe" else "bold $good" if self.slot.practising else ""
        self.query_one("#clock", Line).say(
            joined([shown(f" {time} ", "bold $cursor-ink on $cursor"), shown(f"  {words}", style)])
        )

    def clock_line(self) -> tuple[str, str]:
        """The time, and what goes on."""
        return clock_words(self.slot, self.slot.clock_ms())

    def draw(self) -> None:
        """The present view afresh."""
        self.tick()
        width = (self.size.width or 80) - 2
        views = {"thin": self._thin, "full": self._full, "levels": self._levels, "readings": self._readings}
        drawn = views[self.mode](width)
        self.query_one("#lesson", Line).say(lines(drawn), grow=True)
        strips = self._strips(width)
        self.query_one("#strip-lines", Line).say(lines(strips), grow=True)
        self.query_one("#strips").set_class(not strips, "-empty")

    def _thin(self, width: int) -> list[Content]:
        moments = self.slot.timeline()
        drawn = criterion_lines(self.slot, moments, self.chosen, width)
        hint = "a digit chooses, + seen for, - seen against" if self.chosen is None else "+ seen for, - seen against"
        drawn += [shown(f"    {hint}", "$soft"), shown("")]
        room = max(2, self.size.height - 6 - len(drawn))
        return drawn + column("seen so far", moments, self.labels(), width, room)

    def _full(self, width: int) -> list[Content]:
        before, done, after = split(self.slot.timeline())
        room = max(3, self.size.height - 7 - len(self._strips(width)))
        side = width // 3
        # An empty column gives way to the list of what was done.
        left = side if before or self.slot.sheet.plan else min(side, EMPTY)
        right = side if after or self.slot.sheet.questions else min(side, EMPTY)
        columns = [
            [*self._planned(left), *column("learner before", before, self.labels(), left, room)],
            column("what was done", done, self.labels(), width - left - right, room),
            [*column("learner after", after, self.labels(), right, room), *self._asked(right)],
        ]
        widths = (left, width - left - right, right)
        height = max(len(one) for one in columns)
        blanks = [shown("", cells=cells, fill=True) for cells in widths]
        return [
            joined([one[row] if row < len(one) else blank for one, blank in zip(columns, blanks, strict=True)])
            for row in range(height)
        ]

    def _planned(self, width: int) -> list[Content]:
        plan = self.slot.sheet.plan
        told = (("plan", plan.goal), ("steps", plan.steps), ("plan B", plan.plan_b)) if plan else ()
        return [shown(f"{name}: {text}", "$soft", cells=width, fill=True) for name, text in told if text]

    def _asked(self, width: int) -> list[Content]:
        words = {item.id: item.text for item in self.slot.rubric.questions}
        asked = [seen.fact for seen in self.slot.sheet.questions]
        head = [shown("questions", "bold $mark", cells=width, fill=True)] if asked else []
        return head + [
            shown(
                f"{fact.answer}: {fact.asked or words.get(fact.question or '', fact.question or '')}",
                cells=width,
                fill=True,
            )
            for fact in asked
        ]

    def _levels(self, width: int) -> list[Content]:
        slot, criterion = self.slot, self.slot.criteria[self.at]
        drawn = level_lines(slot, self.beside_levels(), self.at, self._foreshown, width)
        described = slot.rubric.criteria[criterion]
        text = level_text(slot, criterion)
        given = int(text) if text.isdigit() else None
        levels = tuple(sorted(described.levels.items()))
        beside = self._beside(width)
        drawn += [shown(""), *beside, *([shown("")] if beside else [])]
        if self.whole and self.size.height >= TALL + len(beside):
            drawn.append(all_levels(described.label, described.text, levels, given))
        else:
            middle = given if given is not None else int(slot.rubric.scale.pass_line) + 1
            near = tuple(pair for pair in levels if abs(pair[0] - middle) <= 1)
            drawn += [shown(described.label, "bold $mark"), *three_levels(near, given, width)]
        return drawn

    def beside_levels(self) -> dict[str, str]:
        """What stands beside each level: how often something was seen for and against it."""
        return for_and_against(self.slot)

    def _readings(self, width: int) -> list[Content]:
        names = self.assess.names
        if names is None:
            self.assess.with_names(lambda _: self.draw())
            return [shown("reading the catalogue ...", "$soft")]
        if names.catalogue is None:
            return [shown("this activity has no catalogue of faults and drills: nothing to compare with", "$soft")]
        return reading_page(self.slot.readings(names.catalogue), width)

    def _beside(self, width: int) -> list[Content]:
        """The readings in short, beside the criteria, once the lesson has ended."""
        names = self.assess.names
        if not self.slot.ended:
            return []
        if names is None:
            self.assess.with_names(lambda _: self.draw())
            return [shown("readings: reading the catalogue ...", "$soft")]
        if names.catalogue is None:
            return []
        return reading_summary(self.slot.readings(names.catalogue), width)

    def _strips(self, width: int) -> list[Content]:
        if self.mode != "full":
            return []
        given = [
            f"{self.slot.rubric.criteria[name].label} {level_text(self.slot, name) or '-'}"
            for name in self.slot.criteria
        ]
        return [
            *self._care(width),
            *safety_strip(self.slot.safety_states(), width),
            share_bar(self.slot.time_shares(), width),
            joined([shown("levels  ", "bold $mark"), shown(" | ".join(given), cells=width - 8)]),
        ]

    def _care(self, width: int) -> list[Content]:
        """Where the drill that runs can hurt, and what it must have; nothing while something is asked."""
        drills = self.slot.sheet.drills
        told = self.cautions(drills[-1].fact.drill) if drills and not self.slot.ended and not self.tray.open_now else ""
        heads = (shown("care    ", "bold $warn"), shown(" " * 8))
        parts = wrapped(told, width - 8, "$warn", most=2) if told else []
        return [joined([head, part]) for head, part in zip(heads, parts, strict=False)]

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
