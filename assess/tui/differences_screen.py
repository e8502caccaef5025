"""The meeting after the locks: differences above, the chosen slot's two sheets side by side below."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.records.errors import Refusal
from assess.tui.asking import Option
from assess.tui.desk_screen import DeskScreen
from assess.tui.differences_lines import difference_row, slot_lines
from assess.tui.line import Line
from assess.tui.shown import lines, shown

if TYPE_CHECKING:
    from assess.desk.moderating import Difference

__all__ = ["DifferencesScreen"]


class DifferencesScreen(DeskScreen):
    """Due ones first, and of them first those that can change most; the marks as given stay on view."""

    DEFAULT_CSS = """
    DifferencesScreen #due { height: auto; max-height: 40%; padding: 0 1; }
    DifferencesScreen #due-lines { height: auto; }
    DifferencesScreen #beside { height: 1fr; border-top: solid $soft; padding: 0 1; }
    DifferencesScreen #beside-lines { height: auto; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self.found: tuple[Difference, ...] = ()

    @property
    def place(self) -> str:
        """The differences."""
        return "differences"

    def title_words(self) -> str:
        """How many are due."""
        due = sum(item.found.due for item in self.found)
        return f"differences · {due} due, {len(self.found) - due} only listed"

    def body(self) -> Iterable[Widget]:
        """The list and the two sheets."""
        for ident in ("due", "beside"):
            scroll = VerticalScroll(
                Line(ident=f"{ident}-lines"), id=ident, classes="scrolls" if ident == "beside" else ""
            )
            scroll.can_focus = False
            yield scroll

    def draw(self) -> None:
        """Ask the desk again and show it."""
        from assess.desk.moderating import differences

        self.found = differences(self.desk)
        self.at = min(self.at, max(0, len(self.found) - 1))
        self._show()
        self.refresh_frame()

    def _show(self) -> None:
        width = max(40, (self.size.width or 80) - 4)
        rows = [
            difference_row(
                item, self.desk.name(item.candidate), self.desk.bib(item.candidate), width, here=n == self.at
            )
            for n, item in enumerate(self.found)
        ]
        self.query_one("#due-lines", Line).say(lines(rows or [shown("nothing differs", "$good")]), grow=True)
        self.query_one("#beside-lines", Line).say(lines(self._beside(width)), grow=True)
        self.query_one("#due", VerticalScroll).scroll_to(y=max(0, self.at - 4), animate=False)

    def _beside(self, width: int) -> list[Any]:
        from assess.desk.moderation_views import slot_view

        if not self.found:
            return [shown("Every marker has the same view, or not everybody has locked.", "$soft")]
        return slot_lines(slot_view(self.desk, self.chosen.slot), self.chosen, width)

    @property
    def chosen(self) -> Difference:
        """The difference the cursor is on. Raises Refusal when there is none."""
        if not self.found:
            raise Refusal("nothing differs", todo="there is nothing to moderate")
        return self.found[self.at]

    # --- acts ----------------------------------------------------------------------------------

    def act_up(self, key: str) -> None:
        """The difference before."""
        self.at = max(0, self.at - 1)
        self._show()

    def act_down(self, key: str) -> None:
        """The difference after."""
        self.at = min(max(0, len(self.found) - 1), self.at + 1)
        self._show()

    async def act_both(self, key: str) -> None:
        """Both sheets stand."""
        await self._agree("keep-both", "keep both")

    async def act_value(self, key: str) -> None:
        """Levels within the marks, criterion by criterion."""
        from assess.desk.moderation_views import slot_view

        view = slot_view(self.desk, self.chosen.slot)
        levels = list(self.desk.rubric_for(view.task).scale.levels)
        agreed: dict[str, int] = {}
        while True:
            options = [
                Option(label, name, " | ".join(sheet.marks.get(name, "no mark") for sheet in view.sheets))
                for name, label in view.labels.items()
                if name not in agreed
            ]
            if agreed:
                options.insert(0, Option("that is all", "", self._told(view.labels, agreed)))
            criterion = await self.tray.pick(f"{view.slot}: agree on which criterion?", options)
            if criterion is None:
                return
            if not criterion:
                break
            level = await self.tray.number(f"{view.labels[criterion]}: the level agreed", levels)
            if level is not None:
                agreed[criterion] = level
        await self._agree("agree-value", self._told(view.labels, agreed), agreed)

    @staticmethod
    def _told(labels: Mapping[str, str], agreed: Mapping[str, int]) -> str:
        return ", ".join(f"{labels[name]} {level}" for name, level in agreed.items())

    async def act_ask(self, key: str) -> None:
        """What is needed instead of an agreement."""
        what = await self.tray.pick(
            f"{self.chosen.slot}: what is needed?",
            [
                Option("a third look", "third-look", "a fresh, blind third marking"),
                Option("a repeat", "repeat", "offered to everybody in the band"),
                Option("it does not count", "void", "obstructed, wrong candidate, unsafe ground"),
            ],
        )
        if what is not None:
            await self._agree(what, what.replace("-", " "))

    async def act_idle(self, key: str) -> None:
        """All that can change no module, in one act."""
        from assess.desk.moderating import keep_idle

        idle = [item.slot for item in self.found if item.found.due and item.found.effect == "nothing"]
        if not idle:
            raise Refusal("every slot that is due can change something", todo="take them one by one")
        reason = await self.tray.text(f"keep both in {len(idle)} slots that can change no module: why")
        if reason:
            closed = keep_idle(self.desk, present=(), reason=reason)
            self.draw()
            self.tell(f"kept both in {len(closed)} slot{'' if len(closed) == 1 else 's'}")

    async def _agree(self, outcome: Any, words: str, values: dict[str, int] | None = None) -> None:
        from assess.desk.moderating import moderate

        item = self.chosen
        markers = ",".join(self.desk.markers(item.found.task, item.candidate))
        present = await self.tray.text(f"{item.slot}: who was there?", markers, "ids, with commas; you are added")
        if present is None:
            return
        reason = await self.tray.text(f"{item.slot}, {words}: why", "", "kept and printed")
        if reason is None:
            return
        who = tuple(name.strip() for name in present.split(",") if name.strip())
        moderate(self.desk, item.slot, outcome, present=who, reason=reason, values=values)
        self.draw()
        self.tell(f"{item.slot}: {words}, written down")
