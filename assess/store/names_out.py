"""A hand-edited file without somebody's name: ids in its place in what people wrote, and in the comments.

Keys, ids and words of the program are never touched, whatever somebody is called: `Day` is a family name too.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator
from typing import Any

from pydantic import BaseModel

from assess.records.course import Course, People
from assess.records.errors import StorageTrouble
from assess.records.frame import FRAMES
from assess.records.naming import Names
from assess.store.validate import as_model
from assess.store.yaml_edit import edited_bytes
from assess.store.yaml_file import YamlDoc, yaml_doc
from assess.store.yaml_splice import plain, same

__all__ = ["without_name"]

_MODELS: dict[str, type[BaseModel]] = {"course": Course, "people": People, **{str(k): m for k, m in FRAMES.items()}}
_WRITTEN = frozenset(
    {
        "about", "by", "clip", "colour", "guardian", "mark", "note", "place", "plan_b", "reason", "snow", "source",
        "text", "title", "what", "why",
    }
)  # fmt: skip
"""Keys under which people write in their own words."""
Found = tuple[int, str]


def without_name(
    doc: YamlDoc, what: str, names: Names, keep: Collection[int], change: Callable[[Any], object], own: Collection[str]
) -> tuple[bytes, list[Found]]:
    """The new bytes of the file, and where it named the person (line, words).

    keep: lines that mean somebody else. change: what else is to be changed in what the file says. own: ids of items
    of lists (`id` or `who`) that go whole and are not looked through.
    Raises StorageTrouble when the file would not read back as meant.
    """
    found: list[Found] = []
    meant = plain(doc.data)
    for place, text in _texts(doc.data, (), frozenset(own)):
        line = doc.line(*place)
        hits = names.found(text)
        if hits and line not in keep:
            found.append((line, hits[0]))
            _put(meant, place, names.replaced(text))
    change(meant)
    raw = doc.raw if same(meant, doc.data) else edited_bytes(doc, meant, what)
    raw = _comments(doc, raw, names, keep, found)
    if raw != doc.raw:
        again = yaml_doc(raw, doc.path, shown=doc.shown, what=what, kept=False)
        if not same(again.data, meant):
            todo = "take the name out in an editor, then erase again; nothing was changed"
            raise StorageTrouble("would not read back as it was meant", where=doc.shown, todo=todo)
        meant["revision"] += 1
        raw = edited_bytes(again, meant, what)
        as_model(yaml_doc(raw, doc.path, shown=doc.shown, what=what, kept=False), _MODELS[what])
    return raw, found


def _texts(
    value: Any, place: tuple[str | int, ...], own: frozenset[str], *, written: bool = False
) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Every text people wrote, with its place; items that are somebody's own entry are left out."""
    if isinstance(value, dict):
        if value.get("id") in own or value.get("who") in own:
            return
        for key, item in value.items():
            yield from _texts(item, (*place, str(key)), own, written=key in _WRITTEN)
    elif isinstance(value, list):
        for number, item in enumerate(value):
            yield from _texts(item, (*place, number), own, written=written)
    elif written and isinstance(value, str):
        yield place, value


def _put(into: Any, place: tuple[str | int, ...], text: str) -> None:
    for part in place[:-1]:
        into = into[part]
    into[place[-1]] = text


def _comments(doc: YamlDoc, raw: bytes, names: Names, keep: Collection[int], found: list[Found]) -> bytes:
    before = doc.raw.decode("utf-8").split("\n")
    lines = raw.decode("utf-8").split("\n")
    for number, line in enumerate(lines):
        at = _comment(line)
        hits = names.found(line[at:])
        # Lines that were taken out have moved those below them.
        was = before.index(line) + 1 if line in before else number + 1
        if hits and was not in keep:
            found.append((was, hits[0]))
            lines[number] = line[:at] + names.replaced(line[at:])
    return "\n".join(lines).encode("utf-8")


def _comment(line: str) -> int:
    """Where the comment of a line begins: at a `#` with a space or nothing before it, outside quotes."""
    for hit in re.finditer(r"(?:^|(?<=\s))#", line):
        start = line[: hit.start()]
        if start.count('"') % 2 == 0 and start.count("'") % 2 == 0:
            return hit.start()
    return len(line)
