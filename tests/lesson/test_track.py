"""From a track to turns: main axis, corridor, cuts and thirds on made-up runs whose answer is known."""

from __future__ import annotations

from itertools import pairwise
from math import cos, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from assess.lesson.track import (
    corridor_widths,
    heading_rate,
    main_axis,
    signed_distances,
    turn_cuts,
    turn_thirds,
)

POINT = st.tuples(st.integers(-50, 50).map(float), st.integers(-50, 50).map(float))


@drawn(st.lists(POINT, min_size=3, max_size=12, unique=True))
@settings(deadline=None)
def test_the_main_axis_is_the_larger_axis_of_the_covariance(points) -> None:
    """Total least squares line: the eigenvector of the larger eigenvalue (Pearson 1901)."""
    values, vectors = np.linalg.eigh(np.cov(np.array(points).T))
    if values[1] - values[0] > 1e-6:
        _, angle = main_axis(points)
        x, y = vectors[:, 1]
        assert abs(x * cos(angle) + y * sin(angle)) == pytest.approx(1, abs=1e-6)


def wave(angle: float = 0.0, width: float = 4.0, turns: int = 8) -> list[tuple[float, float]]:
    """A run of sine turns `width` metres wide along a line at `angle` degrees, ten points a turn."""
    found = []
    for at in range(10 * turns + 1):
        x, y = 0.8 * at, width / 2 * sin(pi * at / 10)
        a = radians(angle)
        found.append((x * cos(a) - y * sin(a) + 7, x * sin(a) + y * cos(a) - 3))
    return found


@pytest.mark.parametrize("angle", [0, 37, 90, 180, -120])
def test_widths_do_not_depend_on_which_way_the_hill_faces(angle: float) -> None:
    straight = corridor_widths(wave(), [5, 15, 25, 35, 45, 55])
    turned = corridor_widths(wave(angle), [5, 15, 25, 35, 45, 55])
    for (width, middle), (other, shifted) in zip(straight, turned, strict=True):
        assert width == pytest.approx(4.0, abs=0.15)
        assert width == pytest.approx(other) and middle == pytest.approx(shifted, abs=1e-6)


def test_left_of_the_run_is_positive_whichever_way_it_goes() -> None:
    points = [(0.0, 0.0), (5.0, 1.0), (10.0, 0.0)]
    assert signed_distances(points)[1] > 0
    assert signed_distances(points[::-1])[1] < 0


def headings(turns: int = 6, seconds: float = 1.5, rate: int = 20) -> tuple[list[float], list[float]]:
    """(times, headings) of round turns of so many seconds; headings swing 60 degrees to either side of north."""
    times = [at / rate for at in range(int(turns * seconds * rate) + 1)]
    return times, [(60 * cos(pi * time / seconds)) % 360 for time in times]


def test_round_turns_are_cut_where_the_heading_swings_back() -> None:
    times, heading = headings()
    cuts = turn_cuts(times, heading)
    assert cuts == pytest.approx([1.5, 3.0, 4.5, 6.0, 7.5], abs=0.05)


def test_headings_that_pass_north_are_no_jump() -> None:
    rates = heading_rate([0.0, 0.5, 1.0, 1.5], [350.0, 358.0, 6.0, 14.0])
    assert rates == pytest.approx([16.0] * 4)


def test_a_straight_run_has_no_turns() -> None:
    assert turn_cuts([0.0, 0.1, 0.2, 0.3, 0.4], [10.0] * 5) == ()


def test_an_even_turn_does_a_third_of_its_turning_in_each_third() -> None:
    even = turn_thirds([0.0, 1.0, 2.0, 3.0], [0.0, 30.0, 60.0, 90.0])
    assert even == pytest.approx((1 / 3, 1 / 3, 1 / 3))
    late = turn_thirds([0.0, 1.0, 2.0, 3.0], [0.0, 9.0, 18.0, 90.0])
    assert late == pytest.approx((0.1, 0.1, 0.8)) and sum(late) == pytest.approx(1)


def test_what_is_no_track_is_refused_in_words() -> None:
    for call in (
        lambda: main_axis([(1.0, 1.0), (1.0, 1.0)]), lambda: corridor_widths(wave(), [5, 5]),
        lambda: corridor_widths(wave(), [0, 9999]), lambda: heading_rate([0.0, 1.0], [0.0, 1.0]),
        lambda: heading_rate([0.0, 1.0, 1.0], [0.0, 1.0, 2.0]), lambda: turn_thirds([0.0, 1.0], [5.0, 5.0]),
        lambda: turn_thirds([1.0, 0.0], [5.0, 6.0]),
    ):  # fmt: skip
        with pytest.raises(ValueError, match=r"must|needs|does not change"):
            call()


def test_cuts_are_in_order_and_inside_the_run() -> None:
    times, heading = headings(9, 1.1)
    cuts = turn_cuts(times, heading)
    assert all(a < b for a, b in pairwise(cuts)) and times[0] < cuts[0] and cuts[-1] < times[-1]
