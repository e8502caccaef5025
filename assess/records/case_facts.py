"""An appeal or a complaint from the day it came in to the day it is closed."""

from __future__ import annotations

from typing import ClassVar, Literal

from assess.records.fact import Fact, Hash64, IsoDate, Line, Text
from assess.records.ids import LongId, ShortId
from assess.records.moderation_facts import EntryName

__all__ = ["CaseAcknowledged", "CaseChecked", "CaseClosed", "CaseFinding", "CaseOpened", "CaseReviewer"]


class CaseOpened(Fact):
    """It came in: about which module and decision, on which grounds, and what is claimed, in the person's words.

    received: the day it came in; the clocks run from it.
    """

    always: ClassVar[tuple[str, ...]] = ("about",)
    kind: Literal["case-opened"] = "case-opened"
    about: Literal["appeal", "complaint"]
    module: LongId | None = None
    decision: EntryName | None = None
    grounds: tuple[Literal["procedure", "evidence", "conflict", "calculation"], ...] = ()
    received: IsoDate
    claim: Text = None


class CaseAcknowledged(Fact):
    """The person was told that it came in, what happens next and until when."""

    kind: Literal["case-acknowledged"] = "case-acknowledged"
    on: IsoDate
    text: Text = None


class CaseReviewer(Fact):
    """Who looks at it: somebody from outside the course, who marked, trained, decided and moderated nothing of it."""

    kind: Literal["case-reviewer"] = "case-reviewer"
    reviewer: ShortId
    reason: Text = None


class CaseChecked(Fact):
    """One claim held against the record: what was looked at and what it says."""

    kind: Literal["case-checked"] = "case-checked"
    looked_at: tuple[Line, ...] = ()
    late: tuple[Hash64, ...] = ()
    text: Text = None


class CaseFinding(Fact):
    """What the reviewer found, and what is done about it."""

    signed: ClassVar[bool] = True
    kind: Literal["case-finding"] = "case-finding"
    result: Literal["upheld", "partly", "rejected", "not-admissible"]
    reviewer: ShortId
    finding: Text = None
    remedy: Text = None


class CaseClosed(Fact):
    """The person was told the finding; the case is closed. decision: a new one that followed from it."""

    kind: Literal["case-closed"] = "case-closed"
    on: IsoDate
    decision: EntryName | None = None
    text: Text = None
