"""What a candidate's letter is made from: the signed decisions in plain values, with nobody else's marks in them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = [
    "AppealTold", "BreachTold", "CaseTold", "DrillTold", "Letter", "ModuleTold", "Numbers", "Place", "ResitTold",
    "Strength", "ToTrain", "Where",
]  # fmt: skip

Where = Literal["above", "close", "below", "single"]


@dataclass(frozen=True, slots=True)
class Numbers:
    """The figures a module was decided on, as they are printed.

    n: sheets. band: how uncertain the mean is, None where the rubric does not say. below of values: how many stand
    below the line; allowed: how many may. under: how many stand under the minimum.
    """

    mean: str
    line: str
    n: int
    band: str | None = None
    below: int = 0
    values: int = 0
    allowed: int | None = None
    under: int = 0
    minimum: str | None = None
    below_mean: bool = False


@dataclass(frozen=True, slots=True)
class BreachTold:
    """A confirmed breach: the rule in the rubric's words, the titles of the modules it closes."""

    rule: str
    modules: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ResitTold:
    """Taking a module again. Opened: with its days and tasks; otherwise `closes` is the last day the rules allow."""

    closes: str
    tries: int
    opens: str = ""
    attempt: int = 0
    tasks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ModuleTold:
    """One module as it was signed: decision, day, the name of who signed, and what it rests on.

    marked_near: somebody with a tie to the candidate marked it by a waiver, and it changes nothing. decided_near: who
    signed should not have without a waiver.
    """

    id: str
    title: str
    decision: str
    signed: str
    by: str
    valid_to: str = ""
    numbers: Numbers | None = None
    breach: BreachTold | None = None
    open_tasks: tuple[str, ...] = ()
    third_look: bool = False
    resit: ResitTold | None = None
    reason: str = ""
    marked_near: bool = False
    decided_near: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """Where a criterion of a module stands against the line: mean of `n` marks, all markers and tasks together.

    value: None where one marker alone saw it; then nothing of the level is told.
    """

    module: str
    criterion: str
    value: str | None
    share: float
    n: int
    where: Where


@dataclass(frozen=True, slots=True)
class Strength:
    """Something that went best: the criterion, the descriptor it reached, and a note from the task if there is one."""

    module: str
    criterion: str
    shown: str
    note: str = ""
    task: str = ""


@dataclass(frozen=True, slots=True)
class DrillTold:
    """A drill of the catalogue: its name, what it is for, how to see that it works, what to be careful with."""

    name: str
    purpose: str
    check: str
    care: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ToTrain:
    """One thing to train. Without `behaviour` nobody wrote one down: it is the criterion furthest down alone."""

    module: str
    criterion: str = ""
    shown: str = ""
    following: str = ""
    notes: tuple[str, ...] = ()
    behaviour: str = ""
    practice: str = ""
    drills: tuple[DrillTold, ...] = ()
    checked_by: str = ""
    by_when: str = ""


@dataclass(frozen=True, slots=True)
class AppealTold:
    """Until when an appeal may be filed against what, and the clocks that run then, in days."""

    modules: tuple[str, ...]
    last_day: str
    days: int
    acknowledge: int
    find: int


@dataclass(frozen=True, slots=True)
class CaseTold:
    """An appeal or complaint of the candidate as it stands; result: empty while nothing was found."""

    about: Literal["appeal", "complaint"]
    module: str
    received: str
    result: str = ""
    closed: str = ""
    until: str = ""


@dataclass(frozen=True, slots=True)
class Letter:
    """All of one letter. dated: the newest day of the record it is made from. scale: lowest level, line, highest.

    written_in: the language of the rubric. waiting: titles of modules there is nothing to tell of yet.
    """

    candidate: str
    name: str
    course: str
    days: tuple[str, str]
    place: str
    dated: str
    modules: tuple[ModuleTold, ...]
    scale: tuple[float, float, float]
    written_in: str
    strengths: tuple[Strength, ...] = ()
    to_train: tuple[ToTrain, ...] = ()
    places: tuple[Place, ...] = ()
    waiting: tuple[str, ...] = ()
    appeals: tuple[AppealTold, ...] = ()
    cases: tuple[CaseTold, ...] = ()
