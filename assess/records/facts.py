"""The kinds of fact a ledger holds, as frozen models: sheets first, then days, decisions and seals.

A fact is what a person says happened; the envelope around it (number, time, salt, chain)
belongs to the ledger and is in `records.ledger`. Every fact has a `kind`; free text stands
only under the keys of `FREE_TEXT` and may have been erased, so it is always optional.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from assess.records.ids import LongId, ShortId
from assess.records.times import Instant

__all__ = [
    "FREE_TEXT", "AllocationChange", "BibChange", "Breach", "BreachAccount", "BreachFacts", "BreachFinding",
    "Clock", "Drill", "Ended", "Fact", "Interruption", "Interval", "LessonPlan", "Lock", "Morning", "MovedIn",
    "MovedOut", "NamedFault", "NotApplicable", "Observation", "OrderChange", "Question", "Rerun", "RubricAct",
    "SafetyItem", "Score", "Seal", "Settled", "SomeFact", "Started", "Undo", "View",
]  # fmt: skip

FREE_TEXT = frozenset(
    {
        "text", "reason", "what", "where", "who", "goal", "steps", "plan_b", "asked", "account", "weather",
        "snow", "visibility", "wind", "closures", "radio", "patrol", "meeting_point", "first_aid", "open_ground",
        "may_leave", "bulletin_source",
    }
)  # fmt: skip

Text = Annotated[str, StringConstraints(max_length=8000)] | None
Code = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
Number = Annotated[int, Field(ge=1)]
Hash64 = Annotated[str, StringConstraints(pattern=r"^sha256:[0-9a-f]{64}$")]
Head = Annotated[str, StringConstraints(pattern=r"^\d{1,9} [0-9a-f]{16}$")]
Viewpoint = Literal["front", "side", "below", "behind", "lift", "film"]


class Fact(BaseModel):
    """Base of every fact; `erased` maps a free-text key to the digest left by an erasure."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)
    kind: str
    erased: dict[str, str] = Field(default_factory=dict, exclude=True)

    always: ClassVar[tuple[str, ...]] = ()

    def payload(self) -> dict[str, Any]:
        """The fact as written: `kind`, what is always said of its kind, then whatever is not the default."""
        told = self.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        said = self.model_dump(mode="json", by_alias=True, include=set(self.always)) if self.always else {}
        return {
            "kind": self.kind,
            **said,
            **told,
            **{f"{key}_sha": digest for key, digest in self.erased.items()},
        }


# --- sheet -------------------------------------------------------------------------------------


class Observation(Fact):
    """Something seen in the task. `criteria` and `direction` make it evidence for or against."""

    kind: Literal["observation"] = "observation"
    text: Text = None
    category: Literal["run", "event", "fall", "fault", "quote", "place", "fact", "neutral"] = "run"
    criteria: tuple[LongId, ...] = ()
    direction: Literal["for", "against"] | None = None
    phase: Literal["before", "during", "after"] | None = None
    tags: tuple[Annotated[str, StringConstraints(max_length=80)], ...] = ()
    viewpoint: Viewpoint | None = None
    learner: ShortId | None = None
    minute_ms: int | None = None
    film_ms: int | None = None
    made_in_task: bool = True
    moved_from: Number | None = None


class Score(Fact):
    """The level given on a criterion in one run, or not observed, or not applicable; `run` 0 is the overall mark."""

    always: ClassVar[tuple[str, ...]] = ("run", "criterion", "status")
    kind: Literal["score"] = "score"
    run: Annotated[int, Field(ge=0, le=9)] = Field(default=1, alias="pass")
    criterion: LongId
    status: Literal["scored", "not-observed", "not-applicable"] = "scored"
    level: int | None = None
    why: Code | None = None
    evidence: tuple[Number, ...] = ()
    viewpoint: Viewpoint | None = None
    moved_from: Number | None = None


class Undo(Fact):
    """Takes this device's entry `of` back; the entry stays in the file."""

    kind: Literal["undo"] = "undo"
    of: Number


class Lock(Fact):
    """This is my sheet: seals the heads of all its ledgers. `origin` tells imported sheets."""

    kind: Literal["lock"] = "lock"
    heads: dict[str, Head]
    seal: Hash64
    origin: Literal["marked", "imported"] = "marked"
    source: Hash64 | None = None


class Clock(Fact):
    """The device's clock was found behind the last entry by so much."""

    kind: Literal["clock"] = "clock"
    behind_ms: int


class Rerun(Fact):
    """Another run is given, for one of the rubric's reasons; earlier runs stay."""

    kind: Literal["rerun"] = "rerun"
    run: Annotated[int, Field(ge=1, le=9)] = Field(alias="pass")
    why: Code


class MovedOut(Fact):
    """Entries `of` of this ledger belong to another candidate's sheet, `to`."""

    kind: Literal["moved-out"] = "moved-out"
    to: str
    of: tuple[Number, ...]


class MovedIn(Fact):
    """The entries that follow with `moved_from` were first written in another candidate's ledger, `source`."""

    kind: Literal["moved-in"] = "moved-in"
    source: str
    of: tuple[Number, ...]


class Breach(Fact):
    """A must-not was broken, as this assessor saw it: reported, nothing more."""

    kind: Literal["breach"] = "breach"
    must_not: LongId | None = None
    what: Text = None
    where: Text = None
    who: Text = None
    minute_ms: int | None = None
    patrol_called: Literal["yes", "no"] | None = None


class BreachFacts(Fact):
    """Completes the breach report `of`: the facts that were left for later."""

    kind: Literal["breach-facts"] = "breach-facts"
    of: Number
    must_not: LongId | None = None
    what: Text = None
    where: Text = None
    who: Text = None
    patrol_called: Literal["yes", "no"] | None = None


class View(Fact):
    """From where the assessor watches from now on."""

    kind: Literal["view"] = "view"
    viewpoint: Viewpoint


class Started(Fact):
    """The session began `ago_ms` before this entry."""

    kind: Literal["started"] = "started"
    ago_ms: Annotated[int, Field(ge=0)] = 0


class Ended(Fact):
    """The session ended; what it did not reach is not judged when `why` is not `done`."""

    kind: Literal["ended"] = "ended"
    why: Literal["done", "unsafe", "weather", "time", "ill", "lift"] = "done"
    minute_ms: int | None = None
    text: Text = None


class Interval(Fact):
    """A use of time begins or stops: practice, talk, waiting, lift, moving, or a pause of the session."""

    kind: Literal["interval"] = "interval"
    use: Literal["practise", "talk", "wait", "lift", "move", "pause"]
    on: bool
    minute_ms: int | None = None


class Drill(Fact):
    """A drill begins; details may follow later in another `drill` with `of`."""

    kind: Literal["drill"] = "drill"
    of: Number | None = None
    drill: LongId | None = None
    text: Text = None
    slope_deg: Annotated[int, Field(ge=0, le=60)] | None = None
    learner: ShortId | None = None
    success: Literal["yes", "partly", "no"] | None = None
    minute_ms: int | None = None


class NamedFault(Fact):
    """A fault the candidate named, in the candidate's own order, or a cause ruled out."""

    kind: Literal["named-fault"] = "named-fault"
    fault: LongId | None = None
    text: Text = None
    rank: Annotated[int, Field(ge=1, le=20)] | None = None
    role: Literal["root", "link", "symptom", "ruled-out"] | None = None
    learner: ShortId | None = None
    minute_ms: int | None = None


class SafetyItem(Fact):
    """One item of the rubric's safety list."""

    kind: Literal["safety-item"] = "safety-item"
    item: LongId
    state: Literal["done", "missed", "violated", "not-applicable"]


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


# --- day ---------------------------------------------------------------------------------------


class Morning(Fact):
    """The morning record, copied by hand from whoever publishes it; a later one replaces the lines it gives."""

    kind: Literal["morning"] = "morning"
    weather: Text = None
    wind: Text = None
    temp_c: Annotated[int, Field(ge=-60, le=50)] | None = None
    visibility: Text = None
    snow: Text = None
    bulletin_level: Literal["1", "2", "3", "4", "5", "none"] | None = None
    bulletin_source: Text = None
    bulletin_at: Instant | None = None
    closures: Text = None
    radio: Text = None
    patrol: Text = None
    meeting_point: Text = None
    first_aid: Text = None
    open_ground: Text = None
    may_leave: Text = None


class BibChange(Fact):
    """A candidate wears another bib from now on."""

    kind: Literal["bib-change"] = "bib-change"
    candidate: ShortId
    bib: Annotated[int, Field(ge=0, le=9999)]
    was: Annotated[int, Field(ge=0, le=9999)] | None = None


class OrderChange(Fact):
    """The running order as it happened: moved, late, starts now, absent, withdrawn, back."""

    kind: Literal["order-change"] = "order-change"
    task: ShortId
    candidate: ShortId
    change: Literal["moved", "late", "now", "absent", "withdrawn", "back"]
    place: Number | None = None
    why: Code | None = None
    text: Text = None


class Interruption(Fact):
    """Something stopped the work: wind, lift, patrol, course stopped; the tasks it touched."""

    kind: Literal["interruption"] = "interruption"
    cause: Literal["wind", "lift", "fog", "patrol", "injury", "course-stopped", "other"]
    tasks: tuple[ShortId, ...] = ()
    candidates: tuple[ShortId, ...] = ()
    text: Text = None


class NotApplicable(Fact):
    """A criterion could not exist for everybody in a task; the reason, once."""

    kind: Literal["not-applicable"] = "not-applicable"
    task: ShortId
    criterion: LongId
    reason: Text = None


class AllocationChange(Fact):
    """The director takes a marker off a slot; that sheet counts as locked without use. `to` takes it over."""

    kind: Literal["allocation-change"] = "allocation-change"
    task: ShortId
    candidate: ShortId
    from_: ShortId = Field(alias="from")
    to: ShortId | None = None
    reason: Text = None


class RubricAct(Fact):
    """A new rubric version takes force for an area without a sheet, or was refused for one that has sheets."""

    kind: Literal["rubric-act"] = "rubric-act"
    area: LongId
    rubric: Hash64
    result: Literal["in-force", "refused"]
    told_before: ShortId | None = None
    reason: Text = None


# --- decision ----------------------------------------------------------------------------------


class BreachAccount(Fact):
    """The candidate's own account of a reported breach, or that they declined to give one."""

    kind: Literal["breach-account"] = "breach-account"
    must_not: LongId
    declined: bool = False
    account: Text = None


class BreachFinding(Fact):
    """A reported breach is confirmed or not, on the written standard, for the modules it names."""

    kind: Literal["breach-finding"] = "breach-finding"
    must_not: LongId
    state: Literal["confirmed", "not-confirmed"]
    modules: tuple[LongId, ...]
    reports: tuple[str, ...]
    standard: str
    reason: Text = None


# --- seal and merge ----------------------------------------------------------------------------


class Seal(Fact):
    """The heads of all ledgers of a course at one moment, and the seal before this one."""

    kind: Literal["seal"] = "seal"
    heads: dict[str, Head]
    seal: Hash64
    previous: str | None = None


class Settled(Fact):
    """Versions of one file that were compared by a person: those kept and those set aside."""

    kind: Literal["settled"] = "settled"
    kept: dict[str, Head]
    aside: dict[str, Head]
    reason: Text = None


SheetFact = (
    Observation | Score | Undo | Lock | Clock | Rerun | MovedOut | MovedIn | Breach | BreachFacts | View | Started
    | Ended | Interval | Drill | NamedFault | SafetyItem | LessonPlan | Question
)  # fmt: skip
DayFact = Morning | BibChange | OrderChange | Interruption | NotApplicable | AllocationChange | RubricAct
DecisionFact = BreachAccount | BreachFinding
SomeFact = Annotated[SheetFact | DayFact | DecisionFact | Seal | Settled, Field(discriminator="kind")]
