"""The sentences of what is handed out, by language: `messages("de").say("letter.title", name="...")`.

A language is one file here, `<language>.toml`: tables of sentences with `{placeholders}`. Every language has the same
sentences with the same placeholders, and none that is never used; a test holds them against each other.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from string import Formatter
from typing import Any

from assess.records.errors import UsageError

__all__ = ["LANGUAGES", "Messages", "MissingMessage", "messages", "placeholders"]

FOLDER = Path(__file__).parent
LANGUAGES: dict[str, str] = {"en": "English", "de": "Deutsch"}
"""What `--language` takes, and what each calls itself."""
_MONTHS = {
    "en": ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December"),
    "de": ("Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "August", "September", "Oktober",
           "November", "Dezember"),
}  # fmt: skip
_DAY = {"en": "{day}\u00a0{month} {year}", "de": "{day}.\u00a0{month} {year}"}
_NUMBER = {"en": "{day}", "de": "{day}."}
_TO = {"en": " to ", "de": " bis "}
_POINT = {"en": ".", "de": ","}
_AND = {"en": " and ", "de": " und "}


class MissingMessage(LookupError):
    """The program asked for a sentence the language does not have, or gave it other values than it takes."""


def placeholders(text: str) -> frozenset[str]:
    """The names in braces of a sentence: `{n} of {all}` has `n` and `all`."""
    return frozenset(name for _, name, _, _ in Formatter().parse(text) if name is not None)


@dataclass(frozen=True)
class Messages:
    """The sentences of one language; `texts` is key -> sentence, a key being `table.name`."""

    language: str
    texts: dict[str, str]

    def say(self, key: str, /, **values: str) -> str:
        """The sentence with its values put in; what stands in a value stays as it is.

        Raises MissingMessage for a key there is not, and when the values are not exactly those it takes.
        """
        text = self.texts.get(key)
        if text is None:
            raise MissingMessage(f"{self.language}: no message {key}")
        if placeholders(text) != frozenset(values):
            takes = ", ".join(sorted(placeholders(text))) or "none"
            raise MissingMessage(f"{self.language}: {key} takes {takes}, got {', '.join(sorted(values)) or 'none'}")
        return text.format(**values)

    def day(self, day: str) -> str:
        """`2026-02-10` (or a time that starts so) as the language writes it: 10 February 2026, 10. Februar 2026.

        The day is never parted from its month at the end of a line.
        """
        year, month, number = day[:10].split("-")
        names = _MONTHS[self.language]
        return _DAY[self.language].format(day=int(number), month=names[int(month) - 1], year=year)

    def days(self, first: str, last: str) -> str:
        """From one day to another, in as few words as it takes: 2 to 4 February 2026, 28. Februar bis 2. März 2026."""
        if first[:10] == last[:10]:
            return self.day(first)
        year, month, number = first[:10].split("-")
        start = self.day(first)
        if last.startswith(f"{year}-{month}-"):
            start = _NUMBER[self.language].format(day=int(number))
        elif last.startswith(f"{year}-"):
            start = start.removesuffix(f" {year}")
        return start + _TO[self.language] + self.day(last)

    def decimal(self, number: str) -> str:
        """A number as it is printed (`3.45`) with the language's decimal sign."""
        return number.replace(".", _POINT[self.language])

    def listed(self, parts: Sequence[str]) -> str:
        """`a`, `a and b`, `a, b and c`; nothing for nothing."""
        if len(parts) < 2:
            return "".join(parts)
        return ", ".join(parts[:-1]) + _AND[self.language] + parts[-1]

    def quoted(self, parts: Sequence[str]) -> str:
        """`listed`, each in the marks of the language: for titles that have commas themselves."""
        return self.listed([self.say("letter.quoted", words=part) for part in parts])


@cache
def messages(language: str = "en") -> Messages:
    """The sentences of a language. Raises UsageError for one there is not."""
    if language not in LANGUAGES:
        known = " or ".join(LANGUAGES)
        raise UsageError(f"there are no texts in `{language}`", todo=f"use --language {known}")
    tables = tomllib.loads((FOLDER / f"{language}.toml").read_text(encoding="utf-8"))
    return Messages(language, dict(_flat(tables, "")))


def _flat(table: dict[str, Any], before: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for name, value in table.items():
        key = f"{before}{name}"
        found += _flat(value, f"{key}.") if isinstance(value, dict) else [(key, value)]
    return found
