"""GPX 1.1 from anybody: what is a track is read, everything else is one sentence with its line, at once."""

from __future__ import annotations

import os
import time
from math import cos, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.film.gpx import LARGEST_TRACK, MOST_POINTS, TrackPoint, read_gpx
from assess.film.local_metres import local_metres
from assess.records.errors import InputError
from tests.film.made_gpx import AT_ONCE, gpx, point

GOOD = gpx([[point(46.0, 8.0, 0, "<ele>2100</ele>"), point(46.0001, 8.0001, 0.5), point(46.0002, 8, 1)]])
DTD = '<?xml version="1.0"?>\n<!DOCTYPE gpx [\n{}\n]>\n'
LAUGHS = "\n".join(
    ['<!ENTITY a0 "ha">', *(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))]
)  # fmt: skip


def sentence(raw: bytes | str) -> str:
    """What is said of a file that cannot be used; it is said at once."""
    raw = raw.encode() if isinstance(raw, str) else raw
    began = time.process_time()
    with pytest.raises(InputError) as caught:
        read_gpx(raw, "run.gpx")
    assert time.process_time() - began < AT_ONCE
    assert all(problem.todo for problem in caught.value.problems)
    return str(caught.value)


def test_points_come_with_lines_and_seconds_from_the_first() -> None:
    assert read_gpx(GOOD.encode(), "run.gpx") == (
        (TrackPoint(5, 46.0, 8.0, 0.0), TrackPoint(6, 46.0001, 8.0001, 0.5), TrackPoint(7, 46.0002, 8.0, 1.0)),
    )


def test_a_mark_at_the_start_and_utf_16_change_nothing() -> None:
    plain = read_gpx(GOOD.encode(), "run.gpx")
    assert read_gpx(b"\xef\xbb\xbf" + GOOD.encode(), "run.gpx") == plain
    assert read_gpx(GOOD.replace("UTF-8", "UTF-16").encode("utf-16"), "run.gpx") == plain


def test_extensions_waypoints_and_times_of_other_things_are_not_taken_for_points() -> None:
    more = "<metadata><time>2001-01-01T00:00:00Z</time></metadata><wpt lat='1' lon='1'><time>x</time></wpt>"
    inner = "<extensions><trkpt lat='91' lon='0'><time>x</time></trkpt><time>y</time></extensions>"
    text = gpx([[point(46, 8, 0, inner), point(46, 8.001, 1)]], more=more)
    (piece,) = read_gpx(text.encode(), "run.gpx")
    assert [(at.lat, at.t) for at in piece] == [(46, 0), (46, 1)]


def test_times_with_a_zone_or_without_one_are_read() -> None:
    text = GOOD.replace("2027-02-03T09:02:11Z", "2027-02-03T10:02:10+01:00")
    assert read_gpx(text.encode(), "run.gpx")[0][1].t == pytest.approx(1.5)
    text = GOOD.replace("2027-02-03T09:02:11Z", "2027-02-03T09:02:09")
    assert read_gpx(text.encode(), "run.gpx")[0][1].t == pytest.approx(2.5)


def test_segments_stay_apart() -> None:
    text = gpx([[point(46, 8, 0), point(46, 8.001, 1)], [], [point(46, 8.002, 9), point(46, 8.003, 10)]])
    assert [len(piece) for piece in read_gpx(text.encode(), "run.gpx")] == [2, 2]


@pytest.mark.parametrize(
    ("inner", "used"),
    [
        (LAUGHS, "&a9;"),
        ('<!ENTITY out SYSTEM "file:///etc/passwd">', "&out;"),
        ('<!ENTITY % out SYSTEM "http://localhost/x.dtd"> %out;', ""),
        ('<!ENTITY harmless "46">', ""),
        ('<!ATTLIST gpx creator CDATA "x">', ""),
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_document_type_is_refused_before_anything_of_it_is_used(inner: str, used: str, encoding: str) -> None:
    text = gpx([[point(46, 8, 0, f"<name>{used}</name>"), point(46, 8, 1)]], head=DTD.format(inner))
    said = sentence(text.encode(encoding))
    assert said.startswith("run.gpx:2: ") and "document type" in said


def test_a_document_type_outside_the_file_is_refused_unread() -> None:
    text = gpx([[point(46, 8, 0)]], head='<!DOCTYPE gpx SYSTEM "http://localhost:9/gpx.dtd">\n')
    assert "document type" in sentence(text)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("", 1, "no well-formed XML"),
        (GOOD[: GOOD.index("46.0002")], 7, "no well-formed XML"),
        (GOOD.replace("</trkseg>", ""), 9, "no well-formed XML"),
        (GOOD.replace("46.0001", "&nbsp;"), 6, "no well-formed XML"),
        (gpx([[point(46, 8, 0)]], space="http://www.topografix.com/GPX/1/0", version="1.0"), 2, "is GPX 1.0"),
        (gpx([[point(46, 8, 0)]], version="2.0"), 2, "version is `2.0`"),
        (gpx([[point(46, 8, 0)]], space="http://example.org/else"), 2, "no GPX 1.1 file"),
        ("<kml xmlns='http://www.opengis.net/kml/2.2'><Document/></kml>", 1, "begins with `kml`"),
        (gpx([[point(46, 8, 0), point(91, 8, 1)]]), 6, "the latitude is `91`"),
        (gpx([[point(46, 8, 0), point(46, 181, 1)]]), 6, "the longitude is `181`"),
        (gpx([[point(46, 8, 0), point(46, 180, 1)]]), 6, "the longitude is `180`"),
        (gpx([[point("NaN", 8, 0), point(46, 8, 1)]]), 5, "the latitude is `NaN`"),
        (gpx([[point(46, "inf", 0), point(46, 8, 1)]]), 5, "the longitude is `inf`"),
        (gpx([[point("4_6", 8, 0), point(46, 8, 1)]]), 5, "the latitude is `4_6`"),
        (GOOD.replace('lat="46.0001" ', ""), 6, "the latitude is ``"),
        (gpx([[point(46, 8, 5), point(46, 8, 4)]]), 6, "the time is not later than that of the point in line 5"),
        (gpx([[point(46, 8, 5), point(46, 8, 5)]]), 6, "the time is not later"),
        (gpx([[point(46, 8, 5)], [point(46, 8, 4)]]), 8, "the time is not later"),
        (gpx([[point(46, 8, None), point(46, 9, None)]]), 5, "the point has no time"),
        (GOOD.replace("T09:02:11Z", "T09:02:61Z"), 5, "the time is `2027-02-03T09:02:61Z`"),
        (GOOD.replace("2027-02-03T09:02:11Z", "yesterday"), 5, "the time is `yesterday`"),
        (GOOD.replace("T09:02:11Z", "T09:02:11+99:00"), 5, "the time is"),
        (gpx([[point(46, 8, 0)]]), 3, "one point only"),
        (gpx([[]]), 1, "no track"),
        (gpx(more="<rte><rtept lat='1' lon='1'/></rte>"), 1, "routes or waypoints"),
        (gpx([[point(46, 8, 0), point(46, 9, 1)]], [[point(46, 8, 2)]]), 9, "a second track begins"),
        ('<?xml version="1.0" encoding="utf-7"?><gpx/>', 1, "encoding"),
        ('<?xml version="1.0" encoding="big5"?><gpx/>', 1, "encoding"),
        (gpx([[point(46, 8, 0, "<x>" * 100 + "</x>" * 100)]]), 5, "deep"),
    ],
)  # fmt: skip
def test_what_is_no_track_is_a_sentence_with_its_line(text: str, line: int, said: str) -> None:
    told = sentence(text)
    assert f"run.gpx:{line}: " in told and said in told


def test_every_wrong_point_is_told_and_of_very_many_the_first() -> None:
    two = sentence(gpx([[point(91, 8, 0), point(46, 200, 1), point(46, 8, 2)]]))
    assert "run.gpx:5: " in two and "run.gpx:6: " in two
    many = sentence(gpx([[point(91, 8, n) for n in range(5000)]]))
    assert len(many.splitlines()) == 50 and "4951 more" in many


def test_bytes_that_are_no_text_are_a_sentence() -> None:
    assert "no well-formed XML" in sentence(bytes(range(256)) * 100)
    assert "no well-formed XML" in sentence(b"\0" * 1000)
    assert "no well-formed XML" in sentence(GOOD.encode().replace(b"run", b"\xff\xfe\xfa"))


def test_a_file_that_is_too_large_is_refused_unread() -> None:
    assert "larger than" in sentence(b"<" * (LARGEST_TRACK + 1))
    assert "larger than" in sentence(b" " * 50_000_000)


@pytest.mark.parametrize(
    "text",
    [
        gpx([[point(46, 8, 0, "<name>" + "x" * (LARGEST_TRACK - 2000) + "</name>")]]),
        gpx([[point(46, 8, 0)]], more="<!--" + "-x" * (LARGEST_TRACK // 2 - 1000) + "-->"),
        gpx([[point(46, 8, 0)]], more="<a " + " ".join(f"b{n}='1'" for n in range(400_000)) + "/>"),
        gpx([[point(46, 8, 0, "<time>" + "1" * (LARGEST_TRACK - 2000) + "</time>")]]),
        gpx([[point(46, 8, 0)]], more="<a/>" * 1_500_000),
    ],
    ids=["long-name", "long-comment", "many-attributes", "long-time", "many-elements"],
)  # fmt: skip
def test_a_file_made_to_be_slow_is_not(text: str) -> None:
    assert len(text) <= LARGEST_TRACK
    sentence(text)


def test_more_points_than_a_run_has_are_refused_and_as_many_as_allowed_are_read_at_once() -> None:
    points = [point(46, 8, n) for n in range(MOST_POINTS)]
    began = time.process_time()
    (piece,) = read_gpx(gpx([points]).encode(), "run.gpx")
    assert len(piece) == MOST_POINTS and time.process_time() - began < AT_ONCE
    assert "more than" in sentence(gpx([[*points, point(46, 8, MOST_POINTS)]]))


@settings(max_examples=150, deadline=None)
@given(data=st.binary(max_size=200), at=st.integers(0, len(GOOD)), cut=st.integers(0, 60))
def test_a_damaged_file_is_read_or_refused_and_nothing_else(data: bytes, at: int, cut: int) -> None:
    raw = GOOD.encode()
    raw = raw[:at] + data + raw[at + cut :]
    try:
        pieces = read_gpx(raw, "run.gpx")
    except InputError as trouble:
        assert trouble.problems and all(problem.file == "run.gpx" for problem in trouble.problems)
    else:
        assert all(-90 <= at.lat <= 90 and -180 <= at.lon < 180 for piece in pieces for at in piece)


def test_nothing_of_the_surroundings_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = []
    monkeypatch.setattr(os, "open", lambda *words: opened.append(words))
    monkeypatch.setattr("builtins.open", lambda *words: opened.append(words))
    sentence(gpx([[point(46, 8, 0)]], head=DTD.format('<!ENTITY out SYSTEM "file:///etc/passwd">')))
    assert opened == []


# A degree of latitude and of longitude in metres on the WGS84 ellipsoid at 0, 45 and 60 degrees north, to whole
# metres: the usual geographic table (values from memory), and 111 132.954 - 559.822 cos 2p + 1.175 cos 4p.
@pytest.mark.parametrize(("lat", "north", "east"), [(0, 110574, 111320), (45, 111132, 78847), (60, 111412, 55800)])
def test_metres_are_those_of_the_ellipsoid(lat: float, north: float, east: float) -> None:
    _, (x, _), (_, y) = local_metres([(lat, 8), (lat, 8.01), (lat + 0.0001, 8)])
    assert x == pytest.approx(east / 100, rel=2e-5)
    assert y == pytest.approx(north / 10_000, rel=2e-5)
    assert 111_132.954 - 559.822 * cos(2 * radians(lat)) + 1.175 * cos(4 * radians(lat)) == pytest.approx(north, abs=1)


def test_a_step_over_the_180th_meridian_is_short() -> None:
    _, (x, y) = local_metres([(0, 179.9999), (0, -179.9999)])
    assert x == pytest.approx(22.26, abs=0.01) and y == 0
    assert local_metres([]) == ()
