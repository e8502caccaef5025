"""Holds what a command prints with `--json` to its published schema: every key in it is one the schema names."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from typing import Any

import jsonschema

__all__ = ["GROUPS", "closed", "hold_to_schema", "schema_name"]

GROUPS = ("new", "person", "rubric", "key")
"""Commands that are followed by another word of theirs."""
_held: set[int] = set()


def hold_to_schema(words: Sequence[str], out: str) -> None:
    """Nothing without `--json`, or where nothing was printed; otherwise every key must stand in the schema."""
    asked = words[: words.index("--")] if "--" in words else words
    name = schema_name(words)
    # What was looked at once in a run needs no second look; most tests ask the same of the same course.
    if "--json" not in asked or not out or name is None or (mark := hash((name, out))) in _held:
        return
    document = json.loads(out)
    found = _errors(name, document)
    assert found == [], (name, found)
    _held.add(mark)


def schema_name(words: Sequence[str]) -> str | None:
    """`json-person-due` for `person due ...`; None for words that ask for a schema itself, or for no command."""
    if not words or words[0].startswith("-") or words[0] == "schema":
        return None
    return "json-" + "-".join(words[: 2 if words[0] in GROUPS else 1])


def closed(schema: Any) -> Any:
    """The schema with no key allowed that it does not name: stricter than for readers, who ignore what is new."""
    if isinstance(schema, list):
        return [closed(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    made = {key: closed(value) for key, value in schema.items()}
    return {**made, "additionalProperties": False} if "properties" in made else made


@cache
def _validators(name: str) -> tuple[jsonschema.Draft202012Validator, ...]:
    from assess.desk.schemas import schema

    return tuple(jsonschema.Draft202012Validator(closed(shape)) for shape in schema(name)["anyOf"])


def _errors(name: str, document: Any) -> list[str]:
    """What is wrong in the eyes of the shape that fits best; nothing when one fits."""
    each = [list(validator.iter_errors(document)) for validator in _validators(name)]
    return [f"{error.json_path}: {error.message[:200]}" for error in min(each, key=len)]
