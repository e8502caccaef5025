"""What every screen has around its body: title and save sign, tray, message line, key line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar, cast

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widget import Widget

from assess.records.errors import AssessError
from assess.tui.acts import acts_at
from assess.tui.line import KeyLine, Line, MessageLine, TooSmall
from assess.tui.save_sign import SaveSign
from assess.tui.shown import shown
from assess.tui.tray import Tray

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.tui.app import AssessApp

__all__ = ["FramedScreen"]


class FramedScreen(Screen[None]):
    """The frame. A screen says where it is (`place`), gives its body and draws it."""

    AUTO_FOCUS: ClassVar[str | None] = ""
    DEFAULT_CSS = """
    FramedScreen { layers: base over; background: $paper; color: $ink; layout: vertical; overflow: hidden; }
    FramedScreen.-asking LevelsPanel, FramedScreen.-asking #strips { display: none; }
    FramedScreen > #title-line { height: 1; background: $bar; color: $bar-ink; }
    FramedScreen #title { background: $bar; color: $bar-ink; text-style: bold; padding: 0 1; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.covered = False

    # --- what a screen gives -------------------------------------------------------------------

    @property
    def place(self) -> str:
        """Where this is, as the table of acts names it."""
        raise NotImplementedError

    def body(self) -> Iterable[Widget]:
        """The widgets between title and tray."""
        raise NotImplementedError

    def title_words(self) -> str:
        """The title as it stands."""
        return ""

    def draw(self) -> None:
        """Bring everything on the screen up to date."""

    # --- frame ---------------------------------------------------------------------------------

    @property
    def assess(self) -> AssessApp:
        """The program."""
        return cast("AssessApp", self.app)

    @property
    def desk(self) -> Desk:
        """The open course."""
        return self.assess.desk

    @property
    def tray(self) -> Tray:
        """Where this screen asks."""
        return self.query_one(Tray)

    def compose(self) -> ComposeResult:
        """Title, body, tray, message, keys."""
        yield Horizontal(Line(ident="title"), SaveSign(), id="title-line")
        yield from self.body()
        yield Tray()
        yield MessageLine(ident="message")
        yield KeyLine()
        yield TooSmall()

    def on_mount(self) -> None:
        """First picture."""
        self.refresh_frame()
        self.draw()

    def on_screen_resume(self) -> None:
        """Somebody may have changed something meanwhile."""
        self.refresh_frame()
        self.draw()

    def on_resize(self, event: events.Resize) -> None:
        """Fit the new size, or say that it is too small."""
        self.covered = self.query_one(TooSmall).fit(event.size.width, event.size.height)
        self.refresh_frame()
        self.draw()

    def refresh_frame(self) -> None:
        """Title, save sign and key line as they stand."""
        room = max(10, (self.size.width or 80) - 18)
        self.query_one("#title", Line).say(shown(self.title_words(), cells=room))
        self.show_saving()
        keys = self.assess.keys
        foot = tuple((keys.first(item), item.foot) for item in acts_at(self.place) if item.foot)
        line = self.query_one(KeyLine)
        if line.items != foot:
            line.show(foot)

    @property
    def can_tell(self) -> bool:
        """False before its lines are there, and while they are taken away."""
        return bool(self.is_mounted and self.query(SaveSign) and self.query(MessageLine))

    def show_saving(self) -> None:
        """Turn the save sign to what the desk says now."""
        self.query_one(SaveSign).show(self.desk.save_state(), self.desk.clock_text)

    def tell(self, text: str, kind: str = "") -> None:
        """Say a sentence on the message line; where there is none, why something is not saved."""
        trouble = "" if text else self.assess.not_saved()
        self.query_one(MessageLine).tell(text or trouble, "bad" if trouble else kind)

    def refused(self, error: AssessError) -> None:
        """Say what was refused and what to do; nothing waits for an answer."""
        self.tell(error.sentence, "warn")
