"""What marking hands back: a folded sheet, its holes, and the result of a module. Frozen, without behaviour.

Levels as given are ints; what is computed from them is a `Fraction`. Nothing here reads or writes files.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Generic, Literal, TypeVar

from assess.records.fact import Fact
from assess.records.facts import FromCard, Observation, Rerun
from assess.records.lesson_facts import (
    Attended,
    Drill,
    Ended,
    Hazard,
    Interval,
    LearnerMet,
    LessonPlan,
    Measured,
    NamedFault,
    Question,
    SafetyItem,
    Step,
)

__all__ = [
    "BreachReport", "BreachState", "BreachWord", "Effect", "EntryRef", "Hole", "HoleKind", "Mark", "MarkState",
    "ModuleResult", "Outcome", "Reach", "Seen", "ShadowSheet", "Sheet", "SheetFigure", "SlotDifference", "Status",
    "TaskValue", "WaivedMarkers",
]  # fmt: skip

Status = Literal["scored", "not-observed", "not-applicable"]
Outcome = Literal["passed", "not_passed", "third_look", "open", "void"]
BreachWord = Literal["reported", "confirmed", "not-confirmed"]
MarkState = Literal["standing", "replaced", "taken back", "moved away", "left out", "not usable"]
HoleKind = Literal[
    "no-mark",
    "no-overall",
    "two-devices",
    "no-evidence",
    "breach-incomplete",
    "run",
    "viewpoints",
    "safety-item",
    "left-out",
    "missing-ledger",
    "no-own-view",
    "no-plan",
    "no-score",
    "no-film-time",
    "not-all-scored",
    "not-weakest-first",
]
Effect = Literal["alone", "together", "later", "nothing"]
F = TypeVar("F", bound=Fact)


@dataclass(frozen=True, slots=True, order=True)
class EntryRef:
    """One entry of one ledger; reads `T1.C04.A2.d7h2k 3`."""

    ledger: str
    n: int

    def __str__(self) -> str:
        return f"{self.ledger} {self.n}"


@dataclass(frozen=True, slots=True)
class Seen(Generic[F]):
    """A live fact of a sheet with its place and time; `viewpoint`: from where the assessor watched then."""

    ref: EntryRef
    at: str
    fact: F
    viewpoint: str | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A score as it stands on a sheet.

    level: the int given; a Fraction only where runs fold to their median; None unless scored.
    run: the run it was given in, 0 for an overall mark, None where several runs were folded into it.
    ref, at: the entry behind it (of a median: the latest).
    evidence: the live observations made in the task that speak to it.
    state: `standing` for every mark in use; the others occur in `Sheet.history` only.
    """

    criterion: str
    status: Status
    level: int | Fraction | None
    why: str | None
    run: int | None
    ref: EntryRef
    at: str
    viewpoint: str | None = None
    evidence: tuple[EntryRef, ...] = ()
    state: MarkState = "standing"

    @property
    def has_evidence(self) -> bool:
        """True when at least one observation made in the task speaks to it."""
        return bool(self.evidence)

    @property
    def value(self) -> Fraction | None:
        """The level as a number; None for whatever is not a number (not observed, not applicable)."""
        return Fraction(self.level) if self.status == "scored" and self.level is not None else None


@dataclass(frozen=True, slots=True)
class BreachReport:
    """A breach as this assessor reported it, later facts taken in; `lacking` names what is still to be completed."""

    ref: EntryRef
    at: str
    must_not: str | None
    what: str | None
    where: str | None
    who: str | None
    patrol_called: str | None
    minute_ms: int | None
    lacking: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One assessor's record of one slot: the union of its ledgers, folded.

    marks: what counts, at most one per criterion, in the task's order. A criterion without one has no mark yet.
    runs: the standing mark of every run (overall marks with run 0). history: every score ever written.
    clashes: (run, criterion) on which two devices gave different levels and no later score settled it.
    locked_at, origin: of the lock. left_out: entries of other devices the lock did not cover; they are not used.
    missing: ledgers the lock names that are not here, or not as they were sealed.
    safety: the latest state of each item of the safety list; likewise hazards, learners_met (one per learner, later
    words taken in), steps, measured (one per run). seen_from: viewpoints per criterion.
    from_cards: the paper cards it was typed in from; from the first of them on an entry's time is that of the typing.
    """

    task: str
    candidate: str
    assessor: str
    rubric: str
    ledgers: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    runs: tuple[Mark, ...] = ()
    history: tuple[Mark, ...] = ()
    clashes: tuple[tuple[int, str], ...] = ()
    overall_missing: tuple[str, ...] = ()
    observations: tuple[Seen[Observation], ...] = ()
    breaches: tuple[BreachReport, ...] = ()
    named_faults: tuple[Seen[NamedFault], ...] = ()
    drills: tuple[Seen[Drill], ...] = ()
    intervals: tuple[Seen[Interval], ...] = ()
    safety: tuple[Seen[SafetyItem], ...] = ()
    hazards: tuple[Seen[Hazard], ...] = ()
    learners_met: tuple[LearnerMet, ...] = ()
    steps: tuple[Step, ...] = ()
    attended: tuple[Attended, ...] = ()
    measured: tuple[Seen[Measured], ...] = ()
    questions: tuple[Seen[Question], ...] = ()
    reruns: tuple[Seen[Rerun], ...] = ()
    plan: LessonPlan | None = None
    viewpoint: str | None = None
    seen_from: tuple[tuple[str, tuple[str, ...]], ...] = ()
    started_at: str | None = None
    ended: Ended | None = None
    ended_at: str | None = None
    locked: bool = False
    locked_at: str | None = None
    origin: Literal["marked", "imported"] | None = None
    left_out: tuple[EntryRef, ...] = ()
    missing: tuple[str, ...] = ()
    from_cards: tuple[Seen[FromCard], ...] = ()

    def mark(self, criterion: str) -> Mark | None:
        """The mark that counts for a criterion, or None when there is none yet."""
        return next((mark for mark in self.marks if mark.criterion == criterion), None)

    def run_mark(self, run: int, criterion: str) -> Mark | None:
        """The standing mark of one run (0 = overall) for a criterion, or None."""
        return next((m for m in self.runs if m.run == run and m.criterion == criterion), None)

    def viewpoints(self, criterion: str) -> tuple[str, ...]:
        """From where a criterion was seen, sorted."""
        return dict(self.seen_from).get(criterion, ())

    @property
    def run_count(self) -> int:
        """The highest run number with a mark; 0 when nothing was marked."""
        return max((mark.run or 0 for mark in self.runs), default=0)

    @property
    def usable(self) -> bool:
        """True when it is locked and everything the lock sealed is here."""
        return self.locked and not self.missing


@dataclass(frozen=True, slots=True)
class Hole:
    """Something a sheet lacks. `blocks`: it cannot be locked like this. The text holds no level."""

    kind: HoleKind
    text: str
    blocks: bool
    criterion: str | None = None
    run: int | None = None


@dataclass(frozen=True, slots=True)
class TaskValue:
    """V: the value of one criterion in one task, over `n` markers of all its performances."""

    task: str
    criterion: str
    value: Fraction
    n: int


@dataclass(frozen=True, slots=True)
class SheetFigure:
    """The value of one sheet; None when it is not observed. `third`: it came in by a third look."""

    task: str
    assessor: str
    value: Fraction | None
    third: bool = False


@dataclass(frozen=True, slots=True)
class SlotDifference:
    """How the sheets of one slot differ.

    because: the rules that make it due for moderation (`sheet-apart`, `other-side`, `criterion-apart`), sorted;
        empty when the slot is only listed.
    criteria: those two or more apart (as the rubric sets it). across: those on different sides of the line.
    effect: what moderating it within the range of the marks can change in the module's outcome: `alone`;
        only `together` with other due slots; `later`, while the module is open; `nothing`.
    """

    task: str
    because: tuple[str, ...]
    apart: Fraction
    criteria: tuple[str, ...]
    across: tuple[str, ...]
    effect: Effect = "later"

    @property
    def due(self) -> bool:
        """True when it is due for moderation; otherwise it is listed only."""
        return bool(self.because)


@dataclass(frozen=True, slots=True)
class Reach:
    """What a third look over `tasks` can lead to: lowest and highest module mean, and the outcomes there."""

    tasks: tuple[str, ...]
    lowest: Fraction
    highest: Fraction
    outcomes: tuple[Outcome, ...]

    @property
    def crosses(self) -> bool:
        """True when both outcomes stay possible under the whole rule."""
        return len(set(self.outcomes)) > 1


@dataclass(frozen=True, slots=True)
class BreachState:
    """Where a breach of a must-not stands, and the modules it closes."""

    must_not: str
    state: BreachWord
    modules: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShadowSheet:
    """Somebody allocated to a slot who may not mark it: what they write is kept and used for nothing."""

    task: str
    assessor: str
    why: str


@dataclass(frozen=True, slots=True)
class WaivedMarkers:
    """Markers who count by a waiver although of a conflict or training, and the outcome without their sheets."""

    assessors: tuple[str, ...]
    alone: Outcome


@dataclass(frozen=True, slots=True)
class ModuleResult:
    """What the rules give for one module of one candidate, on the values as they stand.

    mean, band_squared, band: None without an observed sheet and before every allocated sheet is locked;
        the band (half width, three decimals) is also None where the rubric gives no sheet error.
    reasons: in words; empty where a pass needs none. open_needs: tasks without an observed sheet, while open.
    differences: due and listed slots, those that can change most first.
    reach: only while the outcome is `third_look`. flips_with: only where the numbers decide, and all of them alike.
    not_locked: slots with an allocated sheet that is not locked; then nothing here depends on a mark.
    shadows: those allocated who may not mark, by task. waived: None where nobody counts by a waiver of a conflict.
    """

    candidate: str
    module: str
    outcome: Outcome
    line: Fraction
    rubric: str = ""
    mean: Fraction | None = None
    band_squared: Fraction | None = None
    band: str | None = None
    n_sheets: int = 0
    reasons: tuple[str, ...] = ()
    open_needs: tuple[str, ...] = ()
    not_locked: tuple[str, ...] = ()
    breach: BreachState | None = None
    differences: tuple[SlotDifference, ...] = ()
    reach: Reach | None = None
    flips_with: str | None = None
    sheets: tuple[SheetFigure, ...] = ()
    values: tuple[TaskValue, ...] = ()
    minimum: Fraction | None = None
    allowed_below: int | None = None
    third_look: Literal["none", "ordered", "closed"] = "none"
    shadows: tuple[ShadowSheet, ...] = ()
    waived: WaivedMarkers | None = None

    @property
    def moderation_due(self) -> tuple[str, ...]:
        """The slots whose markers differ beyond the two-marker rule; nothing is signed while there is one."""
        return tuple(item.task for item in self.differences if item.due)

    @property
    def listed(self) -> tuple[str, ...]:
        """Slots with a criterion on both sides of the line that are not due."""
        return tuple(item.task for item in self.differences if not item.due)

    @property
    def least(self) -> TaskValue | None:
        """The smallest task-criterion value (the first of equals), or None."""
        return min(self.values, key=lambda item: item.value, default=None)

    @property
    def below_line(self) -> tuple[TaskValue, ...]:
        """The task-criterion values below the line."""
        return tuple(item for item in self.values if item.value < self.line)
