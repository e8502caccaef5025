"""A file of practice lessons, and the catalogue its ids belong to."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from assess.records.errors import InputError, Problem
from assess.records.practice import PracticeFile
from assess.store.catalogue_folder import CatalogueFolder, load_catalogue
from assess.store.validate import as_model
from assess.store.yaml_file import YamlDoc, read_yaml

__all__ = ["LessonFile", "activities", "catalogue_for", "read_practice"]


@dataclass(frozen=True)
class LessonFile:
    """A practice file as read, with the lines of its places."""

    doc: YamlDoc
    practice: PracticeFile


def read_practice(path: Path) -> LessonFile:
    """The practice lessons in a file. Raises InputError with every problem and its line."""
    doc = read_yaml(path, shown=str(path), what="lesson")
    return LessonFile(doc, as_model(doc, PracticeFile))


def activities(rubrics: Path) -> list[Path]:
    """The catalogue folders of all activities under a folder of rubrics, sorted."""
    return sorted(folder for folder in rubrics.glob("*/catalogue") if (folder / "faults.yaml").is_file())


def catalogue_for(practice: PracticeFile, path: Path, rubrics: Path) -> CatalogueFolder:
    """The catalogue of a practice file: one beside it or above it, else the shipped one that knows most of its ids.

    Raises InputError when no activity knows any of them.
    """
    for folder in (path.parent, *path.parent.parents):
        if (folder / "catalogue" / "faults.yaml").is_file():
            return load_catalogue(folder / "catalogue")
    wanted = _ids(practice)
    best: tuple[int, CatalogueFolder] | None = None
    for folder in activities(rubrics):
        found = load_catalogue(folder)
        known = len(wanted & {*found.catalogue.names, *found.catalogue.drill_by_id})
        if known and (best is None or known > best[0]):
            best = (known, found)
    if best is None:
        what = "no activity of this installation knows a fault or a drill of these lessons"
        raise InputError([Problem(str(path), 1, what, "name its catalogue folder with --catalogue")])
    return best[1]


def _ids(practice: PracticeFile) -> set[str]:
    ids: set[str] = set()
    for scenario in practice.scenarios:
        for learner in scenario.reference.learners:
            ids.update(target.id for target in learner.roots)
            ids.update(name for chain in learner.chains for name in chain)
        for lesson in scenario.lessons:
            ids.update(drill.id for drill in lesson.drills)
            ids.update(named.fault for named in lesson.named)
    return ids
