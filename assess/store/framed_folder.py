"""What else than a course stands in a folder of ledgers (`records.frame`), read as a course."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TypeVar

from assess.records.course import People
from assess.records.errors import InputError, Problem
from assess.records.frame import FolderKind
from assess.records.round import Reasons, Round
from assess.records.rubric import Rubric
from assess.records.season import Season
from assess.store.course_checks import people_problems, unusable_values
from assess.store.course_files import RUBRIC_FOLDER, find_files, rubric_file_name
from assess.store.course_folder import CourseFolder
from assess.store.erasure_checks import erased_people, erasure_problems
from assess.store.folder_parts import hand_edited, ledgers_in, misplaced, names_aside, rubrics_in
from assess.store.ledger_checks import ledger_problems
from assess.store.versions import fork_problems
from assess.store.yaml_file import YamlDoc

__all__ = ["load_framed", "pin_problems"]

This = TypeVar("This", Round, Season)
Checks = Callable[[YamlDoc, This, Mapping[str, Rubric], Path], list[Problem]]
ReasonChecks = Callable[[YamlDoc, Reasons, This, Mapping[str, Rubric]], list[Problem]]


def load_framed(
    root: Path, kind: FolderKind, model: type[This], days: str, no_candidates: str, checks: Checks[This],
    reason_checks: ReasonChecks[This] | None = None,
) -> CourseFolder:  # fmt: skip
    """Everything the folder of a frame holds; its lines of problems are those of `<kind>.yaml`.

    days: the key under which the file has its days. no_candidates: what it has instead of candidates, for whoever
    lists some. Raises InputError, with the problems of all its files, when `<kind>.yaml` or `people.yaml` cannot be
    used.
    """
    files = find_files(root)
    problems = list(files.problems)
    told = hand_edited(root, kind, model, files, problems)
    people = hand_edited(root, "people", People, files, problems)
    kept_back = "reference.yaml" not in files.records.get("", [])
    reasons = None if kept_back else hand_edited(root, "reference", Reasons, files, problems)
    rubric_docs, rubrics, changed = rubrics_in(root, files, problems)
    ledgers = ledgers_in(root, files.records, problems)
    if told is None or people is None:
        raise InputError(problems)
    doc, this = told
    course, everybody = this.as_course(), this.as_people(people[1])
    unusable = unusable_values(doc, course, days=days)
    if unusable:
        raise InputError(problems + unusable)
    fitting = tuple(file for file in ledgers if not misplaced(file, this.id, problems))
    forks, aside = tuple(ledgers_in(root, files.aside, [])), names_aside(files)
    problems += pin_problems(doc, this, rubrics, changed)
    problems += checks(doc, this, rubrics, root)
    problems += people_problems(doc, course, people[0], everybody, erased_people(fitting))
    if people[1].candidates:
        line = people[0].line("candidates")
        problems.append(Problem(people[0].shown, line, no_candidates, "write `candidates: []`", doubt=True))
    problems += reason_checks(*reasons, this, rubrics) if reasons and reason_checks else []
    problems += ledger_problems(course, everybody, rubrics, fitting)
    problems += erasure_problems(fitting)
    problems += fork_problems(root, aside, fitting, forks)
    return CourseFolder(
        root, course, everybody, doc, people[0], rubrics, rubric_docs, fitting, forks, aside,
        tuple(sorted(set(problems))), tuple(sorted(files.notes)), this, reasons[1] if reasons else None,
    )  # fmt: skip


def pin_problems(
    doc: YamlDoc, this: Round | Season, rubrics: Mapping[str, Rubric], changed: frozenset[str]
) -> list[Problem]:
    """The rubric named and the file in `rubrics/` do not go together."""
    name, line = rubric_file_name(this.rubric.id, this.rubric.sha256), doc.line("rubric", "sha256")
    found = rubrics.get(f"sha256:{this.rubric.sha256}")
    if found is not None:
        if found.id == this.rubric.id:
            return []
        what = f"the pinned file is rubric `{found.id}`, not `{this.rubric.id}`"
        return [Problem(doc.shown, line, what, "write id and SHA-256 of one and the same file")]
    if name in changed:
        what = "the rubric in force was edited: its bytes are not those that are pinned"
        return [Problem(f"{RUBRIC_FOLDER}/{name}", 0, what, "put the original back")]
    what = f"the pinned rubric `{RUBRIC_FOLDER}/{name}` is not there or cannot be used"
    return [Problem(doc.shown, line, what, "put its copy there, byte for byte")]
