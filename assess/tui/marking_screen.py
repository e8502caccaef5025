"""What the run sheet and the lesson sheet share: notes, tags, viewpoint, breach, lock."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult

from assess.records.errors import AssessError, Refusal
from assess.records.text import LONGEST_TEXT
from assess.tui.asking import Option, SearchAsk
from assess.tui.breach_form import BreachForm
from assess.tui.desk_screen import DeskScreen
from assess.tui.tray import Tray

if TYPE_CHECKING:
    from assess.desk.catalogue_names import Named
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["VIEWS", "MarkingScreen", "named"]

VIEWS = {
    "front": "from the front", "side": "from the side", "below": "from below", "behind": "from behind",
    "lift": "from the lift", "film": "on film",
}  # fmt: skip


def named(entry: Named) -> Option:
    """A name of the catalogue as a line of a list; choosing it gives its id."""
    return Option(entry.words, entry.id, entry.about, entry.also)


class MarkingScreen(DeskScreen):
    """A screen on which marks are given: held keys count once, and a breach is one key away."""

    MARKING: ClassVar[bool] = True

    def __init__(self) -> None:
        super().__init__()
        self.drafts: dict[str, str] = {}
        self._noting: SlotSheet | None = None
        self._reporting: tuple[SlotSheet, int] | None = None

    # --- what a marking screen gives -----------------------------------------------------------

    def slot_here(self) -> SlotSheet:
        """The sheet one is on."""
        raise NotImplementedError

    def slot_meant(self) -> SlotSheet:
        """The sheet a note or a lock is about: the one just finished when the next came up by itself."""
        return self.slot_here()

    def lock_group(self) -> tuple[SlotSheet, ...]:
        """All sheets that stand together before the lock."""
        return (self.slot_here(),)

    def changed(self, slot: SlotSheet) -> None:
        """Something was added to a sheet: show it."""
        raise NotImplementedError

    # --- frame ---------------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        """The frame of every screen, with the form of a breach beside the tray."""
        for widget in super().compose():
            yield widget
            if isinstance(widget, Tray):
                yield BreachForm()

    def on_mount(self) -> None:
        """The form answers as the tray does."""
        self.breach_form.answered = self.go_on
        super().on_mount()

    @property
    def breach_form(self) -> BreachForm:
        """The three lines of a breach."""
        return self.query_one(BreachForm)

    @property
    def asker(self) -> Tray | BreachForm:
        """Whichever asks now."""
        form = self.breach_form
        return form if form.open_now else self.tray

    def who_is(self, slot: SlotSheet) -> str:
        """`bib 22 Calla Wendt`; of a season `F1` and its title."""
        if self.desk.folder.season is not None:
            return f"{slot.candidate} {self.desk.name(slot.candidate)}"
        return f"bib {self.desk.bib(slot.candidate)} {self.desk.name(slot.candidate)}"

    def may_write(self) -> str:
        """Empty while this sheet takes entries."""
        if self.desk.who is None:
            return "nobody has said who is marking; open the course with --as ID"
        slot = self.slot_meant()
        return f"{self.who_is(slot)} is locked; {self.later_thoughts()}" if slot.locked else ""

    def later_thoughts(self) -> str:
        """Where what comes to mind after a lock belongs."""
        season = self.desk.folder.season is not None
        return (
            "what comes to mind now is for what you work on"
            if season
            else ("later thoughts belong in the moderation meeting")
        )

    # --- acts ----------------------------------------------------------------------------------

    async def act_note(self, key: str) -> None:
        """One line about what was seen."""
        slot = self._noting = self.slot_meant()
        about = self.note_about(slot)
        due = "" if set(about) - set(slot.needing_evidence()) else ": it needs an observation"
        stands_for = f"stands for {', '.join(slot.labels[item] for item in about)}{due}"
        remark = stands_for if about else "Enter keeps it, Esc leaves a draft"
        draft = self.drafts.pop(slot.candidate, "")
        text = await self.tray.text(f"note, {self.who_is(slot)}:", draft, remark, opened_by=key)
        self._noting = None
        if text is None:
            if self.tray.left_text.strip():
                self.drafts[slot.candidate] = self.tray.left_text
                self.tell("the draft is kept; n takes it up again")
            return
        if text.strip():
            self.write_or_keep(slot, text, lambda: self.write_note(slot, text))

    def write_or_keep(self, slot: SlotSheet, text: str, write: Callable[[], object]) -> None:
        """Write a text; one that is refused, as too long a one is, stays as the draft of this sheet."""
        try:
            write()
        except AssessError:
            self.drafts[slot.candidate] = text
            raise

    def note_about(self, slot: SlotSheet) -> tuple[str, ...]:
        """The criteria a note stands for: those whose level needs an observation and has none."""
        return slot.needing_evidence()

    def write_note(self, slot: SlotSheet, text: str) -> None:
        """Record a note and show it."""
        slot.note(text, self.note_about(slot))
        self.changed(slot)
        self.tell_noted(slot, f"noted for {self.who_is(slot)}")

    def tell_noted(self, slot: SlotSheet, done: str) -> None:
        """Say that it is done; what does not belong into a record comes first, and stops nothing."""
        self.tell(f"noted; {slot.remark}" if slot.remark else done, "warn" if slot.remark else "")

    async def act_tag(self, key: str) -> None:
        """A tag by its first letters; a new one is typed out."""
        slot = self.slot_meant()
        used = self.tags_known()
        ask = SearchAsk(
            f"tag, {self.who_is(slot)}:", [Option(tag, tag) for tag in used], free=lambda text: text.strip()
        )
        self.assess.with_names(
            lambda names: self.offer(ask, [named(fault) for fault in names.faults if fault.id not in used])
        )
        tag = await self.tray.search(ask, opened_by=key)
        if tag:
            slot.note("", tags=(tag,))
            self.changed(slot)
            self.tell(f"tagged {tag} for {self.who_is(slot)}")

    def offer(self, ask: SearchAsk, options: list[Option]) -> None:
        """Names read in the meantime: show them if this is still what is asked."""
        ask.offer(options)
        self.tray.draw_again(ask)

    def tags_known(self) -> list[str]:
        """Tags used before on these sheets, the most used first."""
        used: dict[str, int] = {}
        for slot in self.lock_group():
            for seen in slot.sheet.observations:
                for tag in seen.fact.tags:
                    used[tag] = used.get(tag, 0) + 1
        return sorted(used, key=lambda tag: (-used[tag], tag))

    async def act_view(self, key: str) -> None:
        """From where you watch from now on."""
        chosen = await self.tray.pick("you watch", [Option(words, name) for name, words in VIEWS.items()])
        if chosen is not None:
            self.watch_from(chosen)
            self.tell(f"from now on {VIEWS[chosen]}")

    def watch_from(self, viewpoint: str) -> None:
        """Record the viewpoint."""
        self.slot_here().view(viewpoint)
        self.refresh_frame()

    async def act_breach(self, key: str) -> None:
        """Report first, facts after: the report stands from this key on."""
        slot = self.slot_here()
        if slot.locked:
            raise Refusal(
                f"{self.who_is(slot)} is locked", todo="report the breach to the director by word of mouth now"
            )
        entry = slot.breach()
        self.changed(slot)
        self.tell(f"breach reported for {self.who_is(slot)}; facts to be completed", "bad")
        await self._facts(slot, entry.n, entry.at, {})

    async def act_facts(self, key: str) -> None:
        """Complete a report that was left for later."""
        slot = self.slot_meant()
        open_reports = [report for report in slot.sheet.breaches if report.lacking]
        if not open_reports:
            raise Refusal(f"no breach report of {self.who_is(slot)} waits for facts")
        report = open_reports[0]
        known = {key: value for key in ("must_not", "what", "where", "who") if (value := getattr(report, key))}
        await self._facts(slot, report.ref.n, report.at, known)

    async def _facts(self, slot: SlotSheet, n: int, at: str, known: dict[str, str]) -> None:
        self._reporting = (slot, n)
        rules = [(rule.id, rule.text) for rule in slot.rubric.must_nots]
        about = f"Reported {self.desk.clock_text(at)}, {self.who_is(slot)}"
        facts = await self.breach_form.ask(about, rules, known)
        self._reporting = None
        added = {key: value for key, value in facts.items() if known.get(key) != value}
        if added:
            slot.complete_breach(n, **added)
            self.changed(slot)
        lacking = next((report.lacking for report in slot.sheet.breaches if report.ref.n == n), ())
        self.tell(
            "breach reported; c completes it when there is time" if lacking else "breach reported, facts complete",
            "bad",
        )

    def act_lock(self, key: str) -> None:
        """What is missing first."""
        from assess.tui.lock_screen import LockScreen

        slot = self.slot_meant()
        if slot.locked:
            raise Refusal(f"{self.who_is(slot)} is locked already")
        self.app.push_screen(LockScreen(self.lock_group(), slot.candidate))

    # --- leaving -------------------------------------------------------------------------------

    def leave_drafts(self) -> None:
        """A note half written, a level not yet ruled on, facts half filled in: all are written down."""
        for ruling in self.assess.presses.finish():
            self.rule(ruling)
        if self._reporting is not None and self.breach_form.open_now:
            slot, n = self._reporting
            facts = self.breach_form.facts()
            if facts:
                slot.complete_breach(n, **facts)
        if self._noting is not None and self.tray.unsent.strip():
            _note_in_pieces(self._noting, self.tray.unsent)
        for slot in self.lock_group():
            draft = self.drafts.pop(slot.candidate, "")
            if draft.strip() and not slot.locked:
                _note_in_pieces(slot, draft)


def _note_in_pieces(slot: SlotSheet, text: str) -> None:
    """Nobody is there any more to make it shorter."""
    for start in range(0, len(text), LONGEST_TEXT):
        slot.note(text[start : start + LONGEST_TEXT])
