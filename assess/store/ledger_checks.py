"""Cross references of ledgers: what a header and its entries name must be in the course and its rubric.

No text here holds a level or a free text: these problems may reach somebody who must not see the sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from assess.records.course import Course, People
from assess.records.errors import Problem
from assess.records.facts import (
    AllocationChange,
    BibChange,
    Breach,
    BreachAccount,
    BreachFacts,
    BreachFinding,
    CalibrationSigned,
    Decision,
    Erasure,
    ExtraSlot,
    Interruption,
    Moderated,
    NotApplicable,
    OrderChange,
    Question,
    Release,
    RepeatOffer,
    Rerun,
    Resit,
    RubricAct,
    SafetyItem,
    SamePerson,
    Score,
    ThirdLook,
    ThirdLookClosed,
    Undo,
    Waiver,
)
from assess.records.ids import base_task
from assess.records.ledger import Entry, Ledger
from assess.records.lesson_facts import BESIDE_THE_LIST
from assess.records.rubric import Rubric, Task
from assess.store.course_files import folder_of
from assess.store.ledger_file import LedgerFile
from assess.store.separation_checks import Seating

__all__ = ["ledger_problems"]

_Said = Iterable[tuple[str, str, bool]]
_ON_ANY_DAY = frozenset({"erasure", "same-person", "settled"})
"""Kinds of fact a director may have to write long after the course."""


def ledger_problems(
    course: Course, people: People, rubrics: Mapping[str, Rubric], ledgers: Sequence[LedgerFile]
) -> list[Problem]:
    """Everything in the ledgers that points to nothing, with file and line."""
    seating = Seating(course, people, [file.ledger for file in ledgers])
    known = _Known(course, people, rubrics, _taken_over(ledgers), seating)
    checks: dict[str, tuple[Callable[[Ledger], _Said], Callable[[Ledger, Entry], _Said]]] = {
        "sheet": (known.sheet_header, known.sheet_entry),
        "day": (known.day_header, known.day_entry),
        "moderation": (known.moderation_header, known.moderation_entry),
        "decision": (known.decision_header, known.decision_entry),
        "case": (known.case_header, lambda _ledger, _entry: ()),
        "licence": (known.licence_header, known.licence_entry),
        "seal": (known.seal_header, lambda _ledger, _entry: ()),
    }
    problems = []
    for file in ledgers:
        ledger = file.ledger
        of_header, of_entry = checks[ledger.header.kind]
        shown = f"{folder_of(ledger.header.kind)}/{file.path.name}"
        problems += [Problem(shown, 2, what, todo, doubt) for what, todo, doubt in of_header(ledger)]
        dead = _corrected(ledger)
        for entry in ledger.entries:
            for what, todo, doubt in of_entry(ledger, entry) if entry.n not in dead else ():
                problems.append(Problem(shown, entry.line, what, todo, doubt))
    return problems


def _corrected(ledger: Ledger) -> set[int]:
    """Numbers of entries that count for nothing: taken back, or scores given again later."""
    dead: set[int] = set()
    last: dict[tuple[str, int], int] = {}
    for entry in ledger.entries:
        if isinstance(entry.fact, Undo) and entry.fact.of < entry.n:
            dead.add(entry.fact.of)
    for entry in ledger.entries:
        if isinstance(entry.fact, Score) and entry.n not in dead:
            place = (entry.fact.criterion, entry.fact.run)
            if place in last:
                dead.add(last[place])
            last[place] = entry.n
    return dead


def _taken_over(ledgers: Sequence[LedgerFile]) -> frozenset[tuple[str, str, str]]:
    """(task, candidate, assessor) of every sheet a director gave to somebody else, or ordered for a third look."""
    found = set()
    for file in ledgers:
        for entry in file.ledger.entries:
            fact = entry.fact
            if isinstance(fact, AllocationChange) and fact.to is not None:
                found.add((fact.task, fact.candidate, fact.to))
            elif isinstance(fact, ThirdLook):
                found |= {(slot, file.ledger.header.candidate or "", fact.marker) for slot in fact.slots}
                mixed = (name.partition(".") for name in fact.mixed)
                found |= {(task, candidate, fact.marker) for task, _, candidate in mixed}
    return frozenset(found)


_DIRECTORS_ACTS = (AllocationChange, Erasure, RubricAct, SamePerson, Release, RepeatOffer, ExtraSlot)
_KEEP = "settle it with the director; what is written stays"


class _Known:
    """What the course knows, asked by every check."""

    def __init__(
        self,
        course: Course,
        people: People,
        rubrics: Mapping[str, Rubric],
        taken_over: frozenset[tuple[str, str, str]],
        seating: Seating,
    ) -> None:
        self.seating = seating
        self.course, self.rubrics, self.taken_over = course, rubrics, taken_over
        self.tasks = {task.id for task in course.tasks}
        self.candidates = set(course.candidates)
        self.markers = {*course.assessors, *course.directors}
        self.learners = {each.id for each in people.learners}
        self.must_nots = {each.id for rubric in rubrics.values() for each in rubric.must_nots}
        self.modules = {name for rubric in rubrics.values() for name in rubric.modules}
        self._slots = {(slot.task, slot.candidate): slot for slot in course.allocation}

    def _missing(self, word: str, name: str | None, known: set[str]) -> _Said:
        if name is not None and name not in known:
            yield f"names {word} `{name}`, which this course does not have", _KEEP, False

    def _task(self, name: str | None) -> _Said:
        yield from self._missing("task", base_task(name, self.tasks) if name else None, self.tasks)

    # --- sheets ---------------------------------------------------------------------------------

    def sheet_header(self, ledger: Ledger) -> _Said:
        """Task, candidate, assessor and rubric are known, and the slot is allocated to this assessor."""
        header = ledger.header
        yield from self._task(header.task)
        yield from self._missing("candidate", header.candidate, self.candidates)
        yield from self._missing("assessor", header.assessor, self.markers)
        if header.rubric not in self.rubrics:
            yield (
                "was marked on a rubric that is not in this course",
                "put that rubric's file back into rubrics/",
                False,
            )
        elif self._rubric_task(ledger) is None:
            yield f"was marked on a rubric that has no task `{header.task}`", _KEEP, False
        yield from self._allocated(ledger)

    def _allocated(self, ledger: Ledger) -> _Said:
        header = ledger.header
        task, candidate, assessor = header.task or "", header.candidate or "", header.assessor or ""
        slot = self._slots.get((task, candidate))
        if (task, candidate, assessor) in self.taken_over:
            return
        if slot is None:
            if base_task(task, self.tasks) == task:
                yield f"`{candidate}` has no slot for task `{task}` in the allocation", "allocate it", True
        elif assessor not in slot.assessors and assessor not in slot.shadows:
            yield f"`{assessor}` is not allocated to this slot", "allocate them, or move the sheet", True

    def _rubric_task(self, ledger: Ledger) -> Task | None:
        rubric = self.rubrics.get(ledger.header.rubric or "")
        return rubric.tasks.get(base_task(ledger.header.task or "", self.tasks)) if rubric else None

    def sheet_entry(self, ledger: Ledger, entry: Entry) -> _Said:
        """What an entry of a sheet names is in the rubric, or in an earlier entry."""
        rubric = self.rubrics.get(ledger.header.rubric or "")
        fact = entry.fact
        if isinstance(fact, Undo | BreachFacts) and fact.of >= entry.n:
            yield "points to an entry that is not before it", _KEEP, False
        if rubric is None:
            return
        if isinstance(fact, Score):
            yield from self._score(ledger, entry.n, fact, rubric)
        elif isinstance(fact, Breach | BreachFacts):
            if fact.must_not is not None and fact.must_not not in {each.id for each in rubric.must_nots}:
                yield "names a must-not the rubric does not have", _KEEP, False
        elif isinstance(fact, SafetyItem):
            if fact.item not in {*BESIDE_THE_LIST, *(each.id for each in rubric.safety_list)}:
                yield "names a safety item the rubric does not have", _KEEP, False
        elif isinstance(fact, Question):
            if fact.question is not None and fact.question not in {each.id for each in rubric.questions}:
                yield "names a question the rubric does not have", _KEEP, False
        elif isinstance(fact, Rerun) and fact.why not in rubric.rerun_reasons:
            yield "gives a reason for another run the rubric does not have", _KEEP, False

    def _score(self, ledger: Ledger, n: int, score: Score, rubric: Rubric) -> _Said:
        task = self._rubric_task(ledger)
        if score.criterion not in rubric.criteria:
            yield "scores a criterion the rubric does not have", _KEEP, False
        elif task is not None and score.criterion not in task.criteria:
            yield "scores a criterion that is not one of this task", _KEEP, False
        if score.status == "scored" and score.level is None:
            yield "is a score without a level", _KEEP, False
        elif score.status != "scored" and score.level is not None:
            yield "has a level and says that none was given", _KEEP, False
        elif score.level is not None and score.level not in rubric.scale.levels:
            yield "level outside the scale", _KEEP, False
        if any(number >= n for number in score.evidence):
            yield "names evidence that is not before it", _KEEP, False

    # --- days, decisions, seals -------------------------------------------------------------------

    def day_header(self, ledger: Ledger) -> _Said:
        """A day of the course, kept by somebody of the course."""
        header = ledger.header
        kinds = {entry.fact.kind for entry in ledger.entries}
        any_day = bool(kinds) and kinds <= _ON_ANY_DAY
        if header.date not in (*self.course.days, *self.course.reserve_days) and not any_day:
            yield f"is about {header.date}, which is no day of the course", "correct the days in course.yaml", True
        yield from self._missing("assessor or director", header.by, self.markers)

    def day_entry(self, ledger: Ledger, entry: Entry) -> _Said:
        """What a day's entry names is in the course; a slot is taken off somebody by a director only."""
        fact = entry.fact
        if isinstance(fact, BibChange | OrderChange | AllocationChange):
            yield from self._missing("candidate", fact.candidate, self.candidates)
        if isinstance(fact, OrderChange | AllocationChange | NotApplicable):
            yield from self._task(fact.task)
        if isinstance(fact, NotApplicable):
            criteria = {name for rubric in self.rubrics.values() for name in rubric.criteria}
            yield from self._missing("criterion", fact.criterion, criteria)
        if isinstance(fact, Interruption):
            for task in fact.tasks:
                yield from self._task(task)
            for candidate in fact.candidates:
                yield from self._missing("candidate", candidate, self.candidates)
        if isinstance(fact, RubricAct):
            yield from self._missing("area", fact.area, {task.area for task in self.course.tasks})
        if isinstance(fact, AllocationChange):
            yield from self._missing("assessor", fact.from_, self.markers)
            yield from self._missing("assessor", fact.to, self.markers)
            yield from self.seating.given((fact.to,) if fact.to else (), fact.task, fact.candidate)
        if isinstance(fact, ExtraSlot):
            yield from self._missing("candidate", fact.candidate, self.candidates)
            yield from self._task(fact.task)
            for who in fact.assessors:
                yield from self._missing("assessor", who, self.markers)
            yield from self.seating.given(fact.assessors, fact.task, fact.candidate)
        if isinstance(fact, Waiver):
            yield from self._missing("assessor", fact.assessor, self.markers)
            yield from self._missing("candidate", fact.candidate, self.candidates)
            yield from self._task(fact.task)
            yield from self.seating.waiver(ledger.header.author, fact)
        if isinstance(fact, SamePerson):
            yield from self._missing("candidate", fact.candidate, self.candidates)
            yield from self._missing("candidate", fact.same_as, self.candidates)
        if isinstance(fact, _DIRECTORS_ACTS) and ledger.header.by not in self.course.directors:
            yield (
                "is an act of the director by somebody who is none",
                "a director repeats it in their own record",
                False,
            )

    def decision_header(self, ledger: Ledger) -> _Said:
        """A candidate of the course, and somebody of the course who writes."""
        yield from self._missing("candidate", ledger.header.candidate, self.candidates)
        yield from self._missing("assessor or director", ledger.header.by, self.markers)

    def decision_entry(self, ledger: Ledger, entry: Entry) -> _Said:
        """Must-nots and modules are those of the rubrics."""
        fact = entry.fact
        if isinstance(fact, BreachAccount | BreachFinding):
            yield from self._missing("must-not", fact.must_not, self.must_nots)
        if isinstance(fact, BreachFinding):
            for module in fact.modules:
                yield from self._missing("module", module, self.modules)
        if isinstance(fact, ThirdLook | ThirdLookClosed | Decision | Resit):
            yield from self._missing("module", fact.module, self.modules)
        if isinstance(fact, ThirdLook):
            yield from self._missing("assessor", fact.marker, self.markers)
            for slot in fact.slots:
                yield from self._task(slot)
                yield from self.seating.given((fact.marker,), slot, ledger.header.candidate or "")

    def moderation_header(self, ledger: Ledger) -> _Said:
        """A slot of the course, and somebody of the course who writes."""
        yield from self._task(ledger.header.task)
        yield from self._missing("candidate", ledger.header.candidate, self.candidates)
        yield from self._missing("assessor or director", ledger.header.by, self.markers)

    def moderation_entry(self, _ledger: Ledger, entry: Entry) -> _Said:
        """The criteria agreed on are those of a rubric, the levels on its scale."""
        fact = entry.fact
        if isinstance(fact, Moderated):
            scales = {level for rubric in self.rubrics.values() for level in rubric.scale.levels}
            for criterion, level in fact.values.items():
                yield from self._missing("criterion", criterion, {k for r in self.rubrics.values() for k in r.criteria})
                if level not in scales:
                    yield "level outside the scale", _KEEP, False

    def case_header(self, ledger: Ledger) -> _Said:
        """Somebody of the course keeps it, about a candidate of the course if about one."""
        yield from self._missing("candidate", ledger.header.candidate, self.candidates)
        yield from self._missing("assessor or director", ledger.header.by, self.markers)

    def licence_header(self, ledger: Ledger) -> _Said:
        """An assessor, and a director who signs."""
        yield from self._missing("assessor", ledger.header.assessor, self.markers)
        if ledger.header.by not in self.course.directors:
            yield "is signed by somebody who is no director", "a director signs it in their own record", False

    def licence_entry(self, ledger: Ledger, entry: Entry) -> _Said:
        """What is signed is about the assessor of the ledger."""
        fact = entry.fact
        if isinstance(fact, CalibrationSigned) and fact.licence and fact.licence.assessor != ledger.header.assessor:
            yield "gives a licence to somebody else than the ledger is about", _KEEP, False

    def seal_header(self, ledger: Ledger) -> _Said:
        """Somebody of the course sealed it."""
        yield from self._missing("assessor or director", ledger.header.by, self.markers)
