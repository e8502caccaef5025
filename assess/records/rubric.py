"""A rubric: everything a person writes down about how an award is marked and decided.

Decimal numbers stand in quotes in the file and are read as exact fractions; the keys are
those of the rubric file, their meaning is in the project's rule book (DEVELOPERS.md, "Rules").
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer

from assess.records.fact import Code, Viewpoint
from assess.records.ids import LongId, ShortId, base_task

__all__ = [
    "Area", "Band", "BreachRule", "Criterion", "Evidence", "Exact", "MinimumEvidence", "MinimumValue", "Module",
    "MustNot", "Question", "Resit", "Rubric", "SafetyListItem", "Scale", "SheetError", "Task", "Terrain",
    "ThirdLookRule", "TwoMarkers",
]  # fmt: skip

_DECIMAL = re.compile(r"^-?\d{1,6}(\.\d{1,6})?$")


def _exact(value: Any) -> Fraction:
    if isinstance(value, Fraction):
        return value
    if isinstance(value, bool) or not isinstance(value, str | int):
        raise ValueError('write the number in quotes, like "3.5"')
    if not _DECIMAL.match(str(value)):
        raise ValueError('not a decimal number in quotes, like "3.5"')
    return Fraction(str(value))


def _decimal_text(value: Fraction) -> str:
    digits = f"{float(value):.6f}".rstrip("0").rstrip(".")
    return digits if Fraction(digits) == value else str(value)


_DecimalText = Annotated[str, Field(pattern=_DECIMAL.pattern)]
_WholeNumber = Annotated[int, Field(ge=-999_999, le=999_999)]
Exact = Annotated[
    Fraction,
    BeforeValidator(_exact, json_schema_input_type=_DecimalText | _WholeNumber),
    PlainSerializer(_decimal_text, return_type=str),
]
Sentence = Annotated[str, Field(max_length=2000)]
Label = Annotated[str, Field(max_length=120)]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Scale(_Part):
    """Whole levels from min to max, the pass line between two of them, and a sentence per level."""

    min: int
    max: int
    pass_line: Exact
    words: dict[int, Sentence]

    @property
    def levels(self) -> range:
        """Every level, lowest first."""
        return range(self.min, self.max + 1)


class Area(_Part):
    """Demonstration, teaching, safety: what is pinned and marked as one."""

    title: Label


class Module(_Part):
    """The part of the award that passes or not as one: the tasks of an area it counts."""

    area: LongId
    tasks: tuple[ShortId, ...]
    title: Label = ""


class Terrain(_Part):
    """Where a task is done: slope in degrees from-to, snow, what else must be there."""

    slope_deg: tuple[int, int] | None = None
    snow: tuple[Label, ...] = ()
    features: tuple[Label, ...] = ()


class Task(_Part):
    """One thing every candidate does. `lesson` tells a teaching session (marked on the lesson sheet)."""

    area: LongId
    title: Label
    minutes: Annotated[int, Field(ge=1, le=600)]
    criteria: tuple[LongId, ...]
    lesson: bool = False
    learners: Annotated[int, Field(ge=0, le=20)] = 0
    terrain: Terrain | None = None
    plan_b: Sentence = ""


class Criterion(_Part):
    """What is judged: a short label for columns, the question, a sentence of visible behaviour per level."""

    area: LongId
    label: Annotated[str, Field(max_length=24)]
    text: Sentence
    levels: dict[int, Sentence]
    observable_from: tuple[Viewpoint, ...] = ()


class Evidence(_Part):
    """Which levels cannot be locked without an observation: below a value, and these besides."""

    below: Exact | None = None
    also: tuple[int, ...] = ()


class MinimumValue(_Part):
    """No task-criterion value may be under this one; `inclusive`: the value itself is enough."""

    value: Exact
    over: Literal["task_criterion_mean"] = "task_criterion_mean"
    inclusive: bool = True


class TwoMarkers(_Part):
    """When two sheets of a slot are due for moderation."""

    sheet_apart: Exact
    other_side_of_line: bool = True
    criterion_apart: Annotated[int, Field(ge=1)]


class SheetError(_Part):
    """Marking error of one sheet value in a module, from earlier courses only."""

    value: Exact
    source: Sentence
    date: str = Field(pattern=r"^\d{4}-\d{2}-\d{2}$")
    n_pairs: Annotated[int, Field(ge=0)]
    ci95: tuple[Exact, Exact]


class Band(_Part):
    """The borderline band: z times sheet error over the root of the number of sheets."""

    z: Exact
    sheet_error: dict[LongId, SheetError]


class ThirdLookRule(_Part):
    """How third sheets join: `mean`, or the median where two sheets are more than `median_if_apart` apart."""

    slot_value: Literal["mean"] = "mean"
    median_if_apart: Exact | None = None
    after: Literal["result_stands"] = "result_stands"


class MinimumEvidence(_Part):
    """Least scores, viewpoints and tasks for each criterion of a module; less leaves the module open."""

    scores: Annotated[int, Field(ge=0)] = 1
    viewpoints: Annotated[int, Field(ge=0)] = 0
    tasks: Annotated[int, Field(ge=0)] = 1


class MustNot(_Part):
    """A safety act no number can outweigh, with the modules a confirmed breach closes."""

    id: LongId
    text: Sentence
    closes: tuple[LongId, ...]


class BreachRule(_Part):
    """The standard of proof, and who may not confirm."""

    standard: Sentence
    confirmer_not: tuple[LongId, ...] = ()


class Resit(_Part):
    """When and how a module may be taken again."""

    within_months: Annotated[int, Field(ge=0)]
    max_tries: Annotated[int, Field(ge=0)]
    new_assessors_at_least: Annotated[int, Field(ge=0)] = 1
    carried_months: Annotated[int, Field(ge=0)]


class SafetyListItem(_Part):
    """One line of the safety list of a lesson."""

    id: LongId
    text: Sentence


class Question(_Part):
    """A question to ask after a lesson."""

    id: LongId
    text: Sentence


class Rubric(_Part):
    """One rubric version: scale, areas, modules, tasks, criteria and every rule of the decision."""

    id: LongId
    title: Label
    activity: LongId
    language: Annotated[str, Field(pattern=r"^[a-z]{2}(-[A-Z]{2})?$")]
    replaces: LongId | None = None
    note: Sentence = ""
    scale: Scale
    areas: dict[LongId, Area]
    modules: dict[LongId, Module]
    tasks: dict[ShortId, Task]
    criteria: dict[LongId, Criterion]
    weights: Exact | dict[LongId, Exact] = Fraction(1)
    coverage: Exact
    evidence_needed: Evidence = Evidence()
    rule: Literal["mixed", "compensatory", "conjunctive"] = "mixed"
    minimum: MinimumValue | None = None
    below_line: dict[LongId, Annotated[int, Field(ge=0)]] = Field(default_factory=dict)
    two_markers: TwoMarkers
    band: Band | None = None
    third_look: ThirdLookRule = ThirdLookRule()
    minimum_evidence: MinimumEvidence = MinimumEvidence()
    runs: dict[ShortId, Annotated[int, Field(ge=1, le=9)]] = Field(default_factory=dict)
    passes: dict[ShortId, Literal["last", "median", "best", "overall"]] = Field(default_factory=dict)
    rerun_reasons: tuple[Code, ...] = ("obstructed", "assessor-error", "unsafe-ground")
    must_nots: tuple[MustNot, ...] = ()
    breach: BreachRule | None = None
    resit: Resit | None = None
    safety_list: tuple[SafetyListItem, ...] = ()
    questions: tuple[Question, ...] = ()

    def weight(self, criterion: str) -> Fraction:
        """The weight of a criterion in a sheet value; 1 unless the rubric says otherwise."""
        if isinstance(self.weights, dict):
            return self.weights.get(criterion, Fraction(1))
        return self.weights

    def needs_evidence(self, level: int) -> bool:
        """True when a score at this level cannot be locked without an observation."""
        rule = self.evidence_needed
        return level in rule.also or (rule.below is not None and level < rule.below)

    def modules_of(self, task: str) -> tuple[str, ...]:
        """The modules that count a task, in the rubric's order."""
        return tuple(name for name, module in self.modules.items() if task in module.tasks)

    def fold_of(self, task: str) -> str:
        """How several runs of a performance become one mark; `last` unless said otherwise. `T2-2` is a `T2`."""
        return self.passes.get(base_task(task, set(self.tasks)), "last")

    def runs_of(self, task: str) -> int:
        """How many runs a performance has."""
        return self.runs.get(base_task(task, set(self.tasks)), 1)
