"""WebVTT and SubRip: any text gives a valid file that reads back; what is broken is refused with its line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.film.cue_file import read_cues
from assess.film.cues import Cue, in_order
from assess.film.subrip import parse_subrip, write_subrip
from assess.film.webvtt import data_cue, parse_webvtt, stamp, write_webvtt
from assess.records.errors import InputError

HOSTILE = (
    "a --> b", "& < > &amp; &lt;b>", "<v Somebody>not a voice</v>", "first\n\n\nthird", "مرحبا \u202e right", "⛷️🏔️",
    "-->", "", " \n ", "NOTE nothing", "STYLE", "WEBVTT", "00:01.000 --> 00:02.000", "{\"a\": \"-->\"}", "\0 \r x \f y",
    "<00:01.000>", "&nbsp;", "a\u2028b", "\u0085 next", "<script>alert(1)</script>", "tail \ud800",
)  # fmt: skip
texts = st.one_of(st.sampled_from(HOSTILE), st.text(max_size=60))
cues = st.lists(
    st.builds(
        Cue, st.integers(-5, 500_000_000), st.integers(-5, 500_000_000), texts, st.one_of(st.just(""), texts),
        st.one_of(st.just(""), texts),
    ),
    max_size=8,
)  # fmt: skip


def plain(text: str) -> str:
    """A text as a file of cues can hold it: lines without blank ones, no surrogates."""
    clean = "".join("\ufffd" if c == "\0" or "\ud800" <= c <= "\udfff" else c for c in text)
    lines = clean.replace("\r\n", "\n").replace("\r", "\n").replace("\f", " ").split("\n")
    return "\n".join(line for line in lines if line.strip()).replace("\xa0", " ").strip()


@given(cues)
def test_whatever_was_noted_gives_a_file_that_reads_back(noted: list[Cue]) -> None:
    text = write_webvtt(noted, notes=HOSTILE)
    found = parse_webvtt(text, "x.vtt")
    wanted = in_order(noted)
    assert [(cue.start_ms, cue.end_ms) for cue in found] == [(cue.start_ms, cue.end_ms) for cue in wanted]
    assert [cue.text for cue in found if not cue.data] == [plain(cue.text) for cue in wanted]
    assert text.encode("utf-8")


@given(cues)
def test_subrip_reads_back_too(noted: list[Cue]) -> None:
    found = parse_subrip(write_subrip([Cue(c.start_ms, c.end_ms, c.text) for c in noted]), "x.srt")
    wanted = in_order(noted)
    assert [(cue.start_ms, cue.end_ms) for cue in found] == [(cue.start_ms, cue.end_ms) for cue in wanted]


def test_data_for_programs_is_json_and_has_no_arrow() -> None:
    data = {"criterion": "edging", "text": "a --> b\n\nc", "level": 4}
    text = write_webvtt([data_cue(1000, 1000, data, "o1")])
    assert text.count("-->") == 1
    (cue,) = parse_webvtt(text, "x.vtt")
    assert cue.data
    assert json.loads(cue.text) == data
    assert (cue.start_ms, cue.end_ms) == (1000, 1001)


def test_over_a_hundred_hours_and_ids_that_come_again() -> None:
    assert stamp(400_000_000) == "111:06:40.000"
    text = write_webvtt([Cue(400_000_000, 400_000_000, "late", "a"), Cue(5, 9, "early", "a")])
    assert [(c.id, c.start_ms) for c in parse_webvtt(text, "x.vtt")] == [("a", 5), ("a-2", 400_000_000)]


GOOD = "WEBVTT\n\n1\n00:01.000 --> 00:02.000\none\n\n"


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("no signature\n\n00:01.000 --> 00:02.000\nx\n", 1, "WEBVTT"),
        (GOOD + "00:05.000 --> 00:04.000\nx\n", 7, "ends before"),
        (GOOD + "0:05.000 --> 0:06.000\nx\n", 7, "is no cue"),
        (GOOD + "00:05,000 --> 00:06,000\nx\n", 7, "is no cue"),
        (GOOD + "00:00.500 --> 00:00.900\nx\n", 7, "before the cue above"),
        (GOOD + "1\n00:05.000 --> 00:06.000\nx\n", 8, "comes twice"),
        (GOOD + "00:05.000 --> 00:06.000\na < b & c\n", 8, "stands for nothing"),
        (GOOD + "00:05.000 --> 00:06.000\nx\n00:07.000 --> 00:08.000\ny\n", 8, "arrow in its text"),
        (GOOD + "00:61.000 --> 00:62.000\nx\n", 7, "is no cue"),
        ("WEBVTT\n00:01.000 --> 00:02.000\nx\n", 2, "not blank"),
    ],
)
def test_broken_files_are_refused_with_the_line(text: str, line: int, said: str) -> None:
    with pytest.raises(InputError) as refused:
        parse_webvtt(text, "x.vtt")
    problem = refused.value.problems[0]
    assert (problem.line, said in problem.what) == (line, True)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("x\n00:00:01,000 --> 00:00:02,000\none\n", 1, "no number"),
        ("1\n00:00:01.000 --> 00:00:02.000\none\n", 2, "no times"),
        ("1\n00:00:02,000 --> 00:00:01,000\none\n", 2, "ends before"),
    ],
)
def test_broken_subrip_is_refused_with_the_line(text: str, line: int, said: str) -> None:
    with pytest.raises(InputError) as refused:
        parse_subrip(text, "x.srt")
    assert refused.value.problems[0].line == line
    assert said in refused.value.problems[0].what


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_files_from_other_systems_are_read(tmp_path: Path, ending: str, mark: str) -> None:
    for name, text in (("a.vtt", GOOD), ("a.srt", "1\n00:00:01,000 --> 00:00:02,000\none\n\n")):
        path = tmp_path / name
        path.write_bytes((mark + text.replace("\n", ending)).encode("utf-8"))
        (cue,) = read_cues(path)
        assert (cue.start_ms, cue.end_ms, cue.text) == (1000, 2000, "one")


def test_what_is_no_text_is_refused_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "a.vtt"
    path.write_bytes(b"WEBVTT\n\n00:01.000 --> 00:02.000\n\xff\xfe\n")
    with pytest.raises(InputError) as refused:
        read_cues(path)
    assert refused.value.problems[0].line == 4
