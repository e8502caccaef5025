"""The readings of a lesson, a learner's change, turns of a demonstration, practice at judging."""

from __future__ import annotations

from assess.desk.printed.shapes import ANY, ENDS, INSTANT, NUMBER, TEXT, WHOLE, YES, Shape, each, maybe, words

__all__ = ["DOCUMENTS"]

CHANGE: dict[str, Shape] = {
    "delta": maybe(NUMBER), "net": maybe(NUMBER), "mdc95": maybe(NUMBER), "limit": maybe(NUMBER),
    "hedges_g": maybe(NUMBER), "cliff_delta": maybe(NUMBER), "verdict": TEXT, "void": maybe(TEXT), "why": [TEXT],
}  # fmt: skip
PARTS: Shape = {
    "orderly?": maybe(NUMBER), "step?": maybe(NUMBER), "whole?": maybe(NUMBER), "demo?": maybe(NUMBER),
    "dose?": maybe(NUMBER), "feedback?": maybe(NUMBER), "check?": maybe(NUMBER), "remeasure?": maybe(NUMBER),
    "practice?": maybe(NUMBER),
}  # fmt: skip
# The settings are those of the schema `settings`, every one written out.
LESSONS: Shape = {
    "settings": each(ANY), "told?": [TEXT],
    "lessons": [
        {
            "id": TEXT,
            "diagnosis": {
                "score": maybe(NUMBER), "recall": maybe(NUMBER), "ndcg": maybe(NUMBER), "precision": maybe(NUMBER),
                "false_alarms": [TEXT], "harmful": [TEXT], "confusions": [{"named": TEXT, "taken_for": TEXT}],
                "chance_mean": maybe(NUMBER), "chance_p95": maybe(NUMBER), "stock_answer": maybe(NUMBER),
                "void": maybe(TEXT), "why": [TEXT],
            },
            "drill_fit": {
                "value": maybe(NUMBER), "own_value": maybe(NUMBER), "void": maybe(TEXT),
                "drills": [{"id": TEXT, "fit": NUMBER}], "why": [TEXT],
            },
            "progression": {"value": maybe(NUMBER), "parts": PARTS, "void": maybe(TEXT), "why": [TEXT]},
            "safety": {
                "value": maybe(NUMBER), "hazard_recall": maybe(NUMBER), "possible_breaches": [TEXT],
                "critical_missed": [TEXT], "void": maybe(TEXT), "why": [TEXT],
            },
            "change": CHANGE,
        }
    ],
}  # fmt: skip
TURNS: Shape = {
    "file": TEXT, "kind": words("carved", "parallel", "drifted", "wedge"),
    "method": {"name": TEXT, "switch_s": maybe(NUMBER), "place_m": maybe(NUMBER), "speed_ms": maybe(NUMBER)},
    "n_turns": WHOLE, "n_seen": maybe(WHOLE), "n_runs": WHOLE,
    "measures": [
        {
            "name": TEXT, "unit": TEXT, "void": maybe(TEXT), "value": maybe(NUMBER), "n": WHOLE,
            "noise_floor": maybe(NUMBER), "beyond_noise": maybe(YES), "target": maybe(ENDS), "in_target": maybe(YES),
            "why": [TEXT],
        }
    ],
    "notes": [TEXT], "caution": TEXT,
}  # fmt: skip
ATTEMPT: dict[str, Shape] = {
    "lesson": TEXT, "at": INSTANT, "score": maybe(NUMBER), "chance": maybe(NUMBER), "found": maybe(NUMBER),
    "hazards_share": maybe(NUMBER), "named": [TEXT], "ruled_out": [TEXT], "drills": [TEXT], "hazards": [TEXT],
}  # fmt: skip
JUDGED: Shape = {
    "lesson": TEXT, "score": maybe(NUMBER), "chance": maybe(NUMBER), "found": maybe(NUMBER), "why": [TEXT],
    "reference": [TEXT], "drills": each(TEXT), "hazards_missed": [TEXT], "hazards_share": maybe(NUMBER),
}  # fmt: skip

DOCUMENTS: dict[str, tuple[Shape, ...]] = {
    "lesson": (LESSONS,),
    "change": (CHANGE,),
    "turns": (TURNS,),
    "practice": (
        {"lesson": TEXT, "scene": [TEXT], "unfolding": [{"minute": NUMBER, "what": TEXT}]},
        JUDGED,
        {"who": TEXT, "attempts": [ATTEMPT], "sentence": TEXT},
    ),
}
"""Command -> the documents it may print."""
