"""Where everything is owned, no check failed and no step up is above two, easier before harder never reads worse.

Any drills of the shipped catalogue on any ground; which of two orders is the better teaching is not said here.
"""

from __future__ import annotations

import pytest
from hypothesis import assume, settings
from hypothesis import given as drawn
from hypothesis import strategies as st

from assess.lesson.challenge import steps
from assess.lesson.progression import read_progression
from assess.lesson.technique import DoneDrill, technique
from assess.records.practice import GivenDrill
from tests.lesson.samples import catalogue, changed, given

SERVICE = set(catalogue().settings.service)
TECHNIQUE = [drill for drill in catalogue().drills if not drill.skills or not set(drill.skills) <= SERVICE]
ABILITY = st.integers(2, 18).map(lambda half: half / 2 + 1)


@st.composite
def lessons(draw: st.DrawFn) -> tuple[float, tuple[DoneDrill, ...], bool]:
    """(ability, two to five drills in rising challenge under the stated conditions, whether a cause was managed)."""
    ability, managed = draw(ABILITY), draw(st.booleans())
    near = [drill for drill in TECHNIQUE if drill.difficulty <= ability + 1.5]
    chosen = draw(st.lists(st.sampled_from(near), min_size=2, max_size=5))
    ground = st.integers(3, 18)
    drills = tuple(
        given(drill.id, draw(ground), draw(st.sampled_from(["packed", "hard"])),
              success=draw(st.sampled_from([None, {"ok": 2, "of": 3}])))
        for drill in chosen
    )  # fmt: skip
    ordered = rising(drills, ability)
    done = technique(ordered, ability, catalogue()).drills
    taken = steps(done, ability, managed, catalogue().settings)
    assume(all(not item.missing for item in done) and all(step.delta <= 2 for step in taken))
    return ability, done, managed


def rising(drills: tuple[GivenDrill, ...], ability: float) -> tuple[GivenDrill, ...]:
    done = technique(drills, ability, catalogue()).drills
    hard = [step.challenge for step in steps(done, ability, False, catalogue().settings)]
    return tuple(one for _, one in sorted(zip(hard, drills, strict=True), key=lambda pair: pair[0]))


@drawn(lessons(), st.data())
@settings(deadline=None, max_examples=120)
def test_drills_in_rising_challenge_never_read_worse_than_in_another_order(case, data) -> None:
    ability, done, managed = case
    ordered = tuple(item.given for item in done)
    other = tuple(data.draw(st.permutations(ordered)))
    met = ("X-fear",) if managed else ()
    best, shuffled = (
        read_progression(changed("S3-good", drills=drills, managed=met), ability, catalogue()).value
        for drills in (ordered, other)
    )
    assert best is not None and shuffled is not None and shuffled <= best + 1e-12


@drawn(lessons())
@settings(deadline=None, max_examples=60)
def test_under_these_conditions_at_most_the_first_step_is_not_full(case) -> None:
    ability, done, managed = case
    worths = [step.worth for step in steps(done, ability, managed, catalogue().settings)]
    assert worths[1:] == [1.0] * (len(done) - 1)
    assert worths[0] in (0.85, 1.0)


def test_the_conditions_are_needed_a_big_step_up_from_easy_drills_reads_worse_than_the_way_round_it() -> None:
    """From an easy drill straight to a hard one is a big step; beginning in the middle breaks it in two."""
    easy, middle = given("run-step", 4), given("pivot-lane", 16)
    ability = 5.0
    down = read_progression(changed("S3-good", drills=(middle, easy)), ability, catalogue())
    up = read_progression(changed("S3-good", drills=(easy, middle)), ability, catalogue())
    assert down.parts is not None and up.parts is not None
    assert up.steps[1].delta == pytest.approx(3)
    assert up.parts.step < down.parts.step
