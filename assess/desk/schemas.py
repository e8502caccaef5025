"""JSON Schema (draft 2020-12) of every file, made from the models that read them.

A schema says what one file may hold. What ties files together (an id that must be known, a chain
that must fit) is said by `assess check` alone. Where a file has a whole number the program also
takes it written as text; the schema asks for the number.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, get_args

from assess.records.errors import UsageError

if TYPE_CHECKING:
    from pydantic import BaseModel

__all__ = ["SCHEMA_NAMES", "schema"]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_FORMAT = 1


def schema(name: str) -> dict[str, Any]:
    """The schema with one of the names in `SCHEMA_NAMES`. Raises UsageError for any other."""
    make = _MAKERS.get(name)
    if make is None:
        raise UsageError(f"there is no schema {name}", todo=f"use one of {', '.join(SCHEMA_NAMES)}")
    made = make()
    return {"$schema": DIALECT, "$id": f"urn:assess:schema:{name}:{_FORMAT}", **made}


def _of_model(model: type[BaseModel]) -> dict[str, Any]:
    from pydantic.json_schema import GenerateJsonSchema

    class Plain(GenerateJsonSchema):
        """Keys of maps are as strict in the schema as they are when the file is read."""

        def dict_schema(self, schema: Any) -> dict[str, Any]:
            found = super().dict_schema(schema)
            keys = schema.get("keys_schema", {})
            if "patternProperties" in found:
                found["additionalProperties"] = False
            elif keys.get("type") == "int":
                found["propertyNames"] = {"pattern": "^-?[0-9]{1,6}$"}
            return found

        def field_title_should_be_set(self, schema: Any) -> bool:
            return False

    return model.model_json_schema(by_alias=True, schema_generator=Plain)


def _course() -> dict[str, Any]:
    from assess.records.course import Course

    return _of_model(Course)


def _round() -> dict[str, Any]:
    from assess.records.round import Round

    return _of_model(Round)


def _reference() -> dict[str, Any]:
    from assess.records.round import Reasons

    return _of_model(Reasons)


def _people() -> dict[str, Any]:
    from assess.records.course import People

    return _of_model(People)


def _season() -> dict[str, Any]:
    from assess.records.season import Season

    return _of_model(Season)


def _keys() -> dict[str, Any]:
    from assess.records.key_list import KeyList

    return _of_model(KeyList)


def _rubric() -> dict[str, Any]:
    from assess.records.rubric import Rubric

    return _of_model(Rubric)


def _rubric_package() -> dict[str, Any]:
    from assess.records.rubric_package import Package

    return _of_model(Package)


def _quality() -> dict[str, Any]:
    from assess.records.quality import QualityFile

    return _of_model(QualityFile)


def _groups() -> dict[str, Any]:
    from assess.records.quality import Groups

    return _of_model(Groups)


def _header() -> dict[str, Any]:
    from assess.records.ledger import NEEDS, Header

    made = _of_model(Header)
    made["allOf"] = [
        {
            "if": {"properties": {"kind": {"const": kind}}},
            "then": {"required": list(needs), "properties": {key: {"type": "string"} for key in needs}},
        }
        for kind, needs in NEEDS.items()
    ]
    return made


def _entry() -> dict[str, Any]:
    """One line of a ledger: the envelope, and the keys of its kind of fact."""
    from assess.records.facts import SomeFact
    from assess.records.times import INSTANT

    kinds = get_args(get_args(SomeFact)[0])
    envelope = {
        "n": {"type": "integer", "minimum": 1},
        "at": {"type": "string", "pattern": INSTANT},
        "salt": {"type": "string", "pattern": "^[0-9a-f]{1,64}$"},
        "sig": _signature(),
        "chain": {"type": "string", "pattern": "^[0-9a-f]{16}$"},
    }
    lines = [_line(kind, envelope) for kind in sorted(kinds, key=lambda kind: str(kind.model_fields["kind"].default))]
    return {
        "title": "Entry",
        "description": "One line of a ledger behind its `- `; `chain` is the last key.",
        "type": "object",
        "oneOf": lines,
    }


def _line(kind: type[BaseModel], envelope: dict[str, Any]) -> dict[str, Any]:
    from assess.records.facts import FREE_TEXT

    made = _of_model(kind)
    # How an erasure is kept in memory, not a key of the file.
    fields = {key: value for key, value in made["properties"].items() if key != "erased"}
    texts = sorted(FREE_TEXT.intersection(fields))
    for key in texts:
        fields[key] = {"type": "string", "maxLength": 8000}
        fields[f"{key}_sha"] = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
    fields["kind"] = {"const": kind.model_fields["kind"].default}
    made["properties"] = {**envelope, **fields}
    made["required"] = ["n", "at", "kind", *(key for key in made.get("required", ()) if key != "kind"), "chain"]
    if texts:
        salted = {"anyOf": [{"required": [key]} for key in texts]}
        made["allOf"] = [
            # A text is salted, and only a text is; of an erased one nothing but its digest is left.
            {"if": salted, "then": {"required": ["salt"]}, "else": {"not": {"required": ["salt"]}}},
            *({"not": {"required": [key, f"{key}_sha"]}} for key in texts),
        ]
    else:
        del made["properties"]["salt"]
    return made


def _signature() -> dict[str, Any]:
    return {
        "type": "object",
        "description": "Which key signed the entry, by the first digits of its fingerprint, and the signature.",
        "required": ["key", "value"],
        "properties": {
            "key": {"type": "string", "pattern": "^[0-9a-f]{16}$"},
            "value": {"type": "string", "pattern": "^[A-Za-z0-9_-]{86}$"},
        },
        "additionalProperties": False,
    }


def _results() -> dict[str, Any]:
    """What `assess results --json` prints. Further keys may come; none of these is renamed or dropped."""
    candidate = {
        "type": "object",
        "required": ["id", "modules"],
        "properties": {
            "id": {"type": "string"},
            "modules": {"type": "object", "additionalProperties": _module_result()},
        },
    }
    return {
        "title": "Results",
        "description": "Outcomes of a course: what the rules give on the values as they stand. People decide.",
        "type": "object",
        "required": ["course", "candidates"],
        "properties": {"course": {"type": "string"}, "candidates": {"type": "array", "items": candidate}},
    }


def _module_result() -> dict[str, Any]:
    texts = {"type": "array", "items": {"type": "string"}}
    decimal, fraction = r"^-?[0-9]+\.[0-9]{2}$", r"^-?[0-9]+(/[0-9]+)?$"
    reach = {"type": "array", "items": {"type": "string", "pattern": decimal}, "minItems": 2, "maxItems": 2}
    properties = {
        "outcome": {"enum": ["passed", "not_passed", "third_look", "open", "void", None]},
        "mean": {"type": ["string", "null"], "pattern": decimal},
        "mean_exact": {"type": ["string", "null"], "pattern": fraction},
        "line": {"type": ["string", "null"], "pattern": fraction},
        "band": {"type": ["string", "null"], "pattern": r"^[0-9]+\.[0-9]{3}$"},
        "n_sheets": {"type": ["integer", "null"], "minimum": 0},
        "reasons": texts,
        "open_needs": texts,
        "breach": {
            "type": ["object", "null"],
            "required": ["must_not", "state", "modules"],
            "properties": {
                "must_not": {"type": "string"},
                "state": {"enum": ["reported", "confirmed", "not-confirmed"]},
                "modules": texts,
            },
        },
        "moderation_due": texts,
        "reach": {"anyOf": [reach, {"type": "null"}]},
        "flips_with": {"type": ["string", "null"]},
    }
    return {
        "type": "object",
        "description": "Everything null, with the reason, while it is not released to whoever asks.",
        "required": list(properties),
        "properties": properties,
    }


def _later(module: str, name: str) -> Callable[[], dict[str, Any]]:
    """The schema of a model whose module is imported when it is asked for."""

    def made() -> dict[str, Any]:
        from importlib import import_module

        return _of_model(getattr(import_module(module), name))

    return made


_MAKERS: dict[str, Callable[[], dict[str, Any]]] = {
    "course": _course,
    "people": _people,
    "round": _round,
    "reference": _reference,
    "keys": _keys,
    "rubric": _rubric,
    "header": _header,
    "entry": _entry,
    "results": _results,
    "quality": _quality,
    "groups": _groups,
    "season": _season,
    "rubric-package": _rubric_package,
    "faults": _later("assess.records.catalogue", "FaultFile"),
    "drills": _later("assess.records.catalogue", "DrillFile"),
    "skills": _later("assess.records.catalogue", "SkillFile"),
    "vocab": _later("assess.records.catalogue", "Vocabulary"),
    "measures": _later("assess.records.measure", "MeasureFile"),
    "overlay": _later("assess.store.catalogue_folder", "Overlay"),
    "lesson": _later("assess.records.practice", "PracticeFile"),
    "public-key": _later("assess.records.key_list", "PublicKey"),
}
SCHEMA_NAMES = tuple(_MAKERS)
