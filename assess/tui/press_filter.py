"""A key held with a thick glove, or one that bounces, counts once. Pure: times in, rulings out."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

__all__ = ["BURST_MS", "PressFilter", "Ruling", "Verdict"]

BURST_MS = 60.0  # events of one key no further apart than this are one burst
# A keyboard's own repeat starts 250-600 ms after the press; the margins are for slow and quick settings.
REPEAT_FROM_MS, REPEAT_TO_MS = 180.0, 700.0


class Verdict(StrEnum):
    """What is to be done about a key event."""

    COUNT = "count"  # a press: do it
    SHOW = "show"  # perhaps a press, perhaps the first repeat of a held key: show it, write nothing yet
    KEEP = "keep"  # what was shown is a press after all: write it
    TAKE_BACK = "take back"  # what was shown was a repeat: show the state before it


@dataclass(frozen=True)
class Ruling:
    """A verdict and the key it is about."""

    verdict: Verdict
    key: str


@dataclass
class PressFilter:
    """Rules on key events by their own times.

    Same-key events at most 60 ms apart form a burst; a burst and the press that began it (a
    keyboard's repeat starts 250-600 ms later) are one press. An event that could be the first
    repeat is shown at once and ruled on 60 ms later, or sooner when another key comes.
    """

    _key: str = ""
    _last_ms: float = field(default=-1e12)
    _held: bool = False
    _pending_ms: float | None = None

    @property
    def pending(self) -> str | None:
        """The key that is shown and not yet ruled on, or None."""
        return self._key if self._pending_ms is not None else None

    def press(self, key: str, at_ms: float, *, free: bool = False) -> tuple[Ruling, ...]:
        """Rule on an event of `key` at `at_ms`. `free`: a key that may repeat, such as an arrow."""
        before = self._kept() if free or key != self._key else ()
        gap = at_ms - self._last_ms
        fresh = free or key != self._key
        self._key, self._last_ms = key, at_ms
        if fresh:
            self._held = False
            return (*before, Ruling(Verdict.COUNT, key))
        if gap <= BURST_MS:
            return self._taken_back()
        before = self._kept()
        if gap <= REPEAT_TO_MS and (self._held or gap >= REPEAT_FROM_MS):
            self._pending_ms = at_ms
            return (*before, Ruling(Verdict.SHOW, key))
        return (*before, Ruling(Verdict.COUNT, key))

    def settle(self, now_ms: float) -> tuple[Ruling, ...]:
        """Rule on what is shown when no further event came within 60 ms of it."""
        if self._pending_ms is not None and now_ms - self._pending_ms > BURST_MS:
            return self._kept()
        return ()

    def finish(self) -> tuple[Ruling, ...]:
        """Rule on what is shown at once: the window is being left."""
        return self._kept()

    def _kept(self) -> tuple[Ruling, ...]:
        if self._pending_ms is None:
            return ()
        self._pending_ms, self._held = None, False
        return (Ruling(Verdict.KEEP, self._key),)

    def _taken_back(self) -> tuple[Ruling, ...]:
        if self._pending_ms is None:
            return ()
        self._pending_ms, self._held = None, True
        return (Ruling(Verdict.TAKE_BACK, self._key),)
