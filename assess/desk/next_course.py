"""How many assessors and tasks would make results repeat as far as one wants."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.desk.criteria import may_see_all

if TYPE_CHECKING:
    from assess.agreement.results import Dependability, Planned
    from assess.desk.session import Desk

__all__ = ["MOST", "WANTED", "NextCourse", "next_course"]

WANTED = 0.80
MOST = 6


@dataclass(frozen=True)
class NextCourse:
    """What this course says about the next: plans of 1 to MOST assessors and tasks.

    facet: "task", or "criterion" where there is one task only. reached: the plans with the fewest sheets that reach
    WANTED; empty when none does. sentence: what that means. found: all of it.
    """

    facet: str
    plans: tuple[Planned, ...]
    reached: tuple[Planned, ...]
    sentence: str
    found: Dependability


def next_course(desk: Desk, progress: Callable[[float], bool] | None = None) -> NextCourse:
    """The plans for the next course, from the sheets everybody has locked.

    Raises Refusal where this may not be seen or nothing is there yet; Cancelled when `progress` answers False.
    """
    from assess.desk.agreeing import dependability_of

    may_see_all(desk)
    numbers = range(1, MOST + 1)
    found = dependability_of([desk.folder.root], assessors=numbers, tasks=numbers, progress=progress)
    facet = found.facet or "task"
    good = [plan for plan in found.d_study if plan.phi is not None and plan.phi >= WANTED]
    fewest = min((plan.assessors * plan.tasks for plan in good), default=0)
    reached = tuple(plan for plan in good if plan.assessors * plan.tasks == fewest)
    return NextCourse(facet, found.d_study, reached, _sentence(found, facet, reached), found)


def _sentence(found: Dependability, facet: str, reached: tuple[Planned, ...]) -> str:
    if found.undefined:
        return found.undefined
    share = f"{WANTED:.0%}".replace("%", " %")
    many = {"task": "tasks", "criterion": "criteria"}.get(facet, facet)
    if not reached:
        return f"No plan of up to {MOST} assessors and {MOST} {many} makes {share} of the differences repeat."
    named = (
        f"{plan.assessors} {'assessors' if plan.assessors > 1 else 'assessor'} and"
        f" {plan.tasks} {many if plan.tasks > 1 else facet}"
        for plan in reached
    )
    ways = " or ".join(named)
    return f"With {ways} about {share} of the differences between candidates would repeat."
