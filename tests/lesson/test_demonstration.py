"""Measures of a demonstration: worked values, noise floors, what is refused in words, and mirrored runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt
from statistics import fmean, stdev
from typing import Any

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from assess.lesson.demonstration import MEASURES, read_demonstration
from assess.lesson.results import MeasureReading
from assess.lesson.turns import METHODS, Precision, Turn, TurnKind

LEFT, RIGHT = (1.42, 1.45, 1.52, 1.44, 1.47), (1.38, 1.40, 1.37, 1.41, 1.39)
UNKNOWN = Precision("unknown")


def turns(left: Sequence[float] = LEFT, right: Sequence[float] = RIGHT, **more: Sequence[Any]) -> list[Turn]:
    """Turns left, right, left, ... with these times, one after another; more: a column of values each."""
    found, start = [], 0.0
    times = [time for pair in zip(left, right, strict=True) for time in pair]
    for at, time in enumerate(times):
        cells = {name: column[at] for name, column in more.items()}
        found.append(Turn(1, at + 1, "right" if at % 2 else "left", start, start + time, **cells))
        start += time
    return found


def read(
    rows: Sequence[Turn], precision: Precision = UNKNOWN, kind: TurnKind = "carved", **targets: tuple[float, float]
) -> dict[str, MeasureReading]:
    aims = {name.replace("_", " "): target for name, target in targets.items()}
    return {item.name: item for item in read_demonstration(rows, kind, precision, aims)}


def test_ten_turns_a_little_longer_to_the_left() -> None:
    found = read(turns())
    symmetry, rhythm = found["symmetry"], found["rhythm"]
    assert symmetry.value == pytest.approx(4.9, abs=0.05) and symmetry.n == 10
    assert any("left ones are longer" in line for line in symmetry.why)
    assert rhythm.value == pytest.approx(2.0, abs=0.05)
    assert any("it would read 3.2 %" in line for line in rhythm.why)


@pytest.mark.parametrize(("switch_s", "floor", "beyond"), [(0.10, 10.0, False), (0.02, 2.0, False), (0.01, 1.0, True)])
def test_a_spread_of_two_percent_can_only_be_claimed_from_a_fine_method(
    switch_s: float, floor: float, beyond: bool
) -> None:
    rhythm = read(turns(), Precision("film", switch_s=switch_s))["rhythm"]
    assert rhythm.noise_floor == pytest.approx(floor, rel=0.01)
    if floor != 2.0:
        assert rhythm.beyond_noise is beyond
    assert any(f"{'' if rhythm.beyond_noise else 'not '}beyond noise" in line for line in rhythm.why)


def test_without_a_known_precision_nobody_says_what_is_beyond_noise() -> None:
    for reading in read(turns()).values():
        if reading.value is not None:
            assert reading.noise_floor is None and reading.beyond_noise is None
            assert any("not known" in line for line in reading.why)


WIDTHS = (4.00, 4.25, 4.40, 4.30, 4.10, 4.45, 4.55, 4.05, 4.30, 4.40)


def test_width_evenness_and_drift_of_a_corridor() -> None:
    found = read(turns(width_m=WIDTHS, mid_offset_m=[0.04 * at - 0.2 for at in range(10)]))
    assert found["corridor width"].value == pytest.approx(fmean(WIDTHS)) == pytest.approx(4.28)
    assert found["corridor evenness"].value == pytest.approx(100 * stdev(WIDTHS) / fmean(WIDTHS))
    assert found["corridor evenness"].value == pytest.approx(4.5, abs=0.5)
    assert found["corridor drift"].value == pytest.approx(0.04)


def test_a_corridor_of_the_worked_width_and_evenness() -> None:
    """4.28 m and 4.5 %: ten widths half of them a spread above, half below."""
    away = 0.045 * 4.28 * sqrt(9 / 10)
    found = read(turns(width_m=[4.28 - away, 4.28 + away] * 5))
    assert round(found["corridor width"].value or 0, 2) == 4.28
    assert round(found["corridor evenness"].value or 0, 1) == 4.5


def test_two_runs_share_one_drift_but_no_place() -> None:
    first = turns(mid_offset_m=[0.04 * at for at in range(10)])
    second = [replace(turn, run=2, mid_offset_m=(turn.mid_offset_m or 0) + 50) for turn in first]
    assert read([*first, *second])["corridor drift"].value == pytest.approx(0.04)


def test_speed_control_is_the_middle_of_all_slopes_and_one_wild_turn_does_not_move_it() -> None:
    middle = [8 + 0.04 * at for at in range(10)]
    rows = turns(v_in=[v + 0.5 for v in middle], v_out=[v - 0.5 for v in middle])
    assert read(rows)["speed control"].value == pytest.approx(0.04)
    wild = [*rows[:9], replace(rows[9], v_in=40.0, v_out=40.0)]
    assert read(wild)["speed control"].value == pytest.approx(0.04, abs=0.01)
    kept = read(rows)["speed kept"].value
    assert kept == pytest.approx(100 * fmean((v - 0.5) / (v + 0.5) for v in middle))


@pytest.mark.parametrize(("slopes", "even"), [((12.0, 13.9), True), ((12.0, 14.0), False), ((2.3, 4.3), False)])
def test_speeds_compare_only_where_the_ground_differs_by_less_than_two_degrees(
    slopes: tuple[float, float], even: bool
) -> None:
    rows = turns(v_in=[8.0] * 10, v_out=[8.0] * 10, slope_deg=[slopes[at % 2] for at in range(10)])
    reading = read(rows)["speed control"]
    assert (reading.void is None) is even
    if not even:
        assert reading.void is not None and "even ground only" in reading.void


def test_round_turns_and_turns_that_do_it_all_at_once() -> None:
    shapes = [(0.33, 0.34, 0.33), (0.25, 0.40, 0.35), (0.10, 0.20, 0.70), (0.2, 0.5, 0.3)] + [(0.3, 0.4, 0.3)] * 6
    reading = read(turns(thirds=shapes))["turn shape"]
    assert reading.value == pytest.approx(80)
    assert any("8 of 10 turns" in line and line.endswith("60 % in one third): 1") for line in reading.why)


def test_edge_angles_have_no_decimals() -> None:
    reading = read(turns(edge_peak=[41.3, 44.8] * 5))["edge angle"]
    assert reading.value == 43 and any("on snow that is not shown" in line for line in reading.why)


def test_wedge_turns_are_not_computed_and_why_is_told() -> None:
    rows = turns(width_m=WIDTHS, edge_peak=[10.0] * 10)
    for reading in read(rows, kind="wedge").values():
        assert reading.value is None and reading.void is not None
        assert "not computed for wedge turns" in reading.void and "film" in reading.void


def test_drifted_turns_are_computed_with_a_caution() -> None:
    carved, drifted = read(turns()), read(turns(), kind="drifted")
    assert drifted["rhythm"].value == carved["rhythm"].value
    assert any("one in six" in line for line in drifted["rhythm"].why)


@pytest.mark.parametrize("by_source", [True, False])
def test_a_lane_measured_by_phone_is_refused_in_words_and_speed_is_not(by_source: bool) -> None:
    columns: dict[str, Sequence[Any]] = {
        "width_m": WIDTHS, "mid_offset_m": [0.0] * 10, "v_in": [8.0] * 10, "v_out": [8.0] * 10,
    }  # fmt: skip
    rows = turns(**columns, source=["phone"] * 10) if by_source else turns(**columns)
    found = read(rows, UNKNOWN if by_source else METHODS["phone"])
    for name in ("corridor width", "corridor evenness", "corridor drift"):
        reading = found[name]
        assert reading.value is None and reading.void is not None
        assert "phone" in reading.void and "4 to 6 m" in reading.void
    assert found["speed control"].value == pytest.approx(0)


def test_what_was_not_measured_is_void_with_its_reason_and_a_target_stays_beside_it() -> None:
    found = read(turns(), corridor_width=(3.0, 5.0), symmetry=(0, 10))
    assert tuple(found) == MEASURES
    width = found["corridor width"]
    assert (width.value, width.target, width.in_target) == (None, (3.0, 5.0), None) and width.void
    assert found["symmetry"].in_target is True
    assert found["rhythm"].target is None
    one_sided = read([replace(turn, side="left") for turn in turns()])
    assert one_sided["symmetry"].void == "turns to both sides are needed" and one_sided["rhythm"].void is None
    assert all(reading.void for reading in read([]).values())


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        ({"t_end": -1.0}, "end after it starts"), ({"t_start": float("nan")}, "finite"), ({"v_in": -1.0}, "0 or more"),
        ({"thirds": (0.5, 0.5, 0.5)}, "add up to 1"), ({"n": 2}, "stands twice"),
        ({"t_end": 2.0}, "before turn 1 has ended"),
    ],
)  # fmt: skip
def test_a_table_that_cannot_be_right_is_refused(spoil: dict[str, Any], words: str) -> None:
    first, *rest = turns()
    with pytest.raises(ValueError, match=words):
        read([replace(first, **spoil), *rest])


def test_a_target_of_no_measure_is_refused() -> None:
    with pytest.raises(ValueError, match="no such measure: grace"):
        read(turns(), grace=(0, 1))


TIMES = st.lists(st.integers(80, 250).map(lambda value: value / 100), min_size=4, max_size=4)


@drawn(TIMES, TIMES, st.lists(st.integers(0, 100).map(float), min_size=8, max_size=8))
@settings(deadline=None, max_examples=60)
def test_a_run_seen_in_a_mirror_reads_the_same_but_for_the_direction_of_its_drift(left, right, offsets) -> None:
    rows = turns(left, right, width_m=WIDTHS[:8], mid_offset_m=offsets)
    mirrored = [
        replace(row, side="left" if row.side == "right" else "right", mid_offset_m=-(row.mid_offset_m or 0))
        for row in rows
    ]
    one, other = read(rows), read(mirrored)
    for name in ("symmetry", "rhythm", "corridor width", "corridor evenness"):
        assert one[name].value == pytest.approx(other[name].value)
    assert one["corridor drift"].value == pytest.approx(-(other["corridor drift"].value or 0), abs=1e-9)


@drawn(TIMES, TIMES, st.floats(0.5, 3))
@settings(deadline=None, max_examples=60)
def test_a_run_filmed_at_another_speed_is_as_even(left, right, factor) -> None:
    slow = read(turns([factor * time for time in left], [factor * time for time in right]))
    for name in ("symmetry", "rhythm"):
        assert read(turns(left, right))[name].value == pytest.approx(slow[name].value, abs=1e-9)


def test_an_uneven_pair_of_even_sides_is_not_called_unrhythmic() -> None:
    found = read(turns([1.4] * 4, [1.0] * 4))
    assert found["rhythm"].value == pytest.approx(0, abs=1e-9) and (found["symmetry"].value or 0) > 30
