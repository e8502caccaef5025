"""The assessors, a director's page: one each with the numbers and a sentence; Enter opens the page of one."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.containers import VerticalScroll

from assess.records.errors import Refusal
from assess.tui.shown import Content, joined, shown, wrapped
from assess.tui.worked_screen import WorkedScreen

if TYPE_CHECKING:
    from assess.agreement.results.raters import Effect, Rater
    from assess.desk.assessors import AssessorPages

__all__ = ["AssessorsScreen"]

CAUTION = "Numbers about marks, not about people: a reason to look together."
COLUMNS = (
    "severity: levels above (+, milder) or below (-, harder) the group, and what fits. same side: of the pass line."
)
FIGURES = 39


class AssessorsScreen(WorkedScreen):
    """The chosen one carries the arrow; what there is to look at stands in its own colour and is said in words."""

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self.rows: list[int] = []

    @property
    def place(self) -> str:
        """The assessors."""
        return "assessors"

    def title_words(self) -> str:
        """How alike they mark."""
        return "assessors · their marks beside one another"

    def work(self, progress: Callable[[float], bool]) -> AssessorPages:
        """The pages of this course."""
        from assess.desk.assessors import pages_of

        return pages_of([self.desk], progress=progress)

    def page(self, found: AssessorPages, width: int) -> list[Content]:
        """What it rests on, the list, the picture, what was tested together, what follows, what was not used."""
        from assess.desk.effect_words import advice_lines
        from assess.desk.severity_picture import severity_picture

        (course,) = found.raters.courses
        drawn = [*wrapped(f"{found.told[0]} {CAUTION}", width, "$warn"), *wrapped(COLUMNS, width, "$soft")]
        name = max(12, min(30, width - FIGURES))
        drawn.append(shown(f"{'':{name}}sheets  severity, what fits   same side", "$soft", cells=width))
        self.rows = []
        for number, rater in enumerate(course.raters):
            self.rows.append(len(drawn))
            about = found.about(course.course, rater.id)
            drawn.append(_line(rater, f"{rater.id} {about.name}", name, number == self.at))
            drawn.append(shown(f"    {about.licence}", "$soft", cells=width))
            look = any(effect.verdict == "look" for effect in rater.effects)
            drawn += wrapped(rater.sentence, width, "$warn" if look else "$ink", indent=4)
        drawn += [shown(""), shown("Severity in levels, with what fits", "bold $mark")]
        drawn += [shown(line) for line in severity_picture(course, width)]
        drawn += [shown(""), *wrapped(course.family_sentence, width, "$ink")]
        for told in (*advice_lines(found.raters), *found.told[1:]):
            drawn += [shown(""), *wrapped(told, width, "$soft")]
        return [*drawn, shown(""), *wrapped(found.raters.never, width, "$warn")]

    def draw(self) -> None:
        """Draw it, and bring the chosen one into view."""
        super().draw()
        if self.found is not None and not self.wrong:
            self.call_after_refresh(self._show_chosen)

    def _show_chosen(self) -> None:
        scroll = self.query_one("#worked-scroll", VerticalScroll)
        top, height = round(scroll.scroll_y), max(4, scroll.size.height)
        row = self.rows[self.at]
        if self.at == 0:
            scroll.scroll_to(y=0, animate=False)
        elif not top <= row <= top + height - 4:
            scroll.scroll_to(y=row - 1, animate=False)

    def act_up(self, key: str) -> None:
        """The assessor before."""
        self._choose(-1)

    def act_down(self, key: str) -> None:
        """The assessor after."""
        self._choose(1)

    def _choose(self, step: int) -> None:
        if self.found is not None:
            self.at = min(max(0, self.at + step), len(self.found.raters.courses[0].raters) - 1)
            self.draw()

    def act_open(self, key: str) -> None:
        """The page of the chosen one. Raises Refusal while nothing is there yet."""
        from assess.tui.assessor_screen import AssessorScreen

        if self.found is None:
            raise Refusal("nobody stands here yet", todo="wait until it is worked out")
        rater = self.found.raters.courses[0].raters[self.at]
        self.app.push_screen(AssessorScreen(self.found, rater.id))


def _line(rater: Rater, who: str, room: int, here: bool) -> Content:
    """`> A3 Sten Ardow      28  -0.45  -0.63 to -0.32      82 %`."""
    head = shown(f"{'>' if here else ' '} {who}", "bold" if here else "", cells=room, fill=True)
    severity, line = rater.effect("severity"), rater.effect("line")
    same = "  -" if line.own is None else f"{100 * line.own:3.0f} %"
    told = f"{rater.n_sheets:6}  {_number(severity):>5}  {_fits(severity):<14} {same:>9}"
    return joined([head, shown(told, "bold" if severity.verdict == "look" else "")])


def _number(effect: Effect) -> str:
    return "-" if effect.estimate is None else f"{effect.estimate:+.2f}"


def _fits(effect: Effect) -> str:
    if effect.ci95 is None:
        return "not told"
    return f"{effect.ci95[0]:+.2f} to {effect.ci95[1]:+.2f}"
