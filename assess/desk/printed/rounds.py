"""Calibration rounds and a trainee's season of films."""

from __future__ import annotations

from assess.desk.printed.shapes import CI, DAY, ENDS, NUMBER, TEXT, WHOLE, YES, Shape, each, maybe, pair, words

__all__ = ["DOCUMENTS", "ROUND"]

RESULT = words("current", "mark-again", "train")
OF: dict[str, Shape] = {"n": WHOLE, "n_lessons": WHOLE, "undefined": maybe(TEXT), "sentence": TEXT}
COUNTS: Shape = {
    "possible": WHOLE, "scores": WHOLE, "exact": WHOLE, "within_one": WHOLE, "distance": TEXT, "above": TEXT,
    "sheets": WHOLE, "same_side": WHOLE, "several": WHOLE, "flat": WHOLE, "repeated": WHOLE, "repeated_exact": WHOLE,
    "repeated_within_one": WHOLE, "early": TEXT, "early_scores": WHOLE, "late": TEXT, "late_scores": WHOLE,
}  # fmt: skip
ASSESSOR: Shape = {
    "assessor": TEXT, "name": TEXT, "result": maybe(RESULT),
    "unmet": [{"condition": TEXT, "reached": maybe(TEXT), "asked": maybe(TEXT)}],
    "signed": maybe({"result": RESULT, "day": DAY, "stale": YES, "valid_to": maybe(DAY)}),
    "counts": COUNTS, "near_line": {"same_side": WHOLE, "sheets": WHOLE},
    "numbers": each({"estimate": maybe(NUMBER), "se": maybe(NUMBER), "ci95": CI, "interval": TEXT, **OF}),
    "habits": [
        {
            "name": TEXT, "estimate": maybe(NUMBER), "ci95": CI, "interval": TEXT, "p": maybe(NUMBER),
            "adjusted": maybe(NUMBER), "verdict": TEXT, "own": maybe(NUMBER), "panel": maybe(NUMBER), **OF,
            "todo": TEXT,
        }
    ],
    "lessons": [
        {
            "slot": TEXT, "place": WHOLE, "title": TEXT, "near_line": YES, "again": YES, "value": maybe(TEXT),
            "reference": maybe(TEXT), "same_side": maybe(YES), "levels": each(pair(maybe(TEXT))),
        }
    ],
    "parted": [
        {
            "slot": TEXT, "title": TEXT, "criterion": TEXT, "level": maybe(TEXT), "reference": maybe(TEXT),
            "panel_from": maybe(TEXT), "panel_to": maybe(TEXT), "across_the_line": YES, "seen": [TEXT],
            "reason": TEXT, "panel_saw": [TEXT],
        }
    ],
}  # fmt: skip
ROUND: Shape = {
    "round": TEXT, "title": TEXT, "date": DAY, "lessons": WHOLE, "marked_twice": WHOLE, "why": TEXT,
    "locks": [{"marker": TEXT, "panel": YES, "locked": WHOLE, "of": WHOLE}],
    "rule": {"current": each(TEXT), "mark_again": maybe(each(TEXT)), "refused": maybe(TEXT)},
    "reference": maybe({
        "panel": [TEXT], "near_line": WHOLE,
        "error_of_a_score": {
            "estimate": maybe(NUMBER), "of_the_sheet": maybe(NUMBER), "of_the_score_alone": maybe(NUMBER),
            "severity_of_markers": maybe(NUMBER), "n_markers": WHOLE, "n_lessons": WHOLE, "n_scores": WHOLE,
            "undefined": maybe(TEXT),
        },
        "lessons": [
            {
                "lesson": TEXT, "value": maybe(TEXT), "near_line": YES,
                "levels": each({"level": maybe(TEXT), "panel": each(maybe(TEXT))}), "without_reference": [TEXT],
            }
        ],
    }),
    "chances": maybe([
        {
            "marker": TEXT, "error": NUMBER, "severity": NUMBER, "drift": NUMBER, "n": WHOLE, "shares": each(NUMBER),
            "sentence": TEXT,
        }
    ]),
    "assessors": [ASSESSOR], "notes": [TEXT],
}  # fmt: skip
# The licence is an entry of people.yaml: see its schema.
SIGNED: Shape = {
    "into": maybe(TEXT),
    "signed": [
        {
            "assessor": TEXT, "result": RESULT, "file": TEXT, "new": YES, "licence": maybe({"valid_from": DAY}),
            "added": YES, "why_not": maybe(TEXT),
        }
    ],
}  # fmt: skip
TIME: Shape = [{"use": TEXT, "share": NUMBER, "ci95": CI, "how": TEXT}]
COMPARED: Shape = {
    "film": TEXT, "mentor": TEXT,
    "figures": {
        "n": WHOLE, "only_own": [TEXT], "only_reference": [TEXT], "gaps": each(NUMBER), "bias": maybe(NUMBER),
        "mean_distance": maybe(NUMBER), "spread": maybe(NUMBER), "limits": maybe(ENDS),
        "distance_without_bias": maybe(NUMBER), "tau": maybe(NUMBER), "tau_needed": maybe(NUMBER), "weakest": [TEXT],
        "own_weakest": [TEXT], "weakest_found": maybe(WHOLE), "timed_share": maybe(NUMBER), "sentence": TEXT,
    },
    "criteria": [
        {
            "criterion": TEXT, "label": TEXT, "own": NUMBER, "other": NUMBER, "own_words": TEXT, "other_words": TEXT,
            "own_ms": [WHOLE], "other_ms": [WHOLE],
        }
    ],
    "own_faults": [TEXT], "other_faults": [TEXT],
    "practice": maybe({
        "n": WHOLE, "table": [WHOLE], "equal": maybe(NUMBER), "kappa": maybe(NUMBER), "marked": NUMBER, "left": NUMBER,
    }),
}  # fmt: skip
FILM: Shape = {
    "id": TEXT, "date": DAY, "title": TEXT, "task": TEXT, "locked": each(YES), "next_step": TEXT,
    "time": maybe({"total_ms": WHOLE, "shares": TIME}),
    "looks": maybe({"n": WHOLE, "every_ms": WHOLE, "shares": TIME}),
    "counts": [{"name": TEXT, "count": WHOLE, "rate": maybe(NUMBER)}], "compared": [COMPARED],
}  # fmt: skip
SEASON: Shape = {
    "season": TEXT, "title": TEXT,
    "actions": [
        {
            "id": TEXT, "behaviour": TEXT, "how": TEXT, "checked_by": TEXT, "remeasure_on": maybe(DAY),
            "closed_on": maybe(DAY), "result": TEXT,
        }
    ],
    "due": [TEXT], "films": [FILM],
    "trend": {"n": WHOLE, "per_month": maybe(NUMBER), "ci95": CI, "sentence": TEXT},
    "never": {
        "films": WHOLE, "families": [TEXT], "of_families": WHOLE, "snow": [TEXT], "of_snow": WHOLE,
        "abilities": [WHOLE],
    },
}  # fmt: skip

DOCUMENTS: dict[str, tuple[Shape, ...]] = {
    "round": (ROUND, SIGNED),
    "film": (SEASON, FILM, {"done": [TEXT]}),
}
"""Command -> the documents it may print."""
