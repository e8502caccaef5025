"""The acts of the lesson sheet: one key while it runs, a few questions in the minutes after."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from assess.records.errors import Refusal
from assess.tui.asking import Option, SearchAsk
from assess.tui.lesson_lines import USE_WORDS, minutes
from assess.tui.marking_screen import MarkingScreen

if TYPE_CHECKING:
    from assess.desk.catalogue_names import Named
    from assess.desk.lesson_sheet import LessonSheet
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["LessonAsks", "drill_option"]

ENDS = (
    Option("done", "done", "as planned"),
    Option("for safety", "unsafe", "what it did not reach is not judged"),
    Option("weather", "weather"),
    Option("time", "time", "no time left"),
    Option("ill or hurt", "ill"),
    Option("lift stopped", "lift"),
)
JUDGED = (Option("right", "rightly"), Option("wrong", "wrongly"), Option("open", "open", "to be talked about"))
PHASES = (
    Option("learner before", "before"),
    Option("what was done", "during"),
    Option("learner after", "after"),
)


def drill_option(entry: Named) -> Option:
    """A drill as a line of a list; choosing it gives its words and its id."""
    return Option(entry.words, (entry.words, entry.id), entry.about, entry.also)


class LessonAsks(MarkingScreen):
    """Acts on one lesson sheet."""

    slot: LessonSheet
    mode: str

    def __init__(self) -> None:
        super().__init__()
        self.chosen: int | None = None
        self.learner: str | None = None

    # --- while it runs -------------------------------------------------------------------------

    def act_criterion(self, key: str) -> None:
        """Choose the criterion that + and - are about."""
        if int(key) > len(self.slot.criteria):
            raise Refusal(f"there is no criterion {key}", todo=f"1 to {len(self.slot.criteria)}")
        self.chosen = int(key) - 1
        self.draw()

    def act_for(self, key: str) -> None:
        """Seen now, for the chosen criterion."""
        self._seen("for")

    def act_against(self, key: str) -> None:
        """Seen now, against it."""
        self._seen("against")

    def _seen(self, direction: Literal["for", "against"]) -> None:
        if self.chosen is None:
            raise Refusal("which criterion?", todo="its digit first, then + or -")
        criterion = self.slot.criteria[self.chosen]
        self.slot.seen(criterion, direction)
        self.changed(self.slot)
        label = self.slot.rubric.criteria[criterion].label
        self.tell(f"{minutes(self.slot.clock_ms())} {direction} {label}; n adds words to what you saw")

    async def act_start(self, key: str) -> None:
        """Starts now; pressed again: how many minutes ago it began."""
        if not self.slot.started:
            self.slot.start()
            self.changed(self.slot)
            self.tell("started; s again if it began earlier")
            return
        ago = await self.tray.amount("it began how many minutes ago?", range(100))
        if ago is not None:
            self.slot.start(ago)
            self.changed(self.slot)
            self.tell(f"it began {ago} minutes ago")

    async def act_drill(self, key: str) -> None:
        """A drill begins; in the full view it is named too."""
        text, known = "", None
        if self.mode == "full":
            used = list(dict.fromkeys(seen.fact.text for seen in self.slot.sheet.drills if seen.fact.text))
            ask = SearchAsk(
                "drill:", [Option(name, (name, None)) for name in used], free=lambda typed: (typed.strip(), None)
            )
            self.assess.with_names(lambda names: self.offer(ask, [drill_option(entry) for entry in names.drills]))
            chosen = await self.tray.search(ask, opened_by=key)
            if chosen is None or not chosen[0]:
                return
            text, known = chosen
        self.slot.drill(text, drill=known, learner=self.learner)
        self.changed(self.slot)
        self.tell(f"{minutes(self.slot.clock_ms())} a drill begins")

    def cautions(self, drill: str | None) -> str:
        """What a drill of the catalogue needs so that nobody is hurt; empty for any other."""
        entry = self.assess.names.drill(drill) if self.assess.names and drill else None
        return "; ".join(entry.cautions) if entry else ""

    def act_practise(self, key: str) -> None:
        """Practising, or not."""
        on = not self.slot.practising
        self.slot.practise(on)
        self.changed(self.slot)
        self.tell(f"{minutes(self.slot.clock_ms())} {'practising' if on else 'not practising'}")

    async def act_use(self, key: str) -> None:
        """Talk, waiting, lift, moving or a pause begins or stops."""
        running: dict[str, bool] = {}
        for seen in self.slot.sheet.intervals:
            running[seen.fact.use] = seen.fact.on
        uses = [use for use in USE_WORDS if use != "practise"]
        options = [Option(USE_WORDS[use], use, "stops" if running.get(use) else "begins") for use in uses]
        use = await self.tray.pick("time goes to", options)
        if use is not None:
            self.slot.interval(use, not running.get(use, False))
            self.changed(self.slot)
            self.tell(f"{USE_WORDS[use]} {'stops' if running.get(use) else 'begins'}")

    async def act_end(self, key: str) -> None:
        """The session ends, and why."""
        why = await self.tray.pick("the session ends", ENDS)
        if why is None:
            return
        judged = await self.tray.pick("ending it for safety was", JUDGED) if why == "unsafe" else None
        self.slot.end(why, judged=judged)
        self.changed(self.slot)
        self.tell("ended; f for the full view, m gives levels, r the readings")

    # --- after ---------------------------------------------------------------------------------

    async def act_note(self, key: str) -> None:
        """One line; in the full view first what it is about."""
        if self.mode != "full":
            await super().act_note(key)
            return
        phase = await self.tray.pick("note about", PHASES)
        if phase is None:
            return
        options = [Option(self.slot.rubric.criteria[name].label, name) for name in self.slot.criteria]
        about = await self.tray.pick("which criterion?", [*options, Option("none of them", "")])
        if about is None:
            return
        self._noting = self.slot
        text = await self.tray.text(
            "note:", self.drafts.pop(self.slot.candidate, ""), "Enter keeps it, Esc leaves a draft"
        )
        self._noting = None
        if text is None and self.tray.left_text.strip():
            self.drafts[self.slot.candidate] = self.tray.left_text
            self.tell("the draft is kept; n takes it up again")
        if text and text.strip():
            told = {"phase": phase, "learner": self.learner, "minute_ms": self.slot.clock_ms()}
            criteria = (about,) if about else None
            self.write_or_keep(self.slot, text, lambda: self.slot.note(text, criteria, **told))
            self.changed(self.slot)
            self.tell_noted(self.slot, "noted")

    def note_about(self, slot: SlotSheet) -> tuple[str, ...]:
        """While levels are given, those that need an observation; else the criterion chosen for + and -."""
        due = slot.needing_evidence()
        if self.chosen is None or (due and self.mode == "levels"):
            return due
        return (self.slot.criteria[self.chosen],)

    def write_note(self, slot: SlotSheet, text: str) -> None:
        """A note with its minute."""
        self.slot.note(text, self.note_about(slot), learner=self.learner, minute_ms=self.slot.clock_ms())
        self.changed(self.slot)
        self.tell_noted(self.slot, "noted")

    async def act_learner(self, key: str) -> None:
        """What follows is about this learner."""
        if len(self.slot.learners) < 2:
            raise Refusal("there is one learner in this lesson")
        options = [Option(f"learner {name}", name) for name in self.slot.learners]
        chosen = await self.tray.pick("what follows is about", [*options, Option("the whole group", "")])
        if chosen is not None:
            self.learner = chosen or None
            self.refresh_frame()
            self.tell(f"from now on about learner {chosen}" if chosen else "from now on about the whole group")
