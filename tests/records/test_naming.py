"""People in free text: found and replaced by their ids, and nothing else is."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.records.naming import Named, Names

PEOPLE = (
    Named("C01", "Aldous Prynne", "c01@example.org"),
    Named("C02", "Beric van der Stannow", "+41 79 555 01 02"),
    Named("C03", "王伟"),
    Named("C04", "Li Ng"),
    Named("C05", "Ann Sand"),
    Named("C06", "Bob Sand"),
    Named("C07", "José Núñez"),
    Named("L1", alias="Swift"),
)
NAMES = Names(PEOPLE, spared=[Named("A1", "Bob Hallam")])


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Prynne was late", "C01 was late"),
        ("ALDOUS  PRYNNE's track", "C01's track"),
        ("Prynnes Spur", "C01 Spur"),
        ("Prynne, Aldous: late", "C01: late"),
        ("prynne and Aldous", "C01 and C01"),
        ("aldous alone, small", "aldous alone, small"),
        ("the prynnesque way", "the prynnesque way"),
        ("write to C01@Example.org.", "write to C01."),
        ("van der Stannow fell", "van der C02 fell"),
        ("call +41 79 555 01 02", "call C02"),
        ("王伟做得好", "C03做得好"),
        ("Ng stood, ng did not", "C04 stood, ng did not"),
        ("Sand was first", "C05/C06 was first"),
        ("Ann Sand was first", "C05 was first"),
        ("Bob was second", "Bob was second"),
        ("Núñez; NÚÑEZ; José", "C07; C07; C07"),
        ("NÚÑEZ, José", "C07"),
        (unicodedata.normalize("NFD", "núñez"), "C07"),
        ("Swift turns are swift", "L1 turns are swift"),
        ("", ""),
    ],
)
def test_names_contacts_and_aliases_become_ids(text: str, told: str) -> None:
    assert NAMES.replaced(text) == told
    assert bool(NAMES.found(text)) == (unicodedata.normalize("NFC", text) != told)


def test_without_people_nothing_is_found() -> None:
    assert Names(()).replaced("Aldous Prynne") == "Aldous Prynne"
    assert Names(()).found("Aldous Prynne") == ()


@given(st.lists(st.sampled_from(["Prynne", "aldous", "Sand", "王伟", "turns", "Swift", "Ng", "C01", ", "]), max_size=8))
def test_what_is_replaced_once_holds_no_name_any_more(words: list[str]) -> None:
    told = NAMES.replaced(" ".join(words))
    assert NAMES.found(told) == ()
    assert NAMES.replaced(told) == told


@given(st.text(max_size=40), st.text(max_size=20))
def test_any_name_and_any_text_can_be_asked(name: str, text: str) -> None:
    names = Names([Named("X1", name, contact=name, alias=name)])
    assert names.found(text) == () or names.replaced(text) != ""


def test_a_letter_that_is_the_same_for_a_pattern_alone_is_still_replaced() -> None:
    assert Names([Named("C01", "Ida Birik")]).replaced("B\u0130rik") == "[name]"
