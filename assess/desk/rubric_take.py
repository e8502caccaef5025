"""A rubric in, from a CASE 1.1 package: what it carries, what our own extensions add, what is missing."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.desk.rubric_give import FORMAT, OWN, one_line
from assess.records.errors import InputError, Problem, Refusal

if TYPE_CHECKING:
    from assess.records.rubric_package import Package, PackedCriterion, PackedRubric

__all__ = ["Taken", "read_package", "take_rubric"]

_NO_ID = re.compile(r"[^a-z0-9]+")
_NEEDED = {
    "activity": "the activity",
    "language": "the language",
    "scale": "a scale: no level has points",
    "modules": "the modules",
    "tasks": "the tasks",
    "coverage": "how much of a sheet must be observed",
    "two_markers": "when two sheets are due for moderation",
}


@dataclass
class Taken:
    """A rubric's file as it will be written. missing: what a rubric needs and the package does not hold.

    left: what the package holds and a rubric cannot, or what was read otherwise than it stands there.
    """

    name: str
    values: dict[str, Any]
    missing: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)

    @property
    def raw(self) -> bytes:
        """The rubric file, with what is missing in its first lines."""
        from assess.store.yaml_written import yaml_text

        told = "".join(f"# missing: {one_line(what)}\n" for what in self.missing)
        return f"# assess rubric 1\n{told}{yaml_text(self.values)}".encode()


def read_package(path: Path) -> Package:
    """The package in a file. Raises InputError with every place that does not fit the standard."""
    from pydantic import ValidationError

    from assess.records.rubric_package import Package
    from assess.store.json_file import read_json

    data = read_json(path)
    try:
        return Package.model_validate_json(json.dumps(data))
    except ValidationError as trouble:
        raise InputError([_problem(path, item) for item in trouble.errors(include_url=False)]) from trouble


def take_rubric(package: Package, number: int = 1) -> Taken:
    """The rubric of a package, the first unless told otherwise. Raises Refusal when it has none of that number."""
    rubrics = package.CFRubrics or ()
    if not 1 <= number <= len(rubrics):
        raise Refusal(f"the package has {len(rubrics)} rubrics, and no number {number}", todo="give another --number")
    packed = rubrics[number - 1]
    own = _own_rubric(packed)
    taken = Taken("", dict(own))
    _title_and_id(package, packed, own, taken)
    _told_left(package, taken, len(rubrics), number)
    criteria = _criteria(packed, own, taken)
    _scale(packed, own, taken)
    _weights(packed, list(criteria), own, taken)
    taken.values["criteria"] = criteria
    if package.CFDocument.language and "language" not in own:
        if re.fullmatch(r"[a-z]{2}(-[A-Z]{2})?", package.CFDocument.language):
            taken.values["language"] = package.CFDocument.language
        else:
            taken.left.append(f"the language `{package.CFDocument.language}`: not written like `en`")
    taken.missing += [words for key, words in _NEEDED.items() if key not in taken.values]
    if "scale" in taken.values and "pass_line" not in taken.values["scale"]:
        taken.missing.append("the pass line of the scale")
    return taken


def _problem(path: Path, item: Mapping[str, Any]) -> Problem:
    place = "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in item["loc"]).lstrip(".")
    said = {"missing": "is missing", "extra_forbidden": "is not known to the standard; own fields go in `extensions`"}
    what = said.get(item["type"], str(item["msg"])[:200])
    return Problem(str(path), 0, f"{place[:200] or 'the file'}: {what}", "it is no CASE 1.1 package as it stands")


def _own_rubric(packed: PackedRubric) -> dict[str, Any]:
    """What our own export wrote beside the standard's fields; nothing for a package of another program."""
    own = (packed.extensions or {}).get(OWN)
    if not isinstance(own, dict) or own.get("format") != FORMAT or not isinstance(own.get("rubric"), dict):
        return {}
    said: dict[str, Any] = {key: value for key, value in own["rubric"].items() if key != "criteria"}
    return said


def _title_and_id(package: Package, packed: PackedRubric, own: Mapping[str, Any], taken: Taken) -> None:
    from assess.records.ids import is_long_id

    title = packed.title or package.CFDocument.title
    if "title" not in own or one_line(str(own["title"])) != title:
        taken.values["title"] = title[:120]
        if len(title) > 120:
            taken.left.append("the end of the title: it is longer than 120 letters")
    if packed.description is not None and packed.description != own.get("note", ""):
        taken.values["note"] = packed.description[:2000]
    named = own.get("id")
    if not (isinstance(named, str) and is_long_id(named)):
        named = _id_of(title, "rubric")
    taken.name = taken.values["id"] = named
    first = ("id", "title", "activity", "language")
    taken.values = {key: taken.values[key] for key in (*first, *taken.values) if key in taken.values}


def _told_left(package: Package, taken: Taken, rubrics: int, number: int) -> None:
    if rubrics > 1:
        taken.left.append(f"{rubrics - 1} other rubrics: this is number {number}")
    for name in ("CFItems", "CFAssociations"):
        if found := getattr(package, name):
            taken.left.append(f"{len(found)} {name}: a rubric has no place for them")
    for name, extensions in (("package", package.extensions), ("document", package.CFDocument.extensions)):
        if extensions:
            taken.left.append(f"extensions of the {name}: {', '.join(sorted(extensions))[:200]}")


def _criteria(packed: PackedRubric, own: Mapping[str, Any], taken: Taken) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if "areas" not in own:
        taken.values["areas"] = {}
    for position, criterion in enumerate(packed.CFRubricCriteria or (), 1):
        said = (criterion.extensions or {}).get(OWN)
        said = dict(said) if isinstance(said, dict) else {}
        name = said.pop("id", None)
        text = criterion.description or ""
        if not isinstance(name, str) or name in found:
            name = _free(_id_of(text, "criterion")[:30], found)
        strange = sorted(set(criterion.extensions or {}) - {OWN})
        if strange:
            taken.left.append(f"extensions of criterion {position}: {', '.join(strange)[:200]}")
        if criterion.CFItemURI:
            taken.left.append(f"the statement criterion {position} points at: {criterion.CFItemURI.title[:100]}")
        area = said.pop("area", None) or _area(criterion.category or "", taken)
        found[name] = {
            "area": area,
            "label": said.pop("label") if "label" in said else one_line(text)[:24] or name[:24],
            "text": text[:2000],
            "levels": _levels(criterion, position, taken),
            **said,
        }
    return found


def _levels(criterion: PackedCriterion, position: int, taken: Taken) -> dict[int, str]:
    """Level -> sentence. Points that are no whole numbers, or stand twice, make way for the order of the levels."""
    packed = criterion.CFRubricCriterionLevels or ()
    points = [level.score for level in packed]
    whole = [int(point) for point in points if point is not None and point == int(point) and abs(point) < 1000]
    if len(whole) != len(packed) or len(set(whole)) != len(whole):
        if packed:
            taken.left.append(f"the points of criterion {position}: no whole numbers, each once; its order is taken")
        whole = list(range(1, len(packed) + 1))
    if any(level.feedback for level in packed):
        taken.left.append(f"the feedback texts of the levels of criterion {position}")
    if any(level.extensions for level in packed):
        taken.left.append(f"extensions of the levels of criterion {position}")
    return {number: (level.description or "")[:2000] for number, level in zip(whole, packed, strict=True)}


def _area(category: str, taken: Taken) -> str:
    areas = taken.values.setdefault("areas", {})
    title = one_line(category) or "All criteria"
    if isinstance(areas, dict):
        for name, area in areas.items():
            if isinstance(area, dict) and one_line(str(area.get("title", ""))) == title:
                return str(name)
        name = _free(_id_of(title, "area")[:30], areas)
        areas[name] = {"title": title[:120]}
        return name
    return _id_of(title, "area")[:30]


def _scale(packed: PackedRubric, own: Mapping[str, Any], taken: Taken) -> None:
    """The words of the levels from the standard's own fields, and a scale that spans them when none was given."""
    words: dict[int, str] = {}
    for criterion in packed.CFRubricCriteria or ():
        numbers = _levels(criterion, 0, Taken("", {}))
        for number, level in zip(numbers, criterion.CFRubricCriterionLevels or (), strict=True):
            words.setdefault(number, level.quality or "")
    scale = own.get("scale")
    if isinstance(scale, dict):
        before = scale.get("words")
        kept = {_level(key): text for key, text in before.items()} if isinstance(before, dict) else {}
        changed = {
            number: text[:2000]
            for number, text in words.items()
            if text and text != one_line(str(kept.get(number, "")))
        }
        taken.values["scale"] = {**scale, "words": {**kept, **changed}}
    elif words:
        taken.values["scale"] = {"min": min(words), "max": max(words), "words": dict(sorted(words.items()))}


def _weights(packed: PackedRubric, names: list[str], own: Mapping[str, Any], taken: Taken) -> None:
    """The weights as written when they still say what the standard's numbers say, else those numbers."""
    said = own.get("weights", "1")
    told: dict[str, str] = {}
    for name, criterion in zip(names, packed.CFRubricCriteria or (), strict=True):
        before = str(said.get(name, "1") if isinstance(said, dict) else said)
        now = 1.0 if criterion.weight is None else criterion.weight
        told[name] = before if _same(before, now) else f"{now:.6f}".rstrip("0").rstrip(".")
        if not _same(told[name], now):
            taken.left.append(f"the weight of {name} beyond six decimals: {now}")
    if any(not _same(str(said.get(name, "1") if isinstance(said, dict) else said), float(Fraction(weight)))
           for name, weight in told.items()):  # fmt: skip
        taken.values["weights"] = told


def _same(text: str, number: float) -> bool:
    try:
        return abs(float(Fraction(text)) - number) <= 1e-9 * max(1.0, abs(number))
    except (ValueError, ZeroDivisionError, OverflowError):
        return False


def _level(key: Any) -> Any:
    return int(key) if isinstance(key, str) and re.fullmatch(r"-?\d{1,6}", key) else key


def _id_of(text: str, otherwise: str) -> str:
    return _NO_ID.sub("-", text.lower()).strip("-")[:40].rstrip("-") or otherwise


def _free(name: str, taken: Mapping[str, Any]) -> str:
    number, free = 1, name
    while free in taken:
        number += 1
        free = f"{name}-{number}"
    return free
