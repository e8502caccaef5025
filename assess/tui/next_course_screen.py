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

BAR, SHORT_BAR, ROOMY = 20, 10, 70


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
        """The sentence, the chart, what the numbers rest on."""
        from assess.desk.next_course import WANTED

        drawn = [*wrapped(found.sentence, width, "bold"), shown("")]
        if found.found.undefined:
            return drawn
        many = {"task": "tasks", "criterion": "criteria"}.get(found.facet, found.facet)
        names, bar = (found.facet, many), BAR if width >= ROOMY else SHORT_BAR
        head = f"share of the differences between candidates that would repeat; | is {WANTED:.2f}"
        drawn += wrapped(head, width, "$soft")
        for assessors in sorted({plan.assessors for plan in found.plans}):
            drawn.append(shown(f"{assessors} assessor{'s' if assessors > 1 else ''}", "bold $mark"))
            drawn += [
                _bar(plan, names[plan.tasks > 1], WANTED, bar) for plan in found.plans if plan.assessors == assessors
            ]
        drawn.append(shown(""))
        for told in (*found.found.sentences, *found.found.warnings):
            drawn += wrapped(told, width, "$soft")
        return drawn


def _bar(plan: Planned, what: str, wanted: float, width: int) -> Content:
    """` 3 tasks  ███████████·····|···  0.56  0.13-0.82  error 0.36`."""
    share = plan.phi
    if share is None:
        return shown(f"  {plan.tasks} {what}  not told", "$soft")
    full, line = round(share * width), round(wanted * width)
    cells = "".join("█" if at < full else "|" if at == line else "·" for at in range(width))
    ends = plan.phi_ci95
    between = f"{ends[0]:.2f}-{ends[1]:.2f}" if ends else ""
    error = f"error {plan.sem_absolute:.2f}" if plan.sem_absolute is not None else ""
    style = "bold $good" if share >= wanted else "$mark"
    return joined(
        [shown(f"  {plan.tasks} {what:<8} "), shown(cells, style), shown(f"  {share:.2f}  {between:<9}  {error}")]
    )
