"""Everything that is wrong with files, each with its line and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.beside_check import beside_findings, groups_findings, quality_findings
from assess.desk.consent_check import consent_findings
from assess.desk.free_text_check import free_text_findings
from assess.desk.opening import Place, open_course, place_of
from assess.desk.tellable import Teller, sheet_key
from assess.desk.who import Ask
from assess.records.errors import AssessError, InputError, Problem, Refusal

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.rubric import Rubric

__all__ = ["CheckReport", "check_paths", "course_findings", "read_rubric", "rubric_findings"]


@dataclass(frozen=True)
class CheckReport:
    """What a check found.

    findings: in the order of files and lines; those with `doubt` are worth a look and make nothing unusable.
    not_read: paths of which sheets were left alone, because somebody who marks the same slot has not locked.
    told: what is no finding: the waivers that count, and what could not be looked at.
    """

    findings: tuple[Problem, ...]
    not_read: tuple[str, ...]
    told: tuple[str, ...] = ()

    @property
    def clean(self) -> bool:
        """True when nothing is wrong; doubts do not count."""
        return all(problem.doubt for problem in self.findings)


def check_paths(paths: Sequence[Path], given: str | None = None, *, ask: Ask | None = None) -> CheckReport:
    """Check course folders and single files. A path that cannot be used is a finding, never an error.

    given: who asks, as `settle_who` takes it. Raises UsageError for a person the course does not have, Refusal for a
    groups file of a course somebody else than its director asks about.
    """
    findings: list[Problem] = []
    not_read: list[str] = []
    told: list[str] = []
    for path in paths:
        try:
            place = place_of(path)
            report = _check(place, given, ask)
        except InputError as error:
            findings += error.problems
            continue
        except OSError as error:
            what = f"cannot be looked at ({error.strerror})"
            findings.append(Problem(str(path), 0, what, "look at the path and its access rights"))
            continue
        findings += report.findings
        not_read += report.not_read
        told += report.told
    return CheckReport(tuple(dict.fromkeys(findings)), tuple(dict.fromkeys(not_read)), tuple(dict.fromkeys(told)))


def _check(place: Place, given: str | None, ask: Ask | None) -> CheckReport:
    if place.kind == "rubric":
        return CheckReport(rubric_findings(place.path), ())
    if place.kind in ("catalogue", "lesson"):
        return CheckReport(_knowledge_findings(place), ())
    if place.course is None and place.kind in ("quality", "groups"):
        of = quality_findings if place.kind == "quality" else groups_findings
        return CheckReport(tuple(of(place.path)), ())
    if place.course is not None:
        return _check_in_course(place, place.course, given, ask)
    if place.kind == "ledger":
        from assess.store.ledger_file import read_ledger

        return CheckReport(read_ledger(place.path, shown=str(place.path)).problems, ())
    return CheckReport(_hand_edited(place), ())


def _knowledge_findings(place: Place) -> tuple[Problem, ...]:
    """What is wrong with an activity's catalogue, or with a file of practice lessons."""
    from assess.desk.catalogue_check import check_catalogue
    from assess.desk.practice_check import check_practice
    from assess.store.catalogue_folder import load_catalogue
    from assess.store.practice_file import catalogue_for, read_practice
    from assess.store.shipped import shipped

    if place.kind == "catalogue":
        folder = place.path if place.path.is_dir() else place.path.parent
        return tuple(check_catalogue(load_catalogue(folder)))
    lessons = read_practice(place.path)
    folder_of = catalogue_for(lessons.practice, place.path.resolve(), shipped("rubrics"))
    return tuple(check_practice(lessons, folder_of.catalogue))


def _check_in_course(place: Place, root: Path, given: str | None, ask: Ask | None) -> CheckReport:
    """A whole course, or what concerns one file of it."""
    wanted = "" if place.kind == "course" else _inside(root, place.path)
    try:
        desk = open_course(root, given, ask=ask)
    except InputError as error:
        only = [problem for problem in error.problems if problem.file == _named(root, wanted)]
        return CheckReport(tuple(only or error.problems), ())
    try:
        if place.kind == "groups" and desk.role != "director":
            raise Refusal("what candidates told of themselves is for a director alone", where=str(place.path))
        teller = Teller(desk)
        hidden = _hidden(desk, teller, wanted)
        report = _as_named(root, wanted, course_findings(desk), hidden)
        return report if wanted else replace(report, told=_beside_findings(desk))
    finally:
        desk.close()


def _beside_findings(desk: Desk) -> tuple[str, ...]:
    from assess.desk.waiving import waiver_lines, waivers_told

    lines = waiver_lines(waivers_told(desk))
    if not desk.people.licences and desk.folder.frame is None:
        lines.append("no licence is on record in people.yaml: who may mark was looked at without them")
    return tuple(lines)


def _as_named(root: Path, wanted: str, findings: Sequence[Problem], hidden: Sequence[str]) -> CheckReport:
    """Findings with their files as the user named the course; of one file, when only that was asked for."""
    if wanted:
        findings = [problem for problem in findings if problem.file == wanted]
    named = tuple(replace(problem, file=_named(root, problem.file)) for problem in findings)
    return CheckReport(named, tuple(_named(root, file) for file in hidden))


def _named(root: Path, file: str) -> str:
    return str(root / file) if file else str(root)


def _inside(root: Path, path: Path) -> str:
    return path.name if path.parent == root else f"{path.parent.name}/{path.name}"


def _hidden(desk: Desk, teller: Teller, wanted: str) -> tuple[str, ...]:
    """`sheets` when there is a slot somebody has still to lock, the wanted file when it is a sheet of one.

    Told from the allocation and the locks alone, not from which files there are.
    """
    if wanted:
        return () if teller.may_tell(wanted) else (wanted,)
    for slot in desk.course.allocation:
        others = [who for who in desk.seats.awaited(slot.task, slot.candidate) if who != desk.who]
        if any(not teller.may_tell(f"sheets/{slot.task}.{slot.candidate}.{who}") for who in others):
            return ("sheets",)
    return ()


def course_findings(desk: Desk, *, doubts: bool = True) -> tuple[Problem, ...]:
    """Everything wrong with an open course, as far as this person may be told, in file order.

    doubts: also what is only worth a look; without them no sheet has to be folded.
    """
    from assess.store.seals import head_problems

    teller = Teller(desk)
    problems = [*desk.folder.problems, *head_problems(desk.folder)]
    if not doubts:
        return teller.tell(problem for problem in problems if not problem.doubt)
    beside = beside_findings(desk.folder.root, desk.course.activity, groups=desk.role == "director")
    people = [*consent_findings(desk), *free_text_findings(desk)]
    rule = _rule_of_a_round(desk)
    return teller.tell([*problems, *desk.folder.notes, *beside, *people, *rule, *_holes(desk, teller)])


def _rule_of_a_round(desk: Desk) -> Iterator[Problem]:
    """What is wrong with the rule of a calibration round; nothing while its files cannot be used."""
    from assess.desk.round_rule import rule_problems

    unusable = any(not problem.doubt and sheet_key(problem.file) is None for problem in desk.folder.problems)
    return iter(()) if desk.folder.round is None or unusable else rule_problems(desk)


def _holes(desk: Desk, teller: Teller) -> Iterator[Problem]:
    """What locked sheets lack."""
    for task, candidate, assessor in desk.shelf.sheet_keys():
        file = f"sheets/{task}.{candidate}.{assessor}"
        if not teller.may_tell(file) or desk.course.task(task) is None:
            continue
        try:
            sheet = desk.folded(task, candidate, assessor)
            found = desk.holes_of(sheet)
        except (AssessError, KeyError):
            continue  # told already: its rubric or task is not there
        if not sheet.locked:
            continue
        yield from _locked_holes(sheet.ledgers[0], sheet.origin, [hole.text for hole in found if hole.blocks])


def _locked_holes(ledger: str, origin: str | None, texts: Sequence[str]) -> Iterator[Problem]:
    if not texts:
        return
    more = f" and {len(texts) - 1} more" if len(texts) > 1 else ""
    how = "was imported without" if origin == "imported" else "is locked with a hole"
    what = f"{how}: {texts[0]}{more}"
    yield Problem(f"sheets/{ledger}.yaml", 0, what, "a locked sheet stays as it is; tell it in the meeting", doubt=True)


def rubric_findings(path: Path) -> tuple[Problem, ...]:
    """Everything wrong or doubtful in a rubric file, in file order. Raises InputError when it cannot be read as one."""
    from assess.desk.rubric_check import check_rubric

    rubric, lines = read_rubric(path)
    return tuple(check_rubric(rubric, lines, str(path)))


def read_rubric(path: Path) -> tuple[Rubric, Mapping[str, int]]:
    """A rubric file and the line of every place in it. Raises InputError with every problem."""
    from assess.records.rubric import Rubric
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    doc = read_yaml(path, shown=str(path), what="rubric")
    return as_model(doc, Rubric), doc.lines


def _hand_edited(place: Place) -> tuple[Problem, ...]:
    """A hand-edited file that lies in no course or round folder: what it says by itself."""
    from assess.store.merge_rules import HAND_EDITED
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    what = place.kind.removesuffix("-file")
    as_model(read_yaml(place.path, shown=str(place.path), what=what), HAND_EDITED[what])
    return ()
