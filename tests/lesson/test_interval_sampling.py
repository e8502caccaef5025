"""Why minutes of practice are start and stop marks: what sampling in intervals makes of the same lesson.

Looking at the end of each interval is right on average; counting an interval as practice when there was any in it
says too much, counting it only when it was nothing else says too little (Powell et al. 1977, from memory).
"""

from __future__ import annotations

import random
from statistics import fmean

import pytest

from assess.lesson.progression import practice_share
from tests.lesson.samples import split

INTERVAL, LESSON = 10, 3600


def bouts(on: float, off: float, chance: random.Random) -> list[bool]:
    """Practice or not, second by second, with bouts of these mean lengths (exponential), begun somewhere in one."""
    seconds: list[bool] = []
    now = chance.random() < on / (on + off)
    while len(seconds) < LESSON:
        length = max(1, round(chance.expovariate(1 / (on if now else off))))
        seconds += [now] * length
        now = not now
    return seconds[:LESSON]


def biases(on: float, off: float) -> tuple[float, float, float]:
    """Mean of (momentary, any, all) less the true share over 120 seeded lessons."""
    chance = random.Random(15)
    wrong: list[tuple[float, float, float]] = []
    for _ in range(120):
        seconds = bouts(on, off, chance)
        parts = [seconds[at : at + INTERVAL] for at in range(0, LESSON, INTERVAL)]
        minutes = sum(seconds) / 60
        true = practice_share(split(0, minutes, 60 - minutes, 0))
        assert true is not None
        found = (fmean(part[-1] for part in parts), fmean(map(any, parts)), fmean(map(all, parts)))
        wrong.append((found[0] - true, found[1] - true, found[2] - true))
    momentary, partial, whole = (fmean(column) for column in zip(*wrong, strict=True))
    return momentary, partial, whole


@pytest.mark.parametrize(("on", "off"), [(20, 20), (5, 15)])
def test_a_look_at_the_end_of_each_interval_is_unbiased_any_overstates_and_all_understates(
    on: float, off: float
) -> None:
    momentary, partial, whole = biases(on, off)
    assert abs(momentary) < 0.01
    assert partial > 0.15 and whole < -0.10
