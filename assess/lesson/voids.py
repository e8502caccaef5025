"""Why a reading of a lesson is not judged, in words."""

from __future__ import annotations

from assess.records.practice import Lesson
from assess.records.reading_settings import Settings

__all__ = ["ITEM_WORDS", "ended_void", "violated_void"]

ITEM_WORDS = {
    "look-up": "look uphill before setting off",
    "side-stop": "stop at the side, below the last, seen from above",
    "terrain-fit": "terrain fits the weakest",
    "kit": "kit check",
    "head-count": "count at each stop",
    "no-blind-spot": "no stop in a blind spot",
    "must": "the drill's own must conditions",
    "closures": "closures and signs obeyed",
    "weather": "turn back for weather or visibility",
    "spacing": "spacing and set-off signal",
    "view-all": "teacher sees all",
    "incident": "incident steps",
}


def violated_void(lesson: Lesson, settings: Settings) -> str | None:
    """Why drill choice is not judged for safety, or None."""
    violated = [item for item in settings.voids if lesson.safety.state(item) == "violated"]
    if not violated:
        return None
    return "not judged: safety (" + "; ".join(f"{ITEM_WORDS[item]}: violated" for item in violated) + ")"


def ended_void(lesson: Lesson) -> str | None:
    """Why a lesson ended early for safety is not judged, with the assessor's word on the ending, or None."""
    ended = lesson.ended_for_safety
    if ended is None:
        return None
    word = f"the assessor's word on that: {ended.judged}"
    return f"not judged: ended for safety at minute {ended.minute:g} ({ended.why}); {word}"
