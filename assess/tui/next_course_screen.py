"""The next course: how many assessors and tasks would make results repeat."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from assess.tui.shown import Content, joined, shown, wrapped
from assess.tui.worked_screen import WorkedScreen

if TYPE_CHECKING:
    from assess.agreement.results import Planned
    from assess.desk.next_course import NextCourse

__all__ = ["NextCourseScreen"]

BAR, ASSESSORS, FIGURES = 20, 12, 27
LEGEND = (
    "repeat: share of the differences between candidates that would; | and yes: {} or more. error: by how much a mean"
    " is off as a rule, in levels. range: what fits these scores (95 %)."
)


class NextCourseScreen(WorkedScreen):
    """A sentence, then for each number of assessors a bar per number of tasks."""

    @property
    def place(self) -> str:
        """The next course."""
        return "next"

    def title_words(self) -> str:
        """Would it repeat."""
        return "next course · would it repeat"

    def work(self, progress: Callable[[float], bool]) -> NextCourse:
        """The plans from this course."""
        from assess.desk.next_course import next_course

        return next_course(self.desk, progress)

    def page(self, found: NextCourse, width: int) -> list[Content]:
        """What it rests on, the sentence, the chart, and all that is known."""
        from assess.desk.next_course import WANTED

        drawn = [*wrapped(found.caution, width, "$warn"), *wrapped(found.sentence, width, "bold")]
        if found.found.undefined is None:
            room = ASSESSORS + (len(_many(2, found.facet)) + 1 if found.facet else 0)
            bar = min(BAR, width - FIGURES - room)
            drawn.append(shown(f"{'':{room + bar}} repeat     range  error", "$soft", cells=width))
            drawn += [_bar(plan, found.facet, WANTED, room, bar) for plan in found.plans]
            drawn += wrapped(LEGEND.format(f"{100 * WANTED:.0f} %"), width, "$soft")
            for told in found.found.sentences:
                drawn += [shown(""), *wrapped(told, width, "$ink")]
        for told in found.found.warnings:
            drawn += [shown(""), *wrapped(told, width, "$soft")]
        return drawn


def _bar(plan: Planned, facet: str, wanted: float, room: int, cells: int) -> Content:
    """`2 assessors 3 tasks ███████████·····|···   56 %   13-82 %  0.36`."""
    head = _many(plan.assessors, "assessor") if plan.tasks == 1 else ""
    head = f"{head:<{ASSESSORS}}{_many(plan.tasks, facet) if facet else ''}"
    if plan.phi is None:
        return shown(f"{head:<{room}}not told", "$soft")
    full, line = round(plan.phi * cells), round(wanted * cells)
    bar = "".join("█" if at < full else "|" if at == line else "·" for at in range(cells))
    ends, error = plan.phi_ci95, plan.sem_absolute
    between = f"{100 * ends[0]:.0f}-{100 * ends[1]:.0f} %" if ends else "not told"
    enough = plan.phi >= wanted
    off = "   -" if error is None else f"{error:.2f}"
    told = f"  {100 * plan.phi:3.0f} %  {between:>8}  {off}{' yes' if enough else ''}"
    return joined([shown(f"{head:<{room}}"), shown(bar, "bold $good" if enough else "$mark"), shown(told)])


def _many(n: int, what: str) -> str:
    several = "criteria" if what == "criterion" else f"{what}s"
    return f"{n} {what if n == 1 else several}"
