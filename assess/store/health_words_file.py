"""The words about health a text is looked through for: one list a language, and a course may have its own."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from assess.records.errors import InputError, Problem
from assess.store.reading import whole_file

__all__ = ["OWN_LIST", "health_words"]

OWN_LIST = "health-words.txt"
"""A list of this name beside course.yaml stands in the place of the program's."""
_FOLDER = Path(__file__).resolve().parent / "health_words"
_LARGEST = 64 * 1024


def health_words(course: Path, language: str) -> tuple[str, ...]:
    """The words for a course in a language (`en`, `de-CH`), lower case; English where there is no list.

    Raises InputError when the course's own list cannot be read.
    """
    own = course / OWN_LIST
    if own.is_file():
        return _words(whole_file(own, OWN_LIST, _LARGEST), OWN_LIST)
    file = _FOLDER / f"{language.split('-')[0]}.txt"
    return _shipped(file if file.is_file() else _FOLDER / "en.txt")


@lru_cache(maxsize=8)
def _shipped(file: Path) -> tuple[str, ...]:
    return _words(file.read_bytes(), file.name)


def _words(raw: bytes, shown: str) -> tuple[str, ...]:
    try:
        lines = raw.decode("utf-8").split("\n")
    except UnicodeDecodeError:
        raise InputError([Problem(shown, 0, "is not UTF-8 text", "save it as UTF-8, one word a line")]) from None
    return tuple(word.casefold() for line in lines if (word := line.strip()) and not word.startswith("#"))
