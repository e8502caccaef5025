"""Teaching sessions: what was seen while they ran, and what was written down in the minutes after."""

from __future__ import annotations

from typing import Any

from assess.records.facts import Ended, Fact, Interval, LessonPlan, NamedFault, Question, SafetyItem, SomeFact, Started
from assess.records.times import instant
from making.acts import Act, on_sheet
from making.breach import breach_reports
from making.drills import drills
from making.moments import SECOND, at_clock, minutes, slot_start, uneven
from making.observations import observations, rows_of
from making.scores import digits
from making.source import told

__all__ = ["lessons"]

TEXTS = {"T4": "lessons-t4", "T5": "lessons-t5"}
FULL = 25 * 60 * SECOND
ABSENT_S = (75, 110)


def lessons() -> list[Act]:
    """Every act on the sheets of T4 and T5, locks aside."""
    acts: list[Act] = []
    for task in TEXTS:
        for slot in told("course-plan")["allocation"]:
            if slot["task"] == task:
                for who in slot["assessors"]:
                    acts += _Lesson(task, slot["candidate"], who).acts()
    return acts


class _Lesson:
    """One assessor's sheet of one session; `origin` is the start as this assessor took it."""

    def __init__(self, task: str, candidate: str, who: str) -> None:
        self.task, self.candidate, self.who = task, candidate, who
        self.said: dict[str, Any] = told(TEXTS[task])[candidate]
        self.planned = slot_start(task, candidate)
        self.held = "started" in self.said
        begins = minutes(self.said["started"]) if self.held else 0
        self.origin = self.planned + begins + self._uneven(0.2, 4.0, "origin")

    def acts(self) -> list[Act]:
        """All of it, in no order."""
        rows = rows_of(TEXTS[self.task], self.candidate, self.who)
        notes = observations(self.task, self.candidate, self.who, self.origin, rows, lesson=self.held)
        if not self.held:
            begin = self.planned + self._uneven(*ABSENT_S, "absent")
            return [*notes, *digits(self.task, self.candidate, self.who, begin)]
        slot = (self.task, self.candidate, self.who, self.origin)
        during = [*notes, *self._times(), *drills(self.said, *slot), *breach_reports(self.said, *slot)]
        return [*self._start(), *during, *self._end(), *self._after()]

    def _uneven(self, low: float, high: float, *of: object) -> int:
        return uneven(low, high, self.task, self.candidate, self.who, *of)

    def _act(self, at_ms: int, fact: SomeFact) -> Act:
        return on_sheet(at_ms, (self.task, self.candidate), self.who, fact)

    def _timed(self, kind: type[Fact], at_ms: int, **values: Any) -> Act:
        fact = kind.model_validate({**values, "minute_ms": at_ms - self.origin})
        return self._act(at_ms, fact)  # type: ignore[arg-type]

    def _start(self) -> list[Act]:
        ago = minutes(self.said["late_start"][self.who]) if self.who in self.said.get("late_start", {}) else 0
        start = self._act(self.origin + ago, Started(ago_ms=ago))
        # A2 watches without the plan in hand.
        if self.who == "A2":
            return [start]
        day = next(item["day"] for item in told("course-plan")["tasks"] if item["id"] == self.task)
        handed = at_clock(day - 1, "18:10") + uneven(0, 3000, "plan", self.task, self.candidate) // SECOND * SECOND
        plan = LessonPlan(**self.said["plan"], handed_in_at=instant(handed))
        return [self._act(self.planned - self._uneven(60, 170, "plan"), plan), start]

    def _times(self) -> list[Act]:
        if self.who not in self.said.get("time", []):
            return []
        acts = []
        for number, (begins, ends) in enumerate(self.said["talk"]):
            for on, when in ((True, begins), (False, ends)):
                at = self.origin + minutes(when) + self._uneven(-3, 5, "talk", number, on)
                acts.append(self._timed(Interval, at, use="talk", on=on))
        return acts

    def _end(self) -> list[Act]:
        ended = self.said.get("ended")
        if ended is None:
            return [self._timed(Ended, self.origin + FULL + self._uneven(-25, 35, "end"))]
        at = self.origin + minutes(ended["minute"]) + self._uneven(0, 9, "end")
        return [self._timed(Ended, at, why=ended["why"], text=ended["text"][self.who])]

    def _after(self) -> list[Act]:
        """Questions, what the candidate named, the safety list, then the digits."""
        ended = self.said.get("ended")
        at = self.origin + (minutes(ended["minute"]) + 4 * 60 * SECOND if ended else FULL + 50 * SECOND)
        acts = []
        for question, answer in self.said.get("questions", []):
            at += self._uneven(32, 52, question)
            acts.append(self._act(at, Question(question=question, answer=answer)))
        for rank, fault in enumerate(self.said["named"][: 1 if self.who == "A2" else None], 1):
            at += self._uneven(7, 12, "named", rank)
            acts.append(self._timed(NamedFault, at, rank=rank, **fault))
        safety = {**self.said["safety"], **self.said.get("safety_by", {}).get(self.who, {})}
        for item, state in safety.items():
            at += self._uneven(1.1, 2.6, item)
            acts.append(self._act(at, SafetyItem(item=item, state=state)))
        return [*acts, *digits(self.task, self.candidate, self.who, at + self._uneven(12, 30, "digits"))]
