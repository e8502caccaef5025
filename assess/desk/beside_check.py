"""What may stand beside a course's records: a house's overlay of the catalogue, tables of measures, quality files."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from assess.records.errors import InputError, Problem

__all__ = ["beside_findings", "groups_findings", "quality_findings"]

_TABLE = re.compile(r"[A-Za-z0-9-]{1,16}\.[A-Za-z0-9-]{1,16}\.(before|after)")


def beside_findings(root: Path, activity: str, *, groups: bool) -> Iterator[Problem]:
    """Everything wrong with `overlay.yaml`, `measures/`, `quality.yaml`; files named relative to the course.

    groups: `groups.yaml` is read too, which is for a director alone.
    """
    told = [*_overlay(root, activity), *_tables(root / "measures")]
    told += quality_findings(root / "quality.yaml")
    if groups:
        told += groups_findings(root / "groups.yaml")
    for problem in told:
        file = problem.file
        inside = Path(file).is_relative_to(root) if file else False
        yield replace(problem, file=str(Path(file).relative_to(root)) if inside else file)


def quality_findings(path: Path) -> list[Problem]:
    """Everything wrong with a quality file; nothing where there is none."""
    from assess.store.quality_files import quality_problems, read_quality

    if not (path.exists() or path.is_symlink()):
        return []
    try:
        return quality_problems(read_quality(path))
    except InputError as trouble:
        return trouble.problems


def groups_findings(path: Path) -> list[Problem]:
    """Everything wrong with a groups file; nothing where there is none."""
    from assess.store.quality_files import groups_problems, read_groups

    if not (path.exists() or path.is_symlink()):
        return []
    try:
        return groups_problems(*read_groups(path))
    except InputError as trouble:
        return trouble.problems


def _overlay(root: Path, activity: str) -> Iterator[Problem]:
    from assess.desk.catalogue_check import check_catalogue
    from assess.store.catalogue_folder import load_catalogue
    from assess.store.shipped import shipped

    overlay, folder = root / "overlay.yaml", shipped("rubrics") / activity / "catalogue"
    if not overlay.is_file():
        return
    if not folder.is_dir():
        yield Problem(str(overlay), 1, f"{activity} has no catalogue to lay it over", "move it away")
        return
    try:
        yield from check_catalogue(load_catalogue(folder, overlay))
    except InputError as trouble:
        yield from trouble.problems


def _tables(folder: Path) -> Iterator[Problem]:
    from assess.desk.lessons import table_problems

    for path in sorted(folder.glob("*.csv")) if folder.is_dir() else []:
        if "~" in path.name:
            continue  # another version, kept aside by a merge, which tells of it
        if _TABLE.fullmatch(path.stem):
            yield from table_problems(path)
        else:
            todo = "name it like T5.C04.before.csv, with a side file T5.C04.before.yaml"
            yield Problem(str(path), 0, "is not named as a table of measures and is not read", todo, doubt=True)
