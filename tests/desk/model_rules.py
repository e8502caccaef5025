"""Every rule of a file that a JSON Schema does not say: what only the program finds, and why a schema cannot.

A rule is a function of a model. `change` breaks it in a document that is whole; `says` stands in what the program
then tells. `SAID` are the rules a schema says in its own words as well.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

__all__ = ["PAIRS", "RULES", "SAID", "Rule"]

Change = Callable[[Any], None]

PAIRS = "a schema compares a value with what is written in it, never two values of a file with one another"
SUMS = "a schema adds nothing up"
ONCE = "a schema knows equal entries, not two entries with the same id"
OUTSIDE = "a schema knows nothing that stands outside the file"


@dataclass(frozen=True)
class Rule:
    """schema: of which file. rule: the function that finds it. says: in its words. why: no schema says it."""

    schema: str
    rule: str
    says: str
    why: str
    change: Change


def _put(*path: str | int, value: Any) -> Change:
    def change(document: Any) -> None:
        for key in path[:-1]:
            document = document[key]
        document[path[-1]] = value

    return change


def _twice(*path: str | int, **other: Any) -> Change:
    """Put the first entry of a list into it once more, with other values for some keys."""

    def change(document: Any) -> None:
        for key in path:
            document = document[key]
        first = document[0]
        document.append({**first, **other} if isinstance(first, dict) else first)

    return change


def _seen(*path: str | int, value: Any) -> Change:
    """The same of the learner's reference of the first scenario."""
    return _put("scenarios", 0, "reference", "learners", 0, *path, value=value)


LESSON = ("scenarios", 0, "lessons", 0)
TURNED = {"min": 4.0, "max": 2.0}

RULES = (
    Rule("course", "_a_zone", "no time zone is called `Alps`", OUTSIDE, _put("timezone", value="Alps")),
    Rule("round", "Conditions._asks_something", "asks nothing", "a schema could, but not of nine keys that may each be "
         "null without naming every one", _put("rule", "current", value={})),
    Rule("round", "Conditions._asks_something", "is a share from 0 to 1", "the number is a text, for exactness",
         _put("rule", "current", value={"scored_at_least": "1.5"})),
    Rule("round", "Conditions._asks_something", "is below 0", "the number is a text, for exactness",
         _put("rule", "current", value={"severity_at_most": "-1"})),
    Rule("keys", "_Key._one_key", "this is no public key of kind", "a schema decodes no base64url",
         _put("keys", 0, "public", value="A" * 44)),
    Rule("keys", "_Key._one_key", "its fingerprint is", "a schema computes no digest",
         _put("keys", 0, "fingerprint", value="0" * 16)),
    Rule("keys", "ListedKey._days_in_order", "it ends before it begins", PAIRS,
         _put("keys", 0, "until", value="2020-01-01")),
    Rule("keys", "KeyList._one_person_each", "one key is listed for A1 and for D1", ONCE, _twice("keys", person="D1")),
    Rule("public-key", "_Key._one_key", "this is no public key of kind", "a schema decodes no base64url",
         _put("kind", value="rsa-3072")),
    Rule("public-key", "_Key._one_key", "its fingerprint is", "a schema computes no digest",
         _put("fingerprint", value="0" * 16)),
    Rule("drills", "Dose._ordered", "dose", PAIRS, lambda told: told["drills"][0]["dose"].update(TURNED)),
    Rule("drills", "Drill._ordered", "slope", PAIRS, _put("drills", 0, "slope", value=[12.0, 2.0])),
    Rule("skills", "Skill._ordered", "slope", PAIRS, _put("skills", 0, "slope", value=[12.0, 2.0])),
    Rule("overlay", "Dose._ordered", "dose", PAIRS, lambda told: told["drills"][0]["dose"].update(TURNED)),
    Rule("overlay", "Drill._ordered", "slope", PAIRS, _put("drills", 0, "slope", value=[12.0, 2.0])),
    Rule("overlay", "Skill._ordered", "slope", PAIRS, _put("skills", 0, "slope", value=[12.0, 2.0])),
    Rule("measures", "RetestLimit._ordered", "the lower end is above the upper end", PAIRS,
         _put("measures", 0, "mdc95", "ci95", value=[9.0, 1.0])),
    Rule("measured-side", "RetestLimit._ordered", "the lower end is above the upper end", PAIRS,
         _put("measure", "mdc95", "ci95", value=[9.0, 1.0])),
    Rule("lesson", "RetestLimit._ordered", "the lower end is above the upper end", PAIRS,
         _put("scenarios", 0, "measure", "mdc95", "ci95", value=[9.0, 1.0])),
    Rule("lesson", "LearnerReference._coherent", "a target stands twice in roots", ONCE,
         _seen("roots", value=[{"id": "backseat", "w": 0.6}, {"id": "backseat", "w": 0.4}])),
    Rule("lesson", "LearnerReference._coherent", "the weights of roots must add up to 1", SUMS,
         _seen("roots", value=[{"id": "backseat", "w": 0.6}])),
    Rule("lesson", "LearnerReference._coherent", "a chain comes back to where it has been",
         "a schema could forbid equal ids in a list; the program says which chain it is",
         _seen("chains", value=[["backseat", "backseat"]])),
    Rule("lesson", "Reference._target_known", "a learner stands twice in learners", ONCE,
         _twice("scenarios", 0, "reference", "learners")),
    Rule("lesson", "Reference._target_known", "is none of the learners", PAIRS,
         _put("scenarios", 0, "reference", "target", value="nobody")),
    Rule("lesson", "Success._within", "tries cannot have worked", PAIRS,
         _put(*LESSON, "drills", 0, "success", value={"ok": 5, "of": 4})),
    Rule("lesson", "Lesson._in_time_order", "the minutes of events go back", PAIRS,
         _put(*LESSON, "events", value=[{"t": 5.0, "do": "ask"}, {"t": 4.0, "do": "ask"}])),
    Rule("lesson", "Scenario._each_id_once", "a hazard id stands twice", ONCE, _twice("scenarios", 0, "hazards")),
    Rule("lesson", "Scenario._each_id_once", "a lesson id stands twice", ONCE, _twice("scenarios", 0, "lessons")),
    Rule("lesson", "PracticeFile._each_id_once", "scenario or lesson id given twice", ONCE, _twice("scenarios")),
    Rule("settings", "Settings._usable", "step_zero must be above step_ok", PAIRS, _put("step_zero", value=1.5)),
    Rule("settings", "Settings._usable", "the weights of a reading must be above 0", SUMS,
         lambda told: told.update(w_items=0.9, w_hazards=0.9)),
)  # fmt: skip

SAID: dict[str, str] = {
    "_no_path": "the pattern of a long id forbids two dots in a row",
    "_of_the_calendar": "format `date`",
    "_a_day": "format `date`",
    "_real": "format `date`, and the pattern names the centuries",
    "_a_moment": "format `date-time`",
    "_some": "`minItems`",
    "_attempt": "the pattern of a course and a candidate",
    "_exact": "the pattern of a decimal in quotes, or a whole number",
    "Header._complete": "`allOf`: what each kind of ledger needs",
}
"""Rules that the schemas say too, and how; nothing may be refused by the program alone because of these."""
