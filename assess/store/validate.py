"""From what a file says to a frozen model; every misfit becomes a sentence with its line."""

from __future__ import annotations

import difflib
import types
import typing
from collections.abc import Mapping, Sequence
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from assess.records.course import IsoDate
from assess.records.errors import InputError, Problem
from assess.records.fact import Hash64
from assess.records.ids import LongId, ShortId
from assess.records.plan import HalfDay
from assess.records.times import Wall
from assess.store.yaml_file import YamlDoc

__all__ = ["as_model", "known_keys", "misfits"]

Model = TypeVar("Model", bound=BaseModel)
_ShownPlace = tuple[str | int, ...]


def as_model(doc: YamlDoc, model: type[Model]) -> Model:
    """The document as a `model`. Raises InputError with one problem for everything that does not fit."""
    try:
        return model.model_validate(doc.data)
    except ValidationError as trouble:
        raise InputError(misfits(doc, model, trouble)) from trouble


def misfits(doc: YamlDoc, model: type[BaseModel], trouble: ValidationError) -> list[Problem]:
    """One problem per place that does not fit, in file order."""
    by_place: dict[_ShownPlace, list[tuple[str, str]]] = {}
    for item in trouble.errors(include_url=False, include_input=False):
        place = _place_in(doc.data, item["loc"])
        said = _sentence(item, place, model)
        if said not in by_place.setdefault(place, []):
            by_place[place].append(said)
    return sorted(_problem(doc, place, said) for place, said in by_place.items())


def _problem(doc: YamlDoc, place: _ShownPlace, said: list[tuple[str, str]]) -> Problem:
    first, *others = dict.fromkeys(what for what, _ in said)
    what = " or ".join([first, *(other.removeprefix("must be ") for other in others)])
    todo = next((todo for _, todo in said if todo), "")
    return Problem(doc.shown, doc.line(*place), f"{_named(place)} {what}", todo)


def _place_in(said: Any, loc: tuple[str | int, ...]) -> _ShownPlace:
    """The parts of a pydantic location that are keys and positions of the file; branch names are left out."""
    place: list[str | int] = []
    for number, part in enumerate(loc):
        last = number == len(loc) - 1
        if isinstance(said, Mapping):
            found = next((key for key in said if str(key) == str(part)), None)
            if found is None and not last:
                continue
            if found is None and "[" in str(part):
                continue
            # Text even for whole-number keys: a number in a place counts items of a list.
            place.append(str(part))
            said = said.get(found)
        elif isinstance(said, list) and isinstance(part, int):
            place.append(part)
            said = said[part] if part < len(said) else None
    return tuple(place)


def _named(place: _ShownPlace) -> str:
    """`tasks.3.title` as people count: `title of number 4 of tasks`."""
    if not place:
        return "the file"
    parts = [f"number {part + 1}" if isinstance(part, int) else f"`{_cut(part)}`" for part in place]
    return " of ".join(reversed(parts))


def _cut(key: str) -> str:
    return key if len(key) <= 40 else key[:39] + "…"


_FORMS: dict[str, str] = {}


def _form(pattern: str) -> str:
    """What a pattern asks for, in words."""
    if not _FORMS:
        told: tuple[tuple[Any, str], ...] = (
            (ShortId, "must be an id: letters, digits and `-`, at most 16"),
            (LongId, "must be an id: letters, digits, `-` and `.`, at most 40, first a letter or digit"),
            (Hash64, "must be `sha256:` and 64 hex digits"),
            (Wall, "must be a time of day like 09:45"),
            (HalfDay, "must be a half-day like 09:00-12:00"),
            (IsoDate, "must be a date like 2027-02-03"),
        )
        for annotated, words in told:
            for meta in annotated.__metadata__:
                found = getattr(meta, "pattern", None) or next(
                    (getattr(part, "pattern", None) for part in getattr(meta, "metadata", ())), None
                )
                if found:
                    _FORMS[found] = words
    return _FORMS.get(pattern, "does not have the form asked for")


def _sentence(item: Any, place: _ShownPlace, model: type[BaseModel]) -> tuple[str, str]:
    kind, told = item["type"], item.get("ctx", {})
    if kind == "missing":
        return "is missing", "add it"
    if kind == "extra_forbidden":
        return "is not a key that is known here", _nearest(place, model)
    if kind == "string_pattern_mismatch":
        return _form(told["pattern"]), "change it"
    if kind == "value_error":
        return f"cannot be used: {str(item['msg']).removeprefix('Value error, ')}", ""
    if kind in _LIMITS:
        words, key = _LIMITS[kind]
        return words.format(str(told[key]).replace("'", "`")), "change it"
    if kind in _KINDS:
        return _KINDS[kind]
    message = str(item["msg"])
    return message[:1].lower() + message[1:], "change it"


_LIMITS = {
    "greater_than_equal": ("must be at least {}", "ge"),
    "greater_than": ("must be more than {}", "gt"),
    "less_than_equal": ("must be at most {}", "le"),
    "less_than": ("must be less than {}", "lt"),
    "string_too_long": ("is longer than {} characters", "max_length"),
    "literal_error": ("must be {}", "expected"),
}
_WHOLE = ("must be a whole number", "write digits only")
_LIST = ("must be a list", "write `[a, b]`, or one `- ` line for each")
_MAP = ("must be `key: value` lines", "indent its keys below it")
_KINDS = {
    "string_type": ("must be text", "put it in quotes"),
    "int_type": _WHOLE,
    "int_parsing": _WHOLE,
    "int_from_float": _WHOLE,
    "bool_type": ("must be true or false", "write true or false"),
    "bool_parsing": ("must be true or false", "write true or false"),
    "tuple_type": _LIST,
    "list_type": _LIST,
    "dict_type": _MAP,
    "model_type": _MAP,
    "model_attributes_type": _MAP,
    "too_short": ("has too few items", "add what is missing"),
    "too_long": ("has too many items", "take out what is too much"),
}


def _nearest(place: _ShownPlace, model: type[BaseModel]) -> str:
    known = known_keys(model, place[:-1])
    close = difflib.get_close_matches(str(place[-1]) if place else "", known, n=1, cutoff=0.6)
    if close:
        return f"did you mean `{close[0]}`?"
    return f"known here: {', '.join(known)}" if known else "take it out"


def known_keys(model: type[BaseModel], place: Sequence[str | int]) -> list[str]:
    """The keys a file may have at a place of a model, in the model's order; empty when any or none may stand there."""
    kinds: list[Any] = [model]
    for part in place:
        kinds = [inner for kind in kinds for inner in _inside(kind, part)]
    return [
        field.alias or name
        for kind in kinds
        if isinstance(kind, type) and issubclass(kind, BaseModel)
        for name, field in kind.model_fields.items()
    ]


def _inside(kind: Any, part: str | int) -> list[Any]:
    """The types that may stand under one key or position of a type."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        fields = kind.model_fields
        hit = next((field for name, field in fields.items() if part in (name, field.alias)), None)
        return _branches(hit.annotation) if hit else []
    if get_origin(kind) is dict:
        return _branches(get_args(kind)[1])
    if get_origin(kind) is tuple and isinstance(part, int):
        inner = get_args(kind)
        fixed = Ellipsis not in inner
        return _branches(inner[part] if fixed and part < len(inner) else inner[0])
    return []


def _branches(annotation: Any) -> list[Any]:
    if get_origin(annotation) is Annotated:
        return _branches(get_args(annotation)[0])
    if get_origin(annotation) in (Union, types.UnionType):
        return [kind for branch in get_args(annotation) for kind in _branches(branch)]
    return [typing.cast("Any", annotation)]
