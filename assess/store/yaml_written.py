"""Plain values as YAML that people edit: a key a line, every text in double quotes, short lists on one line."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

__all__ = ["yaml_text"]

_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_-]*")
_WORDS = {"true", "false", "null", "yes", "no", "on", "off", "y", "n"}
_SHORT = 100


def yaml_text(values: Mapping[Any, Any]) -> str:
    """The map in block style. What is read again from it is equal: text is text, a whole number a whole number."""
    return "".join(f"{line}\n" for line in _block(values, ""))


def _block(value: Any, indent: str) -> Iterator[str]:
    for key, item in value.items():
        short = f"{indent}{_key(key)}: {_flow(item)}"
        if not isinstance(item, Mapping | list | tuple) or not item or (indent and len(short) <= _SHORT):
            yield short
        elif isinstance(item, Mapping):
            yield f"{indent}{_key(key)}:"
            yield from _block(item, indent + "  ")
        else:
            yield f"{indent}{_key(key)}:"
            yield from (f"{indent}  - {_flow(each)}" for each in item)


def _key(key: Any) -> str:
    text = str(key)
    return text if isinstance(key, int) or (_PLAIN.fullmatch(text) and text.lower() not in _WORDS) else _quoted(text)


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(key)}: {_flow(item)}" for key, item in value.items()) + "}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(_flow(item) for item in value) + "]"
    if isinstance(value, str):
        return _quoted(value)
    return json.dumps(value)


def _quoted(text: str) -> str:
    """In double quotes, in which JSON and YAML agree; a character nobody can see, which no file holds, is a space."""
    if text.isprintable():
        return json.dumps(text, ensure_ascii=False)
    return json.dumps("".join(char if char.isprintable() or char < " " else " " for char in text), ensure_ascii=False)
