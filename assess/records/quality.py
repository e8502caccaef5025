"""When a body looks at its own marking, what it found and did, how its pass lines were set; and its groups file.

`quality.yaml` stands beside the courses it covers, or in one course folder. `groups.yaml` is kept apart from
everything else: it holds what candidates told of themselves of their own will, and no assessor is shown anything of it.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from assess.records.course import IsoDate, Line
from assess.records.ids import LongId, is_short_id
from assess.records.rubric import Exact

__all__ = [
    "CorrectiveAction", "GroupedPerson", "Groups", "Overdue", "PassLineRecord", "QualityFile", "QualityReview",
    "Threat", "months_after",
]  # fmt: skip

FIRST_YEAR, LAST_YEAR = 1900, 2199
Words = Annotated[str, Field(max_length=2000)]
Folder = Annotated[str, Field(pattern=r"^(\.|[A-Za-z0-9][A-Za-z0-9._ -]{0,79})$")]
"""`.` or the name of a folder beside the file: never a path that leads elsewhere."""
Label = Annotated[str, Field(min_length=1, max_length=60)]


def _real(text: str) -> str:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"the calendar has no day {text}") from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(f"write a day of the years {FIRST_YEAR} to {LAST_YEAR}")
    return text


def _attempt(text: str) -> str:
    course, slash, candidate = text.partition("/")
    if not slash or not is_short_id(course) or not is_short_id(candidate):
        raise ValueError("write a course and a candidate of it, like K-2026-01/C04")
    return text


def _some(items: tuple[str, ...]) -> tuple[str, ...]:
    if not items:
        raise ValueError("name at least one")
    return items


# Not pydantic's own shortest length: that also counts items which were refused, and would be told beside them.
SomeOf = (AfterValidator(_some), Field(json_schema_extra={"minItems": 1}))
Day = Annotated[
    IsoDate,
    AfterValidator(_real),
    Field(json_schema_extra={"format": "date", "pattern": r"^(19|20|21)\d{2}-\d{2}-\d{2}$"}),
]
Attempt = Annotated[
    str,
    Field(max_length=33),
    AfterValidator(_attempt),
    Field(json_schema_extra={"pattern": "^[A-Za-z0-9-]{1,16}/[A-Za-z0-9-]{1,16}$"}),
]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


@dataclass(frozen=True, slots=True, order=True)
class Overdue:
    """Something that was due on a day that is over. about: which one, where there may be several."""

    since: date
    what: str
    about: str = ""

    def __str__(self) -> str:
        return f"{self.what} overdue since {self.since.isoformat()}" + (f": {self.about}" if self.about else "")


class CorrectiveAction(_Part):
    """What is to be done about a finding, by whom, by when; `done`: the day it was."""

    what: Line
    who: Line = ""
    due: Day
    done: Day | None = None


class QualityReview(_Part):
    """One quality report as it was read: when, by whom, what it showed and what follows from it."""

    on: Day
    by: Line
    found: Words
    actions: tuple[CorrectiveAction, ...] = ()


class PassLineRecord(_Part):
    """How the pass line of a rubric was set.

    rubric, line: which line; sha256: of the very file, if it was written down. method: in words, such as "borderline
    regression". panel: who judged, as ids or roles, never names. days, rounds: of the judging. spread: standard
    deviation of the judges' lines in the last round, in levels. final: why this line and not the judges' mean.
    """

    rubric: LongId
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] | None = None
    line: Exact
    method: Words
    panel: Annotated[tuple[Line, ...], *SomeOf]
    days: Annotated[tuple[Day, ...], *SomeOf]
    rounds: Annotated[int, Field(ge=1, le=20)]
    spread: Exact | None = None
    final: Words = ""
    approved_by: Line
    approved_on: Day


class Threat(_Part):
    """Something that can bend judgement, and what was done about it; open until `treated`.

    kind: the familiar sorts, so that a report can count them. review: when it is looked at again.
    """

    kind: Literal["self-interest", "familiarity", "trained-by", "relative", "employer", "pressure", "other"]
    text: Words
    found: Day
    by: Line = ""
    treatment: Words = ""
    treated: Day | None = None
    review: Day | None = None


class QualityFile(_Part):
    """`quality.yaml`: which courses are looked at together, how often, and what came of it.

    courses: folders beside the file, `.` for its own, or all of them. first_due: the day the first report is due;
    after a report, that day and `interval_months`. law: the rules about equal treatment that hold where the body works.
    """

    courses: Literal["all"] | Annotated[tuple[Folder, ...], *SomeOf] = "all"
    interval_months: Annotated[int, Field(ge=1, le=120)]
    first_due: Day
    reviews: tuple[QualityReview, ...] = ()
    pass_lines: tuple[PassLineRecord, ...] = ()
    threats: tuple[Threat, ...] = ()
    law: Words = ""

    def covers(self, folder: str) -> bool:
        """True when the course in this folder beside the file (`.`: the file's own) is looked at."""
        return self.courses == "all" or folder in self.courses

    @property
    def last(self) -> QualityReview | None:
        """The latest report; None before the first."""
        return max(self.reviews, key=lambda review: review.on, default=None)

    @property
    def due(self) -> date:
        """The day by which the next report is to be done."""
        if self.last is None:
            return date.fromisoformat(self.first_due)
        return months_after(date.fromisoformat(self.last.on), self.interval_months)

    def overdue(self, today: date) -> tuple[Overdue, ...]:
        """Everything that is late on this day, the longest late first. What is due today is not late."""
        return tuple(sorted(item for item in self._dated() if item.since < today))

    def _dated(self) -> Iterator[Overdue]:
        yield Overdue(self.due, "quality report")
        for review in self.reviews:
            for action in review.actions:
                if action.done is None:
                    who = f" ({action.who})" if action.who else ""
                    yield Overdue(date.fromisoformat(action.due), "corrective action", f"{action.what}{who}")
        for threat in self.open_threats:
            if threat.review is not None:
                about = f"{threat.kind}, {threat.text}"
                yield Overdue(date.fromisoformat(threat.review), "review of a threat to impartiality", about)

    @property
    def open_threats(self) -> tuple[Threat, ...]:
        """The threats to impartiality that are not treated yet, in the order of the file."""
        return tuple(threat for threat in self.threats if threat.treated is None)


class GroupedPerson(_Part):
    """What one person told of themselves. attempts: as whom they were assessed, `course/candidate`.

    id: of this file alone; groups: the grouping, such as `first-language`, and the label the person chose.
    """

    id: LongId
    attempts: Annotated[tuple[Attempt, ...], *SomeOf]
    groups: dict[LongId, Label]


class Groups(_Part):
    """`groups.yaml`: voluntarily given group data. asked: how it was asked for, and that it could be left out."""

    asked: Words
    persons: tuple[GroupedPerson, ...]


def months_after(day: date, months: int) -> date:
    """The same day of the month so many months later; the last of the month where that has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
