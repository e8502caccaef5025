"""What the folder of a course and that of a calibration round have in common: hand-edited files, rubrics, ledgers."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel

from assess.records.errors import InputError, Problem
from assess.records.rubric import Rubric
from assess.store.course_files import LEDGER_FOLDERS, RUBRIC_FOLDER, Files, rubric_file_name
from assess.store.ledger_file import LedgerFile, read_ledger
from assess.store.reading import whole_file
from assess.store.rubric_checks import rubric_problems
from assess.store.validate import as_model
from assess.store.yaml_file import LARGEST, YamlDoc, read_yaml, yaml_doc

__all__ = ["hand_edited", "ledgers_in", "misplaced", "names_aside", "rubrics_in"]

Model = TypeVar("Model", bound=BaseModel)


def hand_edited(
    root: Path, what: str, model: type[Model], files: Files, problems: list[Problem]
) -> tuple[YamlDoc, Model] | None:
    """A hand-edited file and what it says, or None with its problems added."""
    name = f"{what}.yaml"
    if name not in files.records.get("", []):
        if not any(problem.file == name for problem in problems):
            todo = f"put it back, or name a {what} folder" if what == files.kind else "put it back"
            problems.append(Problem(name, 0, f"is missing from the {files.kind} folder", todo))
        return None
    try:
        doc = read_yaml(root / name, shown=name, what=what)
        return doc, as_model(doc, model)
    except InputError as trouble:
        problems += trouble.problems
        return None


def rubrics_in(
    root: Path, files: Files, problems: list[Problem]
) -> tuple[dict[str, YamlDoc], dict[str, Rubric], frozenset[str]]:
    """Every rubric whose bytes are those its name promises, by digest; and the names of files with other bytes."""
    docs, rubrics, changed = {}, {}, set()
    for name in files.records.get(RUBRIC_FOLDER, []):
        shown = f"{RUBRIC_FOLDER}/{name}"
        try:
            raw = whole_file(root / RUBRIC_FOLDER / name, shown, LARGEST)
            digest = hashlib.sha256(raw).hexdigest()
            if name != rubric_file_name(name.split("@")[0], digest):
                changed.add(name)
                continue
            if raw.startswith(b"# assess catalogue "):
                continue
            doc, rubric, doubts = _rubric(raw, shown)
        except InputError as trouble:
            problems += trouble.problems
            continue
        docs[f"sha256:{digest}"] = replace(doc, path=root / RUBRIC_FOLDER / name)
        rubrics[f"sha256:{digest}"] = rubric
        problems += doubts
    return docs, rubrics, frozenset(changed)


@lru_cache(maxsize=16)
def _rubric(raw: bytes, shown: str) -> tuple[YamlDoc, Rubric, tuple[Problem, ...]]:
    """A rubric in force never changes, and is the longest file that is read again at every look into the folder."""
    doc = yaml_doc(raw, Path(shown), shown=shown, what="rubric")
    rubric = as_model(doc, Rubric)
    return doc, rubric, tuple(rubric_problems(doc, rubric))


def ledgers_in(root: Path, names: Mapping[str, list[str]], problems: list[Problem]) -> list[LedgerFile]:
    """Every ledger that has a header, by folder and name, what is wrong with them added to the problems."""
    found = []
    for folder in sorted(LEDGER_FOLDERS):
        for name in names.get(folder, []):
            if not name.endswith(".yaml"):
                continue
            try:
                file = read_ledger(root / folder / name, shown=f"{folder}/{name}")
            except InputError as trouble:
                problems += trouble.problems
                continue
            problems += file.problems
            found.append(file)
    return found


def misplaced(file: LedgerFile, course: str, problems: list[Problem]) -> bool:
    """True, with its problem added, for a ledger that is not what its place and name say."""
    header = file.ledger.header
    folder = file.path.parent.name
    shown = f"{folder}/{file.path.name}"
    if header.course != course:
        what, todo = f"belongs to course `{header.course}`, not to `{course}`", "move it to its own course"
    elif header.kind != LEDGER_FOLDERS[folder]:
        what, todo = f"is a {header.kind} ledger and stands in `{folder}`", "move it to its own folder"
    elif header.name != file.name:
        what, todo = f"is named `{file.name}`, but its header says `{header.name}`", "give it the name of its header"
    else:
        return False
    problems.append(Problem(shown, 2, f"{what}; it is not used", todo))
    return True


def names_aside(files: Files) -> tuple[str, ...]:
    """The files kept aside, as `sheets/...`, by folder and name."""
    return tuple(
        f"{folder}/{name}" if folder else name for folder in sorted(files.aside) for name in files.aside[folder]
    )
