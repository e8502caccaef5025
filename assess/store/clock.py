"""The device's clock, and times that never repeat or go back even when it does."""

from __future__ import annotations

import time

__all__ = ["BEHIND_MS", "Clock", "DeviceTime"]

BEHIND_MS = 2000
"""A clock this far behind the last entry is worth an entry of its own."""


class Clock:
    """The clock of this device."""

    def now_ms(self) -> int:
        """Milliseconds after 1970, as the device believes; may jump either way."""
        return time.time_ns() // 1_000_000

    def monotonic_ms(self) -> int:
        """Milliseconds from some fixed moment; never goes back, not even when somebody sets the clock."""
        return time.monotonic_ns() // 1_000_000


class DeviceTime:
    """Times for the entries of one device: each later than every one given or seen before."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._reached_ms = 0
        self.last_ms = 0

    def seen(self, at_ms: int) -> None:
        """A time already in use on this device; later ones come after it."""
        self.last_ms = max(self.last_ms, at_ms)
        self._reached_ms = max(self._reached_ms, at_ms)

    def behind_ms(self) -> int:
        """How far the clock is behind what it, or a record of this device, said before; at most 0 when it is right.

        Times that run ahead only because many entries came within a millisecond do not count.
        """
        return self._reached_ms - self._clock.now_ms()

    def take(self) -> int:
        """The next time: the clock's, or one millisecond after the last when the clock is not past it."""
        now = self._clock.now_ms()
        self._reached_ms = max(self._reached_ms, now)
        self.last_ms = max(now, self.last_ms + 1)
        return self.last_ms
