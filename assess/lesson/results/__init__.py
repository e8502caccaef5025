"""What the readings hand back: one frozen type per reading, without behaviour.

Every reading has its value or values, `void` (why there is no value, or None), `why` (sentences a person can
check, with what would have changed it) and `basis` (on how much it rests). Values are unrounded floats.
A lesson's readings stand side by side in `LessonReadings`; nothing here puts two of them into one number.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = [
    "Basis", "ChangeReading", "ConfusionPair", "DiagnosisReading", "DrillFitReading", "FittedDrill", "GroupReading",
    "Guess", "LessonReadings", "MeasureReading", "PanelReading", "ProgressionParts", "ProgressionReading", "Retest",
    "SafetyReading", "Step", "Verdict",
]  # fmt: skip

Verdict = Literal["too few", "not comparable", "improved", "worse", "not shown"]


@dataclass(frozen=True, slots=True)
class Basis:
    """On how much a reading rests.

    n, of: so many of what ("names", "drills"). coverage: share of what could have been used that was, 0 to 1.
    error: what is known about its error, in words.
    """

    n: int
    of: str
    coverage: float
    error: str


@dataclass(frozen=True, slots=True)
class ConfusionPair:
    """A name without ground that is often taken for something this learner does have."""

    named: str
    taken_for: str


@dataclass(frozen=True, slots=True)
class Guess:
    """What answers without looking would get on one learner.

    chance_mean, chance_p95: over all ordered pairs of two names; None when there are no two names.
    stock_answer: the best list of one to three names for all other learners, scored on this one; None without others.
    stock_names: that list, or the lists that are equally good.
    """

    chance_mean: float | None
    chance_p95: float | None
    stock_answer: float | None
    stock_names: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class DiagnosisReading:
    """Did they find it: the candidate's names for one learner against the panel's reference.

    score, recall ("found, of what mattered"), ndcg ("order"), precision ("named with ground"): 0 to 1, None when void.
    counted: the names that counted, in the candidate's order; later: names after them; ruled_out: set aside.
    targets_found, links_explained, symptoms_seen: how many of the counted names are a target, a link, a symptom.
    deeper: names above a target, for the panel to look at. ceiling: the panel's own, None when not known.
    beyond_stock: how far between the stock answer and a full answer; may be below 0.
    """

    learner: str
    void: str | None
    score: float | None
    recall: float | None
    ndcg: float | None
    precision: float | None
    counted: tuple[str, ...]
    later: tuple[str, ...]
    ruled_out: tuple[str, ...]
    targets_found: int
    links_explained: int
    symptoms_seen: int
    false_alarms: tuple[str, ...]
    harmful: tuple[str, ...]
    confusions: tuple[ConfusionPair, ...]
    deeper: tuple[str, ...]
    chance_mean: float | None
    chance_p95: float | None
    stock_answer: float | None
    beyond_stock: float | None
    ceiling: float | None
    why: tuple[str, ...]
    basis: Basis


@dataclass(frozen=True, slots=True)
class PanelReading:
    """What a panel's own answers score against each other: each expert against the reference of the others.

    scores: expert id and score, in the panel's order; None where the others keep no target.
    ceiling: their mean; None when void.
    """

    void: str | None
    ceiling: float | None
    scores: tuple[tuple[str, float | None], ...]
    why: tuple[str, ...]
    basis: Basis


@dataclass(frozen=True, slots=True)
class GroupReading:
    """What was done for a whole group. target_found is None where the group has no target of its own.

    seen_alone, spoken_to, improved: how many of `learners`; None when not recorded.
    """

    target: str | None
    target_found: bool | None
    learners: int
    seen_alone: int | None
    spoken_to: int | None
    improved: int | None
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FittedDrill:
    """One counted drill. fit = aim x suits; suits is the product of the other factors (here before their powers).

    aim: does it treat a target; level: difficulty for the ability; slope, snow: ground inside the drill's own;
    prepared: what it asks for is owned; harm: below 1 when it may worsen a target; fresh: below 1 when tired.
    """

    id: str
    fit: float
    suits: float
    aim: float
    level: float
    slope: float
    snow: float
    prepared: float
    harm: float
    fresh: float


@dataclass(frozen=True, slots=True)
class DrillFitReading:
    """Did they choose drills that treat it.

    value: fit to the panel's reference; own_value: fit to the candidate's own diagnosis; None when void or not known.
    drills: the counted ones, longest practice first. not_counted: further drills of technique.
    drills_per_ten_minutes, practice_minutes: told beside; practice_minutes None when no drill has its minutes.
    """

    void: str | None
    value: float | None
    own_value: float | None
    drills: tuple[FittedDrill, ...]
    not_counted: tuple[str, ...]
    drills_per_ten_minutes: float
    practice_minutes: float | None
    why: tuple[str, ...]
    basis: Basis


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a progression: the challenge of the drill, how far above the one before, and what it is worth."""

    drill: str
    challenge: float
    delta: float
    worth: float


@dataclass(frozen=True, slots=True)
class ProgressionParts:
    """The parts of a progression, each 0 to 1; practice is None where the time split was not recorded."""

    orderly: float
    step: float
    whole: float
    demo: float
    dose: float
    feedback: float
    check: float
    remeasure: float
    practice: float | None


@dataclass(frozen=True, slots=True)
class ProgressionReading:
    """Did one thing lead to the next. capped: held down because too little of the time was practice."""

    void: str | None
    value: float | None
    parts: ProgressionParts | None
    steps: tuple[Step, ...]
    capped: bool
    why: tuple[str, ...]
    basis: Basis


@dataclass(frozen=True, slots=True)
class SafetyReading:
    """Was it safe. Shown only beside the breach line; it reports no breach: only a person does.

    value: items and hazards; base: the items alone; hazard_recall: None when no hazard was present.
    possible_breaches: safety items whose state is something to look at. critical_missed: critical hazards not handled.
    """

    void: str | None
    value: float | None
    base: float | None
    hazard_recall: float | None
    states: tuple[tuple[str, str], ...]
    possible_breaches: tuple[str, ...]
    critical_missed: tuple[str, ...]
    why: tuple[str, ...]
    basis: Basis


@dataclass(frozen=True, slots=True)
class ChangeReading:
    """Did the learner change, on one measure.

    delta: mean of run means after minus before, above 0 = better; net: delta less what people gain untaught.
    mdc95: the measure's retest limit for one run a side, None when nobody knows it; limit: the one used, for as many
    runs as there are.
    hedges_g, cliff_delta: over all values, above 0 = better; g None without spread.
    means, sds, n_values, n_runs: (before, after). sds None with fewer than two values.
    n_effective: (before, after) so many independent values the turns are worth; None when it cannot be told.
    p_one_sided, p_smallest: exact permutation by run, and the smallest it could be; None when not computed.
    """

    void: str | None
    measure: str
    delta: float | None
    net: float | None
    mdc95: float | None
    limit: float | None
    hedges_g: float | None
    cliff_delta: float | None
    verdict: Verdict
    means: tuple[float | None, float | None]
    sds: tuple[float | None, float | None]
    n_values: tuple[int, int]
    n_runs: tuple[int, int]
    n_effective: tuple[float | None, float | None]
    p_one_sided: float | None
    p_smallest: float | None
    why: tuple[str, ...]
    basis: Basis


@dataclass(frozen=True, slots=True)
class Retest:
    """Retest error of people who were not taught in between.

    sem: standard error of measurement; mdc95, mdc90: smallest difference of two values beyond it; ci95: of mdc95.
    drift: mean gain from the first to the second value.
    """

    n_pairs: int
    sem: float
    mdc95: float
    mdc90: float
    ci95: tuple[float, float]
    drift: float
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MeasureReading:
    """One measure of a demonstration: evidence to look at, never a score.

    value, noise_floor: in `unit`; None when void or not known. n: turns used.
    beyond_noise: the value is larger than the floor; None when the floor is not known.
    target: the range the task sets, or None; in_target: None without a value or a target.
    """

    name: str
    unit: str
    void: str | None
    value: float | None
    n: int
    noise_floor: float | None
    beyond_noise: bool | None
    target: tuple[float, float] | None
    in_target: bool | None
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LessonReadings:
    """The readings of one lesson side by side.

    inconsistent: where the minutes of the record contradict each other; unknown: ids nobody knows, and what was made
    of them. The readings are shown all the same.
    """

    lesson: str
    diagnosis: DiagnosisReading
    other_learners: tuple[DiagnosisReading, ...]
    group: GroupReading | None
    drill_fit: DrillFitReading
    progression: ProgressionReading
    safety: SafetyReading
    change: ChangeReading
    inconsistent: tuple[str, ...]
    unknown: tuple[str, ...]
