"""Simulated courses: known effects are flagged for whom they are built in, clean courses hardly ever.

Rates are of seeded simulations, not published. Of 1,000 clean courses (seeds 1,000 to 1,999, by `python -m
tests.agreement.rater_rates`) 51 had a flag with 10 candidates and 4 assessors, and 46 with 24 candidates; the family
lets 50 have one. A test of one effect alone had p <= .05 in .012 (range of levels) to .056 (drift) of the cases.
"""

from __future__ import annotations

from collections import Counter

import pytest

from assess.agreement.rater_effects import rater_effects
from tests.agreement.rater_courses import CLEAN, LEVELS, Made, made_course


def flags(made: Made, courses: int) -> Counter[tuple[str, str]]:
    """How many of the courses show (assessor, effect) as something to look at; `-A2` is A2 with less than nothing."""
    found: Counter[tuple[str, str]] = Counter()
    for seed in range(courses):
        got = rater_effects(made_course(seed, made), LEVELS, replicates=200)
        looks = [e for r in got.raters for e in r.effects if e.verdict == "look"]
        found.update((e.assessor if (e.estimate or 0) > 0 else f"-{e.assessor}", e.name) for e in looks)
        found["", "any"] += bool(looks)
    return found


def test_a_clean_course_has_hardly_ever_a_flag() -> None:
    """At most 8 of 60: with one in twenty that many or fewer come in 99.4 % of such sets."""
    assert flags(CLEAN, 60)["", "any"] <= 8


@pytest.mark.parametrize(
    ("made", "effect", "way", "least"),
    [
        (Made(severity=-0.8), "severity", "-", 18),
        (Made(candidates=30, drift=-0.1), "drift", "-", 15),
        (Made(candidates=30, days=0.5), "days", "", 15),
        (Made(flat=0.9), "flat", "", 18),
        (Made(flat=0.9), "spread", "-", 18),
        (Made(candidates=30, central=0.6), "central", "", 15),
        (Made(candidates=30, contrast=-0.6), "contrast", "-", 15),
        (Made(candidates=30, twice=20, twice_error=1.0), "repeat", "", 15),
        (Made(candidates=30, severity=-1.5), "line", "-", 15),
    ],
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_what_is_built_into_the_marks_of_a1_is_flagged_for_a1(made: Made, effect: str, way: str, least: int) -> None:
    found = flags(made, 20)
    assert found[f"{way}A1", effect] >= least
    for other in ("A2", "A3", "A4"):
        # Partners lean the other way, a third as far; what is only that is no reason to look at them.
        assert found[other, effect] + found[f"-{other}", effect] <= 2


def test_a_small_drift_on_a_small_course_is_mostly_not_seen() -> None:
    """What the sample course has built in, .04 a place: ten candidates cannot show it, and the tool does not say so."""
    found = flags(Made(drift=-0.04), 20)
    assert found["A1", "drift"] + found["-A1", "drift"] <= 4


def test_who_is_hard_is_not_taken_for_somebody_who_uses_few_levels_or_drifts() -> None:
    found = flags(Made(severity=-0.8), 20)
    assert all(
        found["A1", effect] + found["-A1", effect] <= 2 for effect in ("drift", "days", "flat", "central", "contrast")
    )
