"""The scores of a course as a table: locked sheets only, and of those only what this person may read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.desk.score_table import COLUMNS, csv_text

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.marking.results import Mark
    from assess.records.course import Allocation

__all__ = ["ScoreExport", "export_scores", "write_export"]


@dataclass(frozen=True)
class ScoreExport:
    """Score rows day by day in the order of the allocation, then assessor and criterion; every cell is text.

    open_slots: slots left out because not all their sheets are locked, or they are not released to this person.
    """

    course: str
    rows: tuple[dict[str, str], ...]
    open_slots: tuple[tuple[str, str], ...]

    def as_csv(self) -> str:
        """The rows as a CSV text that `assess import` reads back."""
        return csv_text(self.rows)

    def as_json(self) -> dict[str, Any]:
        """The rows as a document; `score` is a number where there is one, else null."""
        return {
            "course": self.course,
            "scores": [
                {
                    **{column: row[column] for column in COLUMNS},
                    "day": int(row["day"]),
                    "order": int(row["order"]),
                    "score": _number(row["score"]),
                }
                for row in self.rows
            ],
            "left_out": [{"task": task, "candidate": candidate} for task, candidate in self.open_slots],
        }


def _number(text: str) -> int | float | None:
    if not text:
        return None
    return float(text) if "." in text else int(text)


def export_scores(desk: Desk) -> ScoreExport:
    """The scores of every locked sheet this person may read; a marker's own sheet too, once it is locked."""
    rows: list[dict[str, str]] = []
    left_out = []
    for slot in sorted(desk.course.allocation, key=lambda slot: _day(desk, slot)):
        if not all(_readable(desk, slot, who) for who in desk.markers(slot.task, slot.candidate)):
            left_out.append((slot.task, slot.candidate))
        rows += _rows(desk, slot)
    return ScoreExport(desk.course.id, tuple(rows), tuple(left_out))


def write_export(content: str, out: Path) -> None:
    """Write an export to a file that is not there yet.

    Raises Refusal when something stands there (it might be a record), StorageTrouble when it cannot be written.
    """
    from assess.desk.new_file import write_new

    write_new(out, content.encode("utf-8"))


def _day(desk: Desk, slot: Allocation) -> int:
    task = desk.course.task(slot.task)
    return slot.day or (task.day if task else 0)


def _readable(desk: Desk, slot: Allocation, who: str) -> bool:
    return desk.locked(slot.task, slot.candidate, who) and desk.sight.sheet(slot.task, slot.candidate, who)


def _rows(desk: Desk, slot: Allocation) -> Iterator[dict[str, str]]:
    pin = desk.course.pin(slot.task)
    for who in sorted(desk.markers(slot.task, slot.candidate)):
        if not _readable(desk, slot, who):
            continue
        for mark in desk.folded(slot.task, slot.candidate, who).marks:
            yield {
                "day": str(_day(desk, slot)),
                "task": slot.task,
                "order": str(slot.order),
                "candidate": slot.candidate,
                "assessor": who,
                "criterion": mark.criterion,
                "score": _level(mark),
                "status": _status(mark),
                "rubric": pin.rubric if pin else "",
            }


def _level(mark: Mark) -> str:
    if mark.status != "scored" or mark.level is None:
        return ""
    whole, rest = divmod(mark.level, 1)
    # The median of two runs may lie halfway between two levels, and nowhere else.
    return f"{whole}.5" if rest else str(whole)


def _status(mark: Mark) -> str:
    """The status as a score table has it: `absent...` and `ended...` are kinds of not observed."""
    if mark.status != "not-observed" or not mark.why:
        return mark.status
    return mark.why if mark.why.split("-")[0] in ("absent", "ended") else f"not-observed-{mark.why}"
