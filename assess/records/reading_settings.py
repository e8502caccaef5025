"""The constants of the readings of a lesson, by name: `settings.yaml` of a catalogue folder.

All of them are judgement, not fitted to data; that is why they stand in a file, can be changed,
and are printed with each reading. The letters in brackets name the part of a reading they belong to.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict, model_validator

__all__ = ["SAFETY_ITEMS", "FeedbackKind", "SafetyItemId", "SafetyState", "Settings"]

Share = Annotated[float, Strict(), Field(ge=0, le=1, allow_inf_nan=False)]
Positive = Annotated[float, Strict(), Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Strict(), Field(ge=0, allow_inf_nan=False)]
Count = Annotated[int, Strict(), Field(ge=1)]

SafetyState = Literal[
    "done", "missed-once", "missed", "missed-twice", "missed-with-traffic", "violated", "not-acted-upon", "na"
]
SafetyItemId = Literal[
    "look-up", "side-stop", "terrain-fit", "kit", "head-count", "no-blind-spot", "must", "closures", "weather",
    "spacing", "view-all", "incident",
]  # fmt: skip
FeedbackKind = Literal["specific", "general", "none"]
SAFETY_ITEMS: tuple[SafetyItemId, ...] = (
    "look-up", "side-stop", "terrain-fit", "kit", "head-count", "no-blind-spot", "must", "closures", "weather",
    "spacing", "view-all", "incident",
)  # fmt: skip


def _states() -> dict[SafetyState, float]:
    return {
        "done": 1.0, "missed-once": 0.5, "missed": 0.0, "missed-twice": 0.0, "missed-with-traffic": 0.0,
        "violated": 0.0, "not-acted-upon": 0.0,
    }  # fmt: skip


def _look() -> dict[SafetyItemId, tuple[SafetyState, ...]]:
    violated: tuple[SafetyState, ...] = ("violated",)
    return {
        "look-up": ("missed-twice", "missed-with-traffic", "violated"),
        "terrain-fit": violated,
        "head-count": violated,
        "no-blind-spot": violated,
        "must": violated,
        "closures": violated,
        "weather": violated,
        "view-all": violated,
        "incident": ("not-acted-upon", "violated"),
    }


def _feedback() -> dict[FeedbackKind, float]:
    return {"specific": 1.0, "general": 0.4, "none": 0.0}


def _snow_extra() -> dict[str, float]:
    return {"hard": 1.0, "ice": 1.5, "wet-heavy": 1.0, "cut-up": 0.8, "crust": 1.5, "fresh-deep": 0.8}


class Settings(BaseModel):
    """Every constant of the readings; a key left out of the file keeps the value given here."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)

    # --- diagnosis ---
    names_counted: Count = 3
    """How many names count, in the candidate's own order; later ones change nothing."""
    down: Share = 0.5
    """Credit kept per step below a target (a symptom of it)."""
    up: Share = 0.7
    """Credit kept per step above a target (a deeper cause than the panel's)."""
    w_found: Share = 0.60
    """Weight of what was found, of what mattered."""
    w_order: Share = 0.25
    """Weight of the order of the names."""
    w_ground: Share = 0.15
    """Weight of the share of names with ground."""
    harm: NotNegative = 0.25
    """Taken off for each counted name whose cure makes this learner worse."""

    # --- drill choice: what a drill treats [A] ---
    address_link: tuple[Share, ...] = (0.6, 0.4)
    """A drill that treats something one, two, ... steps below a target."""
    address_before: Share = 0.7
    """A drill that comes before one that treats the target."""
    support: Share = 0.5
    """A drill that supports a cause outside technique."""
    managed: Share = 1.0
    """A cause outside technique that was met by an action."""
    # --- level [L] ---
    harder_slack: NotNegative = 0.5
    """Points above the ability a drill may have before it counts as hard."""
    harder_width: Positive = 2.5
    """Width of the fall for drills too hard."""
    easier_width: Positive = 5.0
    """Width of the fall for drills too easy."""
    easier_floor: Share = 0.7
    """Too easy is forgiven: never below this."""
    # --- slope [T] ---
    slope_flat_width: Positive = 5.0
    """Degrees too flat that would bring the value to 0, were there no floor."""
    slope_flat_floor: Share = 0.7
    """Too flat is forgiven: never below this."""
    slope_steep_low: Positive = 3.0
    """Degrees too steep that bring the value to 0, for abilities up to `low_ability`."""
    slope_steep_high: Positive = 5.0
    """Degrees too steep that bring the value to 0, for higher abilities."""
    low_ability: NotNegative = 4.0
    """Abilities up to this one get the narrower limits for slope."""
    # --- snow, what comes before, harm, tiredness [N P H K] ---
    snow_avoid: Share = 0.4
    """Snow in the drill's own list of snow to avoid."""
    prereq_floor: Share = 0.5
    """Nothing a drill asks for is owned."""
    own_margin: NotNegative = 1.0
    """A drill is owned when its difficulty is at least this much below the ability."""
    skill_from: tuple[NotNegative, ...] = Field(
        default=(2.0, 4.0, 5.0, 7.0, 8.0, 10.0), json_schema_extra={"minItems": 6, "maxItems": 6}
    )
    """The ability from which a skill of level 1, 2, ... 6 is owned."""
    worsen: Share = 0.5
    """Taken off when the drill may worsen the heaviest target; less for lighter ones."""
    tired_from: NotNegative = 2.0
    """Tiredness (0-5) up to which nothing is taken off."""
    tired_step: NotNegative = 0.15
    """Taken off per step of tiredness above that."""
    tired_stop: NotNegative = 4.0
    """From this tiredness on a dose is worth nothing."""
    exp_level: NotNegative = 0.3
    """Power of the level part in a drill's fit."""
    exp_snow: NotNegative = 0.2
    """Power of the snow part in a drill's fit."""
    exp_prereq: NotNegative = 0.2
    """Power of the what-comes-before part in a drill's fit."""
    best_share: Share = 0.8
    """Share of the best fit per target in the lesson's value; the rest is the mean fit."""
    longest: Count = 3
    """How many drills count: those with the most minutes of practice."""
    service: tuple[str, ...] = ("gear-sense", "traffic-sense", "lift-use")
    """A drill that trains nothing but these skills is outside drill choice and progression."""
    voids: tuple[SafetyItemId, ...] = ("terrain-fit", "must", "closures")
    """Drill choice is not judged when one of these safety items is violated."""

    # --- progression ---
    w_orderly: Share = 0.15
    """Weight of: what drills ask for is owned."""
    w_step: Share = 0.20
    """Weight of the steps from one challenge to the next."""
    w_whole: Share = 0.15
    """Weight of the whole task seen at the start and at the end."""
    w_demo: Share = 0.05
    """Weight of the share of drills shown."""
    w_dose: Share = 0.10
    """Weight of the dose."""
    w_feedback: Share = 0.10
    """Weight of the feedback."""
    w_check: Share = 0.05
    """Weight of the share of drills checked."""
    w_remeasure: Share = 0.10
    """Weight of measuring again at the end."""
    w_practice: Share = 0.10
    """Weight of the share of time spent practising."""
    step_big_down: Share = 0.6
    """A step down by more than `step_far_down`."""
    step_far_down: NotNegative = 2.0
    """Points of challenge from which a step down is a big one."""
    step_down: Share = 0.85
    """A smaller step down."""
    step_ok: NotNegative = 2.0
    """A step up to this many points is worth 1."""
    step_zero: Positive = 4.0
    """A step up of this many points is worth 0."""
    stubborn: Share = 0.6
    """The most a step is worth that does not go down after a failed check."""
    check_half: Share = 0.5
    """A check failed when fewer than this share of the tries worked."""
    slope_per_point: Positive = 4.0
    """Degrees above the middle of a drill's range that make it one point harder."""
    snow_extra: dict[str, NotNegative] = Field(default_factory=_snow_extra)
    """Points added by a snow the drill does not list as good; others 0."""
    feedback: dict[FeedbackKind, Share] = Field(default_factory=_feedback, json_schema_extra={"minProperties": 3})
    """Worth of the feedback given with a drill."""
    overdose: Positive = 2.0
    """More than this many times the upper bound of a dose is worth nothing."""
    run_minutes: Positive = 0.4
    """Minutes one run of a drill takes at least."""
    practice_full: Share = 0.50
    """Share of practice from which its part is 1."""
    practice_low: Share = 0.25
    """Below this share of practice the whole value is capped."""
    practice_cap: Share = 0.5
    """The cap."""

    # --- safety ---
    w_items: Share = 0.6
    """Weight of the safety items."""
    w_hazards: Share = 0.4
    """Weight of the hazards handled."""
    state: dict[SafetyState, Share] = Field(
        default_factory=_states, json_schema_extra={"required": [*_states()], "maxProperties": len(_states())}
    )
    """Worth of each state of an item; `na` is left out and has none."""
    look: dict[SafetyItemId, tuple[SafetyState, ...]] = Field(default_factory=_look)
    """States of an item that point at a possible breach: something to look at, never a breach."""

    # --- change of the learner ---
    min_values: Count = 5
    """Fewer values than this on a side are too few."""
    min_retest: Count = 10
    """With fewer retest pairs behind the limit no change is called shown."""
    slope_same_low: NotNegative = 1.0
    """Degrees two slopes may differ and be the same, for abilities up to `low_ability`."""
    slope_same_high: NotNegative = 2.0
    """The same for higher abilities."""

    @model_validator(mode="after")
    def _usable(self) -> Settings:
        if len(self.skill_from) != 6:
            raise ValueError("skill_from needs six abilities, one for each level of skill")
        if self.step_zero <= self.step_ok:
            raise ValueError("step_zero must be above step_ok")
        if set(self.state) != set(_states()):
            raise ValueError("state needs a value for each of: " + ", ".join(_states()))
        if set(self.feedback) != {"specific", "general", "none"}:
            raise ValueError("feedback needs a value for specific, general and none")
        weights = (
            self.w_orderly, self.w_step, self.w_whole, self.w_demo, self.w_dose, self.w_feedback, self.w_check,
            self.w_remeasure,
        )  # fmt: skip
        if sum(weights) <= 0 or self.w_items <= 0 or self.w_items + self.w_hazards > 1.0 + 1e-9:
            raise ValueError("the weights of a reading must be above 0 and add up to 1")
        return self
