"""A course as it stands on disk: its two hand-edited files, its rubrics, its ledgers, and all that is wrong with them.

What is read here is everything; who may see what is decided further up. No text of a problem
holds a level or a free text of a record.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel

from assess.records.course import Course, People
from assess.records.errors import InputError, Problem
from assess.records.facts import ExtraSlot
from assess.records.ledger import live_entries
from assess.records.rubric import Rubric
from assess.store.course_checks import course_problems, unusable_values
from assess.store.course_files import LEDGER_FOLDERS, RUBRIC_FOLDER, Files, find_files, rubric_file_name
from assess.store.extra_slots import with_extra_slots
from assess.store.ledger_checks import ledger_problems
from assess.store.ledger_file import LedgerFile, read_ledger
from assess.store.reading import whole_file
from assess.store.rubric_checks import rubric_problems
from assess.store.validate import as_model
from assess.store.versions import fork_problems
from assess.store.yaml_file import LARGEST, YamlDoc, read_yaml, yaml_doc

__all__ = ["CourseFolder", "load_course"]

Model = TypeVar("Model", bound=BaseModel)


@dataclass(frozen=True)
class CourseFolder:
    """A course folder as read; two readings of the same bytes are equal.

    rubrics, rubric_docs: `sha256:...` -> the rubric with that digest, pinned or not.
    ledgers: every usable ledger, by folder and name; a damaged one holds what stands before the damage.
    aside: files kept aside (other versions, torn ends), as `sheets/...`; forks: those of them that can be read.
    problems: everything wrong; `doubt` marks what makes nothing unusable. notes: what does not belong here.
    """

    root: Path
    course: Course
    people: People
    course_doc: YamlDoc
    people_doc: YamlDoc
    rubrics: Mapping[str, Rubric]
    rubric_docs: Mapping[str, YamlDoc]
    ledgers: tuple[LedgerFile, ...]
    forks: tuple[LedgerFile, ...]
    aside: tuple[str, ...]
    problems: tuple[Problem, ...]
    notes: tuple[Problem, ...]


def load_course(root: Path) -> CourseFolder:
    """Everything a course folder holds.

    Raises InputError, with the problems of all its files, when `course.yaml` or `people.yaml` cannot be
    used; whatever else is wrong is in `problems`.
    """
    if not root.is_dir():
        raise InputError(
            [Problem(str(root), 0, "is not a course folder", "name one, or make it with `assess new course`")]
        )
    files = find_files(root)
    problems = list(files.problems)
    course = _hand_edited(root, "course", Course, files, problems)
    people = _hand_edited(root, "people", People, files, problems)
    rubric_docs, rubrics, changed = _rubrics(root, files, problems)
    ledgers = _ledgers(root, files.records, problems)
    unusable = unusable_values(*course) if course else []
    if course is None or people is None or unusable:
        raise InputError(problems + unusable)
    fitting = tuple(file for file in ledgers if not _misplaced(file, course[1].id, problems))
    forks = tuple(_ledgers(root, files.aside, []))
    aside = tuple(
        f"{folder}/{name}" if folder else name for folder in sorted(files.aside) for name in files.aside[folder]
    )
    problems += _pin_problems(*course, rubrics, changed)
    problems += course_problems(*course, *people, rubrics, fitting)
    problems += ledger_problems(_as_it_stands(course[1], fitting), people[1], rubrics, fitting)
    problems += fork_problems(root, aside, fitting, forks)
    return CourseFolder(
        root, course[1], people[1], course[0], people[0], rubrics, rubric_docs, fitting, forks, aside,
        tuple(sorted(set(problems))), tuple(sorted(files.notes)),
    )  # fmt: skip


def _as_it_stands(course: Course, ledgers: tuple[LedgerFile, ...]) -> Course:
    """With the slots that were added since the allocation was written."""
    said = [
        (file.ledger, entry.fact)
        for file in ledgers
        if file.ledger.header.kind == "day"
        for entry in live_entries(file.ledger)
        if isinstance(entry.fact, ExtraSlot)
    ]
    return with_extra_slots(course, said)


def _hand_edited(
    root: Path, what: str, model: type[Model], files: Files, problems: list[Problem]
) -> tuple[YamlDoc, Model] | None:
    """A hand-edited file and what it says, or None with its problems added."""
    name = f"{what}.yaml"
    if name not in files.records.get("", []):
        if not any(problem.file == name for problem in problems):
            todo = "put it back, or name a course folder" if what == "course" else "put it back"
            problems.append(Problem(name, 0, "is missing from the course folder", todo))
        return None
    try:
        doc = read_yaml(root / name, shown=name, what=what)
        return doc, as_model(doc, model)
    except InputError as trouble:
        problems += trouble.problems
        return None


def _rubrics(
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
            doc = yaml_doc(raw, root / RUBRIC_FOLDER / name, shown=shown, what="rubric")
            rubric = as_model(doc, Rubric)
        except InputError as trouble:
            problems += trouble.problems
            continue
        docs[f"sha256:{digest}"], rubrics[f"sha256:{digest}"] = doc, rubric
        problems += rubric_problems(doc, rubric)
    return docs, rubrics, frozenset(changed)


def _pin_problems(
    doc: YamlDoc, course: Course, rubrics: Mapping[str, Rubric], changed: frozenset[str]
) -> list[Problem]:
    """Pins and files that do not go together."""
    problems, pinned = [], {rubric_file_name(pin.rubric, pin.sha256) for pin in course.rubrics}
    for place, pin in enumerate(course.rubrics):
        name = rubric_file_name(pin.rubric, pin.sha256)
        line = doc.line("rubrics", place, "sha256")
        if pin.reference in rubrics:
            if rubrics[pin.reference].id != pin.rubric:
                what = f"the pinned file is rubric `{rubrics[pin.reference].id}`, not `{pin.rubric}`"
                problems.append(Problem(doc.shown, line, what, "write id and SHA-256 of one and the same file"))
        elif name not in changed:
            what = f"the pinned rubric `{RUBRIC_FOLDER}/{name}` is not there or cannot be used"
            problems.append(Problem(doc.shown, line, what, "put its copy there, byte for byte"))
    for name in sorted(changed):
        if name in pinned:
            what = "a rubric in force was edited: its bytes are not those that are pinned"
            todo = "put the original back, or pin the new version for an area without sheets"
        else:
            what, todo = "its bytes are not those its name promises, it is not used", "put the original back"
        problems.append(Problem(f"{RUBRIC_FOLDER}/{name}", 0, what, todo, doubt=name not in pinned))
    return problems


def _ledgers(root: Path, names: Mapping[str, list[str]], problems: list[Problem]) -> list[LedgerFile]:
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


def _misplaced(file: LedgerFile, course: str, problems: list[Problem]) -> bool:
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
