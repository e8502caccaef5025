"""A hand-edited file without somebody's name: what people wrote changes, nothing else does."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.course import Course
from assess.records.naming import Named, Names
from assess.store.names_out import without_name
from assess.store.validate import as_model
from assess.store.yaml_file import yaml_doc
from tests.store.course_maker import COURSE

WORDS = ("Day", "day", "Birk", "birk", "Odo Birk", "T1", "C01", "#", "it's", "runs", "place", "1")
PEOPLE = (Named("C01", "Odo Birk"), Named("C02", "Doris Day"), Named("C03", "Ann Place"))
NAMES = Names(PEOPLE, ordinary=["day", "place"])


def changed(text: str, keep: frozenset[int] = frozenset()) -> tuple[str, list[tuple[int, str]]]:
    doc = yaml_doc(text.encode(), Path("course.yaml"), shown="course.yaml", what="course", kept=False)
    raw, found = without_name(doc, "course", NAMES, keep, lambda _: None, ())
    return raw.decode(), found


def test_names_in_texts_and_comments_become_ids_and_their_lines_are_told() -> None:
    text = COURSE + '# Odo Birk first\nprogramme:\n- {day: 1, text: "Birk, then Day"} # ask Doris Day\n'
    lines = text.split("\n")
    new, found = changed(text)
    assert '# C01 first\nprogramme:\n- {day: 1, text: "C01, then C02"}' in new and new.endswith("# ask C02\n")
    assert sorted(found) == [
        (lines.index("# Odo Birk first") + 1, "Odo Birk"),
        (len(lines) - 1, "Birk"), (len(lines) - 1, "Doris Day"),
    ]  # fmt: skip
    assert "revision: 2" in new and new.count("day: 1") == text.count("day: 1")
    kept, _ = changed(text, frozenset({len(lines) - 1}))
    assert '"Birk, then Day"} # ask Doris Day' in kept and "# C01 first" in kept


def test_a_file_without_the_name_keeps_its_bytes() -> None:
    assert changed(COURSE) == (COURSE, [])


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.sampled_from(WORDS), max_size=5).map(" ".join),
    st.lists(st.sampled_from(WORDS), max_size=5).map(" ".join),
    st.booleans(),
)
def test_whatever_somebody_is_called_the_file_says_the_same_about_everything_else(
    text: str, comment: str, quoted: bool
) -> None:
    said = '"' + text + '"' if quoted or not text or "#" in text or text[:1] in "1'" else text
    file = COURSE + f"programme:\n- day: 1\n  text: {said}\n# {comment}\n"
    doc = yaml_doc(file.encode(), Path("course.yaml"), shown="course.yaml", what="course", kept=False)
    new, _ = changed(file)
    again = yaml_doc(new.encode(), Path("course.yaml"), shown="course.yaml", what="course", kept=False)
    before, after = as_model(doc, Course), as_model(again, Course)
    blank = {"programme": (), "revision": 1}
    assert after.model_copy(update=blank) == before.model_copy(update=blank)
    assert after.programme[0].text == NAMES.replaced(before.programme[0].text)
    assert NAMES.found(new.rpartition("# ")[2]) == ()
