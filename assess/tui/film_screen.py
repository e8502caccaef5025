"""What one writes while a film of a lesson runs: notes with their times, fault and plan first, levels, the lock."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from assess.desk.film_compare import compared_films
from assess.records.errors import Refusal
from assess.records.times import film_text
from assess.tui.asking import Option, SearchAsk
from assess.tui.film_lesson import FilmLesson, FilmLevels
from assess.tui.film_list import FilmList
from assess.tui.marking_screen import named
from assess.tui.text_screen import TextScreen

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.ledger import Entry

__all__ = ["FilmScreen"]

KIND_WORDS = {
    "run": "how somebody skied", "event": "what happened", "fall": "", "fault": "seen in a learner",
    "quote": "what was said, word for word", "place": "where people stood", "fact": "counted or measured",
    "neutral": "none of these",
}  # fmt: skip
LOOK_EVERY_MS = 10_000
"""Between two looks at the use of time (the interval simulated in the literature on momentary sampling)."""


class FilmScreen(FilmList):
    """One film, one sheet. both: which of the times of a comparison comes next."""

    both = 0
    draft = plan_draft = ""
    noting: tuple[int, int | None] | None = None

    def leave_drafts(self) -> None:
        """A note half written is written down as it stands."""
        if self.noting is not None and self.tray.unsent.strip() and not self.slot.locked:
            self._write(self.tray.unsent, (), *self.noting)

    def may_write(self) -> str:
        """Empty while the sheet takes entries."""
        return "this sheet is locked; what comes to mind now is for what you work on" if self.slot.locked else ""

    async def act_note(self, key: str) -> None:
        """What is seen at this instant; the film stands still meanwhile."""
        at = self.here()
        other = "" if self.with_film or self.opening else " (another time first: 12:05 waits)"
        await self._note(f"{film_text(at)}, what do you see?{other}", at, None, key)

    def act_begin(self, key: str) -> None:
        """A stretch begins here."""
        self.from_ms = self.here()
        self.tick()

    async def act_end(self, key: str) -> None:
        """The stretch ends here: what was it?"""
        if self.from_ms is None:
            raise Refusal("no stretch was begun", todo="say where it begins first")
        start, end = sorted((self.from_ms, self.here()))
        await self._note(f"{film_text(start)} to {film_text(end)}, what do you see?", start, end, key)
        self.from_ms = None
        self.tick()

    async def _note(self, title: str, at: int, end: int | None, key: str) -> None:
        due = self.slot.needing_film_time()
        labels = self.slot.rubric.criteria
        remark = f"asked for: {', '.join(labels[name].label for name in due)}" if due else ""
        with self.standing_still():
            self.noting = (at, end)
            text = await self.tray.text(title, self.draft, remark, opened_by=key)
            self.noting = None
            self.draft = self.tray.left_text if text is None else ""
            if text is None or not text.strip():
                return
            about = await self.tray.pick(
                "which criterion does it speak for?",
                [*(Option(labels[name].label, (name,)) for name in self.slot.criteria), Option("none of them", ())],
            )
        # Words that were typed are kept, also when the question after them was left.
        entry = self._write(text, about or (), at, end)
        self.stand_on(entry)
        self.show_saving()
        self.tell(f"noted; {self.slot.remark}" if self.slot.remark else "noted")

    def _write(self, text: str, about: tuple[str, ...], at: int, end: int | None) -> Entry:
        """Write a note; without a film it may begin with its own time."""
        told = {} if end is None else {"film_end_ms": end}
        if end is None and not self.with_film:
            at, text = _time_first(text, at)
        return self.slot.note(text, about, film_ms=at, **told)

    async def act_kind(self, key: str) -> None:
        """An event, a fall, a quote, a place: noted at this instant with its kind."""
        from assess.desk.film_sheet import KINDS

        at = self.here()
        with self.standing_still():
            kinds = [Option(name, name, KIND_WORDS[name]) for name in KINDS]
            kind = await self.tray.pick("what kind of observation?", kinds)
            if kind is None:
                return
            text = await self.tray.text(f"{film_text(at)}, {kind}:")
        if text is not None and text.strip():
            self.stand_on(self.slot.note(text, (), film_ms=at, category=kind))
            self.show_saving()

    async def act_fault(self, key: str) -> None:
        """What you see in the learner, before anybody tells you."""
        ask = SearchAsk("the learner's fault as you see it:", [], free=lambda text: text.strip())
        self.assess.with_names(lambda names: self._offer(ask, [named(fault) for fault in names.faults]))
        with self.standing_still():
            chosen = await self.tray.search(ask, opened_by=key)
        if not chosen:
            return
        found = self.assess.names.fault(chosen) if self.assess.names else None
        self.slot.name_fault(found.words if found else chosen, whose="assessor", fault=found.id if found else None)
        self.draw()
        self.tell("the fault is written")

    def _offer(self, ask: SearchAsk, options: list[Option]) -> None:
        ask.offer(options)
        self.tray.draw_again(ask)

    async def act_plan(self, key: str) -> None:
        """What you would do with this learner."""
        with self.standing_still():
            text = await self.tray.text("your plan: what would you do?", self.plan_draft, opened_by=key)
        self.plan_draft = self.tray.left_text if text is None else ""
        if text is not None and text.strip():
            self.slot.plan(steps=text)
            self.draw()
            self.tell("the plan is written")

    async def act_drill(self, key: str) -> None:
        """A drill begins at this instant."""
        self.here()
        ask = SearchAsk("which drill begins here?", [], free=lambda text: text.strip())
        self.assess.with_names(lambda names: self._offer(ask, [named(drill) for drill in names.drills]))
        with self.standing_still():
            chosen = await self.tray.search(ask, opened_by=key)
        if chosen:
            found = self.assess.names.drill(chosen) if self.assess.names else None
            told = {"drill": found.id} if found else {}
            self.stand_on(self.slot.drill(found.words if found else chosen, **told))
            self.tell(f"drill at {film_text(self.slot.at_ms)}: {found.words if found else chosen}")

    async def act_use(self, key: str) -> None:
        """What the time is used for from here on."""
        from assess.tui.lesson_lines import USE_WORDS

        self.here()
        running = [name for name in USE_WORDS if self.slot.using(name)]
        stops = [Option(f"nothing: {USE_WORDS[name]} stops", "") for name in running[:1]]
        uses = [Option(w, name) for name, w in USE_WORDS.items() if name not in running]
        with self.standing_still():
            use = await self.tray.pick("from here on the time goes into", [*uses, *stops])
        if use is None:
            return
        entries = [self.slot.interval(other, False) for other in running]
        entries += [self.slot.interval(use, True)] if use else []
        self.stand_on(entries[-1])
        self.tell(f"{film_text(self.slot.at_ms)}: {USE_WORDS[use] if use else 'nothing'}")

    async def act_look(self, key: str) -> None:
        """What the time is used for at this instant; then ten seconds on to the next look, until it is left."""
        from assess.desk.film_counts import add_look, looked_at
        from assess.tui.lesson_lines import USE_WORDS

        uses = [Option(words, use) for use, words in USE_WORDS.items() if use != "pause"]
        with self.standing_still():
            while True:
                at = self.here()
                title = f"{film_text(at)}, look {len(looked_at(self.slot.sheet)) + 1}: the time goes into; Esc ends"
                use = await self.tray.pick(title, uses)
                if use is None:
                    return
                add_look(self.slot, use, at)
                self.show_saving()
                if self.length_ms and at + LOOK_EVERY_MS > self.length_ms:
                    self.tell("the film ends here; v shows the shares")
                    return
                self.go_to(at + LOOK_EVERY_MS)

    async def act_count(self, key: str) -> None:
        """A question, feedback, a look over the group: counted at this instant."""
        from assess.desk.film_counts import COUNTED, add_count

        at = self.here()
        options = [Option(words, name, told) for name, (words, told) in COUNTED.items()]
        with self.standing_still():
            what = await self.tray.pick(f"{film_text(at)}, what is counted?", options)
        if what is not None:
            self.stand_on(add_count(self.slot, what, at))
            self.show_saving()

    def act_sheet(self, key: str) -> None:
        """All of the lesson sheet."""
        self.play(False)
        self.app.push_screen(FilmLesson(self.slot))

    def act_levels(self, key: str) -> None:
        """Give levels; the two weakest criteria first."""
        self.play(False)
        if self.slot.own and self.slot.asked().startswith("first:"):
            raise Refusal(self.slot.asked(), todo="what you think before anybody tells you")
        self.app.push_screen(FilmLevels(self.slot))

    def act_lock(self, key: str) -> None:
        """What is missing first; then Enter locks."""
        from assess.tui.lock_screen import LockScreen

        self.app.push_screen(LockScreen((self.slot,), self.slot.candidate))

    def act_undo(self, key: str) -> None:
        """Take the latest act back."""
        if self.slot.locked:
            raise Refusal(self.may_write())
        taken = self.slot.undo()
        self.draw()
        self.tell(f"taken back: {taken}" if taken else "nothing to take back")

    def act_both(self, key: str) -> None:
        """Where you saw it, with the next press where a mentor did; then the next criterion."""
        found = _times(self.desk, self.slot.candidate)
        if not found:
            raise Refusal(self._nothing_yet())
        ms, words = found[self.both % len(found)]
        self.both += 1
        self.go_to(ms)
        self.tell(words)

    def _nothing_yet(self) -> str:
        return self.slot.asked() if self.slot.locked else "nothing to compare before you have locked"

    def act_whole(self, key: str) -> None:
        """All of this film, as it is printed."""
        desk, film = self.desk, self.slot.candidate
        self.play(False)
        self.app.push_screen(TextScreen("file", self.title_words(), lambda: _page(desk, film), prose=True))

    def act_compare(self, key: str) -> None:
        """A mentor's sheet beside this one, once both are locked."""
        if not compared_films(self.desk, self.slot.candidate):
            raise Refusal(self._nothing_yet())
        desk, film = self.desk, self.slot.candidate
        self.app.push_screen(
            TextScreen("file", f"{film}: beside a mentor", lambda: list(_beside(desk, film)), prose=True)
        )


_TIME_FIRST = re.compile(r"\s*((?:\d{1,2}:)?\d{1,3}:\d{2}(?:[.,]\d{1,3})?)\s+(\S.*)", re.ASCII | re.DOTALL)


def _time_first(text: str, at: int) -> tuple[int, str]:
    """Where no film is shown a note may begin with its time: that time and the other words; else as it stands."""
    from assess.records.times import film_ms

    found = _TIME_FIRST.fullmatch(text)
    if found is None:
        return at, text
    try:
        return film_ms(found[1]), found[2]
    except ValueError:
        return at, text  # 12:75 is no time: it is what somebody wrote


def _times(desk: Desk, film: str) -> list[tuple[int, str]]:
    """Criterion by criterion where each saw it: (ms, words), one's own before each mentor's."""
    return [
        (ms, f"{item.label}: {who} {level or 0:g} at {film_text(ms)}")
        for one in compared_films(desk, film)
        for item in one.criteria
        for who, level, times in (("you", item.own, item.own_ms), (desk.name(one.mentor), item.other, item.other_ms))
        for ms in times[:1]
    ]


def _page(desk: Desk, film: str) -> list[str]:
    from assess.desk.film_words import film_lines
    from assess.desk.season_view import season_view

    return list(film_lines(desk, season_view(desk), film))


def _beside(desk: Desk, film: str) -> list[str]:
    from assess.desk.film_words import compared_lines

    return [line for one in compared_films(desk, film) for line in (*compared_lines(desk, one), "")]
