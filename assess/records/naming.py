"""People as they are named in free text: found, and replaced by their ids.

What is looked for: the whole name (also turned round, "Prynne, Aldous"), the family name whatever its case, every
other part of a name of three letters or more where it is written with a capital, the contact, and a learner's alias
as it is written. A genitive `s` behind a name belongs to it. What is not found: nicknames, names spelt wrongly or
with other accents, and somebody described without a name.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from assess.records.course import Candidate, People, Person

__all__ = ["NOT_FOUND", "Named", "Names", "everybody_named"]

NOT_FOUND = "nicknames, names spelt wrongly, and people described without their name are not found"
"""What a replacement of names cannot do, as a clause for people."""

_SHORTEST = 3
_WIDE = frozenset("WF")


@dataclass(frozen=True)
class Named:
    """One person as others write of them: name and contact (both may be empty), an alias for a learner."""

    id: str
    name: str = ""
    contact: str = ""
    alias: str = ""

    @property
    def parts(self) -> tuple[str, ...]:
        """The words of the name."""
        return tuple(unicodedata.normalize("NFC", self.name).split())


def everybody_named(people: People) -> tuple[Named, ...]:
    """Everybody in `people.yaml` with what they are called."""
    persons: tuple[Person | Candidate, ...] = (
        *people.candidates,
        *people.assessors,
        *people.directors,
        *people.reviewers,
    )
    return (
        *(Named(each.id, each.name, each.contact) for each in persons),
        *(Named(each.id, alias=each.alias) for each in people.learners),
    )


class Names:
    """Finds some people in texts.

    spared: words of these people's names are left alone (they are somebody else's). ordinary: words, written small,
    that mean something else too: a family name among them is found only as it is written. as_written: only whole
    names, and family names with the case they have: for a look.
    """

    def __init__(
        self, people: Iterable[Named], *, spared: Iterable[Named] = (), ordinary: Collection[str] = (),
        as_written: bool = False,
    ) -> None:  # fmt: skip
        taken = {part.casefold() for each in spared for part in each.parts}
        self._ordinary = frozenset(ordinary)
        self._ids: dict[str, dict[str, None]] = {}
        ways: dict[tuple[bool, bool], set[str]] = {}
        for each in people:
            for way in _as_written(each) if as_written else _ways(each, taken, self._ordinary):
                ways.setdefault((_unspaced(way.words), way.any_case), set()).add(way.pattern)
                self._ids.setdefault(_key(way.words), {})[each.id] = None
        # Whole names are among those whose case does not matter, and go before their single words.
        kinds = sorted(ways, key=lambda kind: (kind[0], not kind[1]))
        self._patterns = [_pattern(ways[kind], *kind) for kind in kinds]

    def found(self, text: str) -> tuple[str, ...]:
        """The words of a text that name one of these people, in the order of the text, the longer before its parts."""
        text = _composed(text)
        hits = [(hit.start(), -len(hit[1]), hit[1]) for pattern in self._patterns for hit in pattern.finditer(text)]
        return tuple(words for *_, words in sorted(hits))

    def certain(self, text: str) -> tuple[str, ...]:
        """As `found`, without single words that are ordinary ones too, whatever their case: `Line` heads a column."""
        return tuple(words for words in self.found(text) if words.casefold() not in self._ordinary)

    def replaced(self, text: str) -> str:
        """The text with the id in place of every name; where two people share a name, both ids."""
        text = _composed(text)
        for pattern in self._patterns:
            text = pattern.sub(self._id, text)
        return text

    def _id(self, hit: re.Match[str]) -> str:
        # A few letters are alike for a pattern and differ when their case is folded: U+0130 and `i`.
        return "/".join(self._ids.get(_key(hit[1]), ("[name]",)))


@dataclass(frozen=True)
class _Way:
    """One way a person is written: the words, the pattern that finds them, whether their case matters."""

    words: str
    pattern: str
    any_case: bool


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", text)


def _key(words: str) -> str:
    return " ".join(re.split(r"[\s,]+", words.casefold()))


def _ways(each: Named, taken: set[str], ordinary: frozenset[str]) -> Iterator[_Way]:
    parts = each.parts
    if len(parts) > 1:
        yield _Way(" ".join(parts), r"\s+".join(map(re.escape, parts)), any_case=True)
        last, *first = (parts[-1], *parts[:-1])
        yield _Way(" ".join((last, *first)), rf"{re.escape(last)},?\s+" + r"\s+".join(map(re.escape, first)), True)
    for place, part in enumerate(parts):
        long = len(part) >= _SHORTEST or _unspaced(part)
        if part.casefold() in taken or part == each.id:
            continue
        if place == len(parts) - 1 and part.casefold() not in ordinary:
            # A short family name is many another word when it is written small.
            yield _Way(part, re.escape(part), any_case=long)
        elif long and not part.islower():
            yield from (_Way(way, re.escape(way), any_case=False) for way in {part, part.upper()})
    for words, any_case in ((each.contact, True), (each.alias, False)):
        if words:
            yield _Way(_composed(words), re.escape(_composed(words)), any_case)


def _as_written(each: Named) -> Iterator[_Way]:
    parts = each.parts
    if len(parts) > 1 and len(parts[-1]) >= _SHORTEST and not parts[-1].islower() and parts[-1] != each.id:
        yield _Way(parts[-1], re.escape(parts[-1]), any_case=False)
    if len(parts) > 1:
        yield _Way(" ".join(parts), r"\s+".join(map(re.escape, parts)), any_case=True)


def _pattern(ways: set[str], unspaced: bool, any_case: bool) -> re.Pattern[str]:
    # The longest first: a whole name before its last word. Scripts without spaces have no edges of words to look for.
    words = "|".join(sorted(ways, key=lambda way: (-len(way), way)))
    return re.compile(f"({words})" if unspaced else rf"(?<!\w)({words})s?(?!\w)", re.IGNORECASE if any_case else 0)


def _unspaced(words: str) -> bool:
    return any(unicodedata.east_asian_width(sign) in _WIDE for sign in words)
