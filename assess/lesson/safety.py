"""Was it safe: the items of the safety list and the hazards that were there.

A reading reports no breach. It says where to look; a person reports, and another one decides.
"""

from __future__ import annotations

from collections.abc import Sequence

from assess.lesson.results import Basis, SafetyReading
from assess.lesson.rounding import rounded
from assess.lesson.voids import ITEM_WORDS
from assess.records.practice import Hazard, Lesson, LessonSafety
from assess.records.reading_settings import SAFETY_ITEMS, Settings

__all__ = ["hazard_recall", "item_mean", "possible_breaches", "read_safety"]

ERROR = "no error is known: one record by one observer; that nothing happened is no evidence"


def item_mean(safety: LessonSafety, settings: Settings) -> float | None:
    """Mean worth of the items that applied; None when none did."""
    worth = [settings.state[state] for _, state in safety.states if state != "na"]
    return sum(worth) / len(worth) if worth else None


def hazard_recall(hazards: Sequence[Hazard], handled: Sequence[str]) -> float | None:
    """Weight of the hazards named or visibly avoided, of all that were there; None when there was none."""
    if not hazards:
        return None
    # Against the heaviest one, so that no sum of weights is too large for a float.
    heaviest = max(hazard.w for hazard in hazards)
    shares = [(hazard.w / heaviest, hazard.id in handled) for hazard in hazards]
    return sum(share for share, met in shares if met) / sum(share for share, _ in shares)


def possible_breaches(safety: LessonSafety, settings: Settings) -> tuple[str, ...]:
    """Items whose state is something to look at as a possible breach, in the order of the list."""
    return tuple(item for item, state in safety.states if state in settings.look.get(item, ()))


def read_safety(lesson: Lesson, hazards: Sequence[Hazard], settings: Settings) -> SafetyReading:
    """The reading of one lesson. Void when no item of the list applied; hazards are told even then."""
    base = item_mean(lesson.safety, settings)
    recall = hazard_recall(hazards, lesson.hazards_handled)
    value = base
    if base is not None and recall is not None:
        value = settings.w_items * base + settings.w_hazards * recall
    void = None if base is not None else "not judged: no item of the safety list applied"
    look = possible_breaches(lesson.safety, settings)
    missed = tuple(hazard.id for hazard in hazards if hazard.crit and hazard.id not in lesson.hazards_handled)
    applicable = sum(state != "na" for _, state in lesson.safety.states)
    return SafetyReading(
        void=void,
        value=value,
        base=base,
        hazard_recall=recall,
        states=lesson.safety.states,
        possible_breaches=look,
        critical_missed=missed,
        why=tuple(([void] if void else []) + _why(lesson, hazards, look, missed, settings)),
        basis=Basis(applicable, "safety items", applicable / len(SAFETY_ITEMS), ERROR),
    )


def _why(
    lesson: Lesson, hazards: Sequence[Hazard], look: Sequence[str], missed: Sequence[str], settings: Settings
) -> list[str]:
    told = [
        f"{ITEM_WORDS[item]}: {state.replace('-', ' ')}; done would have counted in full"
        for item, state in lesson.safety.states
        if state != "na" and settings.state[state] < 1
    ]
    told += [f"look: {ITEM_WORDS[item]} - a possible breach; only a person reports one" for item in look]
    if not hazards:
        told.append("no hazard was listed for this place, so hazards are not part of the value")
    for hazard in hazards:
        if hazard.id in missed:
            told.append(f"critical hazard neither named nor avoided: {_plain(hazard.id)}; luck is not safety")
        elif hazard.id not in lesson.hazards_handled:
            told.append(f"hazard neither named nor avoided: {_plain(hazard.id)}")
    recall = hazard_recall(hazards, lesson.hazards_handled)
    if recall is not None:
        told.append(f"of the hazards there, by weight, {rounded(100 * recall, 0):.0f} % were named or avoided")
    return told


def _plain(name: str) -> str:
    return name.replace("-", " ")
