"""JSON files of ours that no model reads back: what stands in archives and tables that are handed out or kept."""

from __future__ import annotations

from assess.desk.printed.lessons import ATTEMPT
from assess.desk.printed.marking import AUDIENCE
from assess.desk.printed.outcomes import CASE_FILE
from assess.desk.printed.shapes import ANY, DAY, INSTANT, NUMBER, TEXT, YES, Shape, each, either, maybe, words

__all__ = ["FILES"]

# Entries and parts of people.yaml and course.yaml, as the schemas `entry`, `people` and `course` have them.
PART = each(ANY)
PERSON: Shape = {
    "file": words("assess person export 1"), "audience": words("person"), "about": TEXT,
    "role": words("candidate", "assessor", "director", "reviewer", "learner"),
    "course": {"id": TEXT, "title": TEXT, "days": [DAY]}, "newest_entry": maybe(INSTANT), "entry": PART,
    "consents": [PART], "conflicts": [PART], "licences": [PART], "trained": [PART], "accommodations": [PART],
    "slots": [PART], "events": [PART],
    "records": [{"file": TEXT, "used": YES, "header": PART, "entries": [PART]}],
    "told_of_themselves": [each(TEXT)], "left_out": [{"task": TEXT, "candidate": TEXT}],
}  # fmt: skip
BUNDLE: Shape = {
    "file": words("assess bundle 1"), "audience": words("panel"), "course": TEXT, "by": TEXT, "device": TEXT,
    "files": each(TEXT),
}  # fmt: skip
TABLES: Shape = {
    "course": TEXT, "title": TEXT, "audience": AUDIENCE, "promise": TEXT, "dated": TEXT, "left_out": [TEXT],
    "tables": [
        {
            "name": TEXT, "title": TEXT, "note": TEXT,
            "columns": [
                {
                    "name": TEXT, "kind": words("text", "whole", "number", "day", "instant"), "description": TEXT,
                    "unit": TEXT,
                }
            ],
            "rows": [[maybe(either(TEXT, NUMBER))]],
        }
    ],
}  # fmt: skip
CUE: Shape = {"text": TEXT, "category": maybe(TEXT), "criteria": [TEXT], "direction": maybe(TEXT)}

FILES: dict[str, tuple[str, Shape]] = {
    "attempt": ("One line of what somebody answered in practice at judging.", ATTEMPT),
    "bundle": ("`bundle.json` of a bundle: whose records it holds, with the SHA-256 of each file.", BUNDLE),
    "case": ("`case.json` of a case's archive.", CASE_FILE),
    "cue": ("The payload of a cue in the `.data.vtt` of `assess film --to-vtt`.", CUE),
    "person": ("`person.json` of the copy handed to the person it is about.", PERSON),
    "tables": ("`tables.json` of `assess export --to tables`.", TABLES),
}
"""Schema -> what the file is, and its shape."""
