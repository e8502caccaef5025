"""From a film to a season: what a name becomes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.cli.film_asking import chosen
from assess.desk.film_start import id_for
from assess.records.ids import is_short_id

LESSONS = [("T4", "Beginners on the carpet"), ("T5", "One guest, own choice")]


@pytest.mark.parametrize(
    ("name", "ident"),
    [("KW", "KW"), ("Kaja Wendrin", "KW"), ("Ánna-Lena van Öst", "AVO"), ("王小明", "ME"), ("no id!", "NI")],
)
def test_a_name_gives_its_initials_and_an_id_stays(name: str, ident: str) -> None:
    assert id_for(name) == ident


@given(st.text(min_size=1))
def test_any_name_gives_an_id(name: str) -> None:
    assert is_short_id(id_for(name))


@pytest.mark.parametrize(
    ("said", "answer"),
    [("1", "T4"), ("2", "T5"), ("t5", "T5"), ("one g", "T5"), ("T", None), ("", None), ("3", None), ("0", None)],
)
def test_a_number_an_id_or_a_beginning_of_one_alone_chooses(said: str, answer: str | None) -> None:
    assert chosen(said, LESSONS) == answer
