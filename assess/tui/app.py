"""The program on the screen: one desk, its screens, and a way out that loses nothing."""

from __future__ import annotations

import asyncio
import contextlib
import select
import signal
import sys
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from textual.app import App
from textual.message import Message
from textual.screen import Screen

from assess.records.errors import AssessError, UsageError
from assess.tui.asking import LateEnter
from assess.tui.board_screen import BoardScreen
from assess.tui.desk_screen import DeskScreen
from assess.tui.keys import Keys
from assess.tui.press_filter import PressFilter
from assess.tui.themes import PALETTES, theme_of, themes

if TYPE_CHECKING:
    from assess.desk.catalogue_names import CatalogueNames
    from assess.desk.session import Desk

__all__ = ["AssessApp", "Start", "run"]

Start = (
    Literal["board", "round"]
    | tuple[Literal["task", "film"], str]
    | tuple[Literal["lesson"], str, str]
    | tuple[Literal["pair"], tuple[str, str], tuple[int, int]]
)
HUNG_UP, TERMINATED, BUG, NOT_SAVED = 128 + signal.SIGHUP, 128 + signal.SIGTERM, 70, 3
# Whoever hangs up waits for nobody: the ledgers get this long.
LEAVING_SECONDS = 0.7
LOOK_AT_LINE_SECONDS = 0.5


def line_is_dead() -> bool:
    """True when stdin is a terminal whose other end was closed."""
    try:
        watch = select.poll()
        watch.register(sys.__stdin__.fileno() if sys.__stdin__ else 0, 0)
        return any(event & (select.POLLHUP | select.POLLERR) for _, event in watch.poll(0))
    except (OSError, ValueError, AttributeError):
        # Without a real stdin, as in a test, there is no line that could die.
        return False


class SaveChanged(Message, bubble=False):
    """The disk answered, or did not."""

    def can_replace(self, message: Message) -> bool:
        """Only the newest state is of interest."""
        return isinstance(message, SaveChanged)


class NamesRead(Message, bubble=False):
    """The catalogue's names were read, or could not be."""

    def __init__(self, names: CatalogueNames, trouble: str = "") -> None:
        super().__init__()
        self.names, self.trouble = names, trouble


class AssessApp(App[None]):
    """Screens over one open desk."""

    ENABLE_COMMAND_PALETTE: ClassVar[bool] = False
    CSS = """
    * { scrollbar-size-vertical: 1; }
    """

    def __init__(self, desk: Desk, start: Start = "board", *, theme: str = "dark", keys: Keys | None = None) -> None:
        super().__init__()
        self.desk, self.start = desk, start
        self.keys = keys or Keys.with_changes()
        self.presses = PressFilter()
        self.late_enter = LateEnter()
        self.animation_level = "none"
        self.bug: BaseException | None = None
        self._asked_to_leave = False
        self._told = ("saved", "")
        self.names: CatalogueNames | None = None
        self._waiting_for_names: list[Callable[[CatalogueNames], None]] = []
        for shipped in themes():
            self.register_theme(shipped)
        self.theme = theme

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our own colour names exist under every theme."""
        return dict(theme_of("dark").variables)

    def get_default_screen(self) -> Screen[None]:
        """The board is always beneath; of a season its films."""
        if self.desk.folder.season is not None:
            from assess.tui.season_screen import SeasonScreen

            return SeasonScreen()
        return BoardScreen()

    def now_ms(self) -> float:
        """The clock by which events tell their time, in milliseconds."""
        return time.monotonic() * 1000

    # --- coming and going ----------------------------------------------------------------------

    def on_mount(self) -> None:
        """Listen to the disk and to the signals of a closed window; go where one wanted to begin."""
        self.desk.on_save(self._saved_in_writers_thread)
        loop = asyncio.get_running_loop()
        for number, code in ((signal.SIGHUP, HUNG_UP), (signal.SIGTERM, TERMINATED)):
            # Only the main thread of a process may listen to signals; a test may run elsewhere.
            with contextlib.suppress(ValueError, RuntimeError):
                loop.add_signal_handler(number, self.hang_up, code)
        # A terminal that is gone does not always say so by a signal; its end is looked for too.
        self.set_interval(LOOK_AT_LINE_SECONDS, self._look_at_line)
        self.call_after_refresh(self._say_unsigned)
        if self.start == "round":
            self.open_round()
        if isinstance(self.start, tuple):
            try:
                if self.start[0] == "task":
                    self.open_task(self.start[1])
                elif self.start[0] == "film":
                    self.open_film(self.start[1])
                elif self.start[0] == "pair":
                    self.open_pair(self.start[1], self.start[2])
                else:
                    self.open_lesson(self.start[1], self.start[2])
            except AssessError as error:
                self.call_after_refresh(self.say_below, error.sentence, "warn")

    def _say_unsigned(self) -> None:
        """Once a day: that locks will not be signed, for whom that is news. Nothing is asked for here."""
        from assess.desk.signing import signing_word

        word = signing_word(self.desk)
        if word:
            self.say_below(word, "warn")

    def on_unmount(self) -> None:
        """Leave the signals as they were."""
        loop = asyncio.get_running_loop()
        for number in (signal.SIGHUP, signal.SIGTERM):
            with contextlib.suppress(ValueError, RuntimeError):
                loop.remove_signal_handler(number)

    def _look_at_line(self) -> None:
        """End when nobody is at the other end of the terminal any more."""
        if line_is_dead():
            self.hang_up(HUNG_UP)

    def hang_up(self, code: int) -> None:
        """The window is gone, or somebody ended the program: write down what is typed, and go."""
        self.write_drafts()
        self.exit(return_code=code)

    def write_drafts(self) -> None:
        """Let every screen write down what was typed and not yet sent."""
        for screen in self.screen_stack:
            if isinstance(screen, DeskScreen):
                try:
                    screen.leave_drafts()
                except AssessError as error:
                    self.log(error.sentence)

    def leave(self) -> None:
        """Leave the program; with something unsaved only when asked twice."""
        state = self.desk.save_state()
        if state.word == "not saved" and not self._asked_to_leave:
            self._asked_to_leave = True
            self.say_below(f"{state.waiting} not saved: {state.why}; the same key again leaves without them", "bad")
            return
        self.write_drafts()
        self.exit(return_code=0)

    async def action_quit(self) -> None:
        """Ctrl+q leaves as the key for it does."""
        self.leave()

    def action_help_quit(self) -> None:
        """Ctrl+c ends nothing here."""
        self.say_below("q goes back, on the board it leaves; nothing is lost")

    def _handle_exception(self, error: Exception) -> None:
        # Textual would print the values of the failing frame, names of people among them.
        self.bug = error
        super()._handle_exception(error)

    def _fatal_error(self) -> None:
        self._close_messages_no_wait()

    # --- saving --------------------------------------------------------------------------------

    def _saved_in_writers_thread(self, state: object) -> None:
        """Runs in the writer's thread: hand the news over, unless the window is gone."""
        # The loop may close between asking and posting; then nobody is left to tell.
        with contextlib.suppress(RuntimeError):
            self.post_message(SaveChanged())

    def on_save_changed(self) -> None:
        """Turn the sign; the news may arrive while the window closes, when no screen, or only an empty one, is left."""
        if self.screen_stack and isinstance(self.screen, DeskScreen) and self.screen.can_tell:
            state = self.desk.save_state()
            self.screen.show_saving()
            if (state.word, state.why) != self._told:
                if state.why and state.word != "not saved":
                    self.screen.tell(f"{state.word}: {state.why}", "warn")
                elif "not saved" in (state.word, self._told[0]):
                    self.screen.tell("")
            self._told = (state.word, state.why)

    def not_saved(self) -> str:
        """Why something is not saved, as long as it is not; else nothing."""
        state = self.desk.save_state()
        return f"not saved: {state.why}; it is tried again, go on marking" if state.word == "not saved" else ""

    # --- names of the catalogue ----------------------------------------------------------------

    def with_names(self, use: Callable[[CatalogueNames], None]) -> None:
        """Hand over the catalogue's names: at once when they are read, else once they are.

        They are read in a thread the first time, which can take a second; nothing waits for it.
        """
        if self.names is not None:
            use(self.names)
            return
        self._waiting_for_names.append(use)
        if len(self._waiting_for_names) == 1:
            # A daemon, because whoever hangs up in that second waits for nobody.
            threading.Thread(target=self._read_names, name="catalogue", daemon=True).start()

    def _read_names(self) -> None:
        from assess.desk.catalogue_names import CatalogueNames, catalogue_names

        try:
            read = NamesRead(catalogue_names(self.desk))
        except AssessError as error:
            read = NamesRead(CatalogueNames(), f"the catalogue cannot be used: {error.sentence}")
        with contextlib.suppress(RuntimeError):
            self.post_message(read)

    def on_names_read(self, message: NamesRead) -> None:
        """The names are there, or why not; type them out meanwhile."""
        self.names = message.names
        waiting, self._waiting_for_names = self._waiting_for_names, []
        for use in waiting:
            use(message.names)
        if message.trouble:
            self.say_below(message.trouble.splitlines()[0], "warn")

    # --- screens -------------------------------------------------------------------------------

    def open_task(self, task: str) -> None:
        """The run sheet of a task. Raises Refusal when it is not this person's."""
        from assess.tui.run_screen import RunScreen

        self.push_screen(RunScreen(self.desk.run_sheet(task)))

    def open_lesson(self, task: str, candidate: str) -> None:
        """The lesson sheet of a slot. Raises Refusal when it is not this person's."""
        from assess.tui.lesson_screen import LessonScreen

        self.push_screen(LessonScreen(self.desk.lesson(task, candidate)))

    def open_round(self) -> None:
        """The calibration round against its reference, as far as this person may see it."""
        from assess.tui.round_screen import RoundScreen

        self.push_screen(RoundScreen())

    def open_film(self, film: str) -> None:
        """One film of a season. Raises Refusal for somebody without a sheet of it."""
        from assess.desk.film_compare import film_of
        from assess.tui.film_screen import FilmScreen

        self.push_screen(FilmScreen(self.desk.film(film_of(self.desk, film).task, film)))

    def open_pair(self, films: tuple[str, str], starts_ms: tuple[int, int] = (0, 0)) -> None:
        """Two films side by side, in step. Raises Refusal for a film the season has not."""
        from assess.desk.film_compare import film_of
        from assess.tui.pair_screen import PairScreen

        for film in films:
            film_of(self.desk, film)
        self.push_screen(PairScreen(films, starts_ms))

    def say_below(self, words: str, kind: str = "") -> None:
        """Say something on whatever screen is on top once the present key is done with."""
        self.call_later(self._say, words, kind)

    def _say(self, words: str, kind: str) -> None:
        if isinstance(self.screen, DeskScreen):
            self.screen.tell(words, kind)


def run(
    desk: Desk,
    start: Start = "board",
    *,
    theme: str = "dark",
    keymap: Mapping[str, str | Sequence[str]] | None = None,
    mouse: bool = False,
) -> int:
    """Show the desk on this terminal until it is left; the exit code.

    start: "board", "round", ("task", id), ("lesson", task, candidate), ("film", id) or
    ("pair", ids, starts in ms). theme: dark, light, outdoor.
    keymap: act id -> key or keys. 0 left; 3 left with something not on the disk; 70 a bug, with a
    crash file; 129 and 143 the window was closed or the program ended from outside.
    Raises UsageError for a theme or a keymap that cannot be used; otherwise the desk is closed in the end.
    """
    if theme not in PALETTES:
        raise UsageError(f"there is no theme {theme}", todo=f"use one of {', '.join(PALETTES)}")
    app = AssessApp(desk, start, theme=theme, keys=Keys.with_changes(keymap))
    ended: BaseException | None = None
    try:
        app.run(mouse=mouse)
    except Exception as error:
        ended = error
    code = app.return_code or 0
    saved = desk.close(LEAVING_SECONDS if code in (HUNG_UP, TERMINATED) else 5)
    bug = app.bug or ended
    if not saved:
        state = desk.save_state()
        _tell(f"{state.waiting} entries are not on the disk: {state.why}")
    if bug is not None:
        _tell_bug(bug)
    _let_go()
    if bug is not None:
        return BUG
    return code if saved else code or NOT_SAVED


def _let_go() -> None:
    """The last bytes for a terminal that is gone must not change how the program ends."""
    from assess.desk.last_words import flushed

    with contextlib.suppress(BrokenPipeError):
        flushed(sys.stdout, sys.stderr)


def _tell_bug(bug: BaseException) -> None:
    from assess.desk.crash import keep_crash

    try:
        file: Any = keep_crash(bug)
    except OSError as error:
        file = f"no report could be written ({error.strerror})"
    _tell(
        f"the program has a fault and stopped; what was said to be saved is on the disk. A report without names: {file}"
    )


def _tell(sentence: str) -> None:
    # The terminal may be gone; the exit code says it all the same.
    with contextlib.suppress(OSError, ValueError):
        sys.stderr.write(f"{sentence}\n")
        sys.stderr.flush()
