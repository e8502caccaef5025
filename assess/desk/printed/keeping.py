"""Rubrics, keys, and what is kept of people."""

from __future__ import annotations

from assess.desk.printed.marking import AUDIENCE, FILES, PROBLEM
from assess.desk.printed.shapes import ANY, DAY, TEXT, WHOLE, YES, Shape, each, maybe, words

__all__ = ["DOCUMENTS"]

KIND = words("ed25519", "rsa-3072")
KEY: dict[str, Shape] = {
    "name": TEXT, "kind": KIND, "fingerprint": TEXT, "public": TEXT, "made": DAY, "file": TEXT, "unlocked": YES,
}  # fmt: skip
LISTED: Shape = {
    "person": TEXT, "kind": KIND, "fingerprint": TEXT, "from": DAY, "until": maybe(DAY), "revoked": maybe(DAY),
}  # fmt: skip
LEFT_OUT: Shape = [{"task": TEXT, "candidate": TEXT}]
# The whole rubric, as the schema `rubric` has it, every key written out.
RUBRIC = each(ANY)
DIFFERENCES: Shape = {
    "old": TEXT, "new": TEXT, "could_change_outcomes": YES, "areas": [TEXT], "sentences": [TEXT],
    "changes": [
        {"path": TEXT, "group": TEXT, "areas": [TEXT], "text": TEXT, "could_change_outcomes": YES, "why": TEXT},
    ],
}  # fmt: skip
ERASED: Shape = {
    "person": TEXT, "role": TEXT, "done": YES, "nothing_left": YES, "in_people": YES, "files": [TEXT],
    "removed": [TEXT], "not_told": LEFT_OUT,
    "mentions": [{"file": TEXT, "line": WHOLE, "words": TEXT, "goes": TEXT}],
    "against": [{"code": TEXT, "text": TEXT}], "left": [PROBLEM],
}  # fmt: skip
DUE: Shape = {
    "courses": [
        {
            "path": TEXT, "course": TEXT, "due": YES,
            "kept": [
                {
                    "what": TEXT, "who": [TEXT], "until": DAY, "days": WHOLE, "due": YES,
                    "held": [{"who": TEXT, "why": TEXT}],
                }
            ],
        }
    ],
}  # fmt: skip

DOCUMENTS: dict[str, tuple[Shape, ...]] = {
    "schema": (each(ANY),),
    "rubric show": (RUBRIC,),
    "rubric diff": (DIFFERENCES,),
    "rubric check": ({"findings": [PROBLEM]},),
    "rubric pin": ({"pinned": TEXT, "area": TEXT, "from_day": WHOLE},),
    "rubric give": ({**FILES, "not_carried": [TEXT]},),
    "rubric take": (FILES,),
    "key new": (KEY,),
    "key show": ({"keys": [KEY]}, {**KEY, "written": TEXT}),
    "key unlock": ({"name": TEXT, "fingerprint": TEXT, "day": DAY},),
    "key lock": ({"locked": WHOLE},),
    "key add": (LISTED,),
    "key revoke": (LISTED,),
    "person export": (
        {
            "person": TEXT, "role": TEXT, "audience": AUDIENCE, "out": TEXT, "files": [TEXT],
            "names_replaced_in": WHOLE, "left_out": LEFT_OUT,
        },
    ),
    "person erase": (ERASED,),
    "person due": (DUE,),
    "person same": ({"candidate": TEXT, "same_as": TEXT, "both_marked": [TEXT]},),
}  # fmt: skip
"""Command -> the documents it may print."""
