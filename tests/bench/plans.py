"""How long a plan takes, against the minute a director is ready to wait."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterator

from assess.planning.plan import plan
from assess.planning.request import Request
from tests.bench.measuring import Measured, timed
from tests.planning.requests import large, sample

__all__ = ["rows"]

SAMPLE_S, LARGE_S = 5, 60


def rows() -> Iterator[Measured]:
    """The sample course, and 40 candidates by 12 assessors by 8 tasks, each planned from three seeds."""
    yield _row("10 x 4 x 6", sample, SAMPLE_S)
    yield _row("40 x 12 x 8", large, LARGE_S)


def _row(size: str, request: Callable[[int], Request], seconds: int) -> Measured:
    def planned(seed: int) -> Callable[[], object]:
        return lambda: plan(request(seed))

    took = statistics.median(timed(planned(seed)) for seed in (1, 2, 3))
    return Measured("a plan, from three seeds", size, took, float("nan"), "-", f"<= {seconds} s", took <= seconds)
