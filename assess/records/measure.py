"""What can be measured on a learner, and how much it moves without teaching."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict, model_validator

__all__ = ["EntryId", "Measure", "MeasureFile", "RetestLimit"]

Words = Annotated[str, Field(max_length=2000)]
EntryId = Annotated[str, Field(pattern=r"^[A-Za-z0-9-]{1,40}$")]
Number = Annotated[float, Strict(), Field(allow_inf_nan=False)]
Positive = Annotated[float, Strict(), Field(gt=0, allow_inf_nan=False)]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class RetestLimit(_Part):
    """The smallest difference of two run means beyond retest error, from people who were not taught in between.

    ci95: interval of `value`. untaught_change: their mean gain, in the better direction.
    """

    value: Positive
    of: Literal["difference of two run means"]
    turns_per_run: Annotated[int, Strict(), Field(ge=1)]
    retest_pairs: Annotated[int, Strict(), Field(ge=2)]
    ci95: tuple[Number, Number]
    untaught_change: Number

    @model_validator(mode="after")
    def _ordered(self) -> RetestLimit:
        if self.ci95[0] > self.ci95[1]:
            raise ValueError("ci95: the lower end is above the upper end")
        return self


class Measure(_Part):
    """What was measured on the learner, which way is better, and the retest limit."""

    id: EntryId
    better: Literal["lower", "higher"]
    what: Words
    mdc95: RetestLimit

    @property
    def sign(self) -> int:
        """+1 where higher is better, -1 where lower is."""
        return 1 if self.better == "higher" else -1


class MeasureFile(_Part):
    """`measures.yaml` of a catalogue folder; may be left out."""

    measures: tuple[Measure, ...]
