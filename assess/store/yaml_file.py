"""YAML that people edit: read once, with the line of every key, and never beyond what a record needs.

No aliases, anchors, tags or directives; nesting at most 40; keys unique; words as YAML 1.2 has
them (`NO` and `12:34` are text) and dates as text. Source of the plain forms: YAML 1.2.2,
section 10.3.2 (core schema).
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assess.records.errors import InputError, Problem
from assess.store import parse_cache
from assess.store.reading import whole_file
from assess.store.yaml_text import checked_text, first_line_problems, unshowable

__all__ = ["DEEPEST", "LARGEST", "YamlDoc", "read_yaml", "yaml_doc"]

LARGEST = 1024 * 1024
DEEPEST = 40
_LONGEST_NUMBER = 18

_NULL = frozenset({"", "~", "null", "Null", "NULL"})
_BOOL = {"true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False}
_INT = re.compile(r"[-+]?[0-9]+")
_BASED = re.compile(r"0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_NO_NUMBER = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")
_NOWHERE = object()


@dataclass(frozen=True)
class YamlDoc:
    """A hand-edited file as read.

    path: where it was read; shown: how messages name it; raw: its bytes, sha256: their digest in hex.
    data: maps, lists, text, whole and decimal numbers, true/false, None; keys are text or whole numbers.
    lines: dotted place (`tasks.3.title`) of every key and list item -> its line, counted from 1.
    """

    path: Path
    shown: str
    raw: bytes
    sha256: str
    data: Any
    lines: Mapping[str, int]

    def line(self, *place: str | int) -> int:
        """The line of a place, or of the nearest thing around it that has one; 1 for the whole file."""
        parts = [str(part) for part in place]
        for length in range(len(parts), 0, -1):
            found = self.lines.get(".".join(parts[:length]))
            if found:
                return found
        return 1


def read_yaml(path: Path, *, shown: str = "", what: str, kept: bool = True) -> YamlDoc:
    """The file at `path`, which must be a `what` file (`course`, `people`, `rubric`).

    kept: what it says may be kept in the parse cache. Raises InputError with every problem found, each with its line
    and what to do.
    """
    shown = shown or str(path)
    return yaml_doc(whole_file(path, shown, LARGEST), path, shown=shown, what=what, kept=kept)


def yaml_doc(raw: bytes, path: Path, *, shown: str, what: str, kept: bool = True) -> YamlDoc:
    """As `read_yaml`, of bytes at hand. What was said once is taken from the parse cache."""
    if len(raw) > LARGEST:
        raise InputError([Problem(shown, 0, f"is larger than {LARGEST // 1024} KiB", "split it")])
    digest = hashlib.sha256(raw).hexdigest()
    known = parse_cache.recall(digest) if kept else None
    text = checked_text(raw, shown) if known is None else raw.decode("utf-8")
    problems = first_line_problems(text, what, shown)
    if known is None:
        build = _Build(shown)
        build.follow(text)
        problems += build.problems
        known = (build.root, build.lines)
        if kept and not build.problems:
            parse_cache.remember(digest, *known)
    if problems:
        raise InputError(problems)
    return YamlDoc(path, shown, raw, digest, *known)


@dataclass
class _Open:
    """A map or list that is being filled; `key` is the key that waits for its value."""

    into: Any
    place: tuple[str, ...]
    key: Any = None
    seen: dict[str, int] | None = None


class _Build:
    """Plain values and their lines out of the parser's events, with everything that is wrong on the way."""

    def __init__(self, shown: str) -> None:
        self.shown = shown
        self.root: Any = None
        self.lines: dict[str, int] = {}
        self.problems: list[Problem] = []
        self._open: list[_Open] = []
        self._documents = 0

    def follow(self, text: str) -> None:
        """Reads the whole text; `root`, `lines` and `problems` hold the outcome."""
        from ruamel.yaml import YAML  # 24 ms; a file in the parse cache has no need of it
        from ruamel.yaml.error import YAMLError

        line = 1
        try:
            for event in YAML(typ="safe", pure=True).parse(text):
                line = event.start_mark.line + 1
                if not self._take(event, line):
                    return
        except YAMLError as trouble:
            self._say(*_plain_words(trouble, line))
        except (ValueError, OverflowError):
            # An escape above U+10FFFF is not caught by the parser itself.
            self._say(line, "an escaped character that does not exist", "write the character itself")
        else:
            if not isinstance(self.root, dict) and not self.problems:
                self._say(1, "there are no `key: value` lines at the left edge", "begin from a scaffold: `assess new`")

    def _say(self, line: int, what: str, todo: str) -> None:
        self.problems.append(Problem(self.shown, line, what, todo))

    def _take(self, event: Any, line: int) -> bool:
        """Takes one event in; false when reading on makes no sense."""
        kind = type(event).__name__
        if kind == "DocumentStartEvent":
            return self._document(event, line)
        if kind in ("MappingEndEvent", "SequenceEndEvent"):
            self._open.pop()
        elif kind == "AliasEvent":
            self._say(line, "an alias (`*name`) is not read", "write the value out")
            self._put(None, line)
        elif kind in ("ScalarEvent", "MappingStartEvent", "SequenceStartEvent"):
            if event.anchor is not None:
                self._say(line, "an anchor (`&name`) is not read", "take it out and write each value out")
            if event.tag is not None:
                self._say(line, "a tag (`!name`) is not read", "take it out")
            return self._value(event, kind, line)
        return True

    def _document(self, event: Any, line: int) -> bool:
        self._documents += 1
        if event.version or event.tags:
            self._say(line, "directives (lines beginning with `%`) are not read", "take them out")
        if self._documents > 1:
            self._say(line, "a second document begins here (`---`)", "one file holds one document: take it out")
        return self._documents == 1

    def _value(self, event: Any, kind: str, line: int) -> bool:
        if kind == "ScalarEvent":
            self._put(self._scalar(event, line), line)
            return True
        if len(self._open) >= DEEPEST:
            self._say(line, f"things are nested deeper than {DEEPEST}", "flatten them; look for a bracket too many")
            return False
        into: Any = {} if kind == "MappingStartEvent" else []
        place = self._put(into, line)
        self._open.append(_Open(into, place, seen={} if kind == "MappingStartEvent" else None))
        return True

    def _scalar(self, event: Any, line: int) -> Any:
        text: str = event.value
        bad = unshowable(text)
        if bad:
            self._say(line, f"a character that cannot be seen, {bad}, is written as an escape", "take it out")
        if event.style is not None or not event.implicit[0]:
            return text
        if text in _NULL:
            return None
        if text in _BOOL:
            return _BOOL[text]
        return self._number(text, line)

    def _number(self, text: str, line: int) -> Any:
        whole, based = _INT.fullmatch(text), _BASED.fullmatch(text)
        if whole or based:
            if len(text) > _LONGEST_NUMBER:
                self._say(line, "a number longer than any record needs", "put it in quotes if it is text")
                return 0
            return int(text) if whole else int(text, 0)
        if _NO_NUMBER.fullmatch(text) or (_FLOAT.fullmatch(text) and abs(float(text)) == float("inf")):
            self._say(line, "not a number a record can hold", "put it in quotes if it is text")
            return 0
        return float(text) if _FLOAT.fullmatch(text) else text

    def _put(self, value: Any, line: int) -> tuple[str, ...]:
        """Puts a value where it belongs (as key, map value or list item); its place."""
        if not self._open:
            self.root = value
            return ()
        top = self._open[-1]
        if top.seen is None:
            place = (*top.place, str(len(top.into)))
            top.into.append(value)
            self.lines.setdefault(".".join(place), line)
            return place
        if top.key is None:
            top.key = self._key(value, top, line)
            return top.place
        place = (*top.place, str(top.key))
        if top.key is not _NOWHERE:
            top.into[top.key] = value
        top.key = None
        return place

    def _key(self, key: Any, top: _Open, line: int) -> Any:
        if isinstance(key, bool) or not isinstance(key, str | int):
            self._say(line, "a key must be text or a whole number", "put it in quotes")
            return _NOWHERE
        if len(str(key)) > 200 or "\n" in str(key):
            self._say(line, "a key must be a short text on one line", "look for a missing `- ` or quote")
            return _NOWHERE
        seen = top.seen if top.seen is not None else {}
        if str(key) in seen:
            first = seen[str(key)]
            self._say(line, f"the key `{key}` stands twice, first in line {first}", "keep one of the two")
            return _NOWHERE
        seen[str(key)] = line
        self.lines.setdefault(".".join((*top.place, str(key))), line)
        return key


_SYNTAX: Iterable[tuple[str, str, str]] = (
    ("mapping values are not allowed", "a second `: ` in one line", "put text that holds `: ` in quotes"),
    ("could not find expected ':'", "neither `key: value` nor `- item`", "look for a missing colon or quote"),
    ("cannot start any token", "a tab or sign no value can begin with", "indent with spaces; put the text in quotes"),
    ("found unexpected end of stream", "a quote is opened and never closed", "close it"),
    ("expected ',' or ']'", "a list in brackets is not closed", "look for a missing comma or `]`"),
    ("expected ',' or '}'", "a map in braces is not closed", "look for a missing comma or `}`"),
    ("expected <block end>", "the indentation does not fit the lines above", "line it up with its neighbours"),
    ("did not find expected key", "the indentation does not fit the lines above", "line it up with its neighbours"),
    ("found unknown escape character", "a backslash in double quotes", "use single quotes, or write `\\\\`"),
)


def _plain_words(trouble: Any, line: int) -> tuple[int, str, str]:
    said = str(getattr(trouble, "problem", None) or "")
    mark = getattr(trouble, "problem_mark", None)
    for part, what, todo in _SYNTAX:
        if part in said:
            return (mark.line + 1 if mark else line), what, todo
    return (mark.line + 1 if mark else line), f"not readable as YAML ({said or 'no reason given'})", "mend the line"
