"""The side file of a track or table of turns: how it was measured, in which units, and what the task asks for."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict

from assess.records.errors import InputError, Problem

__all__ = ["StatedPrecision", "TurnsAbout", "turns_about"]

Positive = Annotated[float, Strict(), Field(gt=0, le=1000, allow_inf_nan=False)]
Limit = Annotated[float, Strict(), Field(ge=-100_000, le=100_000, allow_inf_nan=False)]
Text = Annotated[str, Field(min_length=1, max_length=60)]


class StatedPrecision(BaseModel):
    """Standard error of one reading of the method: a switch in s, a place in m, a speed in m/s."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    switch_s: Positive | None = None
    place_m: Positive | None = None
    speed_ms: Positive | None = None


class TurnsAbout(BaseModel):
    """The side file of a track or table of turns; everything may be left out.

    units: by column of the table. targets: by measure, the range the task sets, in the measure's unit.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")
    kind: Literal["carved", "parallel", "drifted", "wedge"] | None = None
    method: Text | None = None
    precision: StatedPrecision = StatedPrecision()
    units: Mapping[Text, Text] = {}
    targets: Mapping[Text, tuple[Limit, Limit]] = {}


def turns_about(path: Path) -> TurnsAbout:
    """What the side file of `path` (same name, ending in `.yaml`) says; nothing when there is none.

    Raises InputError with every problem of it, each with its line.
    """
    from assess.lesson.demonstration import MEASURES
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    side = path.with_suffix(".yaml")
    if side == path or not os.access(side, os.F_OK):
        return TurnsAbout()
    doc = read_yaml(side, shown=str(side), what="lesson")
    about = as_model(doc, TurnsAbout)
    problems = []
    for name, (low, high) in sorted(about.targets.items()):
        if name not in MEASURES:
            what, todo = f"`{name}` is no measure", f"measures are {', '.join(MEASURES)}"
            problems.append(Problem(str(side), doc.line("targets", name), what, todo))
        elif low > high:
            what = f"the range of `{name}` ends below its start"
            problems.append(Problem(str(side), doc.line("targets", name), what, "write [low, high]"))
    if problems:
        raise InputError(problems)
    return about
