"""Outcomes, and what follows from them: meetings, third looks, decisions, cases."""

from __future__ import annotations

from assess.desk.printed.shapes import (
    DAY,
    ENDS,
    INSTANT,
    NUMBER,
    TEXT,
    WHOLE,
    YES,
    Shape,
    each,
    either,
    maybe,
    pair,
    words,
)  # fmt: skip

__all__ = ["DOCUMENTS", "RESULTS", "WAIVERS"]

WORD = words("passed", "not_passed", "third_look", "open", "void")
DECISION = words("grant", "refuse", "open", "void", "suspend", "withdraw", "renew")
STATE = words("reported", "confirmed", "not-confirmed")
BREACH: dict[str, Shape] = {"must_not": TEXT, "state": STATE, "modules": [TEXT]}
WAIVERS: Shape = [
    {
        "assessor": TEXT, "candidate": TEXT, "task": TEXT, "about": TEXT, "although": TEXT, "by": TEXT, "at": INSTANT,
        "reason": TEXT, "slots": [TEXT], "late": YES, "sentence": TEXT,
    }
]  # fmt: skip
SHADOW: Shape = {"assessor": TEXT, "task": TEXT, "why": TEXT}
DIFFERENCE: dict[str, Shape] = {
    "due": YES, "because": [TEXT], "apart": TEXT, "criteria": [TEXT], "across": [TEXT], "effect": TEXT,
}  # fmt: skip
WORKED_OUT: dict[str, Shape] = {
    "band_note": maybe(TEXT), "min_value": maybe(TEXT), "min_value_at": maybe(TEXT), "below_line": maybe(TEXT),
    "listed": [TEXT], "differences": [{"task": TEXT, **DIFFERENCE}], "reach_over": maybe([TEXT]), "third_look": TEXT,
    "not_locked": [TEXT], "sheets": [{"task": TEXT, "assessor": TEXT, "value": maybe(TEXT), "third": YES}],
    "rubric": maybe(TEXT),
}  # fmt: skip
WAIVED = maybe({"assessors": [TEXT], "without_them": maybe(TEXT)})
MODULE: dict[str, Shape] = {
    "outcome": maybe(WORD), "mean": maybe(TEXT), "mean_exact": maybe(TEXT), "line": maybe(TEXT), "band": maybe(TEXT),
    "n_sheets": maybe(WHOLE), "reasons": [TEXT], "open_needs": [TEXT], "breach": maybe(BREACH),
    "moderation_due": [TEXT], "reach": maybe(pair(TEXT)), "flips_with": maybe(TEXT),
    **{f"{key}?": shape for key, shape in WORKED_OUT.items()},
    "shadows?": [SHADOW], "waived?": WAIVED, "adjusted_mean?": maybe(TEXT), "adjusted_ci95?": maybe(pair(TEXT)),
}  # fmt: skip
RESULTS: Shape = {
    "course": TEXT,
    "candidates": [{"id": TEXT, "modules": each(MODULE)}],
    "waivers?": WAIVERS,
    "severity_taken_out?": {
        "assessors": [{"id": TEXT, "gives_more": NUMBER, "ci95": maybe(ENDS), "n": WHOLE, "n_candidates": WHOLE}],
        "interval": TEXT,
        "sentence": TEXT,
        "undefined": maybe(TEXT),
    },
}
PROPOSALS: Shape = {
    "course": TEXT,
    "proposals": [
        {
            "candidate": TEXT, "module": TEXT, "follows": maybe(DECISION), "waits": [TEXT], "against": [TEXT],
            "result": MODULE,
            "signed": maybe({
                "entry": TEXT, "at": INSTANT, "by": TEXT, "decision": DECISION, "stale": YES, "waiver": maybe(TEXT),
                "otherwise": [TEXT],
            }),
        }
    ],
}  # fmt: skip
SIGNED: Shape = {"candidate": TEXT, "module": TEXT, "decision": DECISION, "seal": TEXT, "waiver": maybe(TEXT)}
MEETING: dict[str, Shape] = {
    "entry": TEXT, "at": INSTANT, "outcome": TEXT, "values": each(WHOLE), "present": [TEXT], "reason": maybe(TEXT),
}  # fmt: skip
SLOT: Shape = {
    "slot": TEXT,
    "sheets": [
        {
            "assessor": TEXT, "marks": each(TEXT),
            # The wall time at the course's place.
            "observations": [{"entry": TEXT, "at": TEXT, "text": TEXT, "criteria": [TEXT]}],
        }
    ],
    "moderation": maybe({**MEETING, "together": YES}), "history": [{**MEETING, "together": YES}],
    "trouble": maybe(TEXT),
    "late_evidence": [{"digest": TEXT, "admitted": maybe(YES)}], "fresh": [TEXT],
}  # fmt: skip
REACH: Shape = {
    "course": TEXT,
    "reach": [
        {
            "candidate": TEXT, "module": TEXT, "slots": [TEXT], "reach": maybe(pair(TEXT)), "outcomes": [WORD],
            "offered": YES, "why_not": maybe(TEXT),
        }
    ],
}  # fmt: skip
CASE: Shape = {"id": TEXT, "state": TEXT, "due": maybe(TEXT), "until": maybe(TEXT)}
CASES: Shape = {
    "cases": [{
        "id": TEXT, "candidate": TEXT, "state": TEXT, "due": maybe(TEXT), "until": maybe(TEXT), "overdue": YES,
    }],
}  # fmt: skip
ONE_CASE: Shape = {
    "id": TEXT, "about": TEXT, "module": maybe(TEXT), "decision": maybe(TEXT), "grounds": [TEXT], "claim": TEXT,
    "received": DAY, "state": TEXT, "due": maybe(TEXT), "until": maybe(TEXT), "reviewer": maybe(TEXT),
    "checked": [{"text": TEXT, "looked_at": [TEXT]}], "finding": maybe(TEXT), "result": maybe(TEXT),
    "remedy": maybe(TEXT),
}  # fmt: skip
REPORT: Shape = {
    "task": TEXT, "by": TEXT, "what": maybe(TEXT), "where": maybe(TEXT), "who": maybe(TEXT), "at": INSTANT,
}  # fmt: skip
# A step holds whatever its kind of entry holds: see the schema `entry`.
STEP: Shape = {"entry": TEXT, "at": INSTANT, "by": TEXT, "kind": TEXT}
LATE: Shape = {
    "slot": TEXT, "digest": TEXT, "what": TEXT, "at": INSTANT, "admitted": maybe(YES), "rule": maybe(TEXT),
    "reason": maybe(TEXT),
}  # fmt: skip
CASE_FILE: Shape = {
    "file": TEXT, "audience": TEXT, "course": {"id": TEXT, "title": TEXT, "days": [DAY]},
    "candidate": {"id": TEXT, "name": TEXT}, "case": maybe(ONE_CASE),
    "modules": [
        {
            "id": TEXT, "as_it_stands": either(MODULE, {"outcome": maybe(WORD)}),
            "decisions": [
                {
                    "entry": TEXT, "at": INSTANT, "by": TEXT, "decision": DECISION, "outcome": maybe(WORD),
                    "mean": maybe(TEXT), "mean_exact": maybe(TEXT), "because": [TEXT], "rubric": maybe(TEXT),
                    "versions": each(TEXT), "tool": TEXT, "seal": TEXT, "supersedes": maybe(TEXT),
                    "waiver": maybe(TEXT), "worked_out_again_the_same": maybe(YES),
                }
            ],
        }
    ],
    "rubrics": [
        {
            "task": TEXT, "title": TEXT, "rubric": TEXT, "sha256": maybe(TEXT), "from_day": maybe(WHOLE), "line": TEXT,
            "criteria": [{"id": TEXT, "label": TEXT, "text": TEXT, "levels": each(TEXT)}],
            "must_nots": [{"id": TEXT, "text": TEXT, "closes": [TEXT]}],
        }
    ],
    "slots": [
        {
            "slot": TEXT, "task": TEXT, "at": maybe(TEXT), "place": maybe(WHOLE), "of": WHOLE, "learners": [TEXT],
            "sheets": [
                {
                    "assessor": TEXT, "name?": TEXT, "role": TEXT, "ledgers?": [TEXT], "locked_at": maybe(INSTANT),
                    "origin?": maybe(TEXT),
                    "from_cards?": [{"card": TEXT, "on_the_hill": TEXT, "typed_in": INSTANT}],
                    "seal?": maybe(TEXT), "value?": maybe(TEXT), "value_shown?": maybe(TEXT), "observed?": YES,
                    "marks?": each({"status": TEXT, "level": maybe(TEXT), "why": maybe(TEXT)}),
                    "observations?": [
                        {
                            "entry": TEXT, "at": INSTANT, "text": TEXT, "criteria": [TEXT], "direction": maybe(TEXT),
                            "viewpoint": maybe(TEXT),
                        }
                    ],
                    "holes?": [TEXT],
                }
            ],
            "moderations": [MEETING],
        }
    ],
    "waivers": WAIVERS, "breaches": [{**BREACH, "reports": [REPORT], "steps": [STEP]}], "late_evidence": [LATE],
    "agreement": [{"pair": pair(TEXT), "n": WHOLE, "equal": WHOLE, "within_one": WHOLE, "same_side": WHOLE}],
    "without_one": [
        {
            "module": TEXT, "without": TEXT, "mean": maybe(TEXT), "mean_exact": maybe(TEXT), "n_sheets": WHOLE,
            "outcome": WORD,
        }
    ],
    "drift": [
        {
            "assessor": TEXT, "effect": TEXT, "estimate": maybe(NUMBER), "ci95": maybe(ENDS), "n": WHOLE,
            "sentence": TEXT,
        }
    ],
    "verification": {
        "holds": YES, "records": WHOLE, "of_this_candidate": [TEXT], "elsewhere": WHOLE, "not_anchored": [TEXT],
    },
    "excluded": [{"who": TEXT, "why": [TEXT]}], "missing": [TEXT],
}  # fmt: skip

DOCUMENTS: dict[str, tuple[Shape, ...]] = {
    "results": (RESULTS,),
    "demo": (RESULTS,),
    "moderate": (
        {"course": TEXT, "differences": [{"slot": TEXT, "module": TEXT, **DIFFERENCE}]},
        SLOT,
        {"moderated": [TEXT]},
    ),
    "look": (REACH, {"candidate": TEXT, "module": TEXT, "closed": YES}),
    "again": (
        {"slot": TEXT, "assessors": [TEXT], "why": words("repeat", "completion", "resit")},
        {"task": TEXT, "module": TEXT, "candidates": [TEXT]},
    ),
    "evidence": ({"slot": TEXT, "digest": TEXT, "ruling": words("logged", "admitted", "not admitted")},),
    "breach": (
        {"candidate": TEXT, "breaches": [BREACH]},
        {"candidate": TEXT, "must_not": TEXT, "done": TEXT},
    ),
    "decide": (PROPOSALS, SIGNED),
    "release": ({"released_to": words("assessors", "candidates"), "of": TEXT},),
    "resit": ({"candidate": TEXT, "module": TEXT, "tasks": [TEXT], "carried": each(TEXT)},),
    "talk": ({"candidate": TEXT, "talk": words("interim", "result"), "minutes": WHOLE},),
    "action": ({"candidate": TEXT, "module": TEXT, "behaviour": TEXT},),
    "case": (CASES, CASE_FILE),
    "appeal": (CASE,),
}
"""Command -> the documents it may print."""
