"""The facts of a teaching session: its clock, what was named and done, what was safe, what was measured."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from assess.records.fact import Fact, Number, Text
from assess.records.ids import LongId, ShortId
from assess.records.times import Instant

__all__ = [
    "BESIDE_THE_LIST", "Attended", "Drill", "Ended", "Hazard", "Interval", "LearnerMet", "LessonFact", "LessonPlan",
    "Measured", "NamedFault", "Question", "SafetyItem", "Started", "Step",
]  # fmt: skip

BESIDE_THE_LIST = {
    "must": "what a drill must have was there (its own conditions)",
    "incident": "after something happened: protected, looked after, called, recorded",
}
"""Safety items that may be added to any rubric's list: a drill or an incident brings them."""


class Started(Fact):
    """The session began `ago_ms` before this entry."""

    kind: Literal["started"] = "started"
    ago_ms: Annotated[int, Field(ge=0)] = 0


class Ended(Fact):
    """The session ended; what it did not reach is not judged when `why` is not `done`.

    judged: the assessor's word on an ending for safety.
    """

    kind: Literal["ended"] = "ended"
    why: Literal["done", "unsafe", "weather", "time", "ill", "lift"] = "done"
    minute_ms: int | None = None
    judged: Literal["rightly", "wrongly", "open"] | None = None
    text: Text = None


class Interval(Fact):
    """A use of time begins or stops: practice, talk, waiting, lift, moving, or a pause of the session."""

    kind: Literal["interval"] = "interval"
    use: Literal["practise", "talk", "wait", "lift", "move", "pause"]
    on: bool
    minute_ms: int | None = None


class Drill(Fact):
    """A drill begins; details may follow later in another `drill` with `of`.

    slope_deg, on_snow: the ground it was done on. dose: how much, in the unit of the drill's own dose, per side where
    that is per side. practice_ms: time the learners moved on it. demo, check: shown first, looked at by the check.
    worked, tried: so many tries of so many. tired: 0 to 5.
    """

    kind: Literal["drill"] = "drill"
    of: Number | None = None
    drill: LongId | None = None
    text: Text = None
    slope_deg: Annotated[int, Field(ge=0, le=60)] | None = None
    on_snow: LongId | None = None
    dose: Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)] | None = None
    practice_ms: Annotated[int, Field(ge=0, le=36_000_000)] | None = None
    demo: bool | None = None
    feedback: Literal["specific", "general", "none"] | None = None
    check: bool | None = None
    worked: Annotated[int, Field(ge=0, le=1000)] | None = None
    tried: Annotated[int, Field(ge=1, le=1000)] | None = None
    tired: Annotated[int, Field(ge=0, le=5)] | None = None
    learner: ShortId | None = None
    success: Literal["yes", "partly", "no"] | None = None
    minute_ms: int | None = None


class NamedFault(Fact):
    """A fault named, in the order said, or a cause ruled out.

    whose: the candidate's, or what the assessor saw (the assessor's own view, compared with afterwards).
    met: the candidate met this cause by an action (easier ground, rest, a buckle).
    """

    kind: Literal["named-fault"] = "named-fault"
    fault: LongId | None = None
    text: Text = None
    rank: Annotated[int, Field(ge=1, le=20)] | None = None
    role: Literal["root", "link", "symptom", "ruled-out"] | None = None
    whose: Literal["candidate", "assessor"] = "candidate"
    met: bool = False
    learner: ShortId | None = None
    minute_ms: int | None = None


class SafetyItem(Fact):
    """One item of the rubric's safety list."""

    kind: Literal["safety-item"] = "safety-item"
    item: LongId
    state: Literal[
        "done", "missed-once", "missed", "missed-twice", "missed-with-traffic", "violated", "not-acted-upon",
        "not-applicable",
    ]  # fmt: skip


class Hazard(Fact):
    """A danger of the place, and what the candidate did about it; the latest word on the same one stands."""

    kind: Literal["hazard"] = "hazard"
    hazard: LongId | None = None
    text: Text = None
    critical: bool = False
    handled: Literal["named", "avoided", "no"]


class LearnerMet(Fact):
    """What the assessor takes the learner for: ability 1 to 10, tired 0 to 5; a later one replaces what it gives."""

    kind: Literal["learner"] = "learner"
    learner: ShortId | None = None
    ability: Annotated[int, Field(ge=1, le=10)] | None = None
    age: Annotated[int, Field(ge=0, le=120)] | None = None
    tired: Annotated[int, Field(ge=0, le=5)] | None = None
    text: Text = None


class Step(Fact):
    """A part of a lesson that was there or not: the goal told, the whole task first and last, measured again."""

    kind: Literal["step"] = "step"
    step: Literal["goal", "whole-first", "whole-last", "remeasure"]
    done: bool

    always: ClassVar[tuple[str, ...]] = ("done",)


class Attended(Fact):
    """A learner of a group was seen alone, spoken to, or improved."""

    kind: Literal["attended"] = "attended"
    learner: ShortId
    how: Literal["seen-alone", "spoken-to", "improved"]


class Measured(Fact):
    """One run's per-turn values on the learner, before or after; the latest of the same run stands."""

    kind: Literal["measured"] = "measured"
    when: Literal["before", "after"]
    run: Annotated[int, Field(ge=1, le=9)]
    values: Annotated[tuple[Annotated[float, Field(allow_inf_nan=False)], ...], Field(min_length=1, max_length=200)]
    measure: LongId | None = None
    slope_deg: Annotated[int, Field(ge=0, le=60)] | None = None
    on_snow: LongId | None = None
    text: Text = None


class LessonPlan(Fact):
    """The plan the candidate handed in."""

    kind: Literal["lesson-plan"] = "lesson-plan"
    goal: Text = None
    steps: Text = None
    plan_b: Text = None
    handed_in_at: Instant | None = None


class Question(Fact):
    """A question asked after, and how it was answered."""

    kind: Literal["question"] = "question"
    question: LongId | None = None
    asked: Text = None
    answer: Literal["full", "prompted", "no"]


LessonFact = (
    Started | Ended | Interval | Drill | NamedFault | SafetyItem | Hazard | LearnerMet | Step | Attended | Measured
    | LessonPlan | Question
)  # fmt: skip
