"""What a director is reminded of on the board: reports and actions that are late, threats that stand open."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from assess.records.errors import InputError

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.quality import QualityFile

__all__ = ["duties", "duties_of"]


def duties(desk: Desk) -> tuple[str, ...]:
    """The reminders of the quality file that covers this course, for a director; for everybody else nothing."""
    if desk.role != "director":
        return ()
    from assess.store.quality_files import quality_of

    try:
        place = quality_of(desk.folder.root)
    except InputError as trouble:
        file = trouble.problems[0].file
        return (f"{Path(file).name} cannot be used, so nothing is known to be late: see `assess check {file}`",)
    return () if place is None else duties_of(place.quality, date.fromisoformat(desk.today()))


def duties_of(quality: QualityFile, today: date) -> tuple[str, ...]:
    """What is late on this day, the longest late first; then the threats to impartiality nobody has treated."""
    late = [str(item) for item in quality.overdue(today)]
    return (*late, *(f"open threat to impartiality: {threat.kind}, {threat.text}" for threat in quality.open_threats))
