"""Names and numbers as they stand in sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from assess.records.times import wall_text

__all__ = ["counted", "half_days", "listed", "reasons"]

_MOST = 12


def listed(names: Sequence[str], joint: str = "and") -> str:
    """`A1, A2 and A3`; nobody for none; a long list is cut and counted."""
    if not names:
        return "nobody"
    if len(names) > _MOST:
        return f"{', '.join(names[:_MOST])} and {len(names) - _MOST} more"
    return f" {joint} ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def counted(n: int, word: str) -> str:
    """`1 pair`, `2 pairs`."""
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


def reasons(why: Mapping[str, str]) -> str:
    """` (A1: trained this candidate; A3: licence ends 2026-01-31)`; nothing for nobody."""
    return f" ({'; '.join(f'{who}: {text}' for who, text in why.items())})" if why else ""


def half_days(light: Sequence[tuple[int, int]]) -> str:
    """`09:00-12:00 and 13:00-15:30`."""
    return listed([f"{wall_text(start)}-{wall_text(end)}" for start, end in light])
