"""A text longer than a record takes is a sentence, wherever it is typed; nothing is written."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assess.records.errors import Refusal
from assess.records.text import LONGEST_TEXT, recorded
from tests.cli.commands import assess, tree
from tests.sample.story import SAMPLE

LONG = "long " * (LONGEST_TEXT // 5) + "!"
WAYS: tuple[tuple[str, ...], ...] = (
    ("moderate", "T1.C06", "--keep-both", "--present", "A1,A2", "--reason", LONG),
    ("moderate", "T2.C06", "--ask", "void", "--present", "A1,A2", "--reason", LONG),
    ("breach", "C03", "stop-below", "--account", LONG),
    ("breach", "C03", "stop-below", "--confirm", "--reason", LONG),
    ("decide", "C01", "demo", "--sign", "--reason", LONG),
    ("decide", "C01", "demo", "--sign", "--waiver", LONG),
    ("decide", "C01", "demo", "--kind", "void", "--sign", "--reason", LONG),
    ("release", "--to", "assessors", "--reason", LONG),
    ("resit", "C08", "demo", "--opens", "2026-12-05", "--closes", "2026-12-06", "--reason", LONG),
    ("talk", "C01", "interim", "--minutes", "5", "--present", "A1", "--words", LONG),
    ("appeal", "C08", "file", "--module", "teach", "--grounds", "procedure", "--text", LONG),
    ("look", "C02", "demo", "--by", "A3", "--reason", LONG),
    ("again", "T5", "C10", "--offer", "teach", "--reason", LONG),
    ("evidence", "T1.C06", "--digest", "sha256:" + "a" * 64, "--what", LONG),
    ("evidence", "T1.C06", "--digest", "sha256:" + "a" * 64, "--what", "a film", "--ruling", "admit", "--rule", LONG),
    ("allocate", "T1.C06", "--from", "A1", "--to", "A4", "--reason", LONG),
    ("allocate", "T1.C06", "--to", "A4", "--waive", LONG),
    ("person", "erase", "C01", "--yes", "--reason", LONG),
)  # fmt: skip


@pytest.mark.parametrize("words", WAYS, ids=lambda words: " ".join(word for word in words if word != LONG))
def test_a_text_too_long_for_a_record_is_refused_in_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    monkeypatch.setenv("ASSESS_STATE_DIR", str(tmp_path / "state"))
    course = Path(shutil.copytree(SAMPLE, tmp_path / "course"))
    before = tree(course)
    command, *others = words
    first = [command, others.pop(0)] if command == "person" else [command]
    ran = assess(*first, course, *others, "--as", "D1")
    assert ran.code in {1, 2, 3}, ran.err[:300]
    assert len(ran.err) < 1000, "the sentence does not repeat the text"
    assert tree(course) == before


def test_the_longest_text_is_kept_and_one_more_character_is_not() -> None:
    assert recorded("x" * LONGEST_TEXT) == "x" * LONGEST_TEXT
    with pytest.raises(Refusal, match="8001 characters, 8000 are the most"):
        recorded("x" * (LONGEST_TEXT + 1))
