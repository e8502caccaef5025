"""`assess turns`: measures of a demonstration, and one sentence for every file that cannot be used."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from assess.film.gpx import MOST_POINTS
from tests.cli.commands import assess, tree
from tests.film.made_gpx import AT_ONCE, gpx, point, track_of
from tests.lesson.made_track import made_track

TIMES = (1.42, 1.38, 1.45, 1.40, 1.52, 1.37, 1.44, 1.41, 1.47, 1.39)
HEAD = "run,n,side,t_start [s],t_end [s]"


@pytest.fixture
def track(tmp_path: Path) -> Path:
    path = tmp_path / "run.gpx"
    path.write_text(track_of([(f.t, f.x, f.y) for f in made_track(TIMES, 10, swing=90).fixes]), encoding="utf-8")
    return path


def test_a_table_of_measures_says_what_it_is_and_what_it_may_not_tell(track: Path) -> None:
    ran = assess("turns", track, "--kind", "carved")
    assert (ran.code, ran.err) == (0, "")
    lines = ran.out.splitlines()
    assert lines[0] == "Evidence for the assessor, never a score."
    assert lines[1] == f"{track}: 8 turns of 10 seen in 1 run, carved, measured by: phone"
    assert any(line.split()[:2] == ["measure", "value"] and line.endswith("beyond noise") for line in lines)
    rows = {line.strip().rsplit("  ", 1)[0].split("  ")[0]: line for line in lines if line.startswith("  ")}
    assert rows["symmetry"].endswith("not known") and " 8 " in rows["symmetry"]
    assert rows["speed control"].split()[-1] == "no"
    assert rows["corridor width"].endswith("not judged") and rows["edge angle"].endswith("not judged")
    assert rows["corridor drift"].endswith("not judged, as above")
    assert "a lane a few metres wide cannot be judged with it" in ran.out


def test_the_json_says_the_same(track: Path) -> None:
    ran = assess("turns", track, "--kind", "carved", "--json")
    said = ran.json
    assert (said["kind"], said["method"]["name"], said["n_turns"], said["n_seen"]) == ("carved", "phone", 8, 10)
    assert said["measures"][0]["name"] == "symmetry" and said["measures"][0]["n"] == 8
    assert said["caution"] == "Evidence for the assessor, never a score."


def test_wedge_turns_are_a_refusal_whose_json_is_printed(track: Path) -> None:
    ran = assess("turns", track, "--kind", "wedge")
    assert ran.code == 1 and "not computed for wedge turns" in ran.out and "beyond noise" not in ran.out
    said = assess("turns", track, "--kind", "wedge", "--json")
    assert said.code == 1 and all(measure["value"] is None for measure in said.json["measures"])


def test_another_method_is_named_and_its_noise_is_not_made_up(track: Path) -> None:
    said = assess("turns", track, "--kind", "carved", "--method", "differential", "--json").json
    read = {measure["name"]: measure for measure in said["measures"]}
    assert read["corridor width"]["value"] > 1
    assert read["corridor width"]["noise_floor"] is None and read["corridor width"]["beyond_noise"] is None
    assert any("is not known" in note for note in said["notes"])


def test_a_kind_that_is_none_is_a_matter_of_usage(track: Path) -> None:
    assert assess("turns", track, "--kind", "sideways").code == 2


def test_as_many_points_as_may_be_are_read_at_once(tmp_path: Path) -> None:
    path = tmp_path / "long.gpx"
    made = made_track(TIMES * 28, 50, swing=90).fixes[:MOST_POINTS]
    assert len(made) > 0.95 * MOST_POINTS
    path.write_text(track_of([(f.t, f.x, f.y) for f in made]), encoding="utf-8")
    began = time.process_time()
    said = assess("turns", path, "--kind", "carved", "--method", "differential", "--json").json
    assert time.process_time() - began < AT_ONCE
    assert said["n_seen"] == pytest.approx(len(TIMES) * 28, abs=2)


BAD: dict[str, str | bytes] = {
    "laughs.gpx": '<!DOCTYPE g [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]>\n' + gpx([[point(46, 8, 0, "&b;")]], head=""),
    "outside.gpx": '<!DOCTYPE g [<!ENTITY a SYSTEM "file:///etc/passwd">]>\n' + gpx([[point(46, 8, 0)]], head=""),
    "large.gpx": " " * 50_000_000,
    "cut.gpx": gpx([[point(46, 8, 0), point(46, 8, 1)]])[:-20],
    "north.gpx": gpx([[point(91, 8, 0), point(46, 8, 1)]]),
    "east.gpx": gpx([[point(46, 181, 0), point(46, 8, 1)]]),
    "nan.gpx": gpx([[point("NaN", 8, 0), point(46, 8, 1)]]),
    "back.gpx": gpx([[point(46, 8, 1), point(46, 8, 0)]]),
    "timeless.gpx": gpx([[point(46, 8, None), point(46, 8, None)]]),
    "one.gpx": gpx([[point(46, 8, 0)]]),
    "two.gpx": gpx([[point(46, 8, 0), point(46, 8, 1)]], [[point(46, 8, 2)]]),
    "older.gpx": gpx([[point(46, 8, 0)]], space="http://www.topografix.com/GPX/1/0", version="1.0"),
    "binary.gpx": bytes(range(256)) * 50,
    "binary.csv": bytes(range(256)) * 50,
    "binary": bytes(range(256)) * 50,
    "empty.csv": "",
    "large.csv": "1" * 50_000_000,
    "wide.csv": f"{HEAD}\n1,1,left,0,1\n".encode("utf-16"),
    "formula.csv": f"{HEAD},source\n1,1,left,0,1,=1+1\n",
    "columns.csv": f"{HEAD},colour\n1,1,left,0,1,red\n",
    "negative.csv": f"{HEAD}\n1,1,left,-1,1\n",
    "reversed.csv": f"{HEAD}\n1,1,left,2,1\n",
    "unitless.csv": "run,n,side,t_start,t_end\n1,1,left,0,1\n",
    "values.csv": "run,turn,value\n1,1,4\n",
}


@pytest.mark.parametrize("name", BAD)
@pytest.mark.parametrize("more", [(), ("--json",), ("--kind", "wedge")], ids=["text", "json", "wedge"])
def test_a_file_that_cannot_be_used_is_a_sentence_at_once(tmp_path: Path, name: str, more: tuple[str, ...]) -> None:
    path = tmp_path / name
    content = BAD[name]
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    before = tree(tmp_path)
    began = time.process_time()
    ran = assess("turns", path, *more)
    assert time.process_time() - began < AT_ONCE
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.startswith(str(path)) and "; " in ran.err and "Traceback" not in ran.err
    assert "ha" * 3 not in ran.err and "root:" not in ran.err
    if not name.startswith("large"):
        assert ran.err.removeprefix(f"{path}:")[0].isdigit()
    assert tree(tmp_path) == before


def test_a_file_that_is_not_there_and_a_folder_are_sentences(tmp_path: Path) -> None:
    for path in (tmp_path / "none.gpx", tmp_path):
        ran = assess("turns", path)
        assert (ran.code, ran.out) == (3, "") and ran.err.startswith(str(path))
