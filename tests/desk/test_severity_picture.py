"""Dots and intervals in text: where they stand, how wide the lines are, and what is left out."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.agreement.results.raters import EFFECTS, Effect, Rater, RaterCourse
from assess.desk.severity_picture import severity_picture


def course(*severities: tuple[float | None, tuple[float, float] | None]) -> RaterCourse:
    raters = []
    for number, (estimate, ci95) in enumerate(severities, 1):
        who = f"A{number}"
        effects = tuple(Effect(who, name, None) for name in EFFECTS)
        raters.append(
            Rater(who, 9, 9, 0, 9, 0.4, (), (replace(effects[0], estimate=estimate, ci95=ci95), *effects[1:]))
        )
    return RaterCourse(
        "K", "", (1.0, 2.0), 9, len(raters), 9, 9, (), "all", 0, 0, 0.05, "", tuple(raters)
    )  # fmt: skip


def test_the_picture_of_three_assessors() -> None:
    found = severity_picture(course((-0.4, (-0.6, -0.2)), (0.1, (-0.1, 0.3)), (0.3, None)), 44)
    assert found == [
        "   harder            group            milder",
        "A1     -----o------    |",
        "A2                  ---|--o-----",
        "A3                     |       o",
        "   -0.75               0               +0.75",
    ]


NUMBERS = st.tuples(st.floats(-3, 3), st.floats(0, 2)).map(lambda one: (one[0], (one[0] - one[1], one[0] + one[1])))


@given(st.lists(NUMBERS, min_size=1, max_size=6), st.integers(32, 120))
def test_every_dot_stands_in_its_interval_and_on_the_right_side_of_the_group(severities, width: int) -> None:
    _, *rows, foot = severity_picture(course(*severities), width)
    middle = 3 + (len(foot) - 3) // 2
    for row, (estimate, _) in zip(rows, severities, strict=True):
        assert len(row) <= width and row.count("o") == 1
        dot, held = row.index("o"), [at for at, sign in enumerate(row) if at > 2 and sign in "-o"]
        # Never across the group, and between both ends of its interval.
        assert (dot - middle) * estimate >= 0
        assert min(held) <= dot <= max(held)
        assert row[middle] == ("o" if dot == middle else "|")


def test_ids_of_any_length_leave_room_for_the_picture() -> None:
    found = course((0.5, (0.2, 0.8)), (-0.5, (-0.8, -0.2)))
    named = [replace(r, effects=tuple(replace(e, assessor="A" * 16) for e in r.effects)) for r in found.raters]
    assert all(len(line) <= 34 for line in severity_picture(replace(found, raters=tuple(named)), 34))


@pytest.mark.parametrize("severities", [(), ((None, None),)])
def test_without_a_severity_there_is_no_picture(severities) -> None:
    assert severity_picture(course(*severities), 60) == []
