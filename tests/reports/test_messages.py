"""The sentences of what is handed out: complete in every language, all used, dates and decimals as written there."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from assess.records.errors import UsageError
from assess.reports.messages import FOLDER, LANGUAGES, Messages, MissingMessage, messages, placeholders

ASSESS = Path(__file__).resolve().parent.parent.parent / "assess"
SOURCES = [*ASSESS.glob("reports/**/*.py"), *ASSESS.glob("desk/*.py"), *ASSESS.glob("cli/*.py")]
TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in SOURCES}


def asked() -> list[tuple[str, ast.expr]]:
    """(where, first argument) of every call of `say`."""
    return [
        (f"{path.name}:{node.lineno}", node.args[0])
        for path, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "say" and node.args
    ]


def constants() -> set[str]:
    return {
        node.value
        for tree in TREES.values()
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def test_there_is_one_file_for_each_language() -> None:
    assert {path.stem for path in FOLDER.glob("*.toml")} == set(LANGUAGES)


@pytest.mark.parametrize("language", sorted(LANGUAGES))
def test_every_language_has_the_same_sentences_with_the_same_placeholders(language: str) -> None:
    english, other = messages("en").texts, messages(language).texts
    assert set(other) == set(english)
    assert {key: placeholders(text) for key, text in other.items()} == {
        key: placeholders(text) for key, text in english.items()
    }
    assert all(isinstance(text, str) and text.strip() == text != "" for text in other.values())
    assert all(name.isidentifier() for text in other.values() for name in placeholders(text))


def test_the_files_hold_no_sentence_nobody_says() -> None:
    assert set(messages("en").texts) - constants() == set()


def test_every_sentence_that_is_said_is_in_the_files() -> None:
    known = messages("en").texts
    wrong = [
        where
        for where, key in asked()
        if isinstance(key, ast.JoinedStr) or (isinstance(key, ast.Constant) and key.value not in known)
    ]
    assert wrong == []


def test_a_sentence_takes_exactly_its_values() -> None:
    said = Messages("en", {"a.b": "{n} of {all}"})
    assert said.say("a.b", n="{all}", all="3") == "{all} of 3"
    for values in ({"n": "1"}, {"n": "1", "all": "2", "more": "3"}, {}):
        with pytest.raises(MissingMessage, match="takes all, n"):
            said.say("a.b", **values)
    with pytest.raises(MissingMessage, match=r"no message a\.c"):
        said.say("a.c")


def test_a_language_there_is_not_is_said() -> None:
    with pytest.raises(UsageError, match="en or de"):
        messages("fr")


@pytest.mark.parametrize(
    ("language", "day", "number", "three"),
    [
        ("en", "1\u00a0March 2026", "3.45", "a, b and c"),
        ("de", "1.\u00a0März 2026", "3,45", "a, b und c"),
    ],
)
def test_days_numbers_and_lists_are_written_as_the_language_does(
    language: str, day: str, number: str, three: str
) -> None:
    said = messages(language)
    assert said.day("2026-03-01") == said.day("2026-03-01T09:00:00Z") == day
    assert said.decimal("3.45") == number
    assert said.listed(["a", "b", "c"]) == three
    assert (said.listed([]), said.listed(["a"])) == ("", "a")


@pytest.mark.parametrize(
    ("first", "last", "english", "german"),
    [
        ("2026-02-02", "2026-02-04", "2 to 4 February 2026", "2. bis 4. Februar 2026"),
        ("2026-02-28", "2026-03-02", "28 February to 2 March 2026", "28. Februar bis 2. März 2026"),
        ("2025-12-30", "2026-01-02", "30 December 2025 to 2 January 2026", "30. Dezember 2025 bis 2. Januar 2026"),
        ("2026-02-02", "2026-02-02", "2 February 2026", "2. Februar 2026"),
    ],
)
def test_days_from_to_say_what_they_share_once(first: str, last: str, english: str, german: str) -> None:
    assert messages("en").days(first, last).replace("\u00a0", " ") == english
    assert messages("de").days(first, last).replace("\u00a0", " ") == german


def test_titles_in_a_list_stand_in_the_marks_of_the_language() -> None:
    assert messages("en").quoted(["a, b", "c"]) == "“a, b” and “c”"
    assert messages("de").quoted(["a, b", "c"]) == "„a, b“ und „c“"
