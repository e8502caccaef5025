"""Cross references of `course.yaml` and `people.yaml`: ids, days, pins, allocation, events."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from assess.records.course import Course, People, Pin
from assess.records.errors import Problem
from assess.records.ids import base_task
from assess.records.rubric import Rubric
from assess.records.times import clock_text, local_instant, offset_minutes
from assess.store.allocation_checks import allocation_problems
from assess.store.erasure_checks import erased_people
from assess.store.ledger_file import LedgerFile
from assess.store.plan_checks import plan_problems
from assess.store.separation_checks import accommodation_problems, licence_problems
from assess.store.yaml_file import YamlDoc

__all__ = ["course_problems", "people_problems", "real_date", "unusable_values"]

_LIKE_A_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")


def real_date(text: str) -> bool:
    """True when the calendar has this day."""
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return text.isascii()


def unusable_values(doc: YamlDoc, course: Course, *, days: str = "days") -> list[Problem]:
    """Values that have the right form and cannot exist: days the calendar lacks, an offset beyond any zone.

    days: the key of the days in the file.
    """
    problems = [
        Problem(doc.shown, doc.line(key, place), f"the calendar has no day `{day}`", "correct it")
        for key, listed in ((days, course.days), ("reserve_days", course.reserve_days))
        for place, day in enumerate(listed)
        if not real_date(day)
    ]
    if not course.utc_offset.isascii() or abs(offset_minutes(course.utc_offset)) > 14 * 60:
        what = "no place is that far from UTC"
        problems.append(Problem(doc.shown, doc.line("utc_offset"), what, "write the offset as `+01:00`"))
    if not course.days:
        problems.append(Problem(doc.shown, doc.line(days), "the course has no day", "list its days"))
    return problems


def course_problems(
    doc: YamlDoc, course: Course, people_doc: YamlDoc, people: People, rubrics: Mapping[str, Rubric],
    ledgers: Sequence[LedgerFile],
) -> list[Problem]:  # fmt: skip
    """Everything in the two hand-edited files that points to nothing or contradicts itself or the sheets."""
    look = _Look(doc, course, rubrics)
    look.ids()
    look.days()
    look.zone()
    look.tasks()
    look.pins()
    look.sheets_and_pins(ledgers)
    look.events()
    erased = erased_people(ledgers)
    return [
        *look.problems,
        *people_problems(doc, course, people_doc, people, erased),
        *plan_problems(doc, course, people, rubrics, erased),
        *allocation_problems(doc, course, people, rubrics, [file.ledger for file in ledgers], erased),
    ]


def people_problems(
    doc: YamlDoc, course: Course, people_doc: YamlDoc, people: People, erased: frozenset[str] = frozenset()
) -> list[Problem]:
    """Everything in `people.yaml` that does not fit the file with the ids, which `doc` is.

    erased: ids of people who were erased and stand in it no more.
    """
    listing = _Listing(people_doc, course, people, doc.shown, erased)
    listing.everybody()
    listing.references()
    return [
        *listing.problems,
        *licence_problems(people_doc, course, people),
        *accommodation_problems(people_doc, course, people),
    ]


class _Look:
    """`course.yaml` part by part; problems gather in `problems`."""

    def __init__(self, doc: YamlDoc, course: Course, rubrics: Mapping[str, Rubric]) -> None:
        self.doc, self.course, self.rubrics = doc, course, rubrics
        self.problems: list[Problem] = []
        self.known = {task.id for task in course.tasks}
        self.last_day = len(course.days) + len(course.reserve_days)

    def say(self, place: Sequence[str | int], what: str, todo: str, *, doubt: bool = False) -> None:
        self.problems.append(Problem(self.doc.shown, self.doc.line(*place), what, todo, doubt))

    def ids(self) -> None:
        """Unique in the course, also where upper and lower case are one; nothing that reads as something else."""
        course = self.course
        lists = {
            "candidates": course.candidates, "assessors": course.assessors, "directors": course.directors,
            "tasks": tuple(task.id for task in course.tasks),
        }  # fmt: skip
        seen: dict[str, tuple[str, str]] = {}
        for key, ids in lists.items():
            for place, name in enumerate(ids):
                kind, first = seen.get(name.lower(), ("", ""))
                # One person may both mark and direct.
                if kind and not (name == first and {kind, key} == {"assessors", "directors"}):
                    what = (
                        f"the id `{name}` stands twice"
                        if name == first
                        else f"`{name}` differs from `{first}` in case only"
                    )
                    self.say((key, place), what, "an id is given once and never shared: change one")
                seen.setdefault(name.lower(), (key, name))
                if _LIKE_A_DATE.fullmatch(name):
                    self.say((key, place), f"the id `{name}` reads as a day", "change it")
        for place, task in enumerate(course.tasks):
            if base_task(task.id, self.known - {task.id}) != task.id:
                self.say(
                    ("tasks", place, "id"), f"`{task.id}` reads as a second performance of another task", "change it"
                )

    def days(self) -> None:
        """Every day once, in order."""
        days = (*self.course.days, *self.course.reserve_days)
        places = [("days", n) for n in range(len(self.course.days))]
        places += [("reserve_days", n) for n in range(len(self.course.reserve_days))]
        for number in range(1, len(days)):
            if days[number] in days[:number]:
                self.say(places[number], f"the day `{days[number]}` stands twice", "take one out")
            elif days[number] < days[number - 1]:
                self.say(places[number], "the days are not in order", "days are counted as they stand", doubt=True)
        for place, line in enumerate(self.course.programme):
            self._day(("programme", place, "day"), line.day)

    def zone(self) -> None:
        """On some day of the course the clocks of its zone show what its offset says."""
        course = self.course
        if not course.timezone:
            return
        noons = [
            local_instant(date.fromisoformat(day), "12:00", zone_name=course.timezone)
            for day in (*course.days, *course.reserve_days)
        ]
        if all(clock_text(noon, course.utc_offset, seconds=False) != "12:00" for noon in noons):
            what = f"on no day of the course the clocks of {course.timezone} are {course.utc_offset} from UTC"
            self.say(("timezone",), what, "correct `utc_offset` or `timezone`", doubt=True)

    def _day(self, place: Sequence[str | int], day: int | None) -> None:
        if day is not None and day > self.last_day:
            self.say(place, f"the course has no day {day}", f"its last day is {self.last_day}")

    def tasks(self) -> None:
        """Each task has a rubric in force that knows it, in the same area."""
        for place, task in enumerate(self.course.tasks):
            self._day(("tasks", place, "day"), task.day)
            pin = self.course.pin(task.id)
            if pin is None:
                what = f"no rubric is in force for area `{task.area}` on day {task.day}"
                self.say(("tasks", place, "area"), what, "pin one under `rubrics`")
                continue
            rubric = self.rubrics.get(pin.reference)
            if rubric is None:
                continue
            if task.id not in rubric.tasks:
                todo = f"its tasks: {', '.join(rubric.tasks)}"
                self.say(("tasks", place, "id"), f"rubric `{pin.rubric}` has no task `{task.id}`", todo)
            elif rubric.tasks[task.id].area != task.area:
                what = f"in rubric `{pin.rubric}` task `{task.id}` is of area `{rubric.tasks[task.id].area}`"
                self.say(("tasks", place, "area"), what, "write the rubric's area")

    def pins(self) -> None:
        """Each pin is for an area in use, from a day of the course, once."""
        areas = {task.area for task in self.course.tasks}
        seen: set[tuple[str, int]] = set()
        for place, pin in enumerate(self.course.rubrics):
            at = ("rubrics", place)
            self._day((*at, "from_day"), pin.from_day)
            if (pin.area, pin.from_day) in seen:
                what = f"area `{pin.area}` has two rubrics from day {pin.from_day}"
                self.say((*at, "area"), what, "one version for an area: take one out")
            seen.add((pin.area, pin.from_day))
            if pin.area not in areas:
                self.say((*at, "area"), f"no task is of area `{pin.area}`", "take it out, or correct it", doubt=True)
            if pin.by is not None and pin.by not in self.course.directors:
                self.say((*at, "by"), f"`{pin.by}` is no director of this course", "a director pins a rubric")
            if pin.told_before is not None and pin.told_before not in self.known:
                self.say((*at, "told_before"), f"there is no task `{pin.told_before}`", "name a task")

    def sheets_and_pins(self, ledgers: Sequence[LedgerFile]) -> None:
        """Within one area all sheets of a course have one rubric version, and it is the one in force."""
        for area in sorted({task.area for task in self.course.tasks}):
            tasks = [task.id for task in self.course.tasks if task.area == area]
            pins = {task: pin for task in tasks if (pin := self.course.pin(task))}
            place = next((n for n, pin in enumerate(self.course.rubrics) if pin in pins.values()), None)
            if place is None:
                continue
            if len({pin.sha256 for pin in pins.values()}) > 1:
                what = f"the tasks of area `{area}` fall under different rubrics"
                self.say(("rubrics", place), what, "within one area all sheets of a course have one version")
            sheets = [
                (file, pins[base])
                for file in ledgers
                if file.ledger.header.kind == "sheet"
                and (base := base_task(file.ledger.header.task or "", self.known)) in pins
            ]
            self._on_one_version(area, sheets)

    def _on_one_version(self, area: str, sheets: Sequence[tuple[LedgerFile, Pin]]) -> None:
        strange = [(file, pin) for file, pin in sheets if file.ledger.header.rubric != pin.reference]
        if strange and len(strange) == len(sheets):
            file, pin = strange[0]
            what = f"the pin of area `{area}` was changed after its first sheet (sheets/{file.path.name})"
            place = self.course.rubrics.index(pin)
            self.say(("rubrics", place), what, "an area that has a sheet keeps its rubric: put the pin back")
            return
        for file, pin in strange:
            what = f"was marked on another rubric than `{pin.rubric}`, which is in force for area `{area}`"
            todo = "all sheets of an area have one version: settle it with the director; what is written stays"
            self.problems.append(Problem(f"sheets/{file.path.name}", 2, what, todo))

    def events(self) -> None:
        """Who and when are known; a release is a director's, to somebody, of modules there are."""
        people = {*self.course.candidates, *self.course.assessors, *self.course.directors}
        modules = {name for rubric in self.rubrics.values() for name in rubric.modules}
        for place, event in enumerate(self.course.events):
            at = ("events", place)
            self._day((*at, "day"), event.day)
            for key, who in (("by", event.by), ("who", event.who)):
                if who is not None and who not in people:
                    self.say((*at, key), f"there is nobody `{who}` in this course", "name an id of the course")
            if event.kind != "release":
                continue
            if event.by not in self.course.directors:
                self.say((*at, "by"), "a release without a director", "name the director under `by`")
            if event.to is None:
                self.say(at, "a release to nobody", "write `to: assessors` or `to: candidates`")
            if all(pin.reference in self.rubrics for pin in self.course.rubrics):
                self._all_known((*at, "modules"), event.modules, modules, "module")
            self._all_known((*at, "candidates"), event.candidates, set(self.course.candidates), "candidate")

    def _all_known(self, place: Sequence[str | int], names: str | Iterable[str], known: set[str], word: str) -> None:
        for number, name in enumerate(() if isinstance(names, str) else names):
            if name not in known:
                self.say(
                    (*place, number), f"there is no {word} `{name}`", f"known: {', '.join(sorted(known)) or 'none'}"
                )


class _Listing:
    """`people.yaml` against the course; `named`: the file with the ids. Who was erased is a pseudonym."""

    def __init__(self, doc: YamlDoc, course: Course, people: People, named: str, erased: frozenset[str]) -> None:
        self.doc, self.course, self.people, self.named, self.erased = doc, course, people, named, erased
        self.problems: list[Problem] = []

    def say(self, place: Sequence[str | int], what: str, todo: str, *, doubt: bool = False) -> None:
        self.problems.append(Problem(self.doc.shown, self.doc.line(*place), what, todo, doubt))

    def everybody(self) -> None:
        """Everybody of the course stands in the file, once, in the right list; bibs are worn by one."""
        lists: dict[str, tuple[Sequence[str], tuple[str, ...]]] = {
            "candidates": ([each.id for each in self.people.candidates], self.course.candidates),
            "assessors": ([each.id for each in self.people.assessors], self.course.assessors),
            "directors": ([each.id for each in self.people.directors], self.course.directors),
            "learners": ([each.id for each in self.people.learners], ()),
        }
        for key, (listed, wanted) in lists.items():
            for name in wanted:
                if name not in listed and name not in self.erased:
                    self.say((key,), f"`{name}` of {self.named} is missing here", f"add it under `{key}`")
            for place, name in enumerate(listed):
                if name in listed[:place]:
                    self.say((key, place, "id"), f"the id `{name}` stands twice", "take one out")
                elif name in self.erased:
                    todo = f"erase again: `assess person erase COURSE {name}`"
                    self.say((key, place, "id"), f"`{name}` was erased and stands here again", todo)
                elif wanted and name not in wanted:
                    self.say((key, place, "id"), f"`{name}` is not in {self.named}", "add it there", doubt=True)
        taken = {*self.course.candidates, *self.course.assessors, *self.course.directors}
        for place, learner in enumerate(self.people.learners):
            if learner.id in taken:
                what = f"the id `{learner.id}` is that of a candidate, assessor or director"
                self.say(("learners", place, "id"), what, "an id is given once and never shared: change this one")
        bibs: dict[int, str] = {}
        for place, candidate in enumerate(self.people.candidates):
            other = bibs.setdefault(candidate.bib, candidate.id)
            if other != candidate.id:
                self.say(
                    ("candidates", place, "bib"), f"`{other}` wears the same bib", "give one of the two another bib"
                )

    def references(self) -> None:
        """Conflicts and consents name people there are, on days there are."""
        for place, conflict in enumerate(self.people.conflicts):
            known = {*self.course.assessors, *self.course.directors}
            self._known(("conflicts", place, "assessor"), conflict.assessor, known)
            self._known(("conflicts", place, "candidate"), conflict.candidate, set(self.course.candidates))
            self._real(("conflicts", place, "declared_at"), conflict.declared_at)
        everybody = {*self.course.candidates, *self.course.assessors, *self.course.directors}
        everybody |= {each.id for each in self.people.learners}
        for place, consent in enumerate(self.people.consents):
            self._known(("consents", place, "who"), consent.who, everybody)
            self._real(("consents", place, "at"), consent.at)

    def _known(self, place: Sequence[str | int], name: str, known: set[str]) -> None:
        if name not in known:
            self.say(place, f"there is nobody `{name}` in this course", "name an id of the course")

    def _real(self, place: Sequence[str | int], day: str | None) -> None:
        if day is not None and not real_date(day):
            self.say(place, f"the calendar has no day `{day}`", "correct it")
