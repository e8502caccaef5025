"""What stands in a course and goes in and out of it: boards, sheets, checks, copies, files."""

from __future__ import annotations

from assess.desk.printed.outcomes import WAIVERS
from assess.desk.printed.rounds import ROUND
from assess.desk.printed.shapes import (
    DAY,
    NUMBER,
    TEXT,
    WHOLE,
    YES,
    Shape,
    each,
    maybe,
    pair,
    words,
)  # fmt: skip

__all__ = ["AUDIENCE", "DOCUMENTS", "FILES", "PROBLEM"]

AUDIENCE = words("candidate", "panel", "director", "research", "person", "anyone")
PROBLEM: Shape = {"file": TEXT, "line": maybe(WHOLE), "what": TEXT, "todo": TEXT, "doubt": YES}
FILES: dict[str, Shape] = {
    "folder": TEXT, "written": YES,
    "files": [
        {
            "name": TEXT, "audience": AUDIENCE, "what": TEXT, "bytes": WHOLE, "was": words("new", "same", "different"),
            "missing": [TEXT],
        }
    ],
    "left_out": [TEXT],
}  # fmt: skip
HOLES: Shape = [{"text": TEXT, "blocks": YES}]
BOARD: Shape = {
    "title": TEXT, "who": TEXT, "role": TEXT,
    "days": [
        {
            "day": WHOLE, "date": DAY, "text": TEXT,
            "tasks": [
                {
                    "id": TEXT, "title": TEXT, "lesson": YES, "starts": TEXT, "mine": WHOLE, "mine_locked": WHOLE,
                    "slots": WHOLE, "all_locked": WHOLE,
                }
            ],
        }
    ],
    "candidates": [
        {
            "id": TEXT, "bib": WHOLE, "name": TEXT, "mark": TEXT, "standing": TEXT, "states": each(TEXT),
            "words": each(TEXT),
        }
    ],
    "holes": [TEXT], "barred": [TEXT], "learners": [TEXT], "morning": [pair(TEXT)], "set_aside": [TEXT],
    "agreed": [TEXT], "duties": [TEXT], "one_copy": TEXT,
}  # fmt: skip
SHEET: Shape = {
    "sheet": TEXT, "locked": YES, "marks": [{"criterion": TEXT, "status": maybe(TEXT), "level": maybe(WHOLE)}],
    "holes": HOLES, "shadow": maybe(TEXT), "partners": each(TEXT),
}  # fmt: skip
MARKED: Shape = {
    "sheet": TEXT, "run": WHOLE, "marks": [{"criterion": TEXT, "mark": TEXT}], "note": YES, "saved": YES,
    "holes": [TEXT], "remark": TEXT,
}  # fmt: skip
MERGED: Shape = {
    "first_line": TEXT, "needs": [TEXT], "taken": [TEXT], "came": each([TEXT]),
    "missing": [{"assessor": TEXT, "task": TEXT, "candidates": [TEXT]}], "findings": [PROBLEM],
}  # fmt: skip
VERSIONS: Shape = {
    "shared_entries": WHOLE,
    "versions": [
        {"keep": TEXT, "file": TEXT, "in_use": YES, "usable": YES, "settled": YES, "entries": [TEXT]},
    ],
}
VERIFIED: Shape = {
    "course": TEXT, "holds": YES, "ledgers": WHOLE, "entries": each(WHOLE), "signed": WHOLE, "unsigned": WHOLE,
    "erased": WHOLE, "copies": WHOLE,
    "keys": maybe({"keys": WHOLE, "people": WHOLE, "sha256": TEXT, "required_from": maybe(DAY), "elsewhere": YES}),
    "missing": [TEXT], "not_anchored": [TEXT], "findings": [PROBLEM],
    "records": [
        {
            "file": TEXT, "author": TEXT, "torn": YES,
            "entries": [
                {
                    "n": WHOLE, "line": WHOLE, "kind": TEXT, "state": TEXT, "why": TEXT, "anchored": YES, "erased": YES,
                    "key": TEXT, "by": TEXT,
                }
            ],
        }
    ],
}  # fmt: skip
CERTIFICATE: Shape = {
    "state": words(
        "valid", "altered", "expired", "unknown key", "key not in force", "not begun", "withdrawn", "list refused"
    ),
    "why": TEXT, "whose": TEXT, "what": TEXT, "issuer": TEXT, "begins": TEXT, "until": TEXT, "as_of": TEXT,
}  # fmt: skip
SCORES: Shape = {
    "course": TEXT, "audience": AUDIENCE,
    "scores": [
        {
            "day": maybe(WHOLE), "task": TEXT, "order": maybe(WHOLE), "candidate": TEXT, "assessor": TEXT,
            "criterion": TEXT, "score": maybe(WHOLE), "status": TEXT, "rubric": TEXT,
        }
    ],
    "left_out": [{"task": TEXT, "candidate": TEXT}],
}  # fmt: skip
PLAN: Shape = {
    "feasible": YES, "seed": maybe(WHOLE),
    "slots": [
        {
            "task": TEXT, "day": WHOLE, "order": WHOLE, "round": WHOLE, "pair": WHOLE, "at": maybe(TEXT),
            "until": maybe(TEXT),
            "candidate": TEXT, "assessors": [TEXT], "learners": [TEXT], "fresh": [TEXT], "stays": YES,
        }
    ],
    "loads": [{"assessor": TEXT, "sheets": WHOLE, "tasks": WHOLE, "with": each(WHOLE)}],
    "days": [{"day": WHOLE, "minutes": WHOLE, "light": WHOLE}],
    "fresh_in_modules": [{"module": TEXT, "candidate": TEXT, "assessors": [TEXT]}],
    "groups": [[TEXT]], "linked": YES, "mean_places": each(NUMBER), "not_met": [TEXT],
    "obstacles": [
        {
            "kind": TEXT, "sentence": TEXT, "todo": TEXT, "task": maybe(TEXT), "day": maybe(WHOLE),
            "candidates": [TEXT], "assessors": [TEXT],
        }
    ],
    "kept": [TEXT], "withdrawn": [TEXT], "agreed": [TEXT], "written": YES, "notes": [TEXT],
}  # fmt: skip

DOCUMENTS: dict[str, tuple[Shape, ...]] = {
    "open": (BOARD, SHEET, ROUND),
    "check": ({"findings": [PROBLEM], "not_read": [TEXT], "told": [TEXT]},),
    "seal": ({"course": TEXT, "by": TEXT, "seal": maybe(TEXT)},),
    "merge": (MERGED, VERSIONS, {"record": TEXT, "kept": TEXT}),
    "bundle": ({"out": TEXT, "by": TEXT, "audience": AUDIENCE, "same_disk": YES, "files": [TEXT]},),
    "verify": (VERIFIED, CERTIFICATE),
    "mark": (MARKED,),
    "lock": ({"sheet": TEXT, "locked": YES, "signed": YES, "holes": HOLES},),
    "import": (
        {
            "course": TEXT, "source": TEXT, "written": [TEXT], "unchanged": [TEXT], "rows": each(WHOLE),
            "holes": [{"sheet": TEXT, "text": TEXT}], "warnings": [TEXT],
        },
    ),
    "export": (SCORES, FILES, {"course": TEXT, "audience": AUDIENCE, "out": TEXT, "rows": WHOLE}),
    "cards": (FILES,),
    "letters": (FILES,),
    "certificate": (FILES,),
    "page": (
        FILES,
        {"kind": TEXT, "audience": AUDIENCE, "title": TEXT, "dated": TEXT, "missing": [TEXT], "lines": [TEXT]},
    ),
    "plan": (PLAN,),
    "allocate": ({"slot": TEXT, "markers": [TEXT], "waivers": WAIVERS},),
    "new course": ({"made": [TEXT]},),
    "new round": ({"made": [TEXT]},),
    "new rubric": ({"made": [TEXT]},),
    "new lesson": ({"made": [TEXT]},),
    "new quality": ({"made": [TEXT]},),
}  # fmt: skip
"""Command -> the documents it may print."""
