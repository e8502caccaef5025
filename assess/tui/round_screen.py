"""A calibration round: the assessors one line each beside the panel; Enter opens one of them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.containers import VerticalScroll

from assess.records.errors import Refusal
from assess.tui.asking import Option
from assess.tui.shown import Content, joined, shown, wrapped
from assess.tui.worked_screen import WorkedScreen

if TYPE_CHECKING:
    from assess.desk.rounds import AssessorRound, RoundView

__all__ = ["CAUTION", "RESULT_STYLES", "RoundScreen"]

CAUTION = "Numbers about marks, not about people. The rule proposes, a director signs."
COLUMNS = (
    "off by: of a score from the panel's, in levels. line: sheets on the panel's side of the pass line. level: plus"
    " gives more than the panel."
)
RESULT_STYLES = {"current": "$good", "mark-again": "$warn", "train": "$bad"}
FIGURES, FITS, WIDE = 36, 17, 70


class RoundScreen(WorkedScreen):
    """The chosen one carries the arrow; what there is to look at stands below it in words."""

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self.rows: list[int] = []

    @property
    def place(self) -> str:
        """The round."""
        return "round"

    def title_words(self) -> str:
        """Which round."""
        return f"calibration round · {self.desk.course.title}"

    def work(self, progress: Callable[[float], bool]) -> RoundView:
        """The round as this person may see it."""
        from assess.desk.rounds import round_view

        return round_view(self.desk)

    def page(self, found: RoundView, width: int) -> list[Content]:
        """Who has not locked, the assessors, the reference, the rule and what it does."""
        drawn = wrapped(CAUTION, width, "$warn")
        if found.why:
            drawn += wrapped(f"The reference is not shown: {found.why}.", width, "bold")
        drawn += _open(found, width)
        drawn += self._list(found, width)
        if found.reference is not None and found.panel is not None:
            drawn += [shown(""), shown("The reference", "bold $mark"), *_reference(found, width)]
        drawn += [shown(""), shown("The rule", "bold $mark"), *_rule(found, width)]
        for note in found.notes:
            drawn += [shown(""), *wrapped(note, width, "$soft")]
        return drawn

    def _list(self, found: RoundView, width: int) -> list[Content]:
        self.rows = []
        if not found.assessors:
            return []
        fits = width >= WIDE
        name = max(12, min(28, width - FIGURES - (FITS if fits else 0)))
        drawn = [*wrapped(COLUMNS, width, "$soft")]
        more = "  what fits" if fits else ""
        drawn.append(shown(f"{'':{name}} result     off by   line   level{more}", "$soft", cells=width))
        for number, each in enumerate(found.assessors):
            self.rows.append(len(drawn))
            drawn.append(_line(each, name, number == self.at, fits))
            if each.looks:
                drawn += wrapped(f"to look at: {', '.join(each.looks)}", width, "$warn", indent=4)
            if each.signed is not None:
                drawn += wrapped(_signed(each), width, "$soft", indent=4)
        return drawn

    def draw(self) -> None:
        """Draw it, and bring the chosen one into view."""
        super().draw()
        if self.found is not None and not self.wrong and self.at:
            self.call_after_refresh(self._show_chosen)

    def _show_chosen(self) -> None:
        scroll = self.query_one("#worked-scroll", VerticalScroll)
        top, height = round(scroll.scroll_y), max(4, scroll.size.height)
        row = self.rows[self.at] if self.at < len(self.rows) else 0
        if not top <= row <= top + height - 4:
            scroll.scroll_to(y=row - 1, animate=False)

    # --- acts ----------------------------------------------------------------------------------

    def act_up(self, key: str) -> None:
        """The assessor before."""
        self._choose(-1)

    def act_down(self, key: str) -> None:
        """The assessor after."""
        self._choose(1)

    def _choose(self, step: int) -> None:
        if self.found is not None and self.found.assessors:
            self.at = min(max(0, self.at + step), len(self.found.assessors) - 1)
            self.draw()

    def _at_arrow(self) -> AssessorRound:
        if self.found is None or not self.found.assessors:
            raise Refusal("there is no result to open yet", todo="look again when the assessors have locked")
        chosen: AssessorRound = self.found.assessors[self.at]
        return chosen

    def act_open(self, key: str) -> None:
        """The chosen one, lesson by lesson. Raises Refusal while there is nobody."""
        from assess.tui.marker_screen import MarkerScreen

        self.app.push_screen(MarkerScreen(self.found, self._at_arrow()))

    async def act_sign(self, key: str) -> None:
        """Sign what the rule gives: for the chosen one, or for all."""
        from assess.desk.round_rule import RESULT_WORDS
        from assess.desk.round_signing import may_sign, sign_round

        may_sign(self.desk)
        one, everybody = self._at_arrow(), self.found.assessors
        word = RESULT_WORDS[one.judged.result] if one.judged else "no result"
        chosen = await self.tray.pick(
            f"sign as {self.desk.name(self.desk.who or '')}",
            [
                Option(f"{one.assessor} {one.name}: {word}", (one,), "this one alone"),
                Option(f"all {len(everybody)}", everybody, "each with the result shown"),
            ],
        )
        if chosen is None:
            return
        signed = sign_round(self.desk, chosen)
        new = [f"{item.assessor} {RESULT_WORDS[item.result]}" for item in signed if item.new]
        self.tell(f"signed: {', '.join(new)}" if new else "signed already, nothing new")
        self.begin()


def _open(found: RoundView, width: int) -> list[Content]:
    """Who has something to lock; with everything locked nothing."""
    waiting = [each for each in found.locks if not each.done]
    if not waiting:
        return []
    told = ", ".join(f"{each.marker}{' (panel)' if each.panel else ''} {each.locked} of {each.of}" for each in waiting)
    return wrapped(f"Not all locked yet: {told}.", width, "$bad")


def _line(found: AssessorRound, room: int, here: bool, fits: bool) -> Content:
    """`> A2 Fen Marlowe       train        0.80  12/16   +0.80  +0.66 to +0.95`."""
    from assess.desk.round_rule import RESULT_WORDS

    name = f"{'>' if here else ' '} {found.assessor} {found.name}"
    head = shown(name, "bold" if here else "", cells=room, fill=True)
    result = found.judged.result if found.judged else None
    word = shown(f" {RESULT_WORDS[result] if result else '-':<11}", f"bold {RESULT_STYLES[result]}" if result else "")
    off, level = found.numbers.distance.estimate, found.numbers.severity.estimate
    side = f"{found.figures.same_side}/{found.figures.sheets}"
    told = f"{'-' if off is None else f'{off:.2f}':>6} {side:>6} {'-' if level is None else f'{level:+.2f}':>7}"
    ends = found.numbers.severity.ci95
    if fits:
        told += f"  {ends[0]:+.2f} to {ends[1]:+.2f}" if ends else "  not told"
    return joined([head, word, shown(told)])


def _signed(found: AssessorRound) -> str:
    from assess.desk.round_rule import RESULT_WORDS

    if found.signed is None:
        return ""
    until = f", licence until {found.signed.licence.valid_to}" if found.signed.licence else ""
    stale = "; sheets or rule have changed since" if found.stale else ""
    return f"signed: {RESULT_WORDS[found.signed.result]}{until}{stale}"


def _reference(found: RoundView, width: int) -> list[Content]:
    reference, panel = found.reference, found.panel
    if reference is None or panel is None:
        return []
    told = f"The middle of {len(set(found.round.panel))} blind markings. {reference.near} of {len(reference.lessons)}"
    told += f" lessons are within {float(found.round.near_line):g} of the pass line."
    if panel.score is not None:
        told += f" One score of the panel is off by {panel.score:.2f} levels as a rule ({panel.n_scores} scores)."
    return wrapped(told, width, "$ink")


def _rule(found: RoundView, width: int) -> list[Content]:
    from assess.desk.round_rule import rule_words

    drawn = [row for told in rule_words(found.round.rule) for row in wrapped(told, width, "$ink")]
    if found.refused:
        drawn += wrapped(f"It cannot be used: {found.refused}.", width, "$bad")
    for each in found.chances:
        drawn += wrapped(each.sentence, width, "$soft")
    return drawn
