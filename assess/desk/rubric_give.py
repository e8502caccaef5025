"""A rubric out, as a CASE 1.1 package other programs read, with what that standard cannot carry.

Identifiers are made from what the rubric says (UUID version 5): the same rubric has the same ones in every export,
and another version has others. The date is the newest the rubric itself holds, that of a marking error; a rubric
without one is dated 1970-01-01, never by the clock.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

if TYPE_CHECKING:
    from assess.records.rubric import Criterion, Rubric
    from assess.records.rubric_package import Package

__all__ = ["OWN", "Given", "RubricIds", "give_rubric", "one_line", "rest_of"]

OWN = "assess"
"""The key of `extensions` under which our own fields stand."""
FORMAT = 1
_NAMESPACE = UUID("6f0a8f0e-6d1d-5d0e-9a55-2f4c61b0f6a1")
_UNDATED = "1970-01-01"
_NOT_CARRIED = {
    "scale": "the pass line and the lowest and highest level",
    "modules": "the modules, and which tasks each counts",
    "tasks": "the tasks: minutes, terrain, which criteria each asks for",
    "coverage": "how much of a sheet must be observed",
    "evidence_needed": "which levels need an observation",
    "minimum": "the least value a criterion may have",
    "below_line": "how many values may be below the line",
    "two_markers": "when two sheets are due for moderation",
    "band": "the borderline band and the marking error behind it",
    "third_look": "how third sheets join",
    "minimum_evidence": "the least evidence for a criterion",
    "runs": "how many runs a task has",
    "passes": "how several runs become one mark",
    "rerun_reasons": "the reasons for another run",
    "must_nots": "the must-nots and what each closes",
    "breach": "the standard for a breach, and who may not confirm it",
    "resit": "when a module may be taken again",
    "safety_list": "the safety list of a lesson",
    "questions": "the questions after a lesson",
    "rule": "the rule by which outcomes are found",
    "replaces": "which version it replaces",
}


@dataclass(frozen=True)
class Given:
    """A package, and what only our own extensions in it hold: another program may drop those."""

    package: Package
    not_carried: tuple[str, ...]

    @property
    def raw(self) -> bytes:
        """The package as a file; the same rubric gives the same bytes."""
        told = self.package.model_dump(mode="json", exclude_none=True)
        return (json.dumps(told, ensure_ascii=False, indent=2) + "\n").encode("utf-8")


class RubricIds:
    """The identifiers of a rubric and its parts."""

    def __init__(self, rubric: Rubric) -> None:
        said = json.dumps(rubric.model_dump(mode="json"), sort_keys=True)
        self._root = f"{rubric.activity}/{rubric.id}/{hashlib.sha256(said.encode('ascii')).hexdigest()}"

    def of(self, *place: object) -> str:
        """The identifier of a part: `criterion, over-feet`."""
        return str(uuid5(_NAMESPACE, "/".join([self._root, *map(str, place)])))


def give_rubric(rubric: Rubric, *, creator: str = "") -> Given:
    """The rubric as a package, valid against its models. creator: who answers for it; a rubric does not say."""
    from assess.records.rubric_package import Package

    ids, moment = RubricIds(rubric), f"{_day_of(rubric)}T00:00:00Z"
    packed = {
        **_identified(ids.of("rubric"), moment),
        "title": one_line(rubric.title),
        "description": rubric.note,
        "CFRubricCriteria": [
            _criterion(rubric, name, position, ids, moment) for position, name in enumerate(rubric.criteria, 1)
        ],
        "extensions": {OWN: {"format": FORMAT, "rubric": rest_of(rubric)}},
    }
    document = {
        **_identified(ids.of("document"), moment),
        "creator": one_line(creator) or "not stated in the rubric",
        "title": one_line(rubric.title),
        "caseVersion": "1.1",
        "language": rubric.language,
        "version": rubric.id,
    }
    whole = {
        "CFDocument": document,
        "CFItems": [],
        "CFAssociations": [],
        "CFDefinitions": {},
        "CFRubrics": [packed],
    }
    return Given(Package.model_validate_json(json.dumps(whole)), tuple(_not_carried(rubric)))


def rest_of(rubric: Rubric) -> dict[str, Any]:
    """The rubric without the texts of its criteria, which stand in the package's own fields."""
    told = rubric.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    del told["criteria"]
    return told


def one_line(text: str) -> str:
    """A text in the one line the standard's short fields hold."""
    return " ".join(text.split())


def _day_of(rubric: Rubric) -> str:
    return (
        max((error.date for error in rubric.band.sheet_error.values()), default=_UNDATED) if rubric.band else _UNDATED
    )


def _identified(identifier: str, moment: str) -> dict[str, Any]:
    return {"identifier": identifier, "uri": f"urn:uuid:{identifier}", "lastChangeDateTime": moment}


def _criterion(rubric: Rubric, name: str, position: int, ids: RubricIds, moment: str) -> dict[str, Any]:
    criterion = rubric.criteria[name]
    own = criterion.model_dump(mode="json", exclude_defaults=True, exclude={"text", "levels"})
    area = rubric.areas.get(criterion.area)
    identifier = ids.of("criterion", name)
    return {
        **_identified(identifier, moment),
        "category": one_line(area.title if area else criterion.area),
        "description": criterion.text,
        "weight": float(rubric.weight(name)),
        "position": position,
        "rubricId": ids.of("rubric"),
        "CFRubricCriterionLevels": _levels(rubric, name, criterion, identifier, ids, moment),
        "extensions": {OWN: {"id": name, **own}},
    }


def _levels(
    rubric: Rubric, name: str, criterion: Criterion, parent: str, ids: RubricIds, moment: str
) -> list[dict[str, Any]]:
    return [
        {
            **_identified(ids.of("criterion", name, level), moment),
            "description": text,
            **({"quality": one_line(rubric.scale.words[level])} if level in rubric.scale.words else {}),
            "score": float(level),
            "position": position,
            "rubricCriterionId": parent,
        }
        for position, (level, text) in enumerate(criterion.levels.items(), 1)
    ]


def _not_carried(rubric: Rubric) -> list[str]:
    said = rest_of(rubric)
    told = [f"{words} (`{key}`)" for key, words in _NOT_CARRIED.items() if key in said]
    if any(criterion.observable_from for criterion in rubric.criteria.values()):
        told.append("from where a criterion can be seen (`observable_from`)")
    return [*told, "the short ids and column labels of criteria (`criteria`)"] if rubric.criteria else told
