"""My sheet of one teaching session: eyes on the snow while it runs, the rest in the five minutes after."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from pydantic import ValidationError

from assess.desk.slot_sheet import SlotSheet
from assess.records.errors import Refusal
from assess.records.facts import (
    Drill,
    Ended,
    Fact,
    Interval,
    LessonPlan,
    NamedFault,
    Observation,
    Question,
    SafetyItem,
    Started,
)  # fmt: skip
from assess.records.ledger import Entry, why_invalid
from assess.records.text import typed
from assess.records.times import milliseconds

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["LessonSheet", "Moment"]

MINUTE = 60_000


@dataclass(frozen=True)
class Moment:
    """One line of the list of what was seen: when, what kind, the words, for or against which criteria."""

    n: int
    minute_ms: int | None
    kind: str
    text: str
    phase: str = ""
    direction: str = ""
    criteria: tuple[str, ...] = ()
    learner: str = ""

    @property
    def minute_text(self) -> str:
        """Minutes and seconds since the start: `12:05`, or `-` before it was started."""
        if self.minute_ms is None:
            return "-"
        minutes, seconds = divmod(self.minute_ms // 1000, 60)
        return f"{minutes}:{seconds:02d}"


class LessonSheet(SlotSheet):
    """A sheet with a clock. Wall time never stops; a pause is an interval."""

    def __init__(self, desk: Desk, task: str, candidate: str) -> None:
        super().__init__(desk, task, candidate)
        slot = desk.course.slot(task, candidate)
        numbered = tuple(str(number + 1) for number in range(self.task.learners))
        self.learners: tuple[str, ...] = (slot.learners if slot else ()) or numbered
        self._origin: tuple[int, int] | None = None  # monotonic and session time at the start seen in this process

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

    def end(self, why: str = "done", text: str = "") -> Entry:
        """The session ends: done, unsafe, weather, time, ill, lift."""
        return self._add(Ended, why=why, text=typed(text) or None, minute_ms=self.clock_ms())

    # --- while it runs -------------------------------------------------------------------------

    def seen(self, criterion: str, direction: Literal["for", "against"]) -> Entry:
        """Something seen for or against a criterion, now."""
        self._criterion(criterion)
        return self.note("", (criterion,), direction=direction, minute_ms=self.clock_ms())

    def drill(self, text: str = "", **details: Any) -> Entry:
        """A drill begins now; its name and details may follow."""
        return self._add(Drill, text=typed(text) or None, minute_ms=self.clock_ms(), **details)

    def interval(self, use: str, on: bool) -> Entry:
        """A use of time begins or stops: practise, talk, wait, lift, move, pause."""
        return self._add(Interval, use=use, on=on, minute_ms=self.clock_ms())

    @property
    def practising(self) -> bool:
        """True while the learners practise."""
        return self._use_on("practise")

    def practise(self, on: bool) -> Entry:
        """Practice begins or stops."""
        return self.interval("practise", on)

    def _use_on(self, use: str) -> bool:
        last = [item.fact.on for item in self.sheet.intervals if item.fact.use == use]
        return bool(last) and last[-1]

    # --- after ---------------------------------------------------------------------------------

    def name_fault(
        self, text: str, role: str | None = None, learner: str | None = None, rank: int | None = None
    ) -> Entry:
        """A fault the candidate named (in the candidate's own order), or a cause ruled out."""
        rank = rank or len(self.sheet.named_faults) + 1
        minute_ms = self.clock_ms()
        return self._add(
            NamedFault, text=typed(text) or None, role=role, learner=learner, rank=rank, minute_ms=minute_ms
        )

    def safety_item(self, item: str, state: str) -> Entry:
        """One item of the safety list: done, missed, violated, not-applicable."""
        known = [entry.id for entry in self.rubric.safety_list]
        if item not in known:
            raise Refusal(f"{item} is not on the safety list", todo=f"use one of {', '.join(known)}")
        return self._add(SafetyItem, item=item, state=state)

    def safety_states(self) -> dict[str, str | None]:
        """Every item of the safety list with its state, None while it has none."""
        states: dict[str, str | None] = {item.id: None for item in self.rubric.safety_list}
        states.update({item.fact.item: item.fact.state for item in self.sheet.safety})
        return states

    def plan(self, goal: str = "", steps: str = "", plan_b: str = "", handed_in_at: str | None = None) -> Entry:
        """The plan the candidate handed in."""
        words = {"goal": typed(goal) or None, "steps": typed(steps) or None, "plan_b": typed(plan_b) or None}
        return self._add(LessonPlan, **words, handed_in_at=handed_in_at or self.desk.now())

    def question(self, question: str | None, asked: str, answer: str) -> Entry:
        """A question asked after the lesson, and its answer: full, prompted, no."""
        known = [entry.id for entry in self.rubric.questions]
        if question is not None and question not in known:
            raise Refusal(f"{question} is no question of this rubric", todo=f"use one of {', '.join(known)}")
        return self._add(Question, question=question, asked=typed(asked) or None, answer=answer)

    # --- reading -------------------------------------------------------------------------------

    def timeline(self) -> tuple[Moment, ...]:
        """All that was seen and done, by time; a drill once, with whatever was told of it later."""
        sheet = self.sheet
        moments = [self._moment(item.ref.n, item.at, item.fact) for item in sheet.observations]
        moments += [self._moment(item.ref.n, item.at, item.fact) for item in sheet.drills]
        moments += [self._moment(item.ref.n, item.at, item.fact) for item in sheet.named_faults]
        moments += [self._moment(item.ref.n, item.at, item.fact) for item in sheet.intervals]
        for report in sheet.breaches:
            facts = report.what or "facts to be completed"
            moments.append(Moment(report.ref.n, self._minute(report.minute_ms, report.at), "breach reported", facts))
        if sheet.ended is not None and sheet.ended_at is not None:
            said = sheet.ended.why + (f": {sheet.ended.text}" if sheet.ended.text else "")
            moments.append(Moment(10**9, self._minute(sheet.ended.minute_ms, sheet.ended_at), "ended", said))
        return tuple(sorted(moments, key=lambda item: (item.minute_ms if item.minute_ms is not None else -1, item.n)))

    def _minute(self, minute_ms: int | None, at: str) -> int | None:
        started = self.sheet.started_at
        if minute_ms is not None or started is None:
            return minute_ms
        return max(0, milliseconds(at) - milliseconds(started))

    def _moment(self, n: int, at: str, fact: Observation | Drill | NamedFault | Interval) -> Moment:
        minute = self._minute(fact.minute_ms, at)
        match fact:
            case Observation():
                words = " ".join([fact.text or "", *(f"#{tag}" for tag in fact.tags)]).strip()
                told = (fact.phase or "", fact.direction or "", fact.criteria, fact.learner or "")
                return Moment(n, minute, "seen", words, *told)
            case Drill():
                return Moment(n, minute, "drill", fact.text or fact.drill or "", learner=fact.learner or "")
            case NamedFault():
                words = f"{fact.rank}. {fact.text or fact.fault or ''}" + (f" ({fact.role})" if fact.role else "")
                return Moment(n, minute, "named", words, learner=fact.learner or "")
            case Interval():
                return Moment(n, minute, fact.use, "begins" if fact.on else "stops")

    def time_shares(self) -> dict[str, int] | None:
        """Milliseconds per use of time, or None when no time was recorded."""
        totals: dict[str, int] = {}
        running: dict[str, int] = {}
        for item in self.sheet.intervals:
            fact = item.fact
            if fact.minute_ms is None:
                continue
            if fact.on:
                running.setdefault(fact.use, fact.minute_ms)
            elif fact.use in running:
                totals[fact.use] = totals.get(fact.use, 0) + fact.minute_ms - running.pop(fact.use)
        now = self.clock_ms()
        for use, since in running.items():
            totals[use] = totals.get(use, 0) + max(0, (now or since) - since)
        return totals or None

    def _add(self, kind: type[Fact], **values: Any) -> Entry:
        try:
            fact = kind.model_validate({key: value for key, value in values.items() if value is not None})
        except ValidationError as error:
            raise Refusal("; ".join(why_invalid(error)), todo="put that right; nothing was recorded") from None
        return self.append(fact)  # type: ignore[arg-type]
