"""One assessor's marks: the page a director opens, and the assessor's own, "how even were my marks"."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from assess.tui.shown import Content, joined, shown, wrapped
from assess.tui.worked_screen import WorkedScreen

if TYPE_CHECKING:
    from assess.agreement.results.raters import Rater, RaterCourse
    from assess.desk.assessors import AssessorPages
    from assess.desk.effect_words import Told

__all__ = ["AssessorScreen"]

BAR = 30
CAUTION = "Numbers about marks, not about people: a reason to look together."


class AssessorScreen(WorkedScreen):
    """Without anything given it is one's own page, and worked out; else the page of somebody a director chose."""

    def __init__(self, given: AssessorPages | None = None, who: str = "") -> None:
        super().__init__()
        self.given, self.about_whom = given, who

    @property
    def place(self) -> str:
        """One assessor."""
        return "assessor"

    def title_words(self) -> str:
        """Whose marks."""
        if self.given is None:
            return "how even were my marks"
        return f"{self.about_whom} {self.desk.name(self.about_whom)} · marks beside the others'"

    def work(self, progress: Callable[[float], bool]) -> AssessorPages:
        """The page that was given, or one's own of this course."""
        from assess.desk.assessors import pages_of

        return self.given if self.given is not None else pages_of([self.desk], progress=progress)

    def page(self, found: AssessorPages, width: int) -> list[Content]:
        """What it rests on, the effects, what to look at first; levels, the picture, what follows."""
        from assess.desk.effect_words import advice_lines, flat_sentence, told_effects

        (course,) = found.raters.courses
        who = found.own or self.about_whom
        rater, about = course.rater(who), found.about(course.course, who)
        if rater is None:
            return wrapped(f"no sheet of {who} stands beside another's that is locked", width, "$warn")
        drawn = [*wrapped(f"{found.told[0]} {CAUTION}", width, "$warn")]
        drawn += wrapped(
            f"{rater.n_sheets} sheets of {rater.n_candidates} candidates; {about.licence}.", width, "$soft"
        )
        for told in told_effects(rater, about.fit):
            drawn += _part(told, width)
        drawn += [shown(""), shown("Levels given, and how often", "bold $mark"), *_levels(rater, course, width)]
        drawn += wrapped(flat_sentence(rater), width, "$ink", indent=2)
        drawn += _picture(course, width, own=bool(found.own))
        drawn += [shown(""), *wrapped(course.family_sentence, width, "$ink")]
        mine = [one for one in found.raters.advice if one.assessor == who]
        for line in (*advice_lines(replace(found.raters, advice=tuple(mine)), who), *found.told[1:]):
            drawn += [shown(""), *wrapped(line, width, "$soft")]
        return [*drawn, shown(""), *wrapped(found.raters.never, width, "$warn")]


def _part(told: Told, width: int) -> list[Content]:
    style = "bold $warn" if told.look else "bold $mark"
    rows = [row for line in told.lines for row in wrapped(line, width, "$ink", indent=2)]
    return [shown(""), *wrapped(told.heading, width, style), *rows]


def _levels(rater: Rater, course: RaterCourse, width: int) -> list[Content]:
    """A bar for each level: `4 ██████████████████ 51`."""
    most, room = max((*rater.levels, 1)), min(BAR, width - 12)
    drawn = []
    for level, n in zip(course.levels, rater.levels, strict=True):
        bar = "█" * round(room * n / most)
        drawn.append(joined([shown(f"  {level:>4g} "), shown(bar, "$mark"), shown(f" {n}")]))
    return drawn


def _picture(course: RaterCourse, width: int, *, own: bool) -> list[Content]:
    from assess.desk.severity_picture import severity_picture

    lines = severity_picture(course, width)
    if not lines:
        return []
    head = "Your severity in levels, with what fits" if own else "Severity in levels, with what fits"
    return [shown(""), shown(head, "bold $mark"), *(shown(line) for line in lines)]
