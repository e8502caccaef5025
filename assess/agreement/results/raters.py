"""What the marks of each assessor look like beside those of the others: effects, their family, and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["EFFECTS", "Advice", "Effect", "EffectName", "Interval", "Rater", "RaterCourse", "Raters", "Verdict"]

Interval = tuple[float, float]
EffectName = Literal["severity", "drift", "days", "flat", "spread", "central", "contrast", "repeat", "line"]
Verdict = Literal["look", "nothing to say", "too few"]

EFFECTS: tuple[EffectName, ...] = (
    "severity", "drift", "days", "flat", "spread", "central", "contrast", "repeat", "line",
)  # fmt: skip
"""Every effect, in the order in which it is told."""


@dataclass(frozen=True, slots=True)
class Effect:
    """One thing the marks of one assessor may show.

    estimate, by name:
    severity, levels above the mean of the group (+ gives more); drift, levels more for each place further back in a
    task; days, levels more for each later day; flat, share of sheets with one digit only, less that of partners;
    spread, standard deviation within a sheet (n - 1), less that of partners; central, share of marks on the two
    neighbouring levels used most, less that of partners; contrast, levels more for each level the candidate before was
    given; repeat, error of one of two sheets of the same performance, less that of the others; line, share of
    comparisons on the same side of the pass line, less that of the pairs without this assessor.
    own, others: the two numbers of a difference; own_ci95: interval of the first.
    n: sheets it rests on (comparisons for contrast, repeat and line), of n_candidates.
    p: two-sided; 1 on the side of flat, spread, central, repeat and line that harms nobody. adjusted: for the family.
    None where it does not exist: `undefined` says why. verdict: "look" only where the family flags it.
    mirror_of: who is further out on the other side, where this is not shown without them; no reason to look then.
    sentence: what it says; limit: what it cannot tell; todo: what helps, with "look" only.
    """

    assessor: str
    name: EffectName
    estimate: float | None
    ci95: Interval | None = None
    interval: str = ""
    p: float | None = None
    adjusted: float | None = None
    verdict: Verdict = "too few"
    n: int = 0
    n_candidates: int = 0
    own: float | None = None
    own_ci95: Interval | None = None
    others: float | None = None
    undefined: str | None = None
    mirror_of: str = ""
    sentence: str = ""
    limit: str = ""
    todo: str = ""
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rater:
    """One assessor in one course.

    n_sheets: observed sheets; n_flat: those with one digit only, of n_several with two marks or more.
    spread: mean standard deviation within a sheet (n - 1). levels: how often each level of the course's scale was
    given. effects: in the order of EFFECTS. sentence: the one that stands for all of them in a list.
    """

    id: str
    n_sheets: int
    n_candidates: int
    n_flat: int
    n_several: int
    spread: float | None
    levels: tuple[int, ...]
    effects: tuple[Effect, ...]
    sentence: str = ""

    def effect(self, name: EffectName) -> Effect:
        """The effect of this name."""
        return next(effect for effect in self.effects if effect.name == name)


@dataclass(frozen=True, slots=True)
class RaterCourse:
    """The assessors of one course, or of several taken together.

    date: of its first day, "" of several. n_slots: performances with two sheets or more.
    family: what was tested together; n_tests, n_flagged, rate and family_sentence are about it.
    groups: assessors who can be compared; more than one: severities do not exist.
    """

    course: str
    date: str
    levels: tuple[float, ...]
    n_candidates: int
    n_assessors: int
    n_sheets: int
    n_slots: int
    groups: tuple[tuple[str, ...], ...]
    family: str
    n_tests: int
    n_flagged: int
    rate: float
    family_sentence: str
    raters: tuple[Rater, ...]
    warnings: tuple[str, ...] = ()

    def rater(self, who: str) -> Rater | None:
        """The assessor with this id, or None when they marked nothing here."""
        return next((rater for rater in self.raters if rater.id == who), None)


@dataclass(frozen=True, slots=True)
class Advice:
    """What follows from one flag of the last course an assessor marked in; flagged_in: courses running, by date."""

    assessor: str
    name: EffectName
    course: str
    do: Literal["talk", "wait for the next course"]
    flagged_in: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class Raters:
    """Courses by date, each with its own family of effects; together: all as one, where ids mean the same people.

    advice: for every flag of an assessor's last course. never: the sentence every page ends with.
    """

    courses: tuple[RaterCourse, ...]
    together: RaterCourse | None
    advice: tuple[Advice, ...]
    never: str
    warnings: tuple[str, ...] = ()
