"""The scores of a course as a table: locked sheets only, and of those only what this person may read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.desk.later_ledgers import need_outcomes
from assess.desk.score_table import COLUMNS, csv_text
from assess.records.audience import AUDIENCES, Audience
from assess.records.errors import Refusal, UsageError
from assess.records.ids import base_task

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.marking.results import Mark
    from assess.records.course import Allocation

__all__ = ["ScoreExport", "export_scores", "is_readable", "may_hand_out", "write_export"]


@dataclass(frozen=True)
class ScoreExport:
    """Score rows day by day in the order of the allocation, then assessor and criterion; every cell is text.

    audience: whom it is for, which every row says. open_slots: slots left out because not all their sheets are
    locked, or they are not released to this person.
    """

    course: str
    rows: tuple[dict[str, str], ...]
    open_slots: tuple[tuple[str, str], ...]
    audience: Audience = "panel"

    def as_csv(self, *, raw: bool = False) -> str:
        """The rows as a CSV text that `assess import` reads back; raw: no cell guarded, for programs."""
        return csv_text(self.rows, self.audience, raw=raw)

    def as_json(self) -> dict[str, Any]:
        """The rows as a document; `score` is a number where there is one, else null."""
        return {
            "course": self.course,
            "audience": self.audience,
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


def export_scores(desk: Desk, audience: Audience = "panel", about: str | None = None) -> ScoreExport:
    """The scores of every locked sheet this person may read; a marker's own sheet too, once it is locked.

    For a candidate (`about`): their own rows of what is released to candidates, markers by number. For research: what
    everybody has locked. Both are made by a director: Refusal for anybody else. Raises UsageError for a candidate the
    course does not have, or none where one is needed.
    """
    need_outcomes(desk)
    if audience != "panel":
        may_hand_out(desk, audience)
    if (audience == "candidate") != (about is not None) or (about and about not in desk.course.candidates):
        raise UsageError(
            f"{about} is no candidate of this course" if about else "for which candidate?",
            todo="name one with --about, and only with --for candidate",
        )
    rows: list[dict[str, str]] = []
    left_out = []
    slots = [slot for slot in desk.course.allocation if about in (None, slot.candidate)]
    for slot in sorted(slots, key=lambda slot: _day(desk, slot)):
        whole = all(
            is_readable(desk, slot.task, slot.candidate, who) for who in desk.markers(slot.task, slot.candidate)
        )
        shown = _released(desk, slot) if about else whole or audience == "panel"
        if not (whole and shown):
            left_out.append((slot.task, slot.candidate))
        rows += _rows(desk, slot) if shown else ()
    if about:
        rows = _markers_numbered(rows)
    return ScoreExport(desk.course.id, tuple(rows), tuple(left_out), audience)


def may_hand_out(desk: Desk, audience: Audience) -> None:
    """Raise Refusal to anybody but a director."""
    if desk.role != "director":
        raise Refusal(f"only a director makes a table {AUDIENCES[audience]}", todo="say who you are with --as ID")


def _released(desk: Desk, slot: Allocation) -> bool:
    modules = desk.rubric_for(slot.task).modules_of(base_task(slot.task, {task.id for task in desk.course.tasks}))
    return bool(modules) and all(desk.sight.released(module, slot.candidate, to="candidates") for module in modules)


def _markers_numbered(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """Who marked is told by a number of this table alone."""
    numbers = {who: f"marker-{place}" for place, who in enumerate(sorted({row["assessor"] for row in rows}), start=1)}
    return [{**row, "assessor": numbers[row["assessor"]]} for row in rows]


def write_export(content: str, out: Path) -> None:
    """Write an export to a file that is not there yet.

    Raises Refusal when something stands there (it might be a record), StorageTrouble when it cannot be written.
    """
    from assess.desk.new_file import write_new

    write_new(out, content.encode("utf-8"))


def _day(desk: Desk, slot: Allocation) -> int:
    task = desk.course.task(slot.task)
    return slot.day or (task.day if task else 0)


def is_readable(desk: Desk, task: str, candidate: str, who: str) -> bool:
    """True when a sheet is locked and this person may read it."""
    return desk.locked(task, candidate, who) and desk.sight.sheet(task, candidate, who)


def _rows(desk: Desk, slot: Allocation) -> Iterator[dict[str, str]]:
    pin = desk.course.pin(slot.task)
    for who in sorted(desk.markers(slot.task, slot.candidate)):
        if not is_readable(desk, slot.task, slot.candidate, who):
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
