"""How many assessors and tasks would make results repeat as far as one wants."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.desk.locked_turns import locked_source, may_see_all, rests_on

if TYPE_CHECKING:
    from assess.agreement.results import Dependability, Planned
    from assess.desk.session import Desk

__all__ = ["MOST", "WANTED", "NextCourse", "next_course"]

WANTED = 0.80
MOST = 4


@dataclass(frozen=True)
class NextCourse:
    """What this course says about the next: plans of 1 to MOST assessors and tasks.

    facet: "task", or "criterion" where there is one task only, or "" where there is one of both: then only assessors
    are planned. reached: the plans with the fewest sheets that reach WANTED; empty when none does. caution: what it
    rests on. sentence: what that means. found: all of it.
    """

    facet: str
    plans: tuple[Planned, ...]
    reached: tuple[Planned, ...]
    caution: str
    sentence: str
    found: Dependability


def next_course(desk: Desk, progress: Callable[[float], bool] | None = None) -> NextCourse:
    """The plans for the next course, from the turns of which everybody has locked every sheet.

    Raises Refusal where this may not be seen or nothing is there yet; Cancelled when `progress` answers False.
    """
    from assess.desk.agreeing import dependability_from

    may_see_all(desk)
    source = locked_source(desk)
    numbers = range(1, MOST + 1)
    found = dependability_from(source, assessors=numbers, tasks=numbers, progress=progress)
    good = [plan for plan in found.d_study if plan.phi is not None and plan.phi >= WANTED]
    fewest = min((plan.assessors * plan.tasks for plan in good), default=0)
    reached = tuple(plan for plan in good if plan.assessors * plan.tasks == fewest)
    return NextCourse(found.facet, found.d_study, reached, rests_on(source), _sentence(found, reached), found)


def _sentence(found: Dependability, reached: tuple[Planned, ...]) -> str:
    if found.undefined:
        return found.undefined
    if not reached:
        most = found.d_study[-1]
        told = "" if most.phi is None else f": that would give about {100 * most.phi:.0f} %{_range(most)}"
        return f"No plan up to {_plan(most, found.facet)} makes {100 * WANTED:.0f} % of the differences repeat{told}."
    ways = " or ".join(f"{_plan(plan, found.facet)}{_range(plan)}" for plan in reached)
    told = f"The fewest that make {100 * WANTED:.0f} % of the differences between candidates repeat: {ways}."
    sure = any(plan.phi_ci95 is not None and plan.phi_ci95[0] >= WANTED for plan in reached)
    return told if sure else f"{told} The range goes below that, so it may take more."


def _plan(plan: Planned, facet: str) -> str:
    assessors = _many(plan.assessors, "assessor", "assessors")
    if not facet:
        return assessors
    return f"{assessors} and {_many(plan.tasks, facet, 'criteria' if facet == 'criterion' else f'{facet}s')}"


def _many(n: int, one: str, several: str) -> str:
    return f"{n} {one if n == 1 else several}"


def _range(plan: Planned) -> str:
    if plan.phi_ci95 is None:
        return ""
    low, high = plan.phi_ci95
    return f" (anything from {100 * low:.0f} % to {100 * high:.0f} % fits these scores)"
