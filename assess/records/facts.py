"""The kinds of fact a ledger holds, as frozen models: sheets first, then days, decisions and seals.

A fact is what a person says happened; the envelope around it (number, time, salt, chain)
belongs to the ledger and is in `records.ledger`. Every fact has a `kind`; free text stands
only under the keys of `FREE_TEXT` and may have been erased, so it is always optional.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints

from assess.records.case_facts import (
    CaseAcknowledged,
    CaseChecked,
    CaseClosed,
    CaseFinding,
    CaseOpened,
    CaseReviewer,
)
from assess.records.decision_facts import Action, BreachAccount, BreachFinding, Decision, Release, Resit, Talk
from assess.records.fact import FREE_TEXT, Code, Fact, Hash64, Head, Number, Text, Viewpoint
from assess.records.ids import LongId, ShortId
from assess.records.lesson_facts import (
    Attended,
    Drill,
    Ended,
    Hazard,
    Interval,
    LearnerMet,
    LessonFact,
    LessonPlan,
    Measured,
    NamedFault,
    Question,
    SafetyItem,
    Started,
    Step,
)
from assess.records.licence_facts import CalibrationSigned
from assess.records.moderation_facts import (
    ExtraSlot,
    LateEvidence,
    LateEvidenceRuling,
    Moderated,
    RepeatOffer,
    ThirdLook,
    ThirdLookClosed,
)
from assess.records.privacy_facts import Erasure, SamePerson
from assess.records.times import Instant, Wall

__all__ = [
    "FREE_TEXT", "Action", "AllocationChange", "Attended", "BibChange", "Breach", "BreachAccount", "BreachFacts",
    "BreachFinding", "CalibrationSigned",
    "CaseAcknowledged", "CaseChecked", "CaseClosed", "CaseFinding", "CaseOpened", "CaseReviewer",
    "Clock", "Decision", "Drill", "Ended", "Erasure", "ExtraSlot", "Fact", "FromCard", "Hazard", "Interruption",
    "Interval", "LateEvidence", "LateEvidenceRuling", "LearnerMet", "LessonPlan", "Lock", "Measured", "Moderated",
    "Morning", "MovedIn", "MovedOut", "NamedFault", "NotApplicable", "Observation", "OrderChange", "Question",
    "Release", "RepeatOffer", "Rerun", "Resit", "RubricAct", "SafetyItem", "SamePerson", "Score", "Seal", "Settled",
    "SomeFact", "Started", "Step", "Talk", "ThirdLook", "ThirdLookClosed", "Undo", "View", "Viewpoint", "Waiver",
]  # fmt: skip

# --- sheet -------------------------------------------------------------------------------------


class Observation(Fact):
    """Something seen in the task. `criteria` and `direction` make it evidence for or against.

    film_ms, film_end_ms: where it is in a film, in ms of the film; without an end it is an instant. imported: it came
    from a file of subtitles.
    """

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
    film_ms: Annotated[int, Field(ge=0)] | None = None
    film_end_ms: Annotated[int, Field(ge=0)] | None = None
    imported: bool = False
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

    signed: ClassVar[bool] = True
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


class FromCard(Fact):
    """What this assessor adds from here on was typed in from a paper card.

    card: its number. on_the_hill: the time written on it; without one it is not known when it was marked.
    """

    kind: Literal["from-card"] = "from-card"
    card: Annotated[str, StringConstraints(pattern=r"^\d{5}$")]
    on_the_hill: Wall | None = None


class View(Fact):
    """From where the assessor watches from now on."""

    kind: Literal["view"] = "view"
    viewpoint: Viewpoint


# --- day ---------------------------------------------------------------------------------------


class Morning(Fact):
    """The morning record, copied by hand from whoever publishes it; a later one replaces the lines it gives."""

    kind: Literal["morning"] = "morning"
    weather: Text = None
    wind: Text = None
    wind_kmh: Annotated[int, Field(ge=0, le=300)] | None = None
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


class Waiver(Fact):
    """The director lets somebody mark although a licence, a conflict or training stands against it.

    candidate: None is every candidate; task: None is every task. Counted and printed wherever it has an effect.
    """

    kind: Literal["waiver"] = "waiver"
    assessor: ShortId
    candidate: ShortId | None = None
    about: Literal["licence", "conflict", "trained"]
    task: ShortId | None = None
    reason: Text = None


class RubricAct(Fact):
    """A new rubric version takes force for an area without a sheet, or was refused for one that has sheets."""

    kind: Literal["rubric-act"] = "rubric-act"
    area: LongId
    rubric: Hash64
    result: Literal["in-force", "refused"]
    told_before: ShortId | None = None
    reason: Text = None


# --- seal and merge ----------------------------------------------------------------------------


class Seal(Fact):
    """The heads of all ledgers of a course at one moment, and the seal before this one."""

    signed: ClassVar[bool] = True
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
    Observation | Score | Undo | Lock | Clock | Rerun | MovedOut | MovedIn | Breach | BreachFacts | View | FromCard
    | LessonFact
)  # fmt: skip
DayFact = (
    Morning | BibChange | OrderChange | Interruption | NotApplicable | AllocationChange | RubricAct | Release
    | RepeatOffer | ExtraSlot | Waiver | Erasure | SamePerson
)  # fmt: skip
ModerationFact = Moderated
DecisionFact = (
    BreachAccount | BreachFinding | ThirdLook | ThirdLookClosed | LateEvidence | LateEvidenceRuling | Decision | Talk
    | Action | Resit
)  # fmt: skip
CaseFact = CaseOpened | CaseAcknowledged | CaseReviewer | CaseChecked | CaseFinding | CaseClosed
LicenceFact = CalibrationSigned
SomeFact = Annotated[
    SheetFact | DayFact | ModerationFact | DecisionFact | CaseFact | LicenceFact | Seal | Settled,
    Field(discriminator="kind"),
]
