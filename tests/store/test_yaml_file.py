"""YAML that people edit: what is read, what is refused, and with which sentence."""

from __future__ import annotations

import errno
import os
import time
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from assess.records.course import Course, People
from assess.records.errors import InputError
from assess.records.rubric import Rubric
from assess.store.validate import as_model, known_keys
from assess.store.yaml_file import LARGEST, YamlDoc, read_yaml, yaml_doc


def said(body: str | bytes, *, first: str = "# assess course 1\n", what: str = "course") -> YamlDoc:
    raw = first.encode() + (body if isinstance(body, bytes) else body.encode())
    return yaml_doc(raw, Path("c.yaml"), shown="c.yaml", what=what)


def refused(body: str | bytes, **how: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        said(body, **how)
    assert all(problem.todo for problem in caught.value.problems)
    return [str(problem) for problem in caught.value.problems]


def test_words_times_and_dates_stay_text() -> None:
    doc = said("a: NO\nb: on\nc: 12:34\nd: 2025-11-30\ne: 2027-02-03T08:58:11.000Z\nf: yes\ng: 1_000\nh: =\ni: <<\n")
    assert doc.data == {
        "a": "NO", "b": "on", "c": "12:34", "d": "2025-11-30", "e": "2027-02-03T08:58:11.000Z",
        "f": "yes", "g": "1_000", "h": "=", "i": "<<",
    }  # fmt: skip


def test_plain_scalars_follow_the_core_schema_of_yaml_1_2() -> None:
    # YAML 1.2.2, section 10.3.2, examples of each form.
    doc = said(
        "n: [null, Null, NULL, ~, ]\nb: [true, True, TRUE, false, False, FALSE]\ni: [0, 010, -19, +7, 0o14, 0x3A]\n"
        "f: [0., -0.0, .5, +12e03, -2E+05]\nq: ['null', \"true\", '0', \"1.5\"]\n"
    )
    assert doc.data["n"] == [None, None, None, None]
    assert doc.data["b"] == [True, True, True, False, False, False]
    assert doc.data["i"] == [0, 10, -19, 7, 12, 58]
    assert all(type(value) is int for value in doc.data["i"])
    assert doc.data["f"] == [0.0, -0.0, 0.5, 12000.0, -200000.0]
    assert doc.data["q"] == ["null", "true", "0", "1.5"]


def test_whole_number_keys_stay_numbers_from_the_parser_and_from_the_cache() -> None:
    body = "words: {1: low, 2: high}\nnames: {'1': low}\n"
    for _ in range(2):
        doc = said(body)
        assert [type(key) for key in doc.data["words"]] == [int, int]
        assert [type(key) for key in doc.data["names"]] == [str]


def test_every_key_and_list_item_has_its_line() -> None:
    doc = said("id: K-1\ntasks:\n- id: T1\n  title: x\n\n- {id: T2,\n   title: y}\nwords:\n  1: low\nflow: [a,\n b]\n")
    assert dict(doc.lines) == {
        "id": 2, "tasks": 3, "tasks.0": 4, "tasks.0.id": 4, "tasks.0.title": 5, "tasks.1": 7, "tasks.1.id": 7,
        "tasks.1.title": 8, "words": 9, "words.1": 10, "flow": 11, "flow.0": 11, "flow.1": 12,
    }  # fmt: skip
    assert doc.line("tasks", 1, "title") == 8
    assert doc.line("tasks", 1, "nothing", "here") == 7
    assert doc.line("nothing") == 1


def test_windows_line_ends_change_neither_values_nor_lines() -> None:
    unix, windows = said("a: 1\nb:\n- x\n"), said(b"a: 1\r\nb:\r\n- x\r\n", first="# assess course 1\r\n")
    assert (unix.data, unix.lines) == (windows.data, windows.lines)


@pytest.mark.parametrize(
    ("body", "line", "what"),
    [
        ("a: &x 1\nb: *x\n", 2, "anchor"),
        ("a: 1\nb: *x\n", 3, "alias"),
        ("a: !!str 1\n", 2, "tag"),
        ("a: ! x\n", 2, "tag"),
        ("a: !!python/object:os.system x\n", 2, "tag"),
        ("a: 1\nb: 2\na: 3\n", 4, "the key `a` stands twice, first in line 2"),
        ("a: {1: x, '1': y}\n", 2, "the key `1` stands twice"),
        ("? [a, b]\n: 1\n", 2, "a key must be text"),
        ("true: 1\n", 2, "a key must be text"),
        ("~: 1\n", 2, "a key must be text"),
        ("a: 1\n--- \nb: 2\n", 3, "a second document"),
        ("%YAML 1.1\n---\na: 1\n", 3, "directives"),
        ("%TAG ! tag:x,2000:\n---\na: 1\n", 3, "directives"),
        ("a: b: c\n", 2, "a second `: `"),
        ("a: [1, 2\nb: 3\n", 3, "not closed"),
        ("a: 'x\n", 3, "a quote is opened"),
        ("a:\n\t- b\n", 3, "a tab"),
        ("a: 1\n b: 2\n", 3, "`: `"),
        ("- a\n- b\n", 1, "no `key: value` lines"),
        ("", 1, "no `key: value` lines"),
        ("just words\n", 1, "no `key: value` lines"),
        ('a: "\\0"\n', 2, "U+0000"),
        ('a: "\\u2028"\n', 2, "U+2028"),
        ('a: "\\ud800"\n', 2, "U+D800"),
        ('a: "\\U00110000"\n', 2, "escaped character"),
        ('a: "\\UFFFFFFFF"\n', 2, "escaped character"),
        ("a: " + "9" * 5000 + "\n", 2, "a number longer"),
        ("a: .nan\n", 2, "not a number a record can hold"),
        ("a: 1e999\n", 2, "not a number a record can hold"),
    ],
)
def test_what_a_record_does_not_need_is_refused_with_its_line(body: str, line: int, what: str) -> None:
    problems = refused(body)
    assert any(problem.startswith(f"c.yaml:{line}: ") and what in problem for problem in problems), problems


def test_everything_wrong_is_told_at_once() -> None:
    problems = refused("a: &x 1\nb: !t 2\na: 3\nc: *x\n", first="# assess people 1\n")
    assert [problem.split(": ")[0] for problem in problems] == [f"c.yaml:{line}" for line in (1, 2, 3, 4, 5)]


@pytest.mark.parametrize(
    ("raw", "place", "what"),
    [
        ("# assess course 1\nid: K\n".encode("utf-16"), "c.yaml:1", "UTF-16"),
        ("# assess course 1\nid: K\n".encode("utf-16-le"), "c.yaml:1", "UTF-16"),
        ("# assess course 1\nid: K\n".encode("utf-16-be"), "c.yaml:1", "UTF-16"),
        ("# assess course 1\nid: K\n".encode("utf-32"), "c.yaml:1", "UTF-32"),
        (b"\xef\xbb\xbf# assess course 1\nid: K\n", "c.yaml:1", "byte order mark"),
        (b"# assess course 1\nid: K\n\nname: Ren\xe9e\n", "c.yaml:4", "0xe9"),
        (b"# assess course 1\na: \xc3\xa9\nb: \xe9\nc: \xe9\n", "c.yaml:3", "another encoding"),
        (b"# assess course 1\na: \x00\n", "c.yaml:2", "U+0000"),
        (b"# assess course 1\na: b\x07\n", "c.yaml:2", "U+0007"),
        (b"# assess course 1\ra: b\r", "c.yaml:1", "U+000D"),
        ("# assess course 1\na: b\u0085c\n".encode(), "c.yaml:2", "U+0085"),
        ("# assess course 1\na: b\ufeff\n".encode(), "c.yaml:2", "U+FEFF"),
        (b"# assess course 1\na: \xed\xa0\x80\n", "c.yaml:2", "another encoding"),
    ],
)
def test_bytes_that_are_not_clean_utf_8_are_named_with_their_line(raw: bytes, place: str, what: str) -> None:
    problems = refused(raw, first="")
    assert problems[0].startswith(place)
    assert what in problems[0]


def test_each_line_in_another_encoding_is_named() -> None:
    problems = refused(b"a: \xe9\nb: ok\nc: \xff\n")
    assert [problem.split(": ")[0] for problem in problems] == ["c.yaml:2", "c.yaml:4"]


@pytest.mark.parametrize(
    ("first", "what"),
    [
        ("", "is missing; begin the file with `# assess course 1`"),
        ("# a course\n", "is missing"),
        ("# assess rubric 1\n", "this is a rubric file, not a course file"),
        ("# assess course 2\n", "written by a newer version; update the tool"),
        ("# assess course 0\n", "no such format"),
    ],
)
def test_the_first_line_says_what_the_file_is(first: str, what: str) -> None:
    problems = refused("id: K\n", first=first)
    assert len(problems) == 1
    assert problems[0].startswith("c.yaml:1: ")
    assert what in problems[0]


@pytest.mark.parametrize("piece", ["[", "{", "{a: ", "- ", "? ", "[\n", "[ [", "[{"])
def test_twenty_thousand_brackets_are_refused_quickly(piece: str) -> None:
    began = time.process_time()
    problems = refused(("x: " if piece[0] in "[{" else "") + piece * 20_000)
    assert any("nested deeper than 40" in problem for problem in problems), problems
    assert time.process_time() - began < 5


def test_forty_deep_is_read_and_forty_one_is_not() -> None:
    # The map at the left edge is the first of the forty.
    assert said("x: " + "[" * 39 + "]" * 39 + "\n").data
    assert refused("x: " + "[" * 40 + "]" * 40 + "\n") == [
        "c.yaml:2: things are nested deeper than 40; flatten them; look for a bracket too many"
    ]


def test_a_bracket_in_text_or_comment_counts_for_nothing() -> None:
    doc = said("# " + "[" * 100 + "\na: '" + "[{" * 100 + "'\nb: |\n  " + "[" * 100 + "\nc: don't [\n")
    assert doc.data["b"] == "[" * 100 + "\n"


def test_a_file_of_more_than_a_mebibyte_is_refused_before_it_is_read(tmp_path: Path) -> None:
    large = tmp_path / "course.yaml"
    large.write_bytes(b"# assess course 1\n" + b"#" * LARGEST)
    with pytest.raises(InputError, match="larger than 1024 KiB"):
        read_yaml(large, what="course")


@pytest.mark.parametrize("kind", ["missing", "folder", "pipe", "loop", "dangling"])
def test_what_is_no_plain_file_is_a_sentence_and_never_waits(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "course.yaml"
    match kind:
        case "folder":
            path.mkdir()
        case "pipe":
            os.mkfifo(path)
        case "loop":
            path.symlink_to(path)
        case "dangling":
            path.symlink_to(tmp_path / "nowhere")
    with pytest.raises(InputError) as caught:
        read_yaml(path, shown="course.yaml", what="course")
    [problem] = caught.value.problems
    assert problem.file == "course.yaml"
    assert problem.todo


def test_a_file_without_rights_is_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "course.yaml"
    path.write_bytes(b"# assess course 1\nid: K\n")
    path.chmod(0)
    really = os.open

    def refusing(name: object, *rest: object, **more: object) -> int:
        # The superuser may read every file: here the system refuses everybody.
        if name == path:
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return really(name, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(os, "open", refusing)
    with pytest.raises(InputError, match="cannot be read"):
        read_yaml(path, what="course")


PIECES = st.sampled_from(
    ["a", "b: ", "- ", "[", "]", "{", "}", ", ", "\n", "  ", "'", '"', "|\n", ">-\n", "#", "&a ", "*a", "!t ", "? ",
     "%", "---\n", "...\n", "\\", "\\x", "\\ud800", "\t", "é", "~", "1", "0x", ":", "\r\n", "<<: ", "@", "`", "\x07"]
)  # fmt: skip


@settings(max_examples=400, deadline=None)
@given(st.lists(PIECES, max_size=30).map("".join))
@example("a: " + '"\\U00110000"')
@example("? ")
@example("'")
def test_any_text_is_either_read_or_refused_in_sentences(body: str) -> None:
    try:
        doc = said(body)
    except InputError as refusal:
        assert refusal.problems
        assert all(problem.what and problem.todo and problem.line > 0 for problem in refusal.problems)
    else:
        assert isinstance(doc.data, dict)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=40))
def test_any_bytes_are_either_read_or_refused_in_sentences(body: bytes) -> None:
    try:
        said(body)
    except InputError as refusal:
        assert all(problem.what and problem.todo for problem in refusal.problems)


def misfits(body: str, model: type[Course] | type[People] | type[Rubric], what: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        as_model(said(body, first=f"# assess {what} 1\n", what=what), model)
    return [str(problem) for problem in caught.value.problems]


def test_every_misfit_of_a_course_is_a_sentence_with_its_line() -> None:
    problems = misfits(
        "id: K_1\nrevision: 0\ntitel: x\nactivity: 3\ndays: [2026-01-01, 12]\ntasks:\n"
        "- {id: T1, area: demo, day: 1, slope: 3}\n- {id: T2, area: demo, day: x}\nrubrics: none\n"
        "candidates: [C1]\nassessors: [A1]\ndirectors: [D1]\nevents:\n"
        "- {day: 1, at: 25:00, kind: release, modules: 5, to: everyone}\n",
        Course,
        "course",
    )
    assert problems == [
        "c.yaml:1: `title` is missing; add it",
        "c.yaml:2: `id` must be an id: letters, digits and `-`, at most 16; change it",
        "c.yaml:3: `revision` must be at least 1; change it",
        "c.yaml:4: `titel` is not a key that is known here; did you mean `title`?",
        "c.yaml:5: `activity` must be text; put it in quotes",
        "c.yaml:6: number 2 of `days` must be text; put it in quotes",
        "c.yaml:8: `slope` of number 1 of `tasks` is not a key that is known here; did you mean `slope_deg`?",
        "c.yaml:9: `day` of number 2 of `tasks` must be a whole number; write digits only",
        "c.yaml:10: `rubrics` must be a list; write `[a, b]`, or one `- ` line for each",
        "c.yaml:15: `at` of number 1 of `events` must be a time of day like 09:45; change it",
        "c.yaml:15: `modules` of number 1 of `events` must be `all` or a list; change it",
        "c.yaml:15: `to` of number 1 of `events` must be `assessors` or `candidates`; change it",
    ]


def test_a_misfit_deep_in_a_rubric_is_found_by_its_line_and_its_nearest_known_key() -> None:
    problems = misfits(
        "scale: {min: 1, max: 6, pass_line: 3.5, words: {1: a, x: b}}\n"
        "criteria:\n  edge:\n    area: demo\n    levels: {1: a, 2: 3}\n    observable: [front]\n"
        'band: {z: "1", sheet_error: {demo: {n_pair: 84, ci95: ["0.40", "0.54", "3"]}}}\n',
        Rubric,
        "rubric",
    )
    assert 'c.yaml:2: `pass_line` of `scale` cannot be used: write the number in quotes, like "3.5"' in problems
    assert "c.yaml:2: `x` of `words` of `scale` must be a whole number; write digits only" in problems
    assert "c.yaml:6: `2` of `levels` of `edge` of `criteria` must be text; put it in quotes" in problems
    assert (
        "c.yaml:7: `observable` of `edge` of `criteria` is not a key that is known here; "
        "did you mean `observable_from`?"
    ) in problems
    assert any("`n_pair` of `demo` of `sheet_error` of `band`" in problem for problem in problems)


def test_known_keys_are_found_through_lists_maps_and_alternatives() -> None:
    assert known_keys(Course, ("allocation", 3))[:3] == ["task", "order", "round"]
    assert known_keys(Rubric, ("band", "sheet_error", "demo"))[0] == "value"
    assert known_keys(Course, ("title",)) == []
