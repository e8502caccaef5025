"""Before the lock: what is missing first, then Enter."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.records.errors import Refusal
from assess.tui.acts import act
from assess.tui.asking import Option
from assess.tui.line import Line
from assess.tui.marking_screen import MarkingScreen
from assess.tui.shown import Content, joined, lines, shown

if TYPE_CHECKING:
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["LockScreen"]


class LockScreen(MarkingScreen):
    """The holes of one sheet, and how the other sheets of the task stand."""

    DEFAULT_CSS = """
    LockScreen VerticalScroll { height: 1fr; padding: 0 1; }
    LockScreen #holes { height: auto; text-wrap: wrap; }
    """

    def __init__(self, slots: tuple[SlotSheet, ...], candidate: str) -> None:
        super().__init__()
        self.slots = slots
        self.at = next(index for index, slot in enumerate(slots) if slot.candidate == candidate)

    @property
    def place(self) -> str:
        """Before the lock."""
        return "lock"

    def slot_here(self) -> SlotSheet:
        """The sheet that is to be locked."""
        return self.slots[self.at]

    def lock_group(self) -> tuple[SlotSheet, ...]:
        """All sheets of the task."""
        return self.slots

    def changed(self, slot: SlotSheet) -> None:
        """Draw again."""
        self.draw()

    def title_words(self) -> str:
        """Which sheet."""
        task = "" if self.desk.folder.season else f"{self.slot_here().task_id} · "
        return f"before the lock · {task}{self.who_is(self.slot_here())}"

    def body(self) -> Iterable[Widget]:
        """One list."""
        scroll = VerticalScroll(Line(ident="holes"), classes="scrolls")
        scroll.can_focus = False
        yield scroll

    def draw(self) -> None:
        """Holes, what locking means, the partners, the other sheets."""
        slot = self.slot_here()
        drawn = [*self._holes(slot), shown("")]
        if not self.why_locked_shut(slot):
            drawn += [shown(f"Enter locks this sheet. It takes no more entries; {self.later_thoughts()}.")]
        told = [f"{who} {state}" for who, state in sorted(slot.partners().items())]
        if told:
            drawn.append(shown(f"Who else marks this: {', '.join(told)}", "$soft"))
        if len(self.slots) > 1:
            drawn += [shown(""), shown("My sheets of this task", "bold $mark")]
            drawn += [self._line(other) for other in self.slots]
        self.query_one("#holes", Line).say(lines(drawn), grow=True)

    def _holes(self, slot: SlotSheet) -> list[Content]:
        found = slot.holes()
        labels = {name: slot.rubric.criteria[name].label for name in slot.criteria}
        groups = (
            ("Missing before it can be locked", "bold $bad", [hole for hole in found if hole.blocks]),
            ("To look at; the lock does not wait for it", "bold $warn", [hole for hole in found if not hole.blocks]),
        )
        drawn = []
        for head, style, holes in groups:
            if not holes:
                continue
            drawn.append(shown(head, style))
            untold = [hole for hole in holes if hole.kind == "safety-item"]
            if untold:
                where = f" ({self.assess.keys.first(act('film.sheet'))} beside the film)" if self._of_a_film() else ""
                words = f"safety list: nothing said of {len(untold)} items{where}"
                drawn.append(joined([shown("  - "), shown(words)]))
            for hole in (hole for hole in holes if hole.kind != "safety-item"):
                text = hole.text
                if hole.criterion and text.startswith(f"{hole.criterion}:"):
                    text = labels.get(hole.criterion, hole.criterion) + text[len(hole.criterion) :]
                drawn.append(joined([shown("  - "), shown(text)]))
        return drawn if any(hole.blocks for hole in found) else [shown("Nothing is missing.", "bold $good"), *drawn]

    def _of_a_film(self) -> bool:
        return self.desk.folder.season is not None

    def _line(self, slot: SlotSheet) -> Content:
        missing = sum(hole.blocks for hole in slot.holes())
        started = bool(slot.sheet.runs or slot.sheet.observations)
        word, style = ("locked", "$good") if slot.locked else ("nothing missing", "$good")
        if not slot.locked and missing:
            word, style = (f"{missing} missing", "$warn") if started else ("not begun", "$soft")
        here = slot is self.slot_here()
        return joined(
            [
                shown("> " if here else "  ", "bold $mark"),
                shown(f"{self.desk.bib(slot.candidate):>4} "),
                shown(self.desk.name(slot.candidate), "bold" if here else "", cells=26, fill=True),
                shown(f" {word}", style),
            ]
        )

    def why_locked_shut(self, slot: SlotSheet) -> str:
        """Empty when this sheet can be locked now."""
        if slot.locked:
            return "locked already"
        blocking = [hole for hole in slot.holes() if hole.blocks]
        return f"{len(blocking)} missing" if blocking else ""

    # --- acts ----------------------------------------------------------------------------------

    def act_this(self, key: str) -> None:
        """Lock this sheet and go back."""
        slot = self.slot_here()
        why = self.why_locked_shut(slot)
        if why:
            raise Refusal(f"{self.who_is(slot)} cannot be locked: {why}", todo="see the list")
        slot.lock()
        self._leave(f"{self.who_is(slot)} is locked")

    async def act_all(self, key: str) -> None:
        """Lock every sheet of the task that lacks nothing, once somebody said so."""
        ready = [slot for slot in self.slots if not self.why_locked_shut(slot)]
        if not ready:
            raise Refusal("every open sheet of this task lacks something", todo="see the list")
        many = f"{len(ready)} sheets" if len(ready) > 1 else "1 sheet"
        ways = [
            Option("lock", True, "no more entries; the rest is for the moderation"),
            Option("not yet", False),
        ]
        if not await self.tray.pick(f"lock {many} lacking nothing?", ways):
            return
        for slot in ready:
            slot.lock()
        self._leave(f"{len(ready)} sheet{'s are' if len(ready) > 1 else ' is'} locked")

    def _leave(self, words: str) -> None:
        self.app.pop_screen()
        self.assess.say_below(words)

    def act_undo(self, key: str) -> None:
        """Take the latest act on this sheet back."""
        taken = self.slot_here().undo()
        self.draw()
        self.tell(f"taken back: {taken}" if taken else "nothing of this sheet to take back")

    def act_up(self, key: str) -> None:
        """The sheet before."""
        self._step(-1)

    def act_down(self, key: str) -> None:
        """The sheet after."""
        self._step(1)

    def _step(self, by: int) -> None:
        self.at = min(max(self.at + by, 0), len(self.slots) - 1)
        self.draw()
        self.refresh_frame()
