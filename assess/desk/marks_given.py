"""Marks given as words (`edging=4`, `line=no:fog`, `lane-held=na:no lane set`): all checked, then written."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assess.records.errors import StorageTrouble, UsageError
from assess.records.text import LONGEST_TEXT, typed

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["MarksGiven", "give_marks", "marks_from", "wait_until_saved"]

_WHY = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
PATIENCE = 5.0
"""Seconds the disk is given to answer."""
_HOW = "write criterion=4, criterion=no, criterion=no:fog or criterion=na:reason"


@dataclass(frozen=True)
class _Mark:
    criterion: str
    status: Literal["scored", "not-observed", "not-applicable"]
    level: int = 0
    why: str = ""

    @property
    def shown(self) -> str:
        if self.status == "scored":
            return str(self.level)
        return self.status.replace("-", " ") + (f" ({self.why})" if self.why else "")


@dataclass(frozen=True)
class MarksGiven:
    """Marks, and perhaps a note, that have been checked against a sheet and may be written."""

    marks: tuple[_Mark, ...]
    note: str
    note_for: tuple[str, ...] | None
    run: int

    def told(self) -> list[tuple[str, str]]:
        """Criterion and mark in words, in the order given."""
        return [(mark.criterion, mark.shown) for mark in self.marks]


def marks_from(
    words: Sequence[str], sheet: SlotSheet, *, note: str = "", note_for: Sequence[str] | None = None, run: int = 1
) -> MarksGiven:
    """The marks these words give. Raises UsageError that names everything wrong with them; nothing is written."""
    wrong: list[str] = []
    marks = [mark for word in words if (mark := _mark(word, sheet, wrong)) is not None]
    for criterion in sorted({mark.criterion for mark in marks}):
        if sum(mark.criterion == criterion for mark in marks) > 1:
            wrong.append(f"{criterion} is given twice")
    wrong += [f"{name} is no criterion of {sheet.task_id}" for name in note_for or () if name not in sheet.criteria]
    if note_for and not note.strip():
        wrong.append("--for names criteria, and there is no --note")
    if len(typed(note)) > LONGEST_TEXT:
        wrong.append(f"the note has {len(typed(note))} characters, {LONGEST_TEXT} are the most")
    if not marks and not note.strip():
        wrong.append(f"nothing to write: {_HOW}")
    wrong += _run_wrong(sheet, run, marks)
    if wrong:
        todo = f"criteria of {sheet.task_id}: {', '.join(sheet.criteria)}; nothing was written"
        raise UsageError("; ".join(wrong), todo=todo)
    return MarksGiven(tuple(marks), note, tuple(note_for) if note_for else None, run)


def _mark(word: str, sheet: SlotSheet, wrong: list[str]) -> _Mark | None:
    criterion, equals, said = word.partition("=")
    value, colon, why = said.partition(":")
    if not equals or not value:
        wrong.append(f"`{word[:60]}` gives no mark: {_HOW}")
        return None
    if criterion not in sheet.criteria:
        wrong.append(f"{criterion[:60]} is no criterion of {sheet.task_id}")
        return None
    if value == "no":
        return _not_observed(criterion, why, bool(colon), wrong)
    if value == "na":
        return _not_applicable(criterion, why, sheet, wrong)
    scale = sheet.rubric.scale
    levels = {str(level): level for level in scale.levels}
    if said not in levels:
        wrong.append(f"{said[:20]} is no level of {criterion}: {scale.min} to {scale.max}, no or na")
        return None
    return _Mark(criterion, "scored", levels[said])


def _not_observed(criterion: str, why: str, given: bool, wrong: list[str]) -> _Mark | None:
    if given and not _WHY.fullmatch(why):
        wrong.append(
            f"`{why[:60]}` is no reason for {criterion}: one word, small letters and `-`, like fog or out-of-sight"
        )
        return None
    return _Mark(criterion, "not-observed", why=why)


def _not_applicable(criterion: str, why: str, sheet: SlotSheet, wrong: list[str]) -> _Mark | None:
    if not why.strip() and not sheet.desk.day_book.reason_not_applicable(sheet.task_id, criterion):
        wrong.append(f"why is {criterion} not applicable? write {criterion}=na:reason once")
        return None
    return _Mark(criterion, "not-applicable", why=why.strip())


def _run_wrong(sheet: SlotSheet, run: int, marks: Sequence[_Mark]) -> list[str]:
    if run == 0:
        if sheet.rubric.fold_of(sheet.task_id) != "overall":
            return [f"{sheet.task_id} has no overall mark (run 0)"]
        return [f"{mark.criterion}: an overall mark is a level" for mark in marks if mark.status != "scored"]
    runs = max(sheet.rubric.runs_of(sheet.task_id), sheet.sheet.run_count, 1 + len(sheet.sheet.reruns))
    return [] if 1 <= run <= runs else [f"{sheet.task_id} has {runs} run{'s' if runs > 1 else ''}, not {run}"]


def give_marks(sheet: SlotSheet, given: MarksGiven) -> None:
    """Write the marks, then the note. Raises Refusal when the sheet takes nothing more."""
    sheet.run = given.run or 1
    for mark in given.marks:
        if mark.status == "not-observed":
            sheet.not_observed(mark.criterion, mark.why or None)
        elif mark.status == "not-applicable":
            sheet.not_applicable(mark.criterion, mark.why)
        elif given.run == 0:
            sheet.overall(mark.criterion, mark.level)
        else:
            sheet.score(mark.criterion, mark.level)
    if given.note.strip():
        sheet.note(given.note, given.note_for)


def wait_until_saved(desk: Desk) -> str:
    """Wait until the disk has answered; the wall time of the last save, "" when there was nothing to save.

    However much there is to write: it goes on as long as the disk does. Raises StorageTrouble when something is not
    saved and for `PATIENCE` seconds nothing more was.
    """
    done, state = desk.drain(PATIENCE), desk.save_state()
    while not done:
        before = state.waiting
        done, state = desk.drain(PATIENCE), desk.save_state()
        if not done and state.waiting >= before:
            break
    if not done or state.word != "saved":
        count = f"{state.waiting} {'entry' if state.waiting == 1 else 'entries'}"
        raise StorageTrouble(
            f"NOT SAVED: {count}; {state.why or 'the disk has not answered'}", todo="give the marks again"
        )
    return desk.clock_text(state.at) if state.at else ""
