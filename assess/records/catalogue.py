"""The knowledge of one activity: faults, causes outside technique, drills, skills and the words for ground and snow.

Each activity is a folder of files with the same keys: `faults.yaml`, `drills.yaml`, `skills.yaml`, `vocab.yaml`
and `settings.yaml`. The general cause graph (`caused_by`) is only a map; every learner has chains of their own.
"""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict, model_validator

from assess.records.measure import EntryId, Measure
from assess.records.reading_settings import Settings

__all__ = [
    "Catalogue", "Dose", "Drill", "DrillFile", "EntryId", "Fault", "FaultFile", "Root", "Settings", "Skill",
    "SkillFile", "SlopeClass", "Snow", "SnowChoice", "Vocabulary",
]  # fmt: skip

Words = Annotated[str, Field(max_length=2000)]
Number = Annotated[float, Strict(), Field(allow_inf_nan=False)]
Degrees = Annotated[float, Strict(), Field(ge=0, le=60, allow_inf_nan=False)]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


def _range(low: float, high: float, what: str) -> None:
    if low > high:
        raise ValueError(f"{what}: the lower end {low:g} is above the upper end {high:g}")


class Fault(_Part):
    """Something seen in what a learner does.

    layer: root = teach here, link = in between, symptom = what catches the eye. caused_by: parents in the cause
    graph. amplified_by: feedback that keeps it going, never a cause in a chain. look_alike: ids it is taken for.
    measure: a sign with a number, a rule of thumb to be tuned locally.
    """

    id: EntryId
    say: Words = ""
    layer: Literal["root", "link", "symptom"]
    phase: EntryId
    part: Words
    seen: Words
    caused_by: tuple[EntryId, ...]
    amplified_by: tuple[EntryId, ...] = ()
    leads_to: Words
    not_this: Words
    look_alike: tuple[EntryId, ...]
    measure: Words

    @property
    def words(self) -> str:
        """What a reader sees: `say`, otherwise the id with spaces."""
        return self.say or self.id.replace("-", " ")


class Root(_Part):
    """A cause outside technique (fear, cold, a boot): met by an action, not by a drill."""

    id: EntryId
    seen: Words
    action: Words

    @property
    def words(self) -> str:
        """What a reader sees: the id with spaces, without its leading `X-`."""
        return self.id.removeprefix("X-").replace("-", " ")


class SnowChoice(_Part):
    """Snow a drill works best on (`any` = all of it) and snow on which it is poor or risky; unlisted snow is fine."""

    ok: tuple[EntryId, ...]
    avoid: tuple[EntryId, ...]


class Dose(_Part):
    """How much of a drill is worth doing: from min to max runs, repetitions or minutes, per side or altogether."""

    unit: Literal["runs", "reps", "minutes"]
    min: Annotated[float, Strict(), Field(gt=0, allow_inf_nan=False)]
    max: Annotated[float, Strict(), Field(gt=0, allow_inf_nan=False)]
    per_side: bool = False

    @model_validator(mode="after")
    def _ordered(self) -> Dose:
        _range(self.min, self.max, "dose")
        return self

    @property
    def sides(self) -> int:
        """2 where the dose is given per side, otherwise 1."""
        return 2 if self.per_side else 1


class Drill(_Part):
    """One exercise. difficulty 1 to 10; slope in degrees, where it works.

    addresses: faults it treats. supports: causes outside technique it helps with. may_worsen: faults it can feed.
    prereq, needs: drills and skills that come before. must: conditions whose absence endangers somebody now.
    care: advice. aliases: nicknames of the trade, found by typing, never shown as the name.
    """

    id: EntryId
    name: Words
    aliases: tuple[Words, ...]
    purpose: Words
    addresses: tuple[EntryId, ...]
    supports: tuple[EntryId, ...]
    may_worsen: tuple[EntryId, ...]
    skills: tuple[EntryId, ...]
    prereq: tuple[EntryId, ...]
    needs: tuple[EntryId, ...]
    difficulty: Annotated[float, Strict(), Field(ge=1, le=10)]
    slope: tuple[Degrees, Degrees]
    snow: SnowChoice
    formation: EntryId
    dose: Dose
    dose_note: Words
    errors: Words
    hazards: Words
    must: tuple[Words, ...]
    care: tuple[Words, ...]
    check: Words

    @model_validator(mode="after")
    def _ordered(self) -> Drill:
        _range(*self.slope, "slope")
        return self


class Skill(_Part):
    """Something a learner can do. level 1 (first day) to 6 (expert); slope in degrees, where it is usually learnt."""

    id: EntryId
    level: Annotated[int, Strict(), Field(ge=1, le=6)]
    slope: tuple[Degrees, Degrees]
    needs: tuple[EntryId, ...]
    what: Words

    @model_validator(mode="after")
    def _ordered(self) -> Skill:
        _range(*self.slope, "slope")
        return self


class SlopeClass(_Part):
    """A word for a range of degrees."""

    id: EntryId
    deg: tuple[Degrees, Degrees]


class Snow(_Part):
    """A kind of snow. edge and speed are places in an order from 1 to 5, not amounts: never added or averaged."""

    id: EntryId
    edge: Annotated[int, Strict(), Field(ge=1, le=5)]
    speed: Annotated[int, Strict(), Field(ge=1, le=5)]
    note: Words


class Vocabulary(_Part):
    """Words for ground, line, snow, light, wind, formation and the phases of a turn (`vocab.yaml`)."""

    slope_classes: tuple[SlopeClass, ...]
    terrain_features: tuple[Words, ...]
    line_terms: tuple[Words, ...]
    snow: tuple[Snow, ...]
    visibility: tuple[Words, ...]
    wind: tuple[Words, ...]
    formation: dict[EntryId, Words]
    turn_phases: tuple[EntryId, ...]

    @cached_property
    def snow_ids(self) -> frozenset[str]:
        """Ids of every kind of snow."""
        return frozenset(snow.id for snow in self.snow)


class FaultFile(_Part):
    """`faults.yaml`."""

    non_technique_roots: tuple[Root, ...]
    faults: tuple[Fault, ...]


class DrillFile(_Part):
    """`drills.yaml`."""

    drills: tuple[Drill, ...]


class SkillFile(_Part):
    """`skills.yaml`."""

    skills: tuple[Skill, ...]


class Catalogue(_Part):
    """All of one activity's files together, with the constants of its readings."""

    faults: tuple[Fault, ...]
    non_technique_roots: tuple[Root, ...]
    drills: tuple[Drill, ...]
    skills: tuple[Skill, ...]
    vocab: Vocabulary
    settings: Settings = Settings()
    measures: tuple[Measure, ...] = ()

    @model_validator(mode="after")
    def _each_id_once(self) -> Catalogue:
        for what, ids in (
            ("fault or root", [*(fault.id for fault in self.faults), *(root.id for root in self.non_technique_roots)]),
            ("drill", [drill.id for drill in self.drills]),
            ("skill", [skill.id for skill in self.skills]),
            ("snow", [snow.id for snow in self.vocab.snow]),
            ("measure", [measure.id for measure in self.measures]),
        ):
            twice = sorted({name for name in ids if ids.count(name) > 1})
            if twice:
                raise ValueError(f"{what} id given twice: {', '.join(twice)}")
        return self

    @classmethod
    def joined(
        cls,
        faults: FaultFile,
        drills: DrillFile,
        skills: SkillFile,
        vocab: Vocabulary,
        settings: Settings | None = None,
        measures: tuple[Measure, ...] = (),
    ) -> Catalogue:
        """The catalogue of one folder's files. Raises a ValueError (pydantic's) for an id given twice."""
        return cls(
            faults=faults.faults,
            non_technique_roots=faults.non_technique_roots,
            drills=drills.drills,
            skills=skills.skills,
            vocab=vocab,
            settings=settings or Settings(),
            measures=measures,
        )

    @cached_property
    def fault_by_id(self) -> dict[str, Fault]:
        """Faults by id."""
        return {fault.id: fault for fault in self.faults}

    @cached_property
    def root_by_id(self) -> dict[str, Root]:
        """Causes outside technique by id."""
        return {root.id: root for root in self.non_technique_roots}

    @cached_property
    def drill_by_id(self) -> dict[str, Drill]:
        """Drills by id."""
        return {drill.id: drill for drill in self.drills}

    @cached_property
    def skill_by_id(self) -> dict[str, Skill]:
        """Skills by id."""
        return {skill.id: skill for skill in self.skills}

    @cached_property
    def measure_by_id(self) -> dict[str, Measure]:
        """Measures by id."""
        return {measure.id: measure for measure in self.measures}

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Everything a candidate can name: faults, then causes outside technique, in file order."""
        return (*self.fault_by_id, *self.root_by_id)

    def words(self, name: str) -> str:
        """What a reader sees for a fault or a cause; an id the catalogue does not know, with spaces."""
        entry = self.fault_by_id.get(name) or self.root_by_id.get(name)
        return entry.words if entry else name.replace("-", " ")

    def drill_words(self, drill: str) -> str:
        """What a reader sees for a drill: its name; an id the catalogue does not know, with spaces."""
        entry = self.drill_by_id.get(drill)
        return entry.name if entry else drill.replace("-", " ")
