"""How the documents of the command line are written down: as they look, with what may stand in each place.

`{"id": TEXT, "bib?": WHOLE}` is an object with `id` always and `bib` sometimes; `[TEXT]` a list of texts; `maybe(TEXT)`
a text or null; `each(WHOLE)` an object whose keys are ids; `words("a", "b")` one of these words. A reader ignores keys
it does not know: they may be added, and none is renamed or taken away.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

__all__ = [
    "ANY", "CI", "DAY", "ENDS", "INSTANT", "NUMBER", "TEXT", "WHOLE", "YES", "Shape", "each", "either", "maybe", "pair",
    "shape_schema", "words",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Plain:
    """Anything that JSON Schema says in one line; `parts`: of which shapes it is made, under which word."""

    says: tuple[tuple[str, Any], ...] = ()
    word: str = ""
    parts: tuple[Shape, ...] = ()


Shape: TypeAlias = "Plain | dict[str, Shape] | list[Shape]"

ANY = Plain()
TEXT = Plain((("type", "string"),))
WHOLE = Plain((("type", "integer"),))
NUMBER = Plain((("type", "number"),))
YES = Plain((("type", "boolean"),))
DAY = Plain((("type", "string"), ("pattern", r"^\d{4}-\d{2}-\d{2}$")))
INSTANT = Plain((("type", "string"), ("pattern", r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\.\d{3}Z$")))


def maybe(shape: Shape) -> Plain:
    """The shape, or null."""
    return either(shape, Plain((("type", "null"),)))


def either(*shapes: Shape) -> Plain:
    """One of these shapes."""
    return Plain(word="anyOf", parts=shapes)


def each(shape: Shape) -> Plain:
    """An object with a key for each of several things, named by their ids; the same shape for all."""
    return Plain((("type", "object"),), "additionalProperties", (shape,))


def pair(shape: Shape) -> Plain:
    """A list of exactly two."""
    return Plain((("type", "array"), ("minItems", 2), ("maxItems", 2)), "items", (shape,))


def words(*allowed: str) -> Plain:
    """One of these words."""
    return Plain((("enum", list(allowed)),))


ENDS = pair(NUMBER)
"""The two ends of an interval."""
CI = maybe(ENDS)
"""An interval of 95 %, or null where there is none."""


def shape_schema(shape: Shape) -> dict[str, Any]:
    """The shape as JSON Schema."""
    if isinstance(shape, list):
        return {"type": "array", "items": shape_schema(shape[0])}
    if isinstance(shape, dict):
        return {
            "type": "object",
            "required": [key for key in shape if not key.endswith("?")],
            "properties": {key.removesuffix("?"): shape_schema(value) for key, value in shape.items()},
        }
    made = {key: list(value) if isinstance(value, list) else value for key, value in shape.says}
    if shape.word:
        parts = [shape_schema(part) for part in shape.parts]
        made[shape.word] = parts if shape.word == "anyOf" else parts[0]
    return made
