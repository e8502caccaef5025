"""One assessor's round lesson by lesson beside the reference, and where the two parted, with what each had seen."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from assess.desk.rounds import round_of, round_rubric

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assess.desk.rounds import AssessorRound, RoundView
    from assess.desk.session import Desk
    from assess.marking.reference import ReferenceLesson, ReferenceLevel
    from assess.marking.results import Sheet

__all__ = ["LessonLine", "PairedMark", "Parted", "lesson_lines", "parted"]

FAR = Fraction(3, 2)
"""From so many levels on an assessor and the panel have parted, whatever the line."""
MOST = 6


@dataclass(frozen=True)
class PairedMark:
    """One criterion of a sheet beside the panel. level: None for not observed; lowest, highest: of the panel."""

    criterion: str
    label: str
    level: Fraction | None
    reference: Fraction | None
    lowest: Fraction | None = None
    highest: Fraction | None = None

    @property
    def gap(self) -> Fraction | None:
        """Level less reference, None where either is missing."""
        return None if self.level is None or self.reference is None else self.level - self.reference


@dataclass(frozen=True)
class LessonLine:
    """One sheet beside the reference. place: in the order of marking; again: a second marking.

    value, reference: over the criteria that have both. same_side: None without either.
    """

    slot: str
    place: int
    title: str
    near: bool
    again: bool
    value: Fraction | None
    reference: Fraction | None
    same_side: bool | None
    marks: tuple[PairedMark, ...]


@dataclass(frozen=True)
class Parted:
    """A mark on which assessor and panel parted, and what each had seen.

    mine: the assessor's observations for the criterion. reason: what the panel agreed on; panel: what its markers
    noted, each with their level.
    """

    slot: str
    title: str
    mark: PairedMark
    across: bool
    mine: tuple[str, ...]
    reason: str
    panel: tuple[str, ...]


def lesson_lines(desk: Desk, view: RoundView, found: AssessorRound) -> tuple[LessonLine, ...]:
    """The assessor's sheets in the order of marking, each beside the reference."""
    return tuple(_line(desk, view, sheet, place) for place, sheet in enumerate(found.sheets, 1))


def _line(desk: Desk, view: RoundView, sheet: Sheet, place: int) -> LessonLine:
    from assess.marking.values import weighted_mean

    rubric = round_rubric(desk)
    reference = _reference(view, sheet)
    marks = _marks(desk, sheet, reference)
    own = {mark.criterion: mark.level for mark in marks if mark.gap is not None and mark.level is not None}
    panel = {mark.criterion: mark.reference for mark in marks if mark.gap is not None and mark.reference is not None}
    mine, theirs = (weighted_mean(levels, rubric) if levels else None for levels in (own, panel))
    line = rubric.scale.pass_line
    same = None if mine is None or theirs is None else (mine >= line) == (theirs >= line)
    title, again = desk.name(sheet.candidate), reference.lesson != sheet.candidate
    return LessonLine(sheet.candidate, place, title, reference.near, again, mine, theirs, same, marks)


def _reference(view: RoundView, sheet: Sheet) -> ReferenceLesson:
    lesson = view.round.lesson(sheet.candidate)
    if view.reference is None or lesson is None:
        raise ValueError(f"no reference for {sheet.candidate}")
    return view.reference.lesson(lesson.id)


def _marks(desk: Desk, sheet: Sheet, reference: ReferenceLesson) -> tuple[PairedMark, ...]:
    rubric = round_rubric(desk)
    found = []
    for key in rubric.tasks[reference.task].criteria:
        mark, panel = sheet.mark(key), reference.level(key)
        level = mark.value if mark is not None else None
        ends = (panel.lowest, panel.highest) if panel else (None, None)
        found.append(PairedMark(key, rubric.criteria[key].label, level, panel.level if panel else None, *ends))
    return tuple(found)


def parted(desk: Desk, view: RoundView, found: AssessorRound, *, most: int = MOST) -> tuple[Parted, ...]:
    """Where they parted: the marks furthest from the panel first, of equal ones those across the pass line."""
    line = round_rubric(desk).scale.pass_line
    sheets = {sheet.candidate: sheet for sheet in found.sheets}
    candidates = []
    for lesson in lesson_lines(desk, view, found):
        for mark in lesson.marks:
            gap = mark.gap
            if gap is None or mark.level is None or mark.reference is None:
                continue
            across = (mark.level >= line) != (mark.reference >= line)
            if abs(gap) >= FAR or (across and abs(gap) >= 1):
                candidates.append((-abs(gap), not across, lesson.place, lesson, mark))
    chosen = sorted(candidates, key=lambda item: (*item[:3], item[4].criterion))[:most]
    return tuple(_told(desk, view, sheets[lesson.slot], lesson, mark, not off) for _, off, _, lesson, mark in chosen)


def _told(desk: Desk, view: RoundView, sheet: Sheet, lesson: LessonLine, mark: PairedMark, across: bool) -> Parted:
    reference = _reference(view, sheet)
    panel = reference.level(mark.criterion)
    reasons = desk.folder.reasons
    reason = reasons.of(reference.lesson, mark.criterion) if reasons is not None else ""
    noted = tuple(dict.fromkeys(_panel_words(desk, reference, panel))) if panel is not None else ()
    return Parted(lesson.slot, lesson.title, mark, across, _seen(sheet, mark.criterion), reason, noted)


def _seen(sheet: Sheet, criterion: str) -> tuple[str, ...]:
    """What was noted for a criterion; an erased text is not there any more."""
    return tuple(
        item.fact.text for item in sheet.observations if criterion in item.fact.criteria and item.fact.text is not None
    )


def _panel_words(desk: Desk, reference: ReferenceLesson, panel: ReferenceLevel) -> Iterable[str]:
    """The panel's notes that go with its own level: of those nearest to the reference, one each."""
    this = round_of(desk)
    for marker in sorted(panel.levels, key=lambda who: (abs(panel.levels[who] - panel.level), this.panel.index(who))):
        words = _seen(desk.folded(reference.task, reference.lesson, marker), panel.criterion)
        if words:
            yield f"{int(panel.levels[marker])}: {words[0]}"
