"""What follows from the outcomes: breach findings, decisions, talks, actions to work on, resits."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints

from assess.records.fact import Fact, Hash64, Head, IsoDate, Line, Number, Text
from assess.records.ids import LongId, ShortId
from assess.records.moderation_facts import EntryName, OutcomeWord

__all__ = [
    "Action", "BreachAccount", "BreachFinding", "Decision", "DecisionKind", "Release", "Resit", "Talk",
]  # fmt: skip

DecisionKind = Literal["grant", "refuse", "open", "void", "suspend", "withdraw", "renew"]
Told = Annotated[str, StringConstraints(max_length=200)] | None


class BreachAccount(Fact):
    """The candidate's own account of a reported breach, or that they declined to give one."""

    kind: Literal["breach-account"] = "breach-account"
    must_not: LongId
    declined: bool = False
    account: Text = None


class BreachFinding(Fact):
    """A reported breach is confirmed or not, on the written standard, for the modules it names."""

    signed: ClassVar[bool] = True
    kind: Literal["breach-finding"] = "breach-finding"
    must_not: LongId
    state: Literal["confirmed", "not-confirmed"]
    modules: tuple[LongId, ...]
    reports: tuple[str, ...]
    standard: str
    reason: Text = None


class Decision(Fact):
    """What a named person signed for one module of one candidate; the writer of the ledger is that person.

    outcome, mean, n_sheets, band: what the rules gave (`void`, `suspend`, `withdraw`, `renew` rest on no numbers).
    rubric: the version it rests on, rules included; versions: task -> rubric, where they differ.
    heads: the head of every ledger it rests on; seal: over those heads. result: digest of the whole result, which
    can be worked out again from them. tool: the version of the program that worked it out.
    waiver: why somebody decided who trained or marked the candidate. valid_to: until when a grant is carried.
    """

    always: ClassVar[tuple[str, ...]] = ("module", "decision")
    signed: ClassVar[bool] = True
    kind: Literal["decision"] = "decision"
    module: LongId
    decision: DecisionKind
    outcome: OutcomeWord | None = None
    mean: Told = None
    mean_exact: Told = None
    band: Told = None
    n_sheets: Annotated[int, Field(ge=0)] = 0
    because: tuple[Line, ...] = ()
    rubric: Hash64
    versions: dict[ShortId, Hash64] = Field(default_factory=dict)
    heads: dict[str, Head] = Field(default_factory=dict)
    seal: Hash64
    result: Hash64 | None = None
    tool: Line
    valid_to: IsoDate | None = None
    supersedes: EntryName | None = None
    waiver: Text = None
    reason: Text = None


class Talk(Fact):
    """A talk with the candidate. An interim talk names observations only: no level, no outcome.

    said: the observations told, `T1.C04.A2.d7h2k 3`. words: the candidate's own. copied: a copy was handed over.
    """

    kind: Literal["talk"] = "talk"
    talk: Literal["interim", "result"]
    minutes: Annotated[int, Field(ge=1, le=240)]
    present: tuple[ShortId, ...] = ()
    said: tuple[EntryName, ...] = ()
    copied: bool = False
    text: Text = None
    words: Text = None


class Action(Fact):
    """One thing to train: what it looks like, the evidence it comes from, how it is practised and checked, by when.

    decision: the signed decision it follows from. evidence: observations. drills: of the catalogue.
    """

    kind: Literal["action"] = "action"
    decision: EntryName
    behaviour: Text = None
    criterion: LongId | None = None
    evidence: tuple[EntryName, ...] = ()
    drills: tuple[LongId, ...] = ()
    practice: Text = None
    checked_by: Text = None
    by_when: IsoDate


class Resit(Fact):
    """A module is opened again after a decision: its tasks, its days, how often at most.

    attempt: which try this is. fresh_assessors: at least so many who had no sheet in the module.
    carried: module -> until when its result holds. after: what is asked for first (further training).
    """

    kind: Literal["resit"] = "resit"
    module: LongId
    decision: EntryName
    tasks: tuple[ShortId, ...]
    opens: IsoDate
    closes: IsoDate
    attempt: Number = 2
    max_tries: Number
    fresh_assessors: Number = 1
    carried: dict[LongId, IsoDate] = Field(default_factory=dict)
    reason: Text = None


class Release(Fact):
    """The director lets assessors, or candidates, see module outcomes; an empty list means all."""

    kind: Literal["release"] = "release"
    to: Literal["assessors", "candidates"]
    modules: tuple[LongId, ...] = ()
    candidates: tuple[ShortId, ...] = ()
    reason: Text = None
