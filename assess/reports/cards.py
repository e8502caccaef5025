"""What a paper card says, before it is a page: frozen values without a mark in them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Card", "CardCriterion", "CardPart", "CardPerson", "CardSet", "CardSize"]

CardSize = Literal["a6", "a5"]


@dataclass(frozen=True, slots=True)
class CardPerson:
    """A candidate as told on the hill: bib, the further mark (`red jacket`), name."""

    bib: int
    mark: str
    name: str


@dataclass(frozen=True, slots=True)
class CardCriterion:
    """A box of a card: its label and what each level looks like."""

    label: str
    levels: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class CardPart:
    """A part of a card with its rows. `head`: the part begins here, else it goes on from the card before.

    kind: `run` a line per candidate, `times`, `marks` a line per criterion of a lesson, `drills`, `safety`, `notes`,
    `levels` what the levels look like. rows: the words in front of each line; of `drills` and `notes` empty lines.
    """

    kind: Literal["run", "times", "marks", "drills", "safety", "notes", "levels"]
    rows: tuple[str, ...] = ()
    people: tuple[CardPerson, ...] = ()
    criteria: tuple[CardCriterion, ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """One card.

    number: the five digits by which it is typed in; empty on a card that only explains. sheet: the id of what it
    stands for. place, of: which card of how many. run, runs: which run of how many, 0 the overall mark.
    """

    number: str
    sheet: str
    code: str
    task: str
    title: str
    ground: str
    marker: str
    place: int
    of: int
    parts: tuple[CardPart, ...]
    run: int = 1
    runs: int = 1
    person: CardPerson | None = None
    shadow: bool = False


@dataclass(frozen=True, slots=True)
class CardSet:
    """All cards of one assessor. lowest, highest: the scale. dated: the first day they are for."""

    course: str
    title: str
    marker: str
    dated: str
    size: CardSize
    lowest: int
    highest: int
    cards: tuple[Card, ...]
