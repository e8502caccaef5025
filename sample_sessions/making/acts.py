"""One thing a person does: when, in which record, what."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from assess.records.facts import SomeFact
from assess.records.ledger import Header, HeaderKind
from assess.records.times import instant, local_date
from assess.store.live import LiveLedger
from making.source import told

__all__ = ["Act", "Later", "Numbers", "on_sheet", "pin_of", "sheet_name"]

Numbers = Mapping[str, tuple[int, ...]]
"""What was written under a label so far: the numbers of those entries."""
Later = Callable[[LiveLedger, Numbers], SomeFact]
"""A fact that needs the ledger it goes into or the numbers of entries before it."""
COURSE = "K-2026-01"


@dataclass(frozen=True)
class Act:
    """An entry to be written.

    about: task and candidate of a sheet, the candidate of a decision, nothing for a day.
    label: under which later acts find the number of this entry.
    """

    at_ms: int
    who: str
    kind: HeaderKind
    about: tuple[str, ...]
    fact: SomeFact | Later
    label: str = ""

    def header(self, digests: Mapping[str, str]) -> Header:
        """The header of the ledger this act opens or goes on with."""
        task, candidate = self.about if self.kind == "sheet" else (None, self.about[0] if self.about else None)
        sheet = self.kind == "sheet"
        return Header(
            kind=self.kind,
            course=COURSE,
            task=task,
            candidate=candidate,
            assessor=self.who if sheet else None,
            by=None if sheet else self.who,
            date=local_date(instant(self.at_ms)) if self.kind == "day" else None,
            rubric=f"sha256:{digests[pin_of(task)]}" if task else None,
            device=told("on-the-hill")["devices"][self.who],
            opened=instant(self.at_ms),
        )


def pin_of(task: str) -> str:
    """The id of the rubric in force for a task."""
    course = told("course-plan")
    found = next(item for item in course["tasks"] if item["id"] == task)
    pins = [pin for pin in course["rubrics"] if pin["area"] == found["area"] and pin["from_day"] <= found["day"]]
    return str(max(pins, key=lambda pin: int(pin["from_day"]))["rubric"])


def on_sheet(
    at_ms: int,
    slot: tuple[str, str],
    who: str,
    fact: SomeFact | Later,
    label: str = "",
) -> Act:
    """An act on a sheet; labels are kept apart by sheet."""
    return Act(at_ms, who, "sheet", slot, fact, f"{slot[0]}.{slot[1]}.{who}.{label}" if label else "")


def sheet_name(task: str, candidate: str, who: str) -> str:
    """The name of a sheet's ledger."""
    return f"{task}.{candidate}.{who}.{told('on-the-hill')['devices'][who]}"
