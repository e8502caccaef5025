"""What does not belong into a record is told in one sentence; what is written on every hill is not."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.records.free_text import not_for_a_record

WORDS = ("asthma*", "surgery", "kreuzband*")


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("call 079 555 01 02", "`079 555 01 02` looks like a telephone number"),
        ("ring +41 (0)79 5550102 tonight", "`+41 (0)79 5550102` looks like a telephone number"),
        ("(555) 010-0199", "`(555) 010-0199` looks like a telephone number"),
        ("0049 170/5550102", "telephone number"),
        ("write c01@example.org, please", "`c01@example.org` looks like an e-mail address"),
        ("says Asthmatic since a child", "`Asthmatic` is a word about health"),
        ("KREUZBANDRISS links", "`KREUZBANDRISS` is a word about health"),
        ("after the surgery", "`surgery` is a word about health"),
    ],
)
def test_contacts_and_health_words_are_told(text: str, named: str) -> None:
    assert named in not_for_a_record(text, WORDS)


@pytest.mark.parametrize(
    "text",
    [
        "", "14 deg, 10:02:19, run 2 of 3", "on 03.02.2027 and 2027-02-03 at 09:45", "levels 3, 4, 4, 5 and 3.38",
        "bib 20, then 21 and 22 0 1 2", "film at 00:12:45.200", "sha256 afc0fff3a652bd146a3f6a961e61f2dd7a485e901b469",
        "T1.C04.A2.d7h2k 3", "knee over the foot, hip stiff, balance good", "5 x 20 turns, 100-120 m",
        "surge on the left", "0.275 of 0.55", "@ the knoll", "2026-01-05 07:21:00",
    ],
)  # fmt: skip
def test_what_is_written_on_every_hill_is_not_told(text: str) -> None:
    assert not_for_a_record(text, WORDS) == ""


@given(st.text(max_size=200), st.lists(st.text(min_size=1, max_size=6), max_size=3))
def test_any_text_and_any_words_can_be_looked_at(text: str, words: list[str]) -> None:
    assert isinstance(not_for_a_record(text, words), str)
