"""Changing a file that people edit: what was meant, nothing else, and never a comment less."""

from __future__ import annotations

import copy
import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.errors import InputError, StorageTrouble
from assess.store.yaml_edit import edit_yaml
from assess.store.yaml_file import read_yaml
from tests.store.course_maker import COURSE, QUICK, QuickDisk

FILE = """\
# assess course 1
# Words above everything.
id: K-1   # never changes

revision: 1  # counted by hand
title: 'It''s a "course"'
days: [2027-02-03, 2027-02-04]  # two
# What counts.
rubrics:
# the first
- {area: demo, rubric: r-1, sha256: "00"}   # demo
# the second
- {area: teach, rubric: r-1, sha256: "11"}   # teach

# What is done.
tasks:
  - {id: T1, area: demo, day: 1}

  # A lesson.
  - id: T4
    area: teach   # not safety
    day: 2
    # deep down
note: |
  two lines
  # and this is one of them
# the end
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "course.yaml"
    path.write_text(FILE, encoding="utf-8", newline="\n")
    return path


def edited(file: Path, change: Callable[[Any], None]) -> str:
    edit_yaml(file, "course", change, disk=QUICK)
    return file.read_text(encoding="utf-8")


def instead(old: str, new: str) -> str:
    assert FILE.count(old) == 1
    return FILE.replace(old, new)


PIN = {"area": "demo", "rubric": "r-2", "at": "12:30", "n": "NO", "d": "2027-02-03", "sha256": "0123"}
PIN_LINE = "- {area: demo, rubric: r-2, at: '12:30', n: 'NO', d: '2027-02-03', sha256: '0123'}\n"
TEACH = '- {area: teach, rubric: r-1, sha256: "11"}   # teach\n'
DEMO = '- {area: demo, rubric: r-1, sha256: "00"}   # demo\n'


def put(key: str, value: Any) -> Callable[[Any], None]:
    def change(course: Any) -> None:
        course[key] = value

    return change


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (put("revision", 2), instead("revision: 1  #", "revision: 2  #")),
        (put("days", ["2027-02-05"]), instead(
            "days: [2027-02-03, 2027-02-04]  # two", "days: ['2027-02-05']            # two")),
        (lambda course: course["rubrics"].append(PIN), instead(TEACH, TEACH + PIN_LINE)),
        (lambda course: course["rubrics"].insert(0, PIN), instead("rubrics:\n", "rubrics:\n" + PIN_LINE)),
        (lambda course: course["rubrics"].insert(1, PIN), instead(DEMO, DEMO + PIN_LINE)),
        (lambda course: course["rubrics"].pop(), instead(TEACH, "")),
        (lambda course: course["rubrics"].pop(0), instead(DEMO, "")),
        (lambda course: course["rubrics"][1].update(sha256="22"), instead('"11"}', '"22"}')),
        (lambda course: course["tasks"][1].update(day=1), instead("    day: 2\n", "    day: 1\n")),
        (lambda course: course["tasks"].append({"id": "T5", "area": "demo"}), instead(
            "    # deep down\n", "  - id: T5\n    area: demo\n    # deep down\n")),
        (lambda course: course["tasks"].reverse(), None),
        (lambda course: course.pop("title"), instead("title: 'It''s a \"course\"'\n", "")),
        (lambda course: course.pop("rubrics"), instead(
            "rubrics:\n# the first\n" + DEMO + "# the second\n" + TEACH, "")),
        (put("events", [{"day": 1, "kind": "visit"}]), instead(
            "# the end\n", "events:\n- {day: 1, kind: visit}\n# the end\n")),
        (put("note", "one line"), instead(
            "note: |\n  two lines\n  # and this is one of them\n", "note: |-\n  one line\n")),
        (put("rubrics", []), None),
        (lambda course: course["rubrics"].clear(), None),
        (lambda course: None, FILE),
    ],
)  # fmt: skip
def test_only_the_lines_of_what_was_changed_are_written_anew(
    file: Path, change: Callable[[Any], None], expected: str | None
) -> None:
    meant = read_yaml(file, what="course").data
    change(meant)
    written = edited(file, change)
    assert read_yaml(file, what="course").data == meant
    if expected is not None:
        assert written == expected


def test_an_edit_that_changes_nothing_does_not_touch_the_file(file: Path) -> None:
    before = file.stat()
    edited(file, lambda course: course.update(revision=1))
    assert (file.stat().st_ino, file.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)


def test_a_number_that_becomes_a_text_of_the_same_digits_is_a_change(file: Path) -> None:
    assert "revision: '1' # counted" in edited(file, put("revision", "1"))
    assert "revision: true # counted" in edited(file, put("revision", True))


def test_line_ends_stay_what_they_are(file: Path) -> None:
    file.write_bytes(FILE.replace("\n", "\r\n").encode())
    edit_yaml(file, "course", lambda course: course["rubrics"].append(PIN))
    assert file.read_bytes() == instead(TEACH, TEACH + PIN_LINE).replace("\n", "\r\n").encode()


@pytest.mark.parametrize("end", ["", "\r\n", "\n"])
def test_the_last_line_may_be_without_an_end(file: Path, end: str) -> None:
    body = "# assess course 1\nid: K-1\nrevision: 1" if end != "\r\n" else "# assess course 1\r\nid: K-1\r\nrevision: 1"
    file.write_bytes((body + end).encode())
    edit_yaml(file, "course", put("revision", 2))
    assert file.read_bytes() == (body[:-1] + "2" + end).encode()


def test_a_file_in_braces_is_changed_too(file: Path) -> None:
    file.write_text("# assess course 1\n{id: K-1, revision: 1, days: [2027-02-03]}  # all of it\n")
    assert edited(file, put("revision", 2)) == (
        "# assess course 1\n{id: K-1, revision: 2, days: [2027-02-03]}  # all of it\n"
    )


def test_access_rights_stay(file: Path) -> None:
    file.chmod(0o640)
    edited(file, put("revision", 2))
    assert file.stat().st_mode & 0o777 == 0o640
    assert [path.name for path in file.parent.iterdir()] == ["course.yaml"]


# --- what goes wrong leaves the file as it was -----------------------------------------------------------


def refused(file: Path, change: Callable[[Any], None], **more: Any) -> str:
    before = file.read_bytes()
    with pytest.raises(StorageTrouble) as caught:
        edit_yaml(file, "course", change, **more)
    assert file.read_bytes() == before
    assert [path.name for path in file.parent.iterdir()] == ["course.yaml"]
    return caught.value.sentence


@pytest.mark.parametrize("value", ["\x07", "\u2028", "\ud800", float("inf"), 10**30, {"a": {1.5: 2}}])
def test_what_the_file_could_not_hold_is_refused_before_anything_is_written(file: Path, value: Any) -> None:
    assert refused(file, put("title", value)) == (
        "course.yaml would not read back as it was meant; make the change by hand; nothing was written"
    )


def test_a_disk_that_fails_leaves_the_file(file: Path) -> None:
    class Full(QuickDisk):
        def write(self, fd: int, data: bytes) -> int:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    assert refused(file, put("revision", 2), disk=Full()) == (
        "course.yaml cannot be written (disk full); put that right and make the change again; nothing was changed"
    )


def test_what_somebody_else_wrote_meanwhile_is_not_overwritten(file: Path) -> None:
    def change(course: Any) -> None:
        course["revision"] = 2
        file.write_text(FILE + "# saved in an editor\n")

    with pytest.raises(StorageTrouble) as caught:
        edit_yaml(file, "course", change)
    assert caught.value.sentence == (
        "course.yaml was changed by another program meanwhile; save it there, then make the change again"
    )
    assert file.read_text() == FILE + "# saved in an editor\n"


def test_a_file_that_cannot_be_read_is_not_edited(file: Path) -> None:
    file.write_text("# assess course 1\na: &x 1\nb: *x\n")
    with pytest.raises(InputError, match=r"course.yaml:2: an anchor"):
        edit_yaml(file, "course", put("revision", 2))
    with pytest.raises(InputError, match="this is a course file, not a people file"):
        edit_yaml(file, "people", put("revision", 2))


# --- always ----------------------------------------------------------------------------------------------

WORDS = ["x", "12:30", "NO", "007", "a: b", "it's", '"', "# no comment", "- x", "", "null", "é", "2027-02-03"]
SCALARS = st.one_of(st.sampled_from(WORDS), st.integers(-3, 3), st.booleans(), st.none())
MAPS = st.dictionaries(
    st.sampled_from(["id", "area", "day"]), st.one_of(SCALARS, st.lists(SCALARS, max_size=2)), max_size=3
)
ITEMS = st.one_of(SCALARS, MAPS)
LISTS = st.lists(ITEMS, max_size=3)
STEPS = st.tuples(st.integers(0, 5), st.integers(0, 20), SCALARS, ITEMS, LISTS)


@st.composite
def edits(draw: st.DrawFn) -> Callable[[Any], None]:
    """A change: keys given another value of their kind, items put, taken out and changed, keys that are new."""
    steps = draw(st.lists(STEPS, min_size=1, max_size=4))

    def change(course: Any) -> None:
        for act, place, scalar, item, items in copy.deepcopy(steps):
            keys = sorted(set(course) - {"id"})
            key = keys[place % len(keys)]
            held = course[key]
            if act == 0 or not isinstance(held, list) or not held:
                course[key] = items if isinstance(held, list) else scalar
            elif act == 1:
                held.insert(place % (len(held) + 1), item)
            elif act == 2:
                del held[place % len(held)]
            elif act == 3:
                held[place % len(held)] = item
            elif act == 4 and isinstance(held[place % len(held)], dict):
                held[place % len(held)]["day"] = scalar
            else:
                course[f"new-{place}"] = items

    return change


def own_lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.lstrip().startswith("#")]


@settings(max_examples=120, deadline=None)
@given(edits(), st.sampled_from([FILE, COURSE, FILE.replace("\n", "\r\n")]))
def test_any_change_reads_back_as_it_was_meant_and_comments_between_things_stay(
    tmp_path_factory: pytest.TempPathFactory, change: Callable[[Any], None], text: str
) -> None:
    file = tmp_path_factory.mktemp("edit") / "course.yaml"
    file.write_bytes(text.encode())
    meant = read_yaml(file, what="course").data
    change(meant)
    edit_yaml(file, "course", change, disk=QUICK)
    assert read_yaml(file, what="course").data == meant
    after = own_lines(file.read_text(encoding="utf-8"))
    for line in ("# Words above everything.", "# What counts.", "# What is done.", "# the end"):
        assert (line in after) == (line in text)


@pytest.mark.parametrize("text", ["10:27", "9:05", "1:30:00", "-1:30", "10:27:30.5", "on", "No", "y", "1_000", "0o17"])
def test_a_text_that_an_older_reader_takes_for_something_else_is_written_in_quotes(file: Path, text: str) -> None:
    def change(course: Any) -> None:
        course["tasks"].append({"id": "T9", "at": text, "with": [text]})
        course["new"] = [{"at": text}]

    lines = [line for line in edited(file, change).splitlines() if "at:" in line]
    assert len(lines) == 2
    for line in lines:
        assert f"at: '{text}'" in line or f'at: "{text}"' in line
