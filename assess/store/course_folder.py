"""A course as it stands on disk: its two hand-edited files, its rubrics, its ledgers, and all that is wrong with them.

What is read here is everything; who may see what is decided further up. No text of a problem
holds a level or a free text of a record.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from assess.records.course import Course, People
from assess.records.errors import InputError, Problem
from assess.records.facts import ExtraSlot
from assess.records.frame import Frame
from assess.records.key_list import KeyList
from assess.records.ledger import live_entries
from assess.records.round import Reasons, Round
from assess.records.rubric import Rubric
from assess.records.season import Season
from assess.store.course_checks import course_problems, unusable_values
from assess.store.course_files import RUBRIC_FOLDER, find_files, rubric_file_name
from assess.store.erasure_checks import erasure_problems
from assess.store.extra_slots import with_extra_slots
from assess.store.folder_parts import hand_edited, ledgers_in, misplaced, names_aside, rubrics_in
from assess.store.ledger_checks import ledger_problems
from assess.store.ledger_file import LedgerFile
from assess.store.versions import fork_problems
from assess.store.yaml_file import YamlDoc

__all__ = ["CourseFolder", "load_course"]


@dataclass(frozen=True)
class CourseFolder:
    """A course folder as read; two readings of the same bytes are equal.

    rubrics, rubric_docs: `sha256:...` -> the rubric with that digest, pinned or not.
    ledgers: every usable ledger, by folder and name; a damaged one holds what stands before the damage.
    aside: files kept aside (other versions, torn ends), as `sheets/...`; forks: those of them that can be read.
    keys: who signs with which key, None where the course has no list of keys or one that cannot be used.
    problems: everything wrong; `doubt` marks what makes nothing unusable. notes: what does not belong here.
    frame: the calibration round or the season whose folder it is (course and people are then the frame's, read as
    such), or None; reasons: a round's panel's, None where no `reference.yaml` stands.
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
    frame: Frame | None = None
    reasons: Reasons | None = None
    keys: KeyList | None = None
    keys_doc: YamlDoc | None = None

    @property
    def round(self) -> Round | None:
        """The calibration round whose folder it is."""
        return self.frame if isinstance(self.frame, Round) else None

    @property
    def season(self) -> Season | None:
        """The trainee's season whose folder it is."""
        return self.frame if isinstance(self.frame, Season) else None


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
    course = hand_edited(root, "course", Course, files, problems)
    people = hand_edited(root, "people", People, files, problems)
    keys = hand_edited(root, "keys", KeyList, files, problems) if "keys.yaml" in files.records.get("", []) else None
    rubric_docs, rubrics, changed = rubrics_in(root, files, problems)
    ledgers = ledgers_in(root, files.records, problems)
    unusable = unusable_values(*course) if course else []
    if course is None or people is None or unusable:
        raise InputError(problems + unusable)
    fitting = tuple(file for file in ledgers if not misplaced(file, course[1].id, problems))
    forks = tuple(ledgers_in(root, files.aside, []))
    aside = names_aside(files)
    problems += _pin_problems(*course, rubrics, changed)
    problems += course_problems(*course, *people, rubrics, fitting)
    problems += ledger_problems(_as_it_stands(course[1], fitting), people[1], rubrics, fitting)
    problems += erasure_problems(fitting)
    problems += fork_problems(root, aside, fitting, forks)
    problems += _key_problems(keys, course[1])
    return CourseFolder(
        root, course[1], people[1], course[0], people[0], rubrics, rubric_docs, fitting, forks, aside,
        tuple(sorted(set(problems))), tuple(sorted(files.notes)),
        keys=keys[1] if keys else None, keys_doc=keys[0] if keys else None,
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


def _key_problems(keys: tuple[YamlDoc, KeyList] | None, course: Course) -> list[Problem]:
    """Keys of somebody the course does not have."""
    if keys is None:
        return []
    doc, known = keys[0], {*course.assessors, *course.directors}
    return [
        Problem(
            doc.shown, doc.line("keys", place, "person"),
            f"lists a key of `{key.person}`, who is nobody of this course", "correct the id, or take the key out",
        )
        for place, key in enumerate(keys[1].keys)
        if key.person not in known
    ]  # fmt: skip


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
