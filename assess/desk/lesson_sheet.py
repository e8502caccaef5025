"""My sheet of one teaching session: eyes on the snow while it runs, the rest in the five minutes after."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

from pydantic import ValidationError

from assess.desk.lesson_moments import Moment, moments_of, shares_of
from assess.desk.slot_sheet import SlotSheet
from assess.records.errors import Refusal
from assess.records.fact import Fact
from assess.records.ledger import Entry, why_invalid
from assess.records.lesson_facts import (
    BESIDE_THE_LIST,
    Attended,
    Drill,
    Ended,
    Hazard,
    Interval,
    LearnerMet,
    LessonPlan,
    Measured,
    NamedFault,
    Question,
    SafetyItem,
    Started,
    Step,
)
from assess.records.text import recorded
from assess.records.times import milliseconds

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.desk.sheet_readings import SheetReadings
    from assess.marking.results import Sheet
    from assess.records.catalogue import Catalogue

__all__ = ["LessonSheet"]

MINUTE = 60_000


class LessonSheet(SlotSheet):
    """A sheet with a clock. Wall time never stops; a pause is an interval."""

    def __init__(self, desk: Desk, task: str, candidate: str) -> None:
        super().__init__(desk, task, candidate)
        slot = desk.course.slot(task, candidate)
        numbered = tuple(str(number + 1) for number in range(self.task.learners))
        self.learners: tuple[str, ...] = (slot.learners if slot else ()) or numbered
        self._read: tuple[Sheet, SheetReadings] | None = None
        self._origin: tuple[int, int] | None = None  # monotonic and session time at the start seen in this process

    def ground(self) -> str:
        """Slope in degrees and snow, as the course has them; empty when it does not say."""
        place = self.desk.course.task(self.task_id)
        slope = f"{place.slope_deg}°" if place and place.slope_deg is not None else ""
        return " ".join(part for part in (slope, place.snow.split(",")[0] if place else "") if part)

    # --- clock ---------------------------------------------------------------------------------

    def start(self, ago_minutes: float = 0) -> Entry:
        """The session began now, or so many minutes ago."""
        if ago_minutes < 0:
            raise Refusal("a session cannot have started in the future", todo="give minutes ago, 0 or more")
        self._origin = None
        return self.append(Started(ago_ms=int(ago_minutes * MINUTE)))

    @property
    def started(self) -> bool:
        """True once the start was noted."""
        return self.sheet.started_at is not None

    def clock_ms(self) -> int | None:
        """Time since the start in milliseconds, by the monotonic clock while this window lives; None before."""
        started = self.sheet.started_at
        if started is None:
            self._origin = None
            return None
        if self._origin is None:
            elapsed = max(0, milliseconds(self.desk.now()) - milliseconds(started))
            self._origin = (self.desk.clock.monotonic_ms(), elapsed)
        return self._origin[1] + self.desk.clock.monotonic_ms() - self._origin[0]

    @property
    def ended(self) -> str | None:
        """Why the session ended, or None while it runs."""
        return self.sheet.ended.why if self.sheet.ended else None

    def end(self, why: str = "done", text: str = "", judged: str | None = None) -> Entry:
        """The session ends: done, unsafe, weather, time, ill, lift. judged: was ending it for safety right."""
        return self._add(Ended, why=why, text=recorded(text) or None, judged=judged, minute_ms=self.clock_ms())

    # --- while it runs -------------------------------------------------------------------------

    def seen(self, criterion: str, direction: Literal["for", "against"]) -> Entry:
        """Something seen for or against a criterion, now."""
        self._criterion(criterion)
        return self.note("", (criterion,), direction=direction, minute_ms=self.clock_ms())

    def drill(self, text: str = "", **details: Any) -> Entry:
        """A drill begins now; its name and details may follow."""
        return self._add(Drill, text=recorded(text) or None, minute_ms=self.clock_ms(), **details)

    def drill_is(self, begun: int, **details: Any) -> Entry:
        """More about the drill that began with entry `begun` of this device: see `records.lesson_facts.Drill`."""
        return self._add(Drill, of=begun, **details)

    def interval(self, use: str, on: bool) -> Entry:
        """A use of time begins or stops: practise, talk, wait, lift, move, pause."""
        return self._add(Interval, use=use, on=on, minute_ms=self.clock_ms())

    @property
    def practising(self) -> bool:
        """True while the learners practise."""
        return self.using("practise")

    def practise(self, on: bool) -> Entry:
        """Practice begins or stops."""
        return self.interval("practise", on)

    def using(self, use: str) -> bool:
        """True while a use of time goes on."""
        last = [item.fact.on for item in self.sheet.intervals if item.fact.use == use]
        return bool(last) and last[-1]

    # --- after ---------------------------------------------------------------------------------

    def name_fault(
        self,
        text: str = "",
        role: str | None = None,
        learner: str | None = None,
        rank: int | None = None,
        *,
        fault: str | None = None,
        whose: Literal["candidate", "assessor"] = "candidate",
        met: bool = False,
    ) -> Entry:
        """A fault named, in the order said, or a cause ruled out.

        fault: its id in the catalogue. whose: the candidate's word, or what I see myself. met: a cause outside
        technique the candidate met by an action.
        """
        said = [seen for seen in self.sheet.named_faults if seen.fact.whose == whose]
        told = {"text": recorded(text) or None, "fault": fault, "role": role, "learner": learner, "whose": whose}
        return self._add(NamedFault, **told, met=met, rank=rank or len(said) + 1, minute_ms=self.clock_ms())

    def hazard(self, text: str, handled: str, *, critical: bool = False, hazard: str | None = None) -> Entry:
        """A danger of the place, and whether the candidate named it, avoided it, or neither."""
        if not recorded(text) and hazard is None:
            raise Refusal("which hazard?", todo="say it in a few words")
        return self._add(Hazard, text=recorded(text) or None, hazard=hazard, handled=handled, critical=critical)

    def learner_is(self, learner: str | None = None, **told: Any) -> Entry:
        """What I take a learner (None: the group) for: ability 1 to 10, age, tired 0 to 5, text."""
        return self._add(LearnerMet, learner=learner, **told)

    def step(self, step: str, done: bool) -> Entry:
        """A part of the lesson that was there or not: goal, whole-first, whole-last, remeasure."""
        return self._add(Step, step=step, done=done)

    def steps(self) -> dict[str, bool | None]:
        """The four parts of a lesson, None while nothing was said of one."""
        parts: dict[str, bool | None] = dict.fromkeys(("goal", "whole-first", "whole-last", "remeasure"))
        parts.update({fact.step: fact.done for fact in self.sheet.steps})
        return parts

    def attended(self, learner: str, how: str) -> Entry:
        """A learner of a group was seen-alone, spoken-to, or improved."""
        return self._add(Attended, learner=learner, how=how)

    def measured(self, when: str, values: Sequence[float], *, run: int | None = None, **told: Any) -> Entry:
        """One run's per-turn values, before or after; without `run` the next one."""
        runs = [seen.fact.run for seen in self.sheet.measured if seen.fact.when == when]
        return self._add(Measured, when=when, values=tuple(values), run=run or max(runs, default=0) + 1, **told)

    def safety_items(self) -> dict[str, str]:
        """Ids and words of the safety list: the rubric's, then what a drill or an incident may add to any list."""
        listed = {item.id: item.text for item in self.rubric.safety_list}
        return listed | {item: words for item, words in BESIDE_THE_LIST.items() if item not in listed}

    def safety_item(self, item: str, state: str) -> Entry:
        """One item of the safety list: done, missed and its kinds, violated, not-acted-upon, not-applicable."""
        known = self.safety_items()
        if item not in known:
            raise Refusal(f"{item} is not on the safety list", todo=f"use one of {', '.join(known)}")
        return self._add(SafetyItem, item=item, state=state)

    def safety_states(self) -> dict[str, str | None]:
        """Every item with its state, None while it has none; what may be added to the list only once it has one."""
        states: dict[str, str | None] = {item.id: None for item in self.rubric.safety_list}
        states.update({item.fact.item: item.fact.state for item in self.sheet.safety})
        return states

    def plan(self, goal: str = "", steps: str = "", plan_b: str = "", handed_in_at: str | None = None) -> Entry:
        """The plan the candidate handed in."""
        words = {"goal": recorded(goal) or None, "steps": recorded(steps) or None, "plan_b": recorded(plan_b) or None}
        return self._add(LessonPlan, **words, handed_in_at=handed_in_at or self.desk.now())

    def question(self, question: str | None, asked: str, answer: str) -> Entry:
        """A question asked after the lesson, and its answer: full, prompted, no."""
        known = [entry.id for entry in self.rubric.questions]
        if question is not None and question not in known:
            raise Refusal(f"{question} is no question of this rubric", todo=f"use one of {', '.join(known)}")
        return self._add(Question, question=question, asked=recorded(asked) or None, answer=answer)

    # --- reading -------------------------------------------------------------------------------

    def timeline(self) -> tuple[Moment, ...]:
        """All that was seen and done, by time; a drill once, with whatever was told of it later."""
        return moments_of(self.sheet)

    def drills(self) -> tuple[tuple[int, Drill], ...]:
        """The drills begun on this device, newest first: the entry number that details name, and what is known."""
        own = self.ledger().name
        return tuple((seen.ref.n, seen.fact) for seen in reversed(self.sheet.drills) if seen.ref.ledger == own)

    def readings(self, catalogue: Catalogue) -> SheetReadings:
        """The readings of the lesson as it stands, to stand beside the criteria."""
        from assess.desk.sheet_readings import sheet_readings

        sheet = self.sheet
        if self._read is None or self._read[0] is not sheet:
            read = sheet_readings(self.desk, sheet, catalogue, learners=self.learners, now_ms=self.clock_ms())
            self._read = (sheet, read)
        return self._read[1]

    def time_shares(self) -> Mapping[str, int] | None:
        """Milliseconds per use of time, or None when no time was recorded."""
        return shares_of(self.sheet.intervals, self.clock_ms())

    def _add(self, kind: type[Fact], **values: Any) -> Entry:
        try:
            fact = kind.model_validate({key: value for key, value in values.items() if value is not None})
        except ValidationError as error:
            raise Refusal("; ".join(why_invalid(error)), todo="put that right; nothing was recorded") from None
        return self.append(fact)  # type: ignore[arg-type]
