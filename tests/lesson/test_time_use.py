"""The use of time: shares from marks and from looks, rates, two observers; published values and simulation."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.lesson.time_use import (
    from_looks,
    from_marks,
    kappa_of,
    observer_agreement,
    per_minute,
    seconds_of,
    wilson,
)  # fmt: skip

USE = ("practise", "talk", "wait", "move", "lift")
seconds = st.lists(st.sampled_from(USE), min_size=1, max_size=80)


def stretches(said: list[str]) -> list[tuple[int, int, str]]:
    return [(1000 * at, 1000 * (at + 1), use) for at, use in enumerate(said)]


def test_wilson_on_18_of_40_and_the_two_kappas_of_the_standards_page() -> None:
    # standards.md 15: 18/40 -> .307 to .602; [[20,5],[10,15]] -> .70, kappa .400; [[90,5],[5,0]] -> .90, -.053.
    assert wilson(18, 40) == pytest.approx((0.307, 0.602), abs=0.0005)
    plain = kappa_of(20, 5, 10, 15)
    assert plain.equal == pytest.approx(0.7)
    assert plain.kappa == pytest.approx(0.4)
    rare = kappa_of(90, 5, 5, 0)
    assert rare.equal == pytest.approx(0.9)
    assert rare.kappa == pytest.approx(-0.053, abs=0.0005)
    assert rare.marked == pytest.approx(0.9)
    assert rare.left == 0


@given(seconds)
def test_shares_from_marks_sum_to_one_and_are_those_of_the_seconds(said: list[str]) -> None:
    found = {item.use: item.share for item in from_marks(stretches(said), 1000 * len(said))}
    assert sum(found.values()) == pytest.approx(1)
    for use in USE:
        assert found[use] == pytest.approx(said.count(use) / len(said))
    assert found["not marked"] == 0


@given(seconds, st.integers(0, 50))
def test_what_nobody_marked_is_told_as_such(said: list[str], more: int) -> None:
    found = {item.use: item.share for item in from_marks(stretches(said), 1000 * (len(said) + more))}
    assert found["not marked"] == pytest.approx(more / (len(said) + more))


@given(seconds)
def test_seconds_come_back_from_stretches(said: list[str]) -> None:
    assert seconds_of(stretches(said), 1000 * len(said)) == said


@given(seconds, seconds)
def test_two_observers_are_alike_from_both_sides(one: list[str], two: list[str]) -> None:
    n = min(len(one), len(two))
    a, b = observer_agreement(one[:n], two[:n], "practise"), observer_agreement(two[:n], one[:n], "practise")
    assert (a.equal, a.kappa, a.marked) == (b.equal, pytest.approx(b.kappa) if b.kappa is not None else None, b.marked)
    same = observer_agreement(one, one, "talk")
    assert same.equal == 1
    assert same.kappa is None or same.kappa == pytest.approx(1)


def test_looks_at_set_moments_are_right_on_average() -> None:
    """Own simulation, seeded: 60 minutes, bouts of 20 s on and 20 s off, a look every 10 s (standards.md 15)."""
    chance, wrong = random.Random(15), []
    for _ in range(120):
        said: list[str] = []
        on = chance.random() < 0.5
        while len(said) < 3600:
            said += ["practise" if on else "wait"] * max(1, round(chance.expovariate(1 / 20)))
            on = not on
        said = said[:3600]
        looks = [said[at - 1] for at in range(10, 3601, 10)]
        (found,) = [item for item in from_looks(looks) if item.use == "practise"]
        wrong.append(found.share - said.count("practise") / 3600)
    mean = sum(wrong) / len(wrong)
    assert abs(mean) < 0.004
    assert max(map(abs, wrong)) < 0.05


def test_rates_and_lengths_that_cannot_be() -> None:
    assert [(r.name, r.rate) for r in per_minute({"question": 6, "feedback": 30}, 20 * 60_000)] == [
        ("feedback", 1.5), ("question", 0.3),
    ]  # fmt: skip
    assert per_minute({"question": 6}, 0) == ()
    assert from_marks([], 0) == ()
    assert from_looks([]) == ()
    with pytest.raises(ValueError, match="looked at 2 and 3 seconds"):
        observer_agreement(["a", "a"], ["a", "a", "a"], "a")
    assert kappa_of(0, 0, 0, 0).equal is None
    assert kappa_of(5, 0, 0, 0).kappa is None
