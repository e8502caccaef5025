"""How a ratio is measured: two things in turn, A B A B, medians and the ratio of the medians."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["Measured", "in_turn", "timed"]


@dataclass(frozen=True)
class Measured:
    """One row of the table: ours, the named alternative, seconds (medians), and what was wanted."""

    what: str
    size: str
    ours: float
    other: float
    other_name: str
    goal: str
    met: bool | None = None

    @property
    def ratio(self) -> float:
        """Ours over the alternative."""
        return self.ours / self.other if self.other else float("nan")


def timed(call: Callable[[], object]) -> float:
    """Seconds one call takes."""
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def in_turn(ours: Callable[[], float], other: Callable[[], float], times: int) -> tuple[float, float]:
    """Medians of both, measured in turn after one warm-up each; each call gives its own seconds."""
    ours()
    other()
    pairs = [(ours(), other()) for _ in range(times)]
    return statistics.median(a for a, _ in pairs), statistics.median(b for _, b in pairs)
