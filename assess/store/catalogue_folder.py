"""The catalogue of an activity: its files, and a house's own changes laid over them.

A folder holds `faults.yaml`, `drills.yaml`, `skills.yaml`, `vocab.yaml` and, where there is something to say,
`settings.yaml` (constants of the readings that differ) and `measures.yaml` (what is measured on learners).
`overlay.yaml`, in this folder or in one named, switches entries off or replaces them without touching the files
that were shipped.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from assess.records.catalogue import (
    Catalogue,
    Drill,
    DrillFile,
    Fault,
    FaultFile,
    Root,
    Skill,
    SkillFile,
    Vocabulary,
)
from assess.records.errors import InputError, Problem
from assess.records.measure import MeasureFile
from assess.records.reading_settings import Settings
from assess.store.validate import as_model
from assess.store.yaml_file import YamlDoc, read_yaml

__all__ = ["CatalogueFolder", "Overlay", "load_catalogue"]

Model = TypeVar("Model", bound=BaseModel)
_LISTS = {"faults": "faults", "non_technique_roots": "faults", "drills": "drills", "skills": "skills"}


class Overlay(BaseModel):
    """`overlay.yaml`: ids switched off, and whole entries that stand in place of those with their id (or are new)."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    off: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    non_technique_roots: tuple[Root, ...] = ()
    drills: tuple[Drill, ...] = ()
    skills: tuple[Skill, ...] = ()


@dataclass(frozen=True)
class CatalogueFolder:
    """A catalogue as read. docs: each file that was there, by its name without `.yaml`."""

    root: Path
    catalogue: Catalogue
    docs: Mapping[str, YamlDoc]

    def line(self, name: str) -> tuple[str, int]:
        """The file and line where an entry stands; the folder and 0 when it is in none."""
        for key, file in _LISTS.items():
            doc = self.docs.get(file)
            for place, entry in enumerate((doc.data or {}).get(key, []) if doc else []):
                if isinstance(entry, dict) and entry.get("id") == name and doc is not None:
                    return doc.shown, doc.line(key, place)
        return str(self.root), 0


def load_catalogue(root: Path, overlay: Path | None = None) -> CatalogueFolder:
    """The catalogue in a folder, with `overlay` (default: the folder's own `overlay.yaml`) laid over it.

    Raises InputError with the problems of all its files.
    """
    docs = _docs(root, overlay)
    problems: list[Problem] = []
    changed = _overlaid(docs)
    faults = _model(changed["faults"], FaultFile, problems)
    drills = _model(changed["drills"], DrillFile, problems)
    skills = _model(changed["skills"], SkillFile, problems)
    vocab = _model(docs["vocab"], Vocabulary, problems)
    settings = _model(docs["settings"], Settings, problems) if "settings" in docs else Settings()
    if faults is None or drills is None or skills is None or vocab is None or settings is None:
        raise InputError(problems)
    try:
        measures = _model(docs["measures"], MeasureFile, problems) if "measures" in docs else None
        joined = Catalogue.joined(faults, drills, skills, vocab, settings, measures.measures if measures else ())
    except ValidationError as trouble:
        said = "; ".join(item["msg"].removeprefix("Value error, ") for item in trouble.errors(include_url=False))
        raise InputError([Problem(str(root), 0, said, "give each entry an id of its own")]) from trouble
    return CatalogueFolder(root, joined, docs)


def _docs(root: Path, overlay: Path | None) -> dict[str, YamlDoc]:
    """Every file of the folder that is there, each by itself as it should be."""
    docs: dict[str, YamlDoc] = {}
    problems: list[Problem] = []
    for name in ("faults", "drills", "skills", "vocab"):
        _read(root / f"{name}.yaml", name, docs, problems)
    spare = {"overlay": overlay} if overlay else {}
    for name in ("settings", "measures", "overlay"):
        path = spare.get(name, root / f"{name}.yaml")
        if path.exists():
            _read(path, name, docs, problems)
    if problems:
        raise InputError(problems)
    # Each file by itself first, so that what is wrong is told in the file and line it stands in.
    told: tuple[tuple[str, type[BaseModel]], ...] = (
        ("faults", FaultFile), ("drills", DrillFile), ("skills", SkillFile), ("overlay", Overlay),
        ("measures", MeasureFile),
    )  # fmt: skip
    for name, model in told:
        if name in docs:
            _model(docs[name], model, problems)
    if problems:
        raise InputError(problems)
    return docs


def _read(path: Path, name: str, docs: dict[str, YamlDoc], problems: list[Problem]) -> None:
    try:
        docs[name] = read_yaml(path, shown=str(path), what="catalogue")
    except InputError as trouble:
        problems += trouble.problems


def _model(doc: YamlDoc, model: type[Model], problems: list[Problem]) -> Model | None:
    try:
        return as_model(doc, model)
    except InputError as trouble:
        problems += trouble.problems
        return None


def _overlaid(docs: Mapping[str, YamlDoc]) -> dict[str, YamlDoc]:
    """The files with the overlay's entries in place; an entry switched off is gone, and so is every mention of it."""
    if "overlay" not in docs:
        return dict(docs)
    overlay = docs["overlay"].data
    changed = dict(docs)
    for key, file in _LISTS.items():
        doc = changed[file]
        changed[file] = YamlDoc(doc.path, doc.shown, doc.raw, doc.sha256, _merged(doc.data, key, overlay), doc.lines)
    return changed


def _merged(data: dict[str, Any], key: str, overlay: dict[str, Any]) -> dict[str, Any]:
    mine = {entry["id"]: entry for entry in overlay.get(key, ())}
    known = {entry["id"] for entry in data[key]}
    entries = [mine.get(entry["id"], entry) for entry in data[key]]
    entries += [entry for name, entry in mine.items() if name not in known]
    off = set(overlay.get("off", ()))
    return {**data, key: [_without(entry, off) for entry in entries if entry["id"] not in off]}


def _without(entry: dict[str, Any], off: set[str]) -> dict[str, Any]:
    def kept(value: Any) -> Any:
        if not isinstance(value, list):
            return value
        return [item for item in value if not (isinstance(item, str) and item in off)]

    return {key: kept(value) for key, value in entry.items()}
