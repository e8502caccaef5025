"""One task, my rows: what an assessor of demonstrations sees and does while the candidates come down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.desk.moves import move_marks, take_back_move
from assess.desk.running_order import Place, Standing, running_order
from assess.desk.undoing import latest_act, told
from assess.records.errors import Refusal
from assess.records.facts import MovedOut, OrderChange, Undo, View
from assess.records.ledger import Entry, Ledger, live_entries

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.desk.slot_sheet import SlotSheet
    from assess.marking.results import Mark, Sheet

__all__ = ["Cell", "Row", "RunSheet"]

NOT_SEEN, NOTHING, NOT_HERE = "no", "·", "na"


@dataclass(frozen=True)
class Cell:
    """One mark as shown: `4`, `·` (none yet), `no` (not observed), `na` (not applicable)."""

    criterion: str
    text: str
    earlier: tuple[str, ...] = ()
    saved: bool = True
    needs_evidence: bool = False


@dataclass(frozen=True)
class Row:
    """One candidate's line on a run sheet. breach: `breach`, or `breach due`, once one is reported here."""

    candidate: str
    bib: int
    name: str
    mark: str
    cells: tuple[Cell, ...]
    locked: bool
    standing: Standing = ""
    note: str = ""
    holes: int = 0
    breach: str = ""


class RunSheet:
    """My rows of one task in running order. `run` is the run being marked, `runs` how many the rubric asks for."""

    def __init__(self, desk: Desk, task: str) -> None:
        self.desk, self.task_id = desk, task
        self.task, self.rubric = desk.task(task), desk.rubric_for(task)
        self.criteria = self.task.criteria
        self.labels = tuple(self.rubric.criteria[item].label for item in self.criteria)
        self.runs = self.rubric.runs_of(task)
        self._slots = {slot.candidate: desk.slot(task, slot.candidate) for slot in desk.mine(task)}
        if not self._slots:
            raise Refusal(f"you mark nobody in {task}", todo="see the allocation in course.yaml")
        self.run = 1
        self.start_run(min(self.runs, max(_planned_run(slot.sheet) for slot in self._slots.values())))

    # --- reading -------------------------------------------------------------------------------

    def places(self) -> tuple[Place, ...]:
        """My candidates in the order they go, with what is known of them."""
        changes = [e.fact for _, e in self.desk.shelf.entries("day") if isinstance(e.fact, OrderChange)]
        return running_order(tuple(self._slots), self.task_id, changes)

    @property
    def slots(self) -> tuple[SlotSheet, ...]:
        """My sheets in running order."""
        return tuple(self._slots[place.candidate] for place in self.places())

    def slot(self, candidate: str) -> SlotSheet:
        """My sheet of a candidate. Raises Refusal when I do not mark them in this task."""
        found = self._slots.get(candidate)
        if found is None:
            raise Refusal(
                f"bib {self.desk.bib(candidate)} is not yours in {self.task_id}", todo="choose one of your rows"
            )
        return found

    @property
    def viewpoint(self) -> str | None:
        """From where it was last said to be watched."""
        views = [
            (entry.at, entry.fact.viewpoint)
            for slot in self._slots.values()
            for ledger in self.desk.shelf.sheet((slot.task_id, slot.candidate, slot.who))
            for entry in live_entries(ledger)
            if isinstance(entry.fact, View)
        ]
        return max(views)[1] if views else None

    def rows(self) -> tuple[Row, ...]:
        """All my rows in running order."""
        return tuple(self._row(place) for place in self.places())

    def row(self, candidate: str) -> Row:
        """One row, fresh."""
        return next(self._row(place) for place in self.places() if place.candidate == self.slot(candidate).candidate)

    def _row(self, place: Place) -> Row:
        slot = self._slots[place.candidate]
        sheet = slot.sheet
        needing = set(slot.needing_evidence())
        seen = [item.fact for item in reversed(sheet.observations)]
        note = next((fact.text for fact in seen if fact.text), "") or ""
        tags = next((", ".join(fact.tags) for fact in seen if fact.tags), "")
        return Row(
            candidate=place.candidate,
            bib=self.desk.bib(place.candidate),
            name=self.desk.name(place.candidate),
            mark=self.desk.candidate_mark(place.candidate),
            cells=tuple(self._cell(slot, criterion, criterion in needing) for criterion in self.criteria),
            locked=slot.locked,
            standing=place.standing,
            note=note or tags,
            holes=sum(hole.blocks for hole in slot.holes()),
            breach=_breach(sheet),
        )

    def _cell(self, slot: SlotSheet, criterion: str, needs_evidence: bool) -> Cell:
        runs = {mark.run or 0: mark for mark in slot.sheet.runs if mark.criterion == criterion}
        earlier = tuple(_shown(runs[run]) for run in sorted(runs) if run not in (0, slot.run))
        current = runs.get(slot.run)
        return Cell(
            criterion=criterion,
            text=_shown(current) if current else NOTHING,
            earlier=earlier,
            saved=slot.saved(criterion),
            needs_evidence=needs_evidence,
        )

    def descriptors(self, criterion: str, level: int | None) -> tuple[tuple[int, str], ...]:
        """Three levels with their descriptors: the one given and its neighbours, or those round the pass line."""
        scale = self.rubric.scale
        middle = level if level is not None else int(scale.pass_line) + 1
        low = min(max(middle - 1, scale.min), scale.max - 2)
        texts = self.rubric.criteria[criterion].levels
        return tuple((point, texts.get(point, "")) for point in range(low, low + 3) if point in scale.levels)

    # --- doing ---------------------------------------------------------------------------------

    def start_run(self, run: int) -> None:
        """Mark this run from now on. Raises Refusal for a run the rubric does not have."""
        if not 1 <= run <= self.runs:
            runs = "run" if self.runs == 1 else "runs"
            raise Refusal(f"{self.task_id} has {self.runs} {runs}", todo="give a re-run with its reason")
        self.run = run
        for slot in self._slots.values():
            slot.run = _run_number(slot.sheet, run)

    def view(self, viewpoint: str) -> None:
        """From now on this task is watched from there: noted in every sheet that is still open."""
        for slot in self.slots:
            if not slot.locked and slot.viewpoint != viewpoint:
                slot.view(viewpoint)

    def order(self, candidate: str, change: str, place: int | None = None, why: str | None = None) -> Entry:
        """Change the running order: moved, late, now, absent, withdrawn, back."""
        self.slot(candidate)
        fact = {"task": self.task_id, "candidate": candidate, "change": change, "place": place, "why": why}
        return self.desk.day_book.append(OrderChange.model_validate(fact))

    def give_to(self, candidate: str, bib: int) -> str:
        """These marks belong to the candidate with this bib; when both have marks they change places.

        Returns the candidate the marks went to.
        """
        other = self.desk.by_bib(bib)
        if other is None:
            raise Refusal(f"nobody wears bib {bib}", todo="see the bibs on the board")
        if other != candidate:
            move_marks(self.slot(candidate), self.slot(other))
        return other

    def undo(self) -> str | None:
        """Take my latest act on this task back, on whichever row or in the running order; what it was."""
        found: list[tuple[str, str, Entry]] = []
        for candidate, slot in self._slots.items():
            ledger = self._own(slot)
            entry = latest_act(live_entries(ledger)) if ledger and not slot.locked else None
            if entry:
                found.append((entry.at, candidate, entry))
        change = self.desk.day_book.latest_change(self.task_id)
        if change is not None:
            found.append((change.at, "", change))
        if not found:
            return None
        _, candidate, entry = max(found, key=lambda item: item[0])
        return self._take_back(candidate, entry)

    def _take_back(self, candidate: str, entry: Entry) -> str:
        if not candidate:
            return self.desk.day_book.take_back(entry)
        slot = self._slots[candidate]
        bib = self.desk.bib(candidate)
        if isinstance(entry.fact, MovedOut):
            take_back_move(slot, entry, self._slots)
            return f"bib {bib}: the marks are back"
        slot.append(Undo(of=entry.n))
        slot.run = _run_number(slot.sheet, self.run)
        return f"bib {bib}: {told(entry, slot.labels)}"

    def _own(self, slot: SlotSheet) -> Ledger | None:
        ledgers = self.desk.shelf.sheet((slot.task_id, slot.candidate, slot.who))
        return next((item for item in ledgers if item.header.device == self.desk.device), None)


def _breach(sheet: Sheet) -> str:
    if not sheet.breaches:
        return ""
    return "breach due" if any(report.lacking for report in sheet.breaches) else "breach"


def _run_number(sheet: Sheet, planned: int) -> int:
    """The run of this sheet that is the planned one: a re-run takes the next number and the place of the one before."""
    again = {seen.fact.run for seen in sheet.reruns}
    number = 0
    for _ in range(planned):
        number += 1
        while number + 1 in again:
            number += 1
    return number


def _planned_run(sheet: Sheet) -> int:
    """Which planned run this sheet has come to."""
    again = {seen.fact.run for seen in sheet.reruns}
    return max(1, sheet.run_count - sum(number <= sheet.run_count for number in again))


def _shown(mark: Mark) -> str:
    if mark.status == "scored":
        return str(mark.level)
    return NOT_SEEN if mark.status == "not-observed" else NOT_HERE
