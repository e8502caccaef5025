"""Before and after: two films of a season in one picture of mpv, in step; the keys of a film drive both."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from textual.widget import Widget

from assess.records.errors import Refusal
from assess.records.times import film_ms, film_text
from assess.tui.film_player import FilmPlayer
from assess.tui.line import Line
from assess.tui.shown import joined, lines, shown, wrapped

__all__ = ["PairScreen"]


class PairScreen(FilmPlayer):
    """Two films, one clock: 0:00 is where each begins."""

    DEFAULT_CSS = """
    PairScreen #pair { height: 1fr; padding: 0 1; }
    """

    def __init__(self, films: tuple[str, str], starts_ms: tuple[int, int] = (0, 0)) -> None:
        super().__init__()
        self.films, self.starts_ms = films, starts_ms

    @property
    def place(self) -> str:
        """Two films."""
        return "pair"

    def title_words(self) -> str:
        """Which two."""
        return " beside ".join(f"{film} {self.desk.name(film)}" for film in self.films)

    def body(self) -> Iterable[Widget]:
        """Where both stand."""
        yield Line(ident="pair")

    def shown(self) -> tuple[Any, str]:
        """Both films in one picture."""
        from assess.desk.film_player import shown_pair

        return shown_pair(self.desk, self.films, self.starts_ms)

    def tick(self) -> None:
        """Where both stand."""
        self.here()
        width = (self.size.width or 80) - 2
        clock = shown(f" {self.clock_words()} ", "bold $cursor-ink on $cursor")
        drawn = [joined([clock, shown(f"  {self.state_words()}")]), shown("")]
        for side, film, start in zip(("left", "right"), self.films, self.starts_ms, strict=True):
            at = f"{side:<6} {film:<4} at {film_text(start + self.at_ms)}, begins at {film_text(start)}"
            drawn.append(shown(f"{at}  {self.desk.name(film)}", cells=width))
        if not self.with_film and self.why_typed:
            drawn += [shown(""), *wrapped(f"{self.why_typed[:1].upper()}{self.why_typed[1:]}.", width, "$warn")]
        drawn += [shown(""), *wrapped("They show a learner: show them as was agreed with them.", width, "$soft")]
        self.query_one("#pair", Line).say(lines(drawn), grow=True)

    def draw(self) -> None:
        """Everything afresh."""
        self.tick()

    async def act_starts(self, key: str) -> None:
        """Where in each film it begins: asked for the left one, then for the right one."""
        found = []
        with self.standing_still():
            for film, start in zip(self.films, self.starts_ms, strict=True):
                text = await self.tray.text(f"{film} begins at which time?", "", f"Enter alone: {film_text(start)}")
                if text is None:
                    return
                try:
                    found.append(film_ms(text) if text.strip() else start)
                except ValueError as trouble:
                    raise Refusal(str(trouble)) from None
        self.starts_ms, self.at_ms = (found[0], found[1]), 0
        self.open_again()
