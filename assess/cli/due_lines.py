"""What is kept about people and what is due, as lines and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assess.desk.retention_due import CourseDue, Kept

__all__ = ["due_json", "due_lines"]


def due_lines(path: str, found: CourseDue) -> Iterator[str]:
    """The course, then each kind of thing with its day; what is due says so first."""
    yield f"{path}: {found.title} ({found.course})"
    if not found.kept:
        yield "  nothing about people is kept in it any more"
    for each in found.kept:
        yield f"  {_when(each)}: {each.what} of {', '.join(each.who)}"
        if each.due:
            yield f"    {each.todo}"
        yield from (f"    held: {who}: {why}" for who, why in each.held)


def _when(each: Kept) -> str:
    days = abs(each.days)
    told = f"{days} day{'' if days == 1 else 's'}"
    if each.days >= 0:
        return f"kept until {each.until}, {told} from today" if days else f"kept until {each.until}, today"
    return f"{'DUE' if each.due else 'held'}, kept until {each.until}, {told} ago"


def due_json(path: str, found: CourseDue) -> dict[str, Any]:
    """The same as one document."""
    return {
        "path": path,
        "course": found.course,
        "due": found.due,
        "kept": [
            {
                "what": each.what,
                "who": list(each.who),
                "until": each.until.isoformat(),
                "days": each.days,
                "due": each.due,
                "held": [{"who": who, "why": why} for who, why in each.held],
            }
            for each in found.kept
        ],
    }
