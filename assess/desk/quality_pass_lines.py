"""Whether it is written down how the pass line of every rubric in force was set."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from assess.desk.quality_courses import LookedAt
    from assess.desk.session import Desk
    from assess.records.quality import PassLineRecord
    from assess.records.rubric import Rubric

__all__ = ["PassLineSeen", "pass_lines_of"]


@dataclass(frozen=True)
class PassLineSeen:
    """The pass line of a rubric version in force, and its record.

    state: `recorded`; `missing`; `another line`, when the record is of a line that is not the one in force.
    """

    rubric: str
    sha256: str
    line: str
    courses: tuple[str, ...]
    state: Literal["recorded", "missing", "another line"]
    record: PassLineRecord | None
    sentence: str


def pass_lines_of(courses: LookedAt) -> tuple[PassLineSeen, ...]:
    """Every rubric version that is in force for a task of these courses, by id and digest."""
    records = [record for place in courses.places for record in place.quality.pass_lines]
    used: dict[tuple[str, str], tuple[Rubric, list[str]]] = {}
    for desk in courses.desks:
        for sha256, rubric in _in_force(desk):
            used.setdefault((rubric.id, sha256), (rubric, []))[1].append(desk.course.id)
    return tuple(_seen(sha256, rubric, where, records) for (_, sha256), (rubric, where) in sorted(used.items()))


def _in_force(desk: Desk) -> list[tuple[str, Rubric]]:
    pins = (desk.course.pin(task.id) for task in desk.course.tasks)
    wanted = {pin.sha256: pin.reference for pin in pins if pin is not None}
    rubrics = desk.folder.rubrics
    return [(sha256, rubrics[reference]) for sha256, reference in sorted(wanted.items()) if reference in rubrics]


def _seen(sha256: str, rubric: Rubric, where: list[str], records: Iterable[PassLineRecord]) -> PassLineSeen:
    own = [record for record in records if record.rubric == rubric.id and record.sha256 in (None, sha256)]
    # The record of this very file goes before one that names the version only.
    record = next(iter(sorted(own, key=lambda each: each.sha256 is None)), None)
    line = rubric.scale.pass_line
    said = f"{rubric.id}: line {float(line):g}"
    if record is None:
        sentence = f"{said}; how it was set is not written down."
        return PassLineSeen(rubric.id, sha256, str(line), tuple(where), "missing", None, sentence)
    story = _story(record)
    if record.line != line:
        sentence = f"{said}, but the record is of {float(record.line):g}: {story}"
        return PassLineSeen(rubric.id, sha256, str(line), tuple(where), "another line", record, sentence)
    return PassLineSeen(rubric.id, sha256, str(line), tuple(where), "recorded", record, f"{said}: {story}")


def _story(record: PassLineRecord) -> str:
    rounds = "one round" if record.rounds == 1 else f"{record.rounds} rounds"
    spread = "the judges' spread is not written down"
    if record.spread is not None:
        spread = f"judges' lines spread by {float(record.spread):g} levels (standard deviation)"
    panel = f"panel {'; '.join(record.panel)}"
    when = " and ".join(record.days)
    approved = f"approved by {record.approved_by} on {record.approved_on}"
    final = f" Final line: {record.final.rstrip('.')}." if record.final else ""
    return f"{record.method.rstrip('.')}; {panel}; {rounds} on {when}; {spread}; {approved}.{final}"
