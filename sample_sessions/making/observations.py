"""What was seen: the rows of the texts as observations."""

from __future__ import annotations

from typing import Any

from assess.records.facts import Observation
from making.acts import Act, on_sheet
from making.moments import at_clock, minutes, uneven
from making.source import told
from making.viewpoints import viewpoint_in

__all__ = ["observations", "row_time", "rows_of"]


def row_time(when: str, start: int, *of: object) -> int:
    """The instant of a row: minutes after `start`, or `@` and the clock of that day."""
    spread = uneven(0.1, 0.9, *of)
    if when.startswith("@"):
        day = next(n for n in (3, 2, 1) if at_clock(n, "00:00") <= start)
        return at_clock(day, when[1:]) + spread
    return start + minutes(when) + spread


def observations(task: str, candidate: str, who: str, start: int, rows: list[Any], *, lesson: bool) -> list[Act]:
    """The rows of one assessor on one slot; in a lesson each carries the time since `start`."""
    acts = []
    for number, row in enumerate(rows):
        when, marks, text, *more = row
        at = row_time(when, start, task, candidate, who, number)
        since = at - start if lesson else None
        fact = _observation(marks, text, more[0] if more else {}, viewpoint_in(task, candidate, who), since)
        acts.append(on_sheet(at, (task, candidate), who, fact))
    return acts


def _observation(
    marks: str, text: str, more: dict[str, Any], viewpoint: str | None, minute_ms: int | None
) -> Observation:
    signs = marks.split()
    criteria = tuple(sign.lstrip("+-") for sign in signs)
    direction = {"+": "for", "-": "against"}.get(signs[0][0]) if signs else None
    said = {"text": text or None, "criteria": criteria, "direction": direction, "viewpoint": viewpoint, **more}
    said |= {"minute_ms": minute_ms}
    return Observation.model_validate({key: value for key, value in said.items() if value not in (None, ())})


def rows_of(name: str, candidate: str, who: str) -> list[Any]:
    """The rows of one assessor on one candidate in one of the texts; none when nothing was noted."""
    return list(told(name).get(candidate, {}).get(who, []))
