"""A trainee's season: what one works on, then the films; Enter opens one."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.records.errors import Refusal
from assess.tui.desk_screen import DeskScreen
from assess.tui.line import Line
from assess.tui.shown import Content, joined, lines, shown, wrapped
from assess.tui.text_screen import TextScreen

if TYPE_CHECKING:
    from assess.desk.season_view import FilmLine, SeasonView
    from assess.desk.session import Desk
    from assess.tui.asking import Option, SearchAsk

__all__ = ["SeasonScreen"]

USUAL_DAYS = 14
"""From an action to the day it is measured again, unless told otherwise (common practice)."""


class SeasonScreen(DeskScreen):
    """The way in to a season of films."""

    DEFAULT_CSS = """
    SeasonScreen #season { height: 1fr; padding: 0 1; }
    SeasonScreen #season-lines { height: auto; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self.view: SeasonView | None = None

    @property
    def place(self) -> str:
        """The season."""
        return "season"

    def title_words(self) -> str:
        """Whose season, and who sits here."""
        who = self.desk.name(self.desk.who) if self.desk.who else "looking only"
        return f"{self.desk.course.title} · {who}"

    def body(self) -> Iterable[Widget]:
        """One list."""
        scroll = VerticalScroll(Line(ident="season-lines"), id="season", classes="scrolls")
        scroll.can_focus = False
        yield scroll

    def draw(self) -> None:
        """Ask the desk again and show it."""
        from assess.desk.season_view import season_view

        self.view = season_view(self.desk)
        self._show()

    def _show(self) -> None:
        view = self.view
        if view is None:
            return
        width = (self.size.width or 80) - 3  # a bar beside the list takes one
        drawn = [shown("working on", "bold $mark")]
        for action in view.actions:
            late = " · due now" if action.id in view.due else ""
            drawn += wrapped(f"{action.behaviour}{late}", width, "bold $warn" if late else "bold", indent=2)
            drawn += wrapped(f"{action.how}; {action.remeasure_on}", width, "$soft", indent=4)
        if not view.actions:
            drawn += wrapped("nothing yet; one behaviour is enough", width, "$soft", indent=2)
        drawn += [shown(""), shown("over the season", "bold $mark"), *wrapped(view.trend.sentence, width, indent=2)]
        drawn += [shown(""), shown("films", "bold $mark")]
        chosen_at = 0
        for number, film in enumerate(view.films):
            chosen_at = len(drawn) if number == self.at else chosen_at
            drawn += _film(film, width, chosen=number == self.at)
        self.query_one("#season-lines", Line).say(lines(drawn), grow=True)
        scroll = self.query_one("#season", VerticalScroll)
        scroll.scroll_to(y=max(0, chosen_at - scroll.size.height // 2) if self.at else 0, animate=False)

    # --- acts ----------------------------------------------------------------------------------

    def act_up(self, key: str) -> None:
        """The film before."""
        self.at = max(0, self.at - 1)
        self._show()

    def act_down(self, key: str) -> None:
        """The film after."""
        self.at = min(len(self.view.films) - 1 if self.view else 0, self.at + 1)
        self._show()

    def act_open(self, key: str) -> None:
        """This film. Raises Refusal for somebody without a sheet of it."""
        if self.view and self.view.films:
            self.assess.open_film(self.view.films[self.at].id)

    async def act_beside(self, key: str) -> None:
        """The chosen film beside another one: before at the left, after at the right."""
        from assess.tui.asking import Option

        films = self.view.films if self.view else ()
        if len(films) < 2:
            raise Refusal("there is one film only", todo="add another one first")
        chosen = films[self.at].id
        others = [Option(f"{film.id}  {film.date}  {film.title}", film.id) for film in films if film.id != chosen]
        other = await self.tray.pick(f"{chosen} beside which?", others)
        if other is not None:
            order = [film.id for film in sorted(films, key=lambda film: film.date) if film.id in (chosen, other)]
            self.assess.open_pair((order[0], order[1]))

    async def act_practised(self, key: str) -> None:
        """A fault that was treated, the snow, how able the learner was; each may be left out with Esc."""
        from assess.desk.film_practised import practised_in
        from assess.tui.asking import Option, SearchAsk
        from assess.tui.marking_screen import named

        if self.view is None or not self.view.films:
            return
        film = self.view.films[self.at].id
        ask = SearchAsk(f"{film}: which fault was treated? Esc: none", [])
        self.assess.with_names(lambda names: self._offer(ask, [named(fault) for fault in names.faults]))
        treated = await self.tray.search(ask, opened_by=key)
        names = self.assess.names
        kinds = [Option(kind.words, kind.id) for kind in names.snow] if names else []
        snow = await self.tray.pick("on which snow? Esc: not said", kinds) if kinds else None
        able = await self.tray.amount("how able was the learner? Esc: not said", range(1, 11))
        if treated or snow or able:
            told = practised_in(self.desk, film, treated=[treated] if treated else (), snow=snow or "", able=able)
            self._again()
            self.tell(f"{film} gave practice in: {told}")

    def _offer(self, ask: SearchAsk, options: list[Option]) -> None:
        ask.offer(options)
        self.tray.draw_again(ask)

    async def act_mentor(self, key: str) -> None:
        """Somebody looks at the films too."""
        from assess.desk.season_grow import add_mentor

        name = await self.tray.text("who looks at your films too? a name:")
        if name and name.strip():
            who = add_mentor(self.desk, name)
            self._again()
            self.tell(f"{name.strip()} opens this folder with --as {who}; you see no level of theirs before you lock")

    def act_shots(self, key: str) -> None:
        """What to film next."""
        from assess.desk.film_shots import SHOTS

        self.app.push_screen(TextScreen("file", "what to film", lambda: list(SHOTS), prose=True))

    def act_whole(self, key: str) -> None:
        """The whole page: every comparison, and what was never practised."""
        desk = self.desk
        self.app.push_screen(TextScreen("file", self.desk.course.title, lambda: _page(desk), prose=True))

    async def act_work_on(self, key: str) -> None:
        """One behaviour to work on, how and when it is checked; at most two are open."""
        from assess.desk.season_edit import open_action
        from assess.records.season import MOST_OPEN

        if self.view and len(self.view.actions) >= MOST_OPEN:
            raise Refusal(f"{MOST_OPEN} are open, and that is enough", todo="close one first")
        answers = []
        for title in ("one behaviour you want to change:", "how is it checked?"):
            text = await self.tray.text(title)
            if text is None or not text.strip():
                return
            answers.append(text)
        usual = (date.fromisoformat(self.desk.today()) + timedelta(days=USUAL_DAYS)).isoformat()
        remark = f"Enter alone: in two weeks, {usual}"
        while True:
            day = await self.tray.text("measured again on which day?", "", remark)
            if day is None:
                return
            try:
                open_action(self.desk, answers[0], how=answers[1], checked_by="", remeasure_on=day.strip() or usual)
            except Refusal as error:
                # The words typed so far stay; only the day is asked again.
                remark = error.sentence
                continue
            self._again()
            return

    async def act_close(self, key: str) -> None:
        """An open action was measured again: what came of it."""
        from assess.desk.season_edit import close_action
        from assess.tui.asking import Option

        actions = self.view.actions if self.view else ()
        if not actions:
            raise Refusal("nothing is open")
        chosen = await self.tray.pick("which one was measured again?", [Option(a.behaviour, a.id) for a in actions])
        text = await self.tray.text("what came of it?") if chosen else None
        if chosen and text and text.strip():
            close_action(self.desk, chosen, text)
            self._again()

    def _again(self) -> None:
        self.draw()

    def act_practise(self, key: str) -> None:
        """A written lesson to judge."""
        from assess.tui.practice_screen import PracticeScreen

        self.app.push_screen(PracticeScreen())

    def act_back(self, key: str) -> None:
        """Leave the program."""
        self.assess.leave()


def _film(film: FilmLine, width: int, *, chosen: bool) -> list[Content]:
    """A film: its day and title, then what comes next or how far the two sheets lie apart."""
    sign = shown("> " if chosen else "  ", "bold $mark")
    head = f"{film.id:<4}{film.date}  {film.title}"
    said = film.next_step
    if film.compared:
        figures = film.compared[0].figures
        said = "no criterion that both have scored"
        if figures.mean_distance is not None and figures.bias is not None:
            higher = "higher" if figures.bias >= 0 else "lower"
            said = f"{figures.mean_distance:.2f} levels apart on average, you {abs(figures.bias):.2f} {higher}"
            said += f" ({figures.n} criteria)"
    else:
        said += "" if said else ", ".join(f"{who} {'locked' if done else 'not locked'}" for who, done in film.locked)
    title = joined([sign, shown(head, "bold" if chosen else "", cells=width - 2)])
    return [title, *wrapped(said, width, "$soft", indent=6, most=2)]


def _page(desk: Desk) -> list[str]:
    from assess.desk.film_words import season_lines
    from assess.desk.season_view import season_view

    return list(season_lines(desk, season_view(desk)))
