"""Turns cut from positions: a track made of arcs gives back what it was made of, wherever and however it lies."""

from __future__ import annotations

import random
from itertools import pairwise
from math import cos, hypot, pi, radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.lesson.track_turns import Fix, moving_runs, scatter_m, turns_of_run
from tests.lesson.made_track import made_track

TURNS = (1.42, 1.38, 1.45, 1.40, 1.52, 1.37, 1.44, 1.41, 1.47, 1.39)


@pytest.mark.parametrize("rate", [10, 20, 25, 50])
def test_a_track_of_arcs_gives_back_its_turns_within_a_reading(rate: int) -> None:
    made = made_track(TURNS, rate, swing=80)
    found = turns_of_run(1, made.fixes, "differential", places=True)
    assert found.seen == len(TURNS)
    assert [turn.n for turn in found.turns] == list(range(2, len(TURNS)))
    for turn, (start, end) in zip(found.turns, list(pairwise(made.switches))[1:-1], strict=True):
        assert abs(turn.t_start - start) <= 1 / rate and abs(turn.t_end - end) <= 1 / rate
        assert turn.side == made.sides[turn.n - 1]
        assert turn.heading_change == pytest.approx(80, abs=8)


@pytest.mark.parametrize("rate", [1, 2, 5])
def test_slow_sampling_gives_back_long_turns_within_a_reading(rate: int) -> None:
    made = made_track((6.0, 5.5, 6.5, 6.0, 5.0, 6.0), rate, swing=100)
    found = turns_of_run(1, made.fixes, "phone", places=False)
    assert found.seen == 6
    for turn, (start, end) in zip(found.turns, list(pairwise(made.switches))[1:-1], strict=True):
        assert abs(turn.t_start - start) <= 1 / rate and abs(turn.t_end - end) <= 1 / rate


def test_speeds_and_round_arcs_are_read_as_they_were_made() -> None:
    found = turns_of_run(1, made_track(TURNS, 50, swing=80, speed=10).fixes, "differential", places=True)
    for turn in found.turns:
        assert turn.v_in == pytest.approx(10, abs=0.05) and turn.v_out == pytest.approx(10, abs=0.05)
        assert turn.thirds is not None and turn.width_m is not None
        assert all(share == pytest.approx(1 / 3, abs=0.06) for share in turn.thirds)


def test_a_lane_is_as_wide_as_it_was_made() -> None:
    """x = 3 sin, so often that the axis lies straight: 3 m between two switches, the middle 1.5 m to either side."""
    fixes = [Fix(i / 50, 3 * sin(2 * pi * i / 150), -9 * i / 50) for i in range(150 * 20 + 1)]
    found = turns_of_run(1, fixes, "differential", places=True)
    middle = found.turns[1:-1]
    assert len(middle) >= 30
    for turn in middle:
        assert turn.width_m == pytest.approx(3.0, abs=0.25)
        assert turn.mid_offset_m is not None and abs(abs(turn.mid_offset_m) - 1.5) < 0.3


def test_without_good_places_there_is_no_width() -> None:
    found = turns_of_run(1, made_track(TURNS, 10, swing=80).fixes, "phone", places=False)
    assert all(turn.width_m is None and turn.mid_offset_m is None for turn in found.turns)


def test_a_straight_run_has_no_turn_also_with_a_wobble() -> None:
    straight = [Fix(i / 10, 0.02 * (i % 2), -0.8 * i) for i in range(100)]
    assert turns_of_run(1, straight, "phone", places=False).seen == 0


def test_a_wobble_inside_a_turn_makes_no_further_turn() -> None:
    made = made_track(TURNS, 50, swing=80)
    shaken = [Fix(f.t, f.x + 0.01 * (i % 3 - 1), f.y - 0.01 * (i % 2)) for i, f in enumerate(made.fixes)]
    assert turns_of_run(1, shaken, "differential", places=True).seen == len(TURNS)


def scattered(fixes: tuple[Fix, ...], sd: float, seed: int) -> list[Fix]:
    chance = random.Random(seed)
    return [Fix(fix.t, fix.x + chance.gauss(0, sd), fix.y + chance.gauss(0, sd)) for fix in fixes]


@pytest.mark.parametrize("rate", [10, 50])
@pytest.mark.parametrize("sd", [0.02, 0.1])
def test_readings_that_scatter_a_little_give_the_same_turns(rate: int, sd: float) -> None:
    made = made_track(TURNS, rate, swing=90)
    for seed in range(10):
        fixes = scattered(made.fixes, sd, seed)
        assert scatter_m(fixes) == pytest.approx(sd, rel=0.35)
        found = turns_of_run(1, fixes, "differential", places=True)
        assert found.seen == len(TURNS)
        for turn, start in zip(found.turns, made.switches[1:], strict=False):
            assert turn.t_start == pytest.approx(start, abs=0.2)


@pytest.mark.parametrize("rate", [4, 10, 50])
def test_where_readings_scatter_too_much_no_turn_is_made_up(rate: int) -> None:
    made = made_track(TURNS, rate, swing=90)
    for seed in range(5):
        found = turns_of_run(1, scattered(made.fixes, 0.4, seed), "phone", places=False)
        assert (found.seen, found.turns, found.unsteady) == (0, (), True)
        assert found.scatter_m == pytest.approx(0.4, rel=0.5)


def test_a_whole_track_that_drifts_some_metres_over_a_run_keeps_its_turns() -> None:
    """Phone positions err slowly: the turns are there although the places are wrong."""
    made = made_track(TURNS, 10, swing=90)
    drifted = [Fix(f.t, f.x + 5 * sin(f.t / 5), f.y + 5 * cos(f.t / 5)) for f in made.fixes]
    assert turns_of_run(1, drifted, "phone", places=False).seen == len(TURNS)


def test_too_few_readings_and_times_that_go_back_are_refused() -> None:
    with pytest.raises(ValueError, match="four readings"):
        turns_of_run(1, [Fix(0, 0, 0), Fix(1, 0, 1)], "phone", places=False)
    with pytest.raises(ValueError, match="rising"):
        turns_of_run(1, [Fix(t, t, t) for t in (0, 1, 1, 2)], "phone", places=False)


def test_standing_and_a_lost_signal_part_runs() -> None:
    first = [Fix(t, 0, -8.0 * t) for t in range(10)]
    standing = [Fix(10 + t, 0.1 * (t % 2), -72.0) for t in range(20)]
    second = [Fix(30 + t, 0, -72 - 8.0 * t) for t in range(10)]
    lost = [Fix(100 + t, 0, -500 - 8.0 * t) for t in range(10)]
    runs = moving_runs([*first, *standing, *second, *lost])
    assert [(run[0].t, run[-1].t) for run in runs] == [(0, 9), (30, 39), (100, 109)]
    assert moving_runs(standing) == ()


def test_a_leap_of_the_receiver_parts_runs_and_leaves_no_turn_behind() -> None:
    made = made_track(TURNS, 10, swing=80)
    leapt = [Fix(f.t, f.x + (400 if at == 70 else 0), f.y) for at, f in enumerate(made.fixes)]
    runs = moving_runs(leapt)
    assert [fix.t for run in runs for fix in (run[0], run[-1])] == pytest.approx([0, 6.9, 7.1, 14.2])


@settings(max_examples=30, deadline=None)
@given(
    turn=st.floats(0, 360),
    dx=st.floats(-5000, 5000),
    dy=st.floats(-5000, 5000),
    lengths=st.lists(st.floats(1.0, 2.5), min_size=3, max_size=8),
    swing=st.floats(40, 140),
)
def test_where_a_track_lies_and_which_way_it_points_changes_nothing(
    turn: float, dx: float, dy: float, lengths: list[float], swing: float
) -> None:
    made = made_track(tuple(lengths), 20, swing=swing)
    c, s = cos(radians(turn)), sin(radians(turn))
    moved = [Fix(f.t, c * f.x - s * f.y + dx, s * f.x + c * f.y + dy) for f in made.fixes]
    here, there = (turns_of_run(1, fixes, "film", places=True) for fixes in (made.fixes, moved))
    assert here.seen == there.seen == len(lengths)
    for one, other in zip(here.turns, there.turns, strict=True):
        assert (one.n, one.side) == (other.n, other.side)
        for name in ("t_start", "t_end", "v_in", "v_out", "heading_change", "width_m", "mid_offset_m"):
            assert getattr(one, name) == pytest.approx(getattr(other, name), abs=1e-6), name


def test_the_made_track_is_what_it_says() -> None:
    made = made_track((2.0, 2.0), 50, swing=90, speed=8)
    way = sum(hypot(b.x - a.x, b.y - a.y) for a, b in pairwise(made.fixes))
    assert way == pytest.approx(8 * 4, rel=0.01)
    assert made.sides == ("left", "right")
