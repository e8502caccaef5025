"""A calibration round as it stands on disk, read as a course whose candidates are lessons.

The panel's reasons (`reference.yaml`) may be missing: a director keeps them back until the assessors have locked.
"""

from __future__ import annotations

from pathlib import Path

from assess.records.course import People
from assess.records.errors import InputError, Problem
from assess.records.round import Reasons, Round
from assess.store.course_checks import people_problems, unusable_values
from assess.store.course_files import find_files, folder_kind
from assess.store.course_folder import CourseFolder, load_course
from assess.store.folder_parts import hand_edited, ledgers_in, misplaced, names_aside, rubrics_in
from assess.store.ledger_checks import ledger_problems
from assess.store.round_checks import pin_problems, reason_problems, round_problems
from assess.store.versions import fork_problems

__all__ = ["load_folder", "load_round"]


def load_folder(root: Path) -> CourseFolder:
    """The course or the calibration round at `root`, whichever it is. Raises InputError as the two readers do."""
    return load_round(root) if folder_kind(root) == "round" else load_course(root)


def load_round(root: Path) -> CourseFolder:
    """Everything the folder of a round holds; its lines of problems are those of `round.yaml`.

    Raises InputError, with the problems of all its files, when `round.yaml` or `people.yaml` cannot be used.
    """
    files = find_files(root)
    problems = list(files.problems)
    told = hand_edited(root, "round", Round, files, problems)
    people = hand_edited(root, "people", People, files, problems)
    kept_back = "reference.yaml" not in files.records.get("", [])
    reasons = None if kept_back else hand_edited(root, "reference", Reasons, files, problems)
    rubric_docs, rubrics, changed = rubrics_in(root, files, problems)
    ledgers = ledgers_in(root, files.records, problems)
    if told is None or people is None:
        raise InputError(problems)
    doc, this = told
    course, everybody = this.as_course(), this.as_people(people[1])
    unusable = unusable_values(doc, course, days="date")
    if unusable:
        raise InputError(problems + unusable)
    fitting = tuple(file for file in ledgers if not misplaced(file, this.id, problems))
    forks, aside = tuple(ledgers_in(root, files.aside, [])), names_aside(files)
    problems += pin_problems(doc, this, rubrics, changed)
    problems += round_problems(doc, this, rubrics, root)
    problems += people_problems(doc, course, people[0], everybody)
    problems += _no_candidates(people[0].shown, people[0].line("candidates"), people[1])
    problems += reason_problems(*reasons, this, rubrics) if reasons else []
    problems += ledger_problems(course, everybody, rubrics, fitting)
    problems += fork_problems(root, aside, fitting, forks)
    return CourseFolder(
        root, course, everybody, doc, people[0], rubrics, rubric_docs, fitting, forks, aside,
        tuple(sorted(set(problems))), tuple(sorted(files.notes)), this, reasons[1] if reasons else None,
    )  # fmt: skip


def _no_candidates(shown: str, line: int, people: People) -> list[Problem]:
    if not people.candidates:
        return []
    what = "a calibration round has lessons and no candidates; these are not read"
    return [Problem(shown, line, what, "write `candidates: []`", doubt=True)]
