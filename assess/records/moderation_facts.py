"""What a moderation writes down, and the third look and the further performance it may ask for."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints

from assess.records.fact import Fact, Hash64, Line, Number, Text
from assess.records.ids import LongId, ShortId

__all__ = [
    "ExtraSlot", "LateEvidence", "LateEvidenceRuling", "Moderated", "Moderation", "RepeatOffer", "ThirdLook",
    "ThirdLookClosed",
]  # fmt: skip

EntryName = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9./-]{1,90} [0-9]{1,9}$")]
"""One entry of one ledger: `moderation/T2.C06.D1.b5nqf 3`."""
Moderation = Literal["keep-both", "agree-value", "third-look", "repeat", "void"]
OutcomeWord = Literal["passed", "not_passed", "third_look", "open", "void"]
Minute = Annotated[str, StringConstraints(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]


class Moderated(Fact):
    """What was agreed on a difference between the markers of a slot; the marks as given stay.

    values: criterion -> agreed level, of `agree-value` alone. present: who agreed, by id; the writer is one of them.
    seals: those of the sheets it rests on. evidence: what lies outside both sheets and was looked at, by its digest.
    together: closed in one act with others that can change no module. supersedes: the moderation it stands in for.
    """

    always: ClassVar[tuple[str, ...]] = ("outcome",)
    signed: ClassVar[bool] = True
    kind: Literal["moderated"] = "moderated"
    outcome: Moderation
    values: dict[LongId, int] = Field(default_factory=dict)
    present: tuple[ShortId, ...] = ()
    seals: dict[ShortId, Hash64] = Field(default_factory=dict)
    evidence: tuple[Hash64, ...] = ()
    together: bool = False
    supersedes: EntryName | None = None
    reason: Text = None


class ThirdLook(Fact):
    """A third marking of one module's performances was ordered; its reach was told first.

    slots: those a third person can see. reach: lowest and highest module mean as printed; outcomes: those possible.
    mixed: clear slots marked along with them, `T1.C03`, so that the marker does not know which are on the line.
    """

    always: ClassVar[tuple[str, ...]] = ("module",)
    kind: Literal["third-look"] = "third-look"
    module: LongId
    slots: tuple[ShortId, ...]
    marker: ShortId
    source: Literal["film", "present"]
    reach: tuple[Line, Line]
    outcomes: tuple[OutcomeWord, ...]
    mixed: tuple[Line, ...] = ()
    reason: Text = None


class ThirdLookClosed(Fact):
    """The third sheets of a module have joined the others; the band is not read again."""

    kind: Literal["third-look-closed"] = "third-look-closed"
    module: LongId
    of: EntryName
    seals: dict[ShortId, Hash64] = Field(default_factory=dict)


class RepeatOffer(Fact):
    """A new performance of a task is offered to every candidate in the band of a module."""

    kind: Literal["repeat-offer"] = "repeat-offer"
    module: LongId
    task: ShortId
    candidates: tuple[ShortId, ...]
    reason: Text = None


class ExtraSlot(Fact):
    """A further performance gets its own slot, `T2-2`: a repeat, a completion or a resit; who marks it.

    offer: the repeat offer it answers.
    """

    kind: Literal["extra-slot"] = "extra-slot"
    task: ShortId
    candidate: ShortId
    assessors: tuple[ShortId, ...]
    why: Literal["repeat", "completion", "resit"]
    order: Number = 1
    offer: EntryName | None = None
    at_wall: Minute | None = None
    reason: Text = None


class LateEvidence(Fact):
    """Something about a performance that came from outside the sheets: its digest, never the thing itself."""

    kind: Literal["late-evidence"] = "late-evidence"
    slot: ShortId
    digest: Hash64
    what: Text = None


class LateEvidenceRuling(Fact):
    """Whether late evidence is admitted, and by which rule."""

    kind: Literal["late-evidence-ruling"] = "late-evidence-ruling"
    digest: Hash64
    admitted: bool
    rule: Line
    reason: Text = None
