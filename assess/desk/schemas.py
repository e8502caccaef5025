"""JSON Schema (draft 2020-12) of every file, made from the models that read them, and of what the commands print.

A schema says what one file may hold. What ties files together (an id that must be known, a chain
that must fit) is said by `assess check` alone. Where a file has a whole number the program also
takes it written as text; the schema asks for the number.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, get_args

from assess.desk.printed import FILES, PRINTED, file_schema, printed_schema
from assess.records.errors import UsageError

if TYPE_CHECKING:
    from pydantic import BaseModel

__all__ = ["SCHEMA_NAMES", "model_of", "schema"]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_FORMAT = 1


def schema(name: str) -> dict[str, Any]:
    """The schema with one of the names in `SCHEMA_NAMES`. Raises UsageError for any other."""
    name = _OLDER.get(name, name)
    model = model_of(name)
    if model is not None:
        made = _of_model(model)
    elif name in _OTHERS:
        made = _OTHERS[name]()
    else:
        made = file_schema(name) if name in FILES else printed_schema(name)
    return {"$schema": DIALECT, "$id": f"urn:assess:schema:{name}:{_FORMAT}", **made}


def model_of(name: str) -> type[BaseModel] | None:
    """The model that reads the files of a schema; None where no single one does. Raises UsageError for no schema."""
    from importlib import import_module

    if name not in SCHEMA_NAMES:
        files = ", ".join((*_MODELS, *_OTHERS, *FILES))
        todo = f"use one of {files}, or json- and a command, like json-results"
        raise UsageError(f"there is no schema {name}", todo=todo)
    if name not in _MODELS:
        return None
    module, model = _MODELS[name]
    found: type[BaseModel] = getattr(import_module(module), model)
    return found


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


_MODELS: dict[str, tuple[str, str]] = {
    "course": ("assess.records.course", "Course"),
    "people": ("assess.records.course", "People"),
    "plan": ("assess.records.plan", "PlanSettings"),
    "round": ("assess.records.round", "Round"),
    "reference": ("assess.records.round", "Reasons"),
    "season": ("assess.records.season", "Season"),
    "keys": ("assess.records.key_list", "KeyList"),
    "public-key": ("assess.records.key_list", "PublicKey"),
    "rubric": ("assess.records.rubric", "Rubric"),
    "rubric-package": ("assess.records.rubric_package", "Package"),
    "quality": ("assess.records.quality", "QualityFile"),
    "groups": ("assess.records.quality", "Groups"),
    "faults": ("assess.records.catalogue", "FaultFile"),
    "drills": ("assess.records.catalogue", "DrillFile"),
    "skills": ("assess.records.catalogue", "SkillFile"),
    "vocab": ("assess.records.catalogue", "Vocabulary"),
    "measures": ("assess.records.measure", "MeasureFile"),
    "settings": ("assess.records.reading_settings", "Settings"),
    "overlay": ("assess.store.catalogue_folder", "Overlay"),
    "lesson": ("assess.records.practice", "PracticeFile"),
    "turns-side": ("assess.desk.turns_about", "TurnsAbout"),
    "measured-side": ("assess.desk.lessons", "MeasuredSide"),
}
"""Schema -> the model that reads the file, imported when it is asked for. `plan` is that section of `course.yaml`."""
_OTHERS: dict[str, Callable[[], dict[str, Any]]] = {"header": _header, "entry": _entry}
SCHEMA_NAMES = (*_MODELS, *_OTHERS, *FILES, *PRINTED)
_OLDER = {"results": "json-results"}
"""Names under which schemas were published before; they stay good."""
