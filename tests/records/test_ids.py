from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.records.ids import base_task, is_long_id, is_short_id, repeat_number


@given(st.text(max_size=60))
def test_no_id_is_ever_a_path(text: str) -> None:
    if is_short_id(text) or is_long_id(text):
        assert "/" not in text and "\\" not in text and "\0" not in text
        assert text not in (".", "..") and ".." not in text and not text.startswith((".",))


@pytest.mark.parametrize("text", ["C07", "T5", "A2", "T2-2", "a", "X" * 16])
def test_short_ids(text: str) -> None:
    assert is_short_id(text)


@pytest.mark.parametrize("text", ["", "X" * 17, "a.b", "a b", "../x", "a\n", "\u00e9"])
def test_what_is_no_short_id(text: str) -> None:
    assert not is_short_id(text)


@pytest.mark.parametrize("text", ["", "-a", ".a", "a..b", "x" * 41, "a/b", "a\n"])
def test_what_is_no_long_id(text: str) -> None:
    assert not is_long_id(text)


def test_a_second_performance_belongs_to_its_task_unless_it_is_a_task_itself() -> None:
    assert base_task("T2-2", {"T2"}) == "T2"
    assert repeat_number("T2-2", {"T2"}) == 2
    assert base_task("T2-2", {"T2", "T2-2"}) == "T2-2"
    assert base_task("T9-2", {"T2"}) == "T9-2"
