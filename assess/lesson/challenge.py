"""How hard a drill is on this ground, and what the step to it is worth."""

from __future__ import annotations

from collections.abc import Sequence

from assess.lesson.last_bit import below, gap
from assess.lesson.results import Step
from assess.lesson.technique import DoneDrill
from assess.records.catalogue import Drill
from assess.records.reading_settings import Settings

__all__ = ["challenge", "step_worth", "steps"]


def challenge(drill: Drill, slope: float, snow: str, settings: Settings) -> float:
    """Difficulty, plus points for ground steeper than the middle of the drill's range and for hard snow.

    Snow adds nothing where the drill lists it (or `any`) as good.
    """
    middle = (drill.slope[0] + drill.slope[1]) / 2
    good = snow in drill.snow.ok or "any" in drill.snow.ok
    extra = 0.0 if good else settings.snow_extra.get(snow, 0.0)
    return drill.difficulty + max(0.0, slope - middle) / settings.slope_per_point + extra


def step_worth(delta: float, settings: Settings) -> float:
    """Worth of a step by `delta` points of challenge: small steps up are best, big ones worth nothing."""
    if below(delta, -settings.step_far_down):
        return settings.step_big_down
    if delta < 0:
        return settings.step_down
    if delta <= settings.step_ok:
        return 1.0
    return max(0.0, 1 - (delta - settings.step_ok) / (settings.step_zero - settings.step_ok))


def steps(drills: Sequence[DoneDrill], ability: float, cause_managed: bool, settings: Settings) -> tuple[Step, ...]:
    """Every step of a lesson, the first from the learner's ability to the first challenge.

    After a failed check a step down is worth 1 and anything else at most `stubborn`. A first step down is an
    ordinary one however far it goes, and worth 1 where a cause outside technique was managed.
    """
    told: list[Step] = []
    before = ability
    for at, done in enumerate(drills):
        hard = challenge(done.drill, done.given.slope, done.given.snow, settings)
        delta = gap(hard, before)
        worth = step_worth(delta, settings)
        if at == 0 and delta < 0:
            worth = 1.0 if cause_managed else settings.step_down
        elif at > 0 and _failed(drills[at - 1], settings):
            worth = 1.0 if delta < 0 else min(worth, settings.stubborn)
        told.append(Step(done.drill.id, hard, delta, worth))
        before = hard
    return tuple(told)


def _failed(done: DoneDrill, settings: Settings) -> bool:
    return done.worked is not None and below(done.worked, settings.check_half)
