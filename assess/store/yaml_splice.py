"""The new text of a hand-edited file: only the lines of what was changed are written anew.

A file is its top-level keys one below the other, and most of them hold a list with one item a line or more.
What lies between (comments, empty lines) belongs to what follows and always stays. A thing that changed
inside is read and written in ruamel.yaml's round-trip mode, which keeps the comments in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from io import StringIO
from itertools import pairwise
from typing import Any

from assess.store.yaml_file import YamlDoc

__all__ = ["plain", "same", "spliced"]

_BLOCK_TEXT = re.compile(r"[|>][-+0-9]{0,2}\s*(#.*)?$")
_HEADER = re.compile(r"[^#]*:\s*(#.*)?$")
# A text that a reader of YAML 1.1 takes for a truth, a number, or minutes and seconds: 10:27 is 627 there.
_OTHERWISE = re.compile(r"(?i:y|n|yes|no|on|off)|[-+]?[0-9][0-9_]*(:[0-5]?[0-9])*(\.[0-9_]*)?|0[a-z][0-9a-f_]+")


def plain(value: Any) -> Any:
    """A deep copy as plain maps and lists."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value


def same(one: Any, other: Any) -> bool:
    """Equal, and of the same kinds throughout: `1`, `1.0` and `true` are three things in a file."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(item, other[key]) for key, item in one.items())
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and bool(one == other)


def spliced(doc: YamlDoc, meant: Any) -> str:
    """The text of `doc` with what it says turned into `meant`. Whether it reads back so is for the caller to see."""
    lines = doc.raw.decode("utf-8").split("\n")
    parts = _parts(lines, [doc.lines.get(str(key), 0) for key in doc.data])
    if parts is None or not all(re.match(r"[^\s#{[?&-]", part.lines[0]) for part in parts[1]):
        first = min(doc.lines.values(), default=1) - 1
        made = [*lines[:first], *_rewritten(lines[first:], doc.data, meant)]
    else:
        made = list(_keys(doc, *parts, meant))
    # New lines end as the others do; what follows the last line end has none.
    known, ends = set(lines), "\r" if doc.raw.count(b"\r\n") * 2 > doc.raw.count(b"\n") else ""
    return "\n".join([*(line if line in known else line + ends for line in made[:-1]), made[-1].removesuffix("\r")])


@dataclass(frozen=True)
class _Part:
    """A key or an item with its lines, and the comments and empty lines between it and what follows."""

    lines: list[str]
    gap: list[str]


def _parts(lines: Sequence[str], starts: Sequence[int], first: int = 1) -> tuple[list[str], list[_Part]] | None:
    """What stands before the first part, and the parts that start in these lines; None when they share lines.

    first: the number of the first of `lines`.
    """
    begins = [start - first for start in starts]
    if not begins or begins[0] < 0 or any(here >= after for here, after in pairwise(begins)):
        return None
    spans = pairwise([*begins, len(lines)])
    return list(lines[: begins[0]]), [_part(list(lines[here:end])) for here, end in spans]


def _part(lines: list[str]) -> _Part:
    # In a text of several lines a deeper line that looks like a comment may belong to the text.
    deep = any(_BLOCK_TEXT.search(line) for line in lines)
    column = _indent(lines[0])
    end = len(lines)
    while end > 1 and _between(lines[end - 1], column if deep else None):
        end -= 1
    return _Part(lines[:end], lines[end:])


def _between(line: str, column: int | None) -> bool:
    bare = line.strip()
    return not bare or (bare.startswith("#") and (column is None or _indent(line) <= column))


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _keys(doc: YamlDoc, before: list[str], parts: Sequence[_Part], meant: Any) -> Iterator[str]:
    """The lines of the file, key by key; new keys come last."""
    yield from before
    for number, (key, part) in enumerate(zip(doc.data, parts, strict=True)):
        if key in meant:
            yield from _key(doc, key, part, meant[key])
        if number == len(parts) - 1:
            for new in [new for new in meant if new not in doc.data]:
                yield from _dumped({new: _laid_out(meant[new])})
        yield from part.gap


def _key(doc: YamlDoc, key: Any, part: _Part, new: Any) -> Iterator[str]:
    old = doc.data[key]
    if same(old, new):
        yield from part.lines
        return
    items = None
    if isinstance(old, list) and isinstance(new, list) and new and _HEADER.match(part.lines[0]):
        starts = [doc.lines.get(f"{key}.{place}", 0) for place in range(len(old))]
        items = _parts(part.lines, starts, first=doc.lines[str(key)])
    if items is None or len({_dash(item) for item in items[1]}) != 1 or _dash(items[1][0]) is None:
        yield from _rewritten(part.lines, {key: old}, {key: new})
    else:
        yield from _items(*items, old, new)


def _dash(item: _Part) -> int | None:
    """The column of an item's dash; None when it does not begin with one."""
    return _indent(item.lines[0]) if re.match(r" *-( |$)", item.lines[0]) else None


def _items(before: list[str], parts: list[_Part], old: list[Any], new: list[Any]) -> Iterator[str]:
    """The lines of a list: items that stay keep theirs, new ones come right below the item before them."""
    yield before[0]
    gap = before[1:]
    for op, here, end, there, until in SequenceMatcher(None, _keyed(old), _keyed(new), autojunk=False).get_opcodes():
        pairs = end - here if op == "equal" else min(end - here, until - there)
        for step, part in enumerate(parts[here:end]):
            if step < pairs:
                yield from gap
                yield from part.lines if op == "equal" else _item(part, old[here + step], new[there + step])
                gap = []
            gap += part.gap
        for item in new[there + pairs : until]:
            yield from _new_item(parts[max(here - 1, 0)], item)
    yield from gap


def _keyed(items: Sequence[Any]) -> list[str]:
    return [repr(item) for item in items]


def _item(part: _Part, old: Any, new: Any) -> list[str]:
    if type(old) is not type(new):
        return _new_item(part, new)
    column = _indent(part.lines[0])
    lines = [line[column:] if line[:column].isspace() else line for line in part.lines]
    return _shifted(_rewritten(lines, [old], [new]), column)


def _new_item(like: _Part, item: Any) -> list[str]:
    """A new item, on one line in braces where its neighbour is."""
    flow = bool(re.match(r" *- [{\[]", like.lines[0]))
    return _shifted(_dumped([_round(item, flow=flow)]), _indent(like.lines[0]))


def _shifted(lines: Sequence[str], column: int) -> list[str]:
    return [" " * column + line if line else line for line in lines]


# --- ruamel.yaml in round-trip mode ------------------------------------------------------------------


def _editor() -> Any:
    from ruamel.yaml import YAML

    editor = YAML(typ="rt")
    editor.preserve_quotes = True
    editor.width = 4096
    return editor


def _round(value: Any, *, flow: bool) -> Any:
    """Maps and lists as the editor holds them, in braces or one below the other; a doubtful text in quotes."""
    from ruamel.yaml.comments import CommentedMap, CommentedSeq
    from ruamel.yaml.scalarstring import SingleQuotedScalarString

    if isinstance(value, dict):
        made: Any = CommentedMap((key, _round(item, flow=flow)) for key, item in value.items())
    elif isinstance(value, list):
        made = CommentedSeq(_round(item, flow=flow) for item in value)
    elif isinstance(value, str) and _OTHERWISE.fullmatch(value):
        return SingleQuotedScalarString(value)
    else:
        return value
    if flow:
        made.fa.set_flow_style()
    return made


def _laid_out(value: Any) -> Any:
    """A value under a new key: a list has its items one below the other, each in braces."""
    if not isinstance(value, list):
        return _round(value, flow=False)
    from ruamel.yaml.comments import CommentedSeq

    return CommentedSeq(_round(item, flow=True) for item in value)


def _dumped(value: Any) -> list[str]:
    paper = StringIO()
    _editor().dump(value, paper)
    return paper.getvalue().removesuffix("\n").split("\n")


def _rewritten(lines: Sequence[str], old: Any, new: Any) -> list[str]:
    """Lines that say `old`, saying `new`."""
    editor = _editor()
    tree = editor.load("\n".join(line.removesuffix("\r") for line in lines))
    _assign(tree, old, new)
    paper = StringIO()
    editor.dump(tree, paper)
    made = paper.getvalue()
    return (made if lines[-1] == "" else made.removesuffix("\n")).split("\n")


def _assign(node: Any, old: Any, new: Any) -> None:
    """Make a map or list of the editor say `new`, touching only what differs."""
    if isinstance(old, dict):
        for key in [key for key in old if key not in new]:
            del node[key]
        for key, value in new.items():
            _put(node, key, old.get(key), value, known=key in old)
        return
    steps = SequenceMatcher(None, _keyed(old), _keyed(new), autojunk=False).get_opcodes()
    for op, here, end, there, until in reversed(steps):
        pairs = 0 if op == "equal" else min(end - here, until - there)
        for place in range(end - 1, here + pairs - 1, -1) if op != "equal" else ():
            del node[place]
        for place in range(pairs, until - there) if op != "equal" else ():
            node.insert(here + place, _round(new[there + place], flow=bool(node.fa.flow_style())))
        for place in range(pairs):
            _put(node, here + place, old[here + place], new[there + place], known=True)


def _put(node: Any, key: Any, old: Any, new: Any, *, known: bool) -> None:
    from ruamel.yaml.scalarstring import ScalarString

    if known and same(old, new):
        return
    if known and isinstance(old, dict | list) and isinstance(new, type(old)) and new:
        _assign(node[key], old, new)
    else:
        quoted = known and isinstance(new, str) and isinstance(node[key], ScalarString)  # its own quotes stay
        node[key] = new if quoted else _round(new, flow=bool(node.fa.flow_style()))
