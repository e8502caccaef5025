"""A film that needs no player."""

from __future__ import annotations

__all__ = ["ToyFilm"]


class ToyFilm:
    """Stands in for mpv: a film of 20 minutes that says whether it runs, and what it was told."""

    pid, gone, length_ms = 1, False, 1_200_000

    def __init__(self) -> None:
        self.position_ms, self.paused = 0, True
        self.looped: list[tuple[int | None, int | None]] = []
        self.factor = 1.0

    def seek(self, ms: int) -> None:
        self.position_ms = ms

    def pause(self, on: bool = True) -> None:
        self.paused = on

    def speed(self, factor: float) -> None:
        self.factor = factor

    def step(self, frames: int = 1) -> None:
        self.position_ms, self.paused = self.position_ms + 33 * frames, True

    def loop(self, start_ms: int | None, end_ms: int | None = None) -> None:
        self.looped.append((start_ms, end_ms))

    def close(self) -> None:
        """Nothing to end."""
