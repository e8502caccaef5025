"""What a director signs about an assessor after a calibration round."""

from __future__ import annotations

from typing import ClassVar, Literal

from assess.records.fact import Fact, Hash64, Head, IsoDate, Line, Text
from assess.records.licence import Licence

__all__ = ["CalibrationSigned"]


class CalibrationSigned(Fact):
    """The result of one assessor's round, signed by the director who writes the ledger; `licence` is what follows.

    round_file: digest of `round.yaml`, rule included. heads: the head of every sheet it rests on, the assessor's and
    the panel's; seal: over those heads. day: of the round. tool: the version of the program that worked it out.
    """

    always: ClassVar[tuple[str, ...]] = ("result", "day")
    signed: ClassVar[bool] = True
    kind: Literal["calibration-signed"] = "calibration-signed"
    result: Literal["current", "mark-again", "train"]
    day: IsoDate
    licence: Licence | None = None
    because: tuple[Line, ...] = ()
    round_file: Hash64
    heads: dict[str, Head]
    seal: Hash64
    tool: Line
    reason: Text = None
