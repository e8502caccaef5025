"""What the rules give, candidate by module, as far as this person may see it. Read only: people decide."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.records.text import line_text
from assess.tui.desk_screen import DeskScreen
from assess.tui.line import Line
from assess.tui.shown import Content, joined, lines, shown

if TYPE_CHECKING:
    from assess.desk.deciding import Proposal, Signed
    from assess.desk.waiving import WaiverTold

__all__ = ["OutcomesScreen"]

WIDE = 100
MARKED = 2
"""Cells after a name, for the `w` of a waiver, where the course has one."""

WORDS = {
    "passed": ("passed", "$good"), "not_passed": ("not passed", "$bad"), "third_look": ("third look", "$warn"),
    "open": ("open", "$mark"), "void": ("void", "$soft"),
}  # fmt: skip


class OutcomesScreen(DeskScreen):
    """Candidates above, the chosen one's modules with their reasons below."""

    DEFAULT_CSS = """
    OutcomesScreen #grid { height: auto; max-height: 60%; padding: 0 1; }
    OutcomesScreen #grid Line { height: auto; }
    OutcomesScreen #reasons { height: 1fr; border-top: solid $soft; padding: 0 1; }
    OutcomesScreen #reasons Line { height: auto; text-wrap: wrap; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self.modules: tuple[str, ...] = ()
        self.candidates: list[tuple[str, dict[str, dict[str, Any]]]] = []
        self.waivers: tuple[WaiverTold, ...] = ()
        self.proposals: dict[tuple[str, str], Proposal] = {}

    @property
    def place(self) -> str:
        """The outcomes."""
        return "outcomes"

    def title_words(self) -> str:
        """What the words are, and for a director how many modules are signed."""
        if not self.proposals:
            return "outcomes · what the rules give; people decide"
        signed = sum(item.standing is not None for item in self.proposals.values())
        return f"outcomes · {signed} of {len(self.proposals)} signed; people decide"

    def body(self) -> Iterable[Widget]:
        """The grid and the reasons."""
        for ident in ("grid", "reasons"):
            scroll = VerticalScroll(
                Line(ident=f"{ident}-lines"), id=ident, classes="scrolls" if ident == "reasons" else ""
            )
            scroll.can_focus = False
            yield scroll

    def draw(self) -> None:
        """Ask the desk again and show it."""
        from assess.desk.adjusted import adjusted_of, with_adjusted
        from assess.desk.outcomes import results_json

        board = self.desk.outcomes()
        self.modules = board.modules
        document = with_adjusted(results_json(board), adjusted_of(self.desk, board))
        self.candidates = [(item["id"], item["modules"]) for item in document["candidates"]]
        self.waivers = board.waivers
        if self.desk.role == "director":
            from assess.desk.deciding import proposals

            self.proposals = {(item.candidate, item.module): item for item in proposals(self.desk)}
        self._show()

    def _show(self) -> None:
        width = self.size.width or 80
        name, marked = 13 if width < WIDE else 24, MARKED if self.waivers else 0
        room = max(12, (width - 8 - name) // max(1, len(self.modules)))
        head = [shown("", cells=name + 6, fill=True)]
        head += [shown(f" {module}", "bold $mark", cells=room, fill=True) for module in self.modules]
        drawn = [joined(head)]
        # A figure that would lose its end is left out everywhere; it stands below.
        told = [_figures(held) for _, modules in self.candidates for held in modules.values()]
        figures = all(len(word) + len(mean) <= room for word, mean in told)
        for index, (who, modules) in enumerate(self.candidates):
            here = index == self.at
            parts = [
                shown(f"{'>' if here else ' '}{self.desk.bib(who):>4} ", "bold $mark"),
                shown(self.desk.name(who), "bold" if here else "", cells=name - marked, fill=True),
                shown(" w" if self._touching(who) else "", "bold $warn", cells=marked, fill=True),
            ]
            parts += [_word(modules[module], room, figures=figures) for module in self.modules]
            drawn.append(joined(parts))
        self.query_one("#grid-lines", Line).say(lines(drawn), grow=True)
        self.query_one("#reasons-lines", Line).say(lines(self._reasons()), grow=True)

    def _reasons(self) -> list[Content]:
        who, modules = self.candidates[self.at]
        drawn = [shown(f"bib {self.desk.bib(who)} {self.desk.name(who)}", "bold")]
        drawn += [shown(f"w  waiver: {item.sentence}", "$warn") for item in self._touching(who)]
        for module in self.modules:
            first, *more = _told(module, modules[module])
            signed = self.proposals.get((who, module))
            drawn += [first, *(self._signed(signed) if signed else ()), *more]
        return drawn + [shown(line, "$warn") for line in self._all_waivers(who)]

    def _signed(self, item: Proposal) -> list[Content]:
        """What was signed of a module, by whom, and whether it still rests on what stands."""
        if item.standing is None:
            return [shown("  not signed", "$soft")]

        def said(signed: Signed) -> str:
            return f"{signed.fact.decision} by {self.desk.name(signed.by)} on {signed.at[:10]}"

        told = [shown(f"  signed: {said(item.standing)}")]
        if item.stale:
            told.append(shown("  the record has changed since; look, and sign again", "bold $bad"))
        for other in item.otherwise:
            told.append(shown(f"  signed in another way too: {said(other)}; sign one for both", "bold $bad"))
        return told

    def _touching(self, who: str) -> list[WaiverTold]:
        """The waivers by which somebody marks this candidate."""
        return [item for item in self.waivers if item.touches(who)]

    def _all_waivers(self, who: str) -> list[str]:
        """How many waivers the course has, and those that do not stand beside this candidate already."""
        if not self.waivers:
            return []
        count, beside = len(self.waivers), len(self._touching(who))
        head = f"{count} waiver{'' if count == 1 else 's'} in this course, {beside} for this candidate"
        return [head, *(f"  {item.sentence}" for item in self.waivers if not item.touches(who))]

    def waivers_for(self, who: str) -> str:
        """`1 waiver for this candidate; `, as a question begins; empty where none touches them."""
        count = len(self._touching(who))
        return f"{count} waiver{'' if count == 1 else 's'} for this candidate; " if count else ""

    def act_up(self, key: str) -> None:
        """The candidate before."""
        self.at = max(0, self.at - 1)
        self._show()

    def act_down(self, key: str) -> None:
        """The candidate after."""
        self.at = min(max(0, len(self.candidates) - 1), self.at + 1)
        self._show()

    async def act_sign(self, key: str) -> None:
        """Sign a module of this candidate."""
        from assess.tui.signing import sign_module

        await sign_module(self, self.candidates[self.at][0], self.modules)

    async def act_look(self, key: str) -> None:
        """How far a third look reaches; order one, or close it."""
        from assess.tui.signing import third_look

        await third_look(self, self.candidates[self.at][0], self.modules)

    async def act_release(self, key: str) -> None:
        """Let somebody see."""
        from assess.tui.signing import release_results

        await release_results(self)


def _figures(result: dict[str, Any]) -> tuple[str, str]:
    """The word of an outcome, and its mean with the sheets it is of."""
    if result["outcome"] is None:
        return " not shown", ""
    return f" {WORDS[result['outcome']][0]}", f" {result['mean']} n{result['n_sheets']}" if result["mean"] else ""


def _word(result: dict[str, Any], room: int, *, figures: bool) -> Content:
    word, mean = _figures(result)
    style = "$soft" if result["outcome"] is None else f"bold {WORDS[result['outcome']][1]}"
    head = shown(word, style, cells=room)
    return joined([head, shown(mean if figures else "", cells=room - head.cell_length, fill=True)])


def _told(module: str, result: dict[str, Any]) -> list[Content]:
    from assess.desk.waiving import beside_lines

    head = shown(f"{module}: ", "bold $mark")
    if result["outcome"] is None:
        return [joined([head, shown(f"not shown: {'; '.join(result['reasons'])}", "$soft")])]
    word, style = WORDS[result["outcome"]]
    sheets = f"{result['n_sheets']} sheets"
    band = f", marking error ±{result['band']}" if result["band"] else ""
    line = line_text(result["line"])
    figures = f"  mean {result['mean']} of {sheets}, line {line}{band}" if result["mean"] else f"  {sheets}"
    told = [joined([head, shown(word, f"bold {style}"), shown(figures)])]
    told += [shown(f"  {line}") for line in (*result["reasons"], *beside_lines(result))]
    if result["open_needs"]:
        told.append(shown(f"  the least that would close it: {', '.join(result['open_needs'])}"))
    if result["moderation_due"]:
        told.append(
            shown(f"  moderation due: {', '.join(result['moderation_due'])}; nothing is signed before", "$warn")
        )
    if result["flips_with"]:
        told.append(shown(f"  {result['flips_with']}", "$soft"))
    if result.get("adjusted_mean"):
        ends = result["adjusted_ci95"]
        known = f", {ends[0]} to {ends[1]}" if ends else ""
        told.append(shown(f"  with estimated severity taken out {result['adjusted_mean']}{known}; in no rule", "$soft"))
    return told
