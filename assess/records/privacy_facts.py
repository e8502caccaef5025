"""What is written down when somebody's data is erased, and when two ids turn out to be one person."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from assess.records.fact import Code, Fact, Head, Text
from assess.records.ids import ShortId

__all__ = ["Erasure", "SamePerson"]


class Erasure(Fact):
    """The director erased what is kept about a person; their id stays as a pseudonym.

    entries: record (as heads name it) -> the heads of the entries whose free text went; a copy of such an entry that
    comes in later loses its text too. although: what stood against it and was set aside (`open-case`, `kept-until`).
    """

    signed: ClassVar[bool] = True
    kind: Literal["erasure"] = "erasure"
    person: ShortId
    role: Literal["candidate", "assessor", "director", "reviewer", "learner"]
    entries: dict[str, tuple[Head, ...]] = Field(default_factory=dict)
    although: tuple[Code, ...] = ()
    reason: Text = None


class SamePerson(Fact):
    """A candidate was entered twice: `candidate` is the same person as `same_as`, under whose id they go on."""

    kind: Literal["same-person"] = "same-person"
    candidate: ShortId
    same_as: ShortId
    reason: Text = None
