"""The practice-lesson file: learners with a panel's reference, and lessons given to them as they were recorded.

One file is a list of scenarios; each holds one teaching situation and one or more lessons in it. Every key is
required unless a default stands here; null says "not recorded". Unknown keys are refused. Slopes are degrees
(0 to 60); times, `practice_min` and `time` are minutes.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict, model_validator

from assess.records.catalogue import EntryId
from assess.records.measure import Measure
from assess.records.reading_settings import SAFETY_ITEMS, SafetyItemId, SafetyState

__all__ = [
    "Conditions", "EndedForSafety", "Flow", "GivenDrill", "GroupSeen", "Hazard", "Learner", "LearnerReference",
    "Lesson", "LessonEvent", "LessonSafety", "Measured", "Named", "Outcome", "PracticeFile", "Reference",
    "ReportedBreach", "Scenario", "Stopped", "Success", "Target", "TimeSplit",
]  # fmt: skip

Words = Annotated[str, Field(max_length=2000)]
Number = Annotated[float, Strict(), Field(allow_inf_nan=False)]
Positive = Annotated[float, Strict(), Field(gt=0, allow_inf_nan=False)]
Minutes = Annotated[float, Strict(), Field(ge=0, le=600, allow_inf_nan=False)]
Degrees = Annotated[float, Strict(), Field(ge=0, le=60, allow_inf_nan=False)]
Ability = Annotated[float, Strict(), Field(ge=1, le=10, allow_inf_nan=False)]
Tired = Annotated[float, Strict(), Field(ge=0, le=5, allow_inf_nan=False)]
Whole = Annotated[int, Strict(), Field(ge=0)]
Yes = Annotated[bool, Strict()]

SUM_SLACK = 0.001


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Learner(_Part):
    """Whom the lesson is for; ability 1 to 10, `group` the number of learners, `tired` 0 to 5."""

    id: EntryId
    name: Words
    age: Annotated[int, Strict(), Field(ge=0, le=120)]
    ability: Ability
    days_on_snow: Whole
    goal: Words
    fitness: Words
    mood: Words
    group: Annotated[int, Strict(), Field(ge=1, le=40)]
    tired: Tired | None
    declared: Words | None = None


class Conditions(_Part):
    """Ground, snow, light, wind, temperature and traffic of the situation."""

    slope: Degrees
    available_slopes: tuple[Degrees, ...]
    snow: EntryId
    vis: Words
    wind: Words
    temp_c: Annotated[float, Strict(), Field(ge=-60, le=50)]
    traffic: Words


class Target(_Part):
    """What the panel would treat, and how much of the whole it is."""

    id: EntryId
    w: Positive


class LearnerReference(_Part):
    """The panel's agreed view of one learner; no targets means nobody diagnosed this learner.

    chains: the learner's own cause paths, each from a root to a symptom. tolerated: real but minor.
    harmful: treating them would make this learner worse.
    """

    id: EntryId
    roots: tuple[Target, ...]
    chains: tuple[tuple[EntryId, ...], ...]
    tolerated: tuple[EntryId, ...]
    harmful: tuple[EntryId, ...]

    @model_validator(mode="after")
    def _coherent(self) -> LearnerReference:
        names = [root.id for root in self.roots]
        if len(set(names)) < len(names):
            raise ValueError("a target stands twice in roots")
        if self.roots and abs(sum(root.w for root in self.roots) - 1) > SUM_SLACK:
            raise ValueError("the weights of roots must add up to 1")
        for chain in self.chains:
            if len(set(chain)) < len(chain):
                raise ValueError("a chain comes back to where it has been: " + " > ".join(chain))
        return self


class Reference(_Part):
    """The panel's view of all learners; `target` is the one whose diagnosis is the lesson's own."""

    target: EntryId
    group_target: EntryId | None
    learners: tuple[LearnerReference, ...]

    @model_validator(mode="after")
    def _target_known(self) -> Reference:
        names = [learner.id for learner in self.learners]
        if len(set(names)) < len(names):
            raise ValueError("a learner stands twice in learners")
        if self.target not in names:
            raise ValueError(f"target {self.target} is none of the learners: {', '.join(names) or 'there are none'}")
        return self

    @property
    def target_learner(self) -> LearnerReference:
        """The learner whose diagnosis is read as the lesson's own."""
        return next(learner for learner in self.learners if learner.id == self.target)


class Hazard(_Part):
    """A danger that was there; w its weight, crit a critical one."""

    id: EntryId
    w: Positive
    crit: Yes


class Stopped(_Part):
    """The assessor stopped the session."""

    minute: Minutes
    why: Words


class EndedForSafety(_Part):
    """The candidate ended the session early for safety; `judged` is the assessor's word on that."""

    minute: Minutes
    why: Words
    judged: Literal["rightly", "wrongly", "open"]


class Named(_Part):
    """A fault or cause the candidate named for a learner, or ruled out."""

    fault: EntryId
    role: Literal["root", "link", "symptom", "ruled_out"]
    learner: EntryId


class Success(_Part):
    """So many tries worked, of so many."""

    ok: Whole
    of: Annotated[int, Strict(), Field(ge=1)]

    @model_validator(mode="after")
    def _within(self) -> Success:
        if self.ok > self.of:
            raise ValueError(f"{self.ok} of {self.of} tries cannot have worked")
        return self


class GivenDrill(_Part):
    """A drill as it was done: n in the unit of the drill's own dose, per side where the dose is per side."""

    id: EntryId
    slope: Degrees
    snow: EntryId
    n: Annotated[float, Strict(), Field(ge=0, le=1000, allow_inf_nan=False)]
    practice_min: Minutes | None
    demo: Yes
    fb: Literal["specific", "general", "none"]
    check: Yes
    success: Success | None
    tired: Tired | None


class Flow(_Part):
    """Goal told, whole task seen first and last, measured again."""

    goal: Yes
    whole_first: Yes
    whole_last: Yes
    remeasure: Yes


class TimeSplit(_Part):
    """Minutes of talk, practice, waiting and lift."""

    talk: Minutes
    practise: Minutes
    wait: Minutes
    lift: Minutes

    @property
    def total(self) -> float:
        """All four together."""
        return self.talk + self.practise + self.wait + self.lift


class LessonSafety(_Part):
    """The state of each item of the safety list."""

    look_up: SafetyState = Field(alias="look-up")
    side_stop: SafetyState = Field(alias="side-stop")
    terrain_fit: SafetyState = Field(alias="terrain-fit")
    kit: SafetyState
    head_count: SafetyState = Field(alias="head-count")
    no_blind_spot: SafetyState = Field(alias="no-blind-spot")
    must: SafetyState
    closures: SafetyState
    weather: SafetyState
    spacing: SafetyState
    view_all: SafetyState = Field(alias="view-all")
    incident: SafetyState

    def state(self, item: SafetyItemId) -> SafetyState:
        """The state of one item."""
        found: SafetyState = getattr(self, item.replace("-", "_"))
        return found

    @property
    def states(self) -> tuple[tuple[SafetyItemId, SafetyState], ...]:
        """Every item with its state, in the order of the list."""
        return tuple((item, self.state(item)) for item in SAFETY_ITEMS)


class ReportedBreach(_Part):
    """A person's report that a must-not was broken; never computed."""

    must_not: EntryId
    by: Words
    minute: Minutes


class GroupSeen(_Part):
    """Which learners of a group were seen alone, spoken to, and improved."""

    seen_alone: tuple[EntryId, ...]
    spoken_to: tuple[EntryId, ...]
    improved: tuple[EntryId, ...]


class LessonEvent(_Part):
    """Something done at minute t."""

    t: Minutes
    do: Literal[
        "ask", "safety", "observe", "explain", "demo", "drill", "feedback", "whole", "measure", "move", "incident",
        "close",
    ]  # fmt: skip
    ref: EntryId | None = None
    note: Words | None = None


class Measured(_Part):
    """Per-turn values run by run, with the ground they were taken on; no runs = not measured."""

    place: Words
    slope: Degrees
    snow: EntryId
    runs: tuple[Annotated[tuple[Number, ...], Field(min_length=1)], ...]

    @property
    def values(self) -> tuple[float, ...]:
        """All values, run after run."""
        return tuple(value for run in self.runs for value in run)


class Outcome(_Part):
    """What was measured before and after the teaching."""

    before: Measured
    after: Measured


class Lesson(_Part):
    """One lesson as it was recorded."""

    id: EntryId
    minutes: Annotated[float, Strict(), Field(gt=0, le=600, allow_inf_nan=False)]
    stopped_by_assessor: Stopped | None
    ended_for_safety: EndedForSafety | None
    named: tuple[Named, ...]
    managed: tuple[EntryId, ...]
    drills: tuple[GivenDrill, ...]
    flow: Flow
    time: TimeSplit | None
    safety: LessonSafety
    hazards_handled: tuple[EntryId, ...]
    reported_breaches: tuple[ReportedBreach, ...]
    group: GroupSeen | None
    events: tuple[LessonEvent, ...]
    outcome: Outcome

    @model_validator(mode="after")
    def _in_time_order(self) -> Lesson:
        times = [event.t for event in self.events]
        if times != sorted(times):
            raise ValueError("the minutes of events go back; put the events in the order they happened")
        return self


class Scenario(_Part):
    """A learner (or group) in a place, the panel's reference, the hazards, the measure, and lessons given there."""

    id: EntryId
    title: Words
    place: Words
    learner: Learner
    conditions: Conditions
    reference: Reference
    hazards: tuple[Hazard, ...]
    measure: Measure
    lessons: tuple[Lesson, ...]

    @model_validator(mode="after")
    def _each_id_once(self) -> Scenario:
        for what, ids in (
            ("hazard", [hazard.id for hazard in self.hazards]),
            ("lesson", [lesson.id for lesson in self.lessons]),
        ):
            if len(set(ids)) < len(ids):
                raise ValueError(f"a {what} id stands twice in {self.id}")
        return self


class PracticeFile(_Part):
    """A practice-lesson file."""

    scenarios: tuple[Scenario, ...]

    @model_validator(mode="after")
    def _each_id_once(self) -> PracticeFile:
        ids = [scenario.id for scenario in self.scenarios] + [
            lesson.id for scenario in self.scenarios for lesson in scenario.lessons
        ]
        twice = sorted({name for name in ids if ids.count(name) > 1})
        if twice:
            raise ValueError(f"scenario or lesson id given twice: {', '.join(twice)}")
        return self
