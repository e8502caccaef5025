"""A demonstration from a track or a table: what it may tell stands beside its noise, what it may not is said."""

from __future__ import annotations

import json
import random
from itertools import pairwise
from math import cos, radians, sin, sqrt
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.desk.demonstration import CAUTION, Demonstration, demonstration_json, demonstration_read
from assess.records.errors import InputError
from tests.film.made_gpx import gpx, point, track_of
from tests.lesson.made_track import made_track

# The project's own worked example of even long turns: times in seconds, left and right.
LEFT, RIGHT = (1.42, 1.45, 1.52, 1.44, 1.47), (1.38, 1.40, 1.37, 1.41, 1.39)
ALTERNATING = tuple(seconds for pair in zip(LEFT, RIGHT, strict=True) for seconds in pair)


def table(folder: Path, source: str = "film", **about: Any) -> Path:
    path = folder / "turns.csv"
    rows, t = [], 0.0
    for n, seconds in enumerate(ALTERNATING, 1):
        rows.append(f"1,{n},{'left' if n % 2 else 'right'},{t:.2f},{t + seconds:.2f},{4 + n % 2},{source}")
        t += seconds
    path.write_text("run,n,side,t_start [s],t_end [s],width_m,source\n" + "\n".join(rows) + "\n", encoding="utf-8")
    if about:
        path.with_suffix(".yaml").write_text(json.dumps(about), encoding="utf-8")
    return path


def track(folder: Path, rate: int = 10, seconds: tuple[float, ...] = ALTERNATING, **about: Any) -> Path:
    path = folder / "run.gpx"
    made = made_track(seconds, rate, swing=90)
    path.write_text(track_of([(fix.t, fix.x, fix.y) for fix in made.fixes]), encoding="utf-8")
    if about:
        path.with_suffix(".yaml").write_text(json.dumps(about), encoding="utf-8")
    return path


def by_name(found: Demonstration) -> dict[str, Any]:
    return {read.name: read for read in found.readings}


def test_a_table_gives_the_worked_values_and_their_noise(tmp_path: Path) -> None:
    found = demonstration_read(table(tmp_path, precision={"switch_s": 0.1}), "carved")
    read = by_name(found)
    assert read["symmetry"].value == pytest.approx(4.9, abs=0.05)
    assert read["rhythm"].value == pytest.approx(2.0, abs=0.05)
    assert read["rhythm"].noise_floor == pytest.approx(10, abs=0.1) and read["rhythm"].beyond_noise is False
    assert read["rhythm"].n == 10 and "3.2" in read["rhythm"].why[0]
    assert found.method.name == "film" and found.seen is None


def test_without_a_stated_precision_nothing_is_beyond_noise_and_that_is_said(tmp_path: Path) -> None:
    found = demonstration_read(table(tmp_path), "carved")
    assert all(read.beyond_noise is None for read in found.readings)
    assert any("how precise the method `film` is is not known" in note for note in found.notes)


def test_what_is_said_on_the_spot_goes_before_the_side_file(tmp_path: Path) -> None:
    path = table(tmp_path, kind="drifted", method="sensor", targets={"rhythm": [0, 5]})
    beside = demonstration_read(path)
    assert (beside.kind, beside.method.name) == ("drifted", "sensor")
    assert by_name(beside)["rhythm"].in_target is True
    spoken = demonstration_read(path, "carved", "film")
    assert (spoken.kind, spoken.method.name) == ("carved", "film")


def test_a_kind_nobody_said_is_read_as_the_more_doubtful_and_told(tmp_path: Path) -> None:
    found = demonstration_read(table(tmp_path))
    assert found.kind == "drifted" and "not said" in found.notes[0]


@pytest.mark.parametrize(("rate", "reach"), [(5, 0.2), (10, 0.1), (50, 0.02)])
def test_a_track_gives_back_the_turns_it_was_made_of(tmp_path: Path, rate: int, reach: float) -> None:
    found = demonstration_read(track(tmp_path, rate), "carved", "differential")
    made = made_track(ALTERNATING, rate, swing=90)
    assert found.seen == 10 and [turn.n for turn in found.turns] == list(range(2, 10))
    for turn, (start, end) in zip(found.turns, list(pairwise(made.switches))[1:-1], strict=True):
        assert turn.side == made.sides[turn.n - 1]
        assert turn.t_start == pytest.approx(start, abs=reach) and turn.t_end == pytest.approx(end, abs=reach)


def test_a_track_at_one_reading_a_second_gives_back_long_turns_and_says_what_it_may_miss(tmp_path: Path) -> None:
    found = demonstration_read(track(tmp_path, 1, (6.0, 5.0, 6.5, 5.5, 6.0)), "carved")
    made = made_track((6.0, 5.0, 6.5, 5.5, 6.0), 1, swing=90)
    assert found.seen == 5
    assert [turn.t_start for turn in found.turns] == pytest.approx(made.switches[1:-2], abs=1)
    assert any("10 to 50 readings a second" in note for note in found.notes)
    short = demonstration_read(track(tmp_path, 1, (2.0, 2.0, 2.0, 2.0)), "carved")
    assert any("turns shorter than about 4 s may be missing" in note for note in short.notes)


def test_a_phones_track_is_not_asked_for_the_width_of_a_lane(tmp_path: Path) -> None:
    found = demonstration_read(track(tmp_path), "carved")
    assert found.method.name == "phone"
    assert all(turn.width_m is None for turn in found.turns)
    read = by_name(found)
    for name in ("corridor width", "corridor evenness", "corridor drift"):
        assert read[name].value is None and "cannot be judged" in (read[name].void or "")
    assert any("4 to 6 m" in note for note in found.notes)
    assert read["speed control"].value == pytest.approx(0, abs=0.05) and read["speed control"].beyond_noise is False
    assert read["edge angle"].void == "edge angles are needed"


def test_a_differential_receivers_track_is_judged_against_its_stated_precision(tmp_path: Path) -> None:
    path = track(tmp_path, method="differential", precision={"place_m": 0.05, "switch_s": 0.001})
    found = demonstration_read(path, "carved")
    read = by_name(found)
    assert read["corridor width"].value > 1 and read["corridor width"].beyond_noise is True
    assert read["corridor width"].noise_floor == pytest.approx(sqrt(2) * 0.05)
    # A switch between two readings 0.1 s apart is not known to a thousandth of a second.
    assert found.method.switch_s == pytest.approx(0.1 / sqrt(12))


@pytest.mark.parametrize("make", [table, track])
def test_wedge_turns_are_refused_in_words(tmp_path: Path, make: Any) -> None:
    found = demonstration_read(make(tmp_path), "wedge")
    assert found.refused and all(read.value is None for read in found.readings)
    assert all("mark the turns by film" in (read.void or "") for read in found.readings)


def test_drifted_turns_carry_their_doubt(tmp_path: Path) -> None:
    found = demonstration_read(track(tmp_path), "drifted")
    assert all(any("missed about one in six" in why for why in read.why) for read in found.readings)


def test_runs_are_parted_by_standing_and_segments_and_said(tmp_path: Path) -> None:
    made = made_track(ALTERNATING[:6], 10, swing=90)
    east = 111_195 * cos(radians(46))
    lines = [[point(46 + f.y / 111_195, 8 + f.x / east, at + f.t) for f in made.fixes] for at in (0, 60)]
    path = tmp_path / "two.gpx"
    path.write_text(gpx(lines), encoding="utf-8")
    found = demonstration_read(path, "carved")
    assert [turn.run for turn in found.turns] == [1] * 4 + [2] * 4 and found.seen == 12
    assert any("into 2 runs" in note for note in found.notes)


def test_positions_that_scatter_too_much_are_not_cut_into_turns_and_that_is_said(tmp_path: Path) -> None:
    chance = random.Random(7)
    made = made_track(ALTERNATING, 10, swing=90)
    path = tmp_path / "rough.gpx"
    rough = [(f.t, f.x + chance.gauss(0, 0.5), f.y + chance.gauss(0, 0.5)) for f in made.fixes]
    path.write_text(track_of(rough), encoding="utf-8")
    found = demonstration_read(path, "carved", "differential")
    assert found.seen == 0 and found.turns == ()
    assert any("positions scatter by about 0." in note and "by film instead" in note for note in found.notes)


def test_a_track_without_a_run_says_so(tmp_path: Path) -> None:
    path = tmp_path / "still.gpx"
    path.write_text(gpx([[point(46, 8, n) for n in range(50)]]), encoding="utf-8")
    found = demonstration_read(path, "carved")
    assert found.seen == 0 and any("nobody moves" in note for note in found.notes)
    assert all(read.value is None for read in found.readings)


@settings(max_examples=10, deadline=None)
@given(turn=st.floats(0, 360), lat=st.floats(-70, 70), lon=st.floats(-179.9, 179.9))
def test_where_a_track_lies_on_the_earth_and_which_way_it_points_changes_nothing(
    tmp_path_factory: pytest.TempPathFactory, turn: float, lat: float, lon: float
) -> None:
    made = made_track(ALTERNATING, 10, swing=90)
    c, s = cos(radians(turn)), sin(radians(turn))
    path = tmp_path_factory.mktemp("moved") / "run.gpx"
    moved = [(f.t, c * f.x - s * f.y, s * f.x + c * f.y) for f in made.fixes]
    path.write_text(track_of(moved, lat, lon if lon < 179.9 else 179.0), encoding="utf-8")
    there = demonstration_read(path, "carved", "differential")
    path.write_text(track_of([(f.t, f.x, f.y) for f in made.fixes]), encoding="utf-8")
    here = demonstration_read(path, "carved", "differential")
    assert there.seen == here.seen == 10
    for one, other in zip(here.turns, there.turns, strict=True):
        assert one.side == other.side
        assert one.t_start == pytest.approx(other.t_start, abs=0.02)
        # The track is laid out on a sphere and read on the ellipsoid: up to 0.7 % in length, both ways.
        assert one.v_in == pytest.approx(other.v_in, rel=0.015)


def test_a_side_file_that_cannot_be_used_is_a_sentence_with_its_line(tmp_path: Path) -> None:
    path = table(tmp_path)
    side = path.with_suffix(".yaml")
    for text, said in (
        ("kind: sideways\n", "kind"), ("kind: carved\ncolour: red\n", "colour"),
        ("precision:\n  switch_s: -1\n", "switch_s"), ("precision:\n  switch_s: .nan\n", "not a number"),
        ("targets:\n  beauty: [1, 2]\n", "`beauty` is no measure"), ("targets:\n  rhythm: [2, 1]\n", "below its start"),
        ("units:\n  v_in: m/s\n", "no column here"),
    ):  # fmt: skip
        side.write_text(text, encoding="utf-8")
        with pytest.raises(InputError) as caught:
            demonstration_read(path, "carved")
        assert said in str(caught.value) and all(problem.line for problem in caught.value.problems)


def test_the_json_names_every_measure_with_what_it_rests_on(tmp_path: Path) -> None:
    said = demonstration_json(demonstration_read(table(tmp_path, precision={"switch_s": 0.01}), "carved"))
    assert said["caution"] == CAUTION and said["n_turns"] == 10 and said["n_runs"] == 1
    assert len(said["measures"]) == 9
    for measure in said["measures"]:
        assert (measure["value"] is None) == (measure["void"] is not None)
        assert measure["why"] and measure["unit"]
    assert json.loads(json.dumps(said, allow_nan=False)) == said
