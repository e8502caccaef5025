"""The course board: the programme, the candidates, what is still mine to do, and the morning."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from assess.desk.copies import only_here
from assess.desk.day_book import MORNING_LABELS
from assess.desk.quality_due import duties
from assess.desk.running_order import running_order
from assess.desk.same_person import same_as
from assess.desk.tellable import Teller
from assess.records.facts import OrderChange
from assess.records.ids import base_task
from assess.records.times import clock_text

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.marking.results import Hole

__all__ = ["Board", "CandidateLine", "DayLine", "TaskLine", "agreed_for", "course_board", "holes_told"]


@dataclass(frozen=True)
class TaskLine:
    """A task: how many slots are mine and locked by me, how many there are and locked by all."""

    id: str
    title: str
    lesson: bool
    starts: str
    mine: int
    mine_locked: int
    slots: int
    all_locked: int


@dataclass(frozen=True)
class DayLine:
    """A day of the course."""

    day: int
    date: str
    text: str
    tasks: tuple[TaskLine, ...]


@dataclass(frozen=True)
class CandidateLine:
    """A candidate: for each task of mine `open` or `locked` ("" when not mine), module words only if released."""

    id: str
    bib: int
    name: str
    mark: str
    standing: str
    states: dict[str, str]
    words: dict[str, str]


@dataclass(frozen=True)
class Board:
    """The way in, for one person. duties: what is late or stands open, for a director alone.

    agreed: accommodations of candidates this person marks, of all for a director.
    one_copy: since when one's own records have no second copy.
    """

    title: str
    who: str
    role: str
    days: tuple[DayLine, ...]
    candidates: tuple[CandidateLine, ...]
    holes: tuple[str, ...]
    barred: tuple[str, ...]
    learners: tuple[str, ...]
    morning: tuple[tuple[str, str], ...]
    set_aside: tuple[str, ...] = field(default=())
    agreed: tuple[str, ...] = field(default=())
    duties: tuple[str, ...] = field(default=())
    one_copy: str = ""


def course_board(desk: Desk, *, words: bool = True) -> Board:
    """What this person sees of the course on the way in; without `words` no outcome is worked out."""
    teller = Teller(desk)
    return Board(
        title=desk.course.title,
        who=desk.who or "",
        role=desk.role,
        days=tuple(
            _day(desk, number) for number in range(1, len(desk.course.days) + len(desk.course.reserve_days) + 1)
        ),
        candidates=tuple(_candidate(desk, who, words) for who in desk.course.candidates),
        holes=_my_holes(desk),
        barred=_barred(desk),
        learners=_worn_learners(desk),
        morning=tuple((MORNING_LABELS[key], value) for key, value in desk.day_book.morning().items()),
        set_aside=tuple(name for name in desk.folder.aside if teller.may_tell(name)),
        agreed=agreed_for(desk),
        duties=duties(desk),
        one_copy=only_here(desk),
    )


def _day(desk: Desk, number: int) -> DayLine:
    date = desk.course.day_date(number)
    text = "; ".join(line.text for line in desk.course.programme if line.day == number)
    tasks = tuple(_task(desk, task) for task in _tasks_of(desk, number))
    return DayLine(number, date.isoformat() if date else "", text, tasks)


def _tasks_of(desk: Desk, number: int) -> list[str]:
    """The tasks of a day, and the further performances that were added for it (`T2-2`)."""
    known = {task.id for task in desk.course.tasks}
    held = [task.id for task in desk.course.tasks if task.day == number]
    more = {slot.task for slot in desk.course.allocation if slot.task not in known and slot.day == number}
    return [*held, *sorted(more)]


def _mine(desk: Desk, task: str, candidate: str) -> bool:
    """True when I mark the slot, first or for a third look."""
    return desk.who in (*desk.markers(task, candidate), *desk.third_markers(task, candidate))


def _task(desk: Desk, task: str) -> TaskLine:
    slots = [slot for slot in desk.course.allocation if slot.task == task]
    mine = [slot for slot in slots if _mine(desk, task, slot.candidate)]
    described = desk.task(task)
    times = sorted(at for slot in slots if (at := desk.course.planned_at(slot)))
    return TaskLine(
        id=task,
        title=described.title,
        lesson=described.lesson,
        starts=clock_text(times[0], desk.offset, seconds=False) if times else "",
        mine=len(mine),
        mine_locked=sum(desk.locked(task, slot.candidate, desk.who or "") for slot in mine),
        slots=len(slots),
        all_locked=sum(desk.sight.slot_open(task, slot.candidate) for slot in slots),
    )


def _candidate(desk: Desk, who: str, words: bool) -> CandidateLine:
    states = {}
    for task in (slot.task for slot in desk.course.allocation if slot.candidate == who):
        if _mine(desk, task, who):
            states[task] = "locked" if desk.locked(task, who, desk.who or "") else "open"
    order = [task.id for task in desk.course.tasks]
    states = {task: states[task] for task in sorted(states, key=lambda name: (_place(name, order), name))}
    changes = [entry.fact for _, entry in desk.shelf.entries("day") if isinstance(entry.fact, OrderChange)]
    same = same_as(desk, who)
    standing = f"is {same}" if same else _standing(who, [task.id for task in desk.course.tasks], changes)
    told: dict[str, str] = {}
    if words:
        from assess.desk.outcomes import module_words

        told = module_words(desk, who)
    mark = desk.candidate_mark(who)
    return CandidateLine(who, desk.bib(who), desk.name(who), mark, standing, states, told)


def _place(task: str, order: list[str]) -> int:
    return order.index(base_task(task, set(order)))


def _standing(who: str, tasks: list[str], changes: list[OrderChange]) -> str:
    standings = {task: running_order((who,), task, changes)[0].standing for task in tasks}
    if "withdrawn" in standings.values():
        return "withdrawn"
    absent = [task for task, standing in standings.items() if standing == "absent"]
    return f"absent {' '.join(absent)}" if absent else ""


def holes_told(holes: Sequence[Hole], labels: Mapping[str, str]) -> list[str]:
    """What one sheet lacks, in few words and the screen's: what blocks its lock, else what is to be looked at."""
    counted = [hole for hole in holes if hole.blocks] or list(holes)
    told = []
    for kind, words in _GROUPED.items():
        about = [labels.get(hole.criterion or "", "") for hole in counted if hole.kind == kind]
        told += [f"{words} {', '.join(about)}"] if about else []
    untold = sum(hole.kind == "safety-item" for hole in counted)
    told += [f"safety list: nothing said of {untold} items"] if untold else []
    return told + [hole.text for hole in counted if hole.kind not in (*_GROUPED, "safety-item")]


_GROUPED = {"no-evidence": "note due for", "no-mark": "no mark for", "viewpoints": "seen from too few sides:"}


def _my_holes(desk: Desk) -> tuple[str, ...]:
    """What I still owe: a sheet begun and not locked, first with what it lacks."""
    lines = []
    for slot in sorted(desk.course.allocation, key=lambda item: (item.task, item.order)):
        if desk.who is None or not _mine(desk, slot.task, slot.candidate):
            continue
        if desk.locked(slot.task, slot.candidate, desk.who):
            continue
        sheet = desk.folded(slot.task, slot.candidate, desk.who)
        if not sheet.marks and not sheet.observations:
            continue
        own = desk.slot(slot.task, slot.candidate)
        said = "; ".join(holes_told(own.holes(), own.labels)) or "not locked"
        lines.append(f"{slot.task} bib {desk.bib(slot.candidate)} {desk.name(slot.candidate)}: {said}")
    return tuple(lines)


def _barred(desk: Desk) -> tuple[str, ...]:
    """Whom I may not mark and why: my conflicts and whom I trained, by candidate; my licence, by area."""
    if desk.who is None:
        return ()
    found: dict[str, dict[str, None]] = {}
    for task in desk.course.tasks:
        for candidate in desk.course.candidates:
            for bar in desk.separation.bars(desk.who, task.id, candidate):
                if bar.about == "licence" and desk.role != "assessor":
                    continue
                whom = f"area {task.area}" if bar.about == "licence" else desk.name(candidate)
                waived = " (waived)" if desk.separation.waiver_for(bar, task.id) else ""
                why = bar.detail or bar.why.replace("they ", "you ", 1)
                found.setdefault(whom, {}).setdefault(f"{why}{waived}")
    return tuple(f"{whom}: {'; '.join(why)}" for whom, why in found.items())


def agreed_for(desk: Desk) -> tuple[str, ...]:
    """What was agreed beforehand for the candidates this person marks, of all for a director."""
    if not desk.people.accommodations:
        return ()
    mine = {
        slot.candidate for slot in desk.course.allocation if desk.who in desk.seats.writers(slot.task, slot.candidate)
    }
    return tuple(
        f"{' in '.join(filter(None, (desk.name(item.candidate), ', '.join(item.tasks))))}: {item.what} ({item.changes})"
        for item in desk.people.accommodations
        if desk.role == "director" or item.candidate in mine
    )


def _worn_learners(desk: Desk) -> tuple[str, ...]:
    uses = Counter(learner for slot in desk.course.allocation for learner in slot.learners)
    return tuple(
        f"{learner}: used {count} times, no beginner any more" for learner, count in sorted(uses.items()) if count >= 3
    )
