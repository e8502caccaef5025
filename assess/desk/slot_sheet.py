"""My sheet of one slot: every act an assessor has on it, each one appended entry."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal, get_args

from assess.desk.free_text_check import remark_on_fact
from assess.desk.undoing import latest_act, told
from assess.records.errors import Refusal
from assess.records.facts import Breach, BreachFacts, Lock, Observation, Rerun, Score, SomeFact, Undo, View, Viewpoint
from assess.records.ledger import Entry, Header, live_entries
from assess.records.text import recorded

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.marking.results import Hole, Sheet
    from assess.store.live import LiveLedger

__all__ = ["SlotSheet"]


class SlotSheet:
    """One assessor's own record of one slot. Acts raise Refusal with a plain sentence; nothing else stops them."""

    def __init__(self, desk: Desk, task: str, candidate: str) -> None:
        self.desk, self.task_id, self.candidate = desk, task, candidate
        self.task, self.rubric = desk.task(task), desk.rubric_for(task)
        self.criteria = self.task.criteria
        self.run = 1
        who = desk.who
        if not desk.marks(task, candidate):
            raise Refusal(
                f"{task} {candidate} is not yours to mark" if who else "nobody has said who is marking",
                todo="see the allocation in course.yaml" if who else "say who you are with --as ID",
            )
        self.who: str = who or ""
        self._live: LiveLedger | None = None
        self.remark = ""
        """After a note: one sentence about what in its text does not belong into a record, or nothing."""

    # --- reading -------------------------------------------------------------------------------

    @property
    def sheet(self) -> Sheet:
        """The sheet as it stands."""
        return self.desk.folded(self.task_id, self.candidate, self.who)

    @property
    def locked(self) -> bool:
        """True once this sheet is locked: it takes no more entries."""
        return self.desk.locked(self.task_id, self.candidate, self.who)

    @property
    def viewpoint(self) -> str | None:
        """From where it was last said to be watched."""
        return self.sheet.viewpoint

    def saved(self, criterion: str) -> bool:
        """True when the mark on a criterion is on the disk."""
        live = self._live
        mark = self.sheet.run_mark(self.run, criterion)
        if live is None or mark is None or mark.ref.ledger != live.name:
            return True
        return mark.ref.n <= live.acknowledged

    @property
    def labels(self) -> dict[str, str]:
        """Each criterion's word on the screens."""
        return {name: self.rubric.criteria[name].label for name in self.criteria}

    def holes(self) -> tuple[Hole, ...]:
        """What is missing before a lock; last the runs the rubric asks for and nobody marked, which hinder none."""
        return (*self.desk.holes_of(self.sheet), *self._runs_unmarked())

    def _runs_unmarked(self) -> list[Hole]:
        from assess.marking.results import Hole

        asked = self.rubric.runs_of(self.task_id)
        marked = {mark.run for mark in self.sheet.runs if mark.run}
        left = [run for run in range(1, asked + 1) if run not in marked]
        return [Hole("run", f"run {run} of {asked} has no mark", False, run=run) for run in left if marked]

    @property
    def shadow(self) -> str:
        """Why this sheet counts for nothing, or "" when it counts."""
        desk, slot = self.desk, (self.task_id, self.candidate)
        if self.who in (*desk.markers(*slot), *desk.third_markers(*slot)):
            return ""
        standing = desk.separation.standing(self.who, *slot)
        return "; ".join(bar.reason for bar in standing) or "allocated as a shadow"

    def partners(self) -> dict[str, Literal["locked", "not locked"]]:
        """Of the others who mark this slot nothing but whether they have locked."""
        others = (who for who in self.desk.markers(self.task_id, self.candidate) if who != self.who)
        return {
            who: "locked" if self.desk.locked(self.task_id, self.candidate, who) else "not locked" for who in others
        }

    # --- writing -------------------------------------------------------------------------------

    def ledger(self) -> LiveLedger:
        """This device's ledger of the sheet, opened for writing at the first act."""
        if self._live is None:
            pin = self.desk.course.pin(self.task_id)
            self._live = self.desk.live(
                Header(
                    kind="sheet",
                    course=self.desk.course.id,
                    task=self.task_id,
                    candidate=self.candidate,
                    assessor=self.who,
                    rubric=pin.reference if pin else None,
                    device=self.desk.device,
                    opened=self.desk.now(),
                )
            )
        return self._live

    def append(self, fact: SomeFact) -> Entry:
        """Append a fact; a locked sheet refuses it."""
        if self.locked:
            raise Refusal(
                f"{self.task_id} {self.candidate} is locked",
                todo="what comes to mind now belongs in the "
                + ("talk" if self.desk.folder.season else "moderation meeting"),
            )
        self.remark = remark_on_fact(self.desk, fact)
        return self.desk.append(self.ledger(), fact)

    def _criterion(self, criterion: str) -> None:
        if criterion not in self.criteria:
            raise Refusal(
                f"{criterion} is no criterion of {self.task_id}", todo=f"use one of {', '.join(self.criteria)}"
            )

    def _level(self, level: int) -> None:
        scale = self.rubric.scale
        if level not in scale.levels:
            raise Refusal(f"{level} is no level", todo=f"levels go from {scale.min} to {scale.max}")

    def score(self, criterion: str, level: int, *, run: int | None = None) -> Entry:
        """Give a level on a criterion in the current run."""
        self._criterion(criterion)
        self._level(level)
        run = self.run if run is None else run
        fact = {"criterion": criterion, "level": level, "run": run, "viewpoint": self.viewpoint}
        return self.append(Score.model_validate(fact))

    def overall(self, criterion: str, level: int) -> Entry:
        """Give the one level that stands for several runs, where the rubric asks for it."""
        if self.rubric.fold_of(self.task_id) != "overall":
            raise Refusal(f"{self.task_id} has no overall mark", todo="score each run")
        return self.score(criterion, level, run=0)

    def not_observed(self, criterion: str, why: str | None = None) -> Entry:
        """It could have been seen and was not: our problem, never a number."""
        self._criterion(criterion)
        return self.append(Score(criterion=criterion, status="not-observed", why=why, run=self.run))

    def not_applicable(self, criterion: str, reason: str = "") -> Entry:
        """It cannot exist here. The reason is asked once per task and kept with the day."""
        self._criterion(criterion)
        if reason:
            self.desk.day_book.not_applicable(self.task_id, criterion, reason)
        elif not self.desk.day_book.reason_not_applicable(self.task_id, criterion):
            raise Refusal(f"why is {criterion} not applicable in {self.task_id}?", todo="give a reason once")
        return self.append(Score(criterion=criterion, status="not-applicable", run=self.run))

    def needing_evidence(self) -> tuple[str, ...]:
        """The criteria whose level needs an observation and has none."""
        return tuple(hole.criterion for hole in self.holes() if hole.kind == "no-evidence" and hole.criterion)

    def note(
        self,
        text: str,
        criteria: Sequence[str] | None = None,
        *,
        tags: Sequence[str] = (),
        direction: Literal["for", "against"] | None = None,
        category: str = "run",
        learner: str | None = None,
        phase: str | None = None,
        minute_ms: int | None = None,
        **film: Any,
    ) -> Entry:
        """Note something seen. Without `criteria` it stands for those that need an observation and have none.

        film: `film_ms`, `film_end_ms`, `imported`, as `records.facts.Observation` has them. Raises Refusal for a
        text that is longer than a record takes.
        """
        chosen = self.needing_evidence() if criteria is None else tuple(criteria)
        told = {"direction": direction, "category": category, "learner": learner, "phase": phase} | film
        return self.append(self._observed(text, chosen, self.viewpoint, tags=tags, minute_ms=minute_ms, **told))

    def _observed(
        self, text: str, criteria: Sequence[str], viewpoint: str | None, *, tags: Sequence[str] = (), **told: Any
    ) -> Observation:
        """What was seen, before it is written; see `note`."""
        for criterion in criteria:
            self._criterion(criterion)
        told_of = {
            "text": _noted(text),
            "criteria": tuple(criteria),
            "tags": tuple(recorded(tag) for tag in tags),
            "viewpoint": viewpoint,
            **told,
        }
        return Observation.model_validate({key: value for key, value in told_of.items() if value is not None})

    def view(self, viewpoint: str) -> Entry:
        """Say from where this is watched from now on."""
        if viewpoint not in get_args(Viewpoint):
            raise Refusal(f"{viewpoint} is no viewpoint", todo=f"use one of {', '.join(get_args(Viewpoint))}")
        return self.append(View.model_validate({"viewpoint": viewpoint}))

    def rerun(self, why: str) -> Entry:
        """Another run is given; the runs before it stay."""
        if why not in self.rubric.rerun_reasons:
            raise Refusal(f"{why} gives no further run", todo=f"reasons are {', '.join(self.rubric.rerun_reasons)}")
        if self.task.lesson:
            raise Refusal("a lesson has one run", todo="a new performance is its own slot")
        self.run += 1
        return self.append(Rerun(run=self.run, why=why))

    def breach(self, must_not: str | None = None, what: str = "", where: str = "", who: str = "") -> Entry:
        """Report that a must-not was broken. What, where and who was at risk may follow later."""
        known = [rule.id for rule in self.rubric.must_nots]
        if must_not is not None and must_not not in known:
            raise Refusal(f"{must_not} is no must-not of this rubric", todo=f"use one of {', '.join(known)}")
        return self.append(Breach(must_not=must_not, what=what or None, where=where or None, who=who or None))

    def complete_breach(
        self, n: int, must_not: str | None = None, what: str = "", where: str = "", who: str = ""
    ) -> Entry:
        """Add the facts that were left for later to the report with entry number `n`."""
        return self.append(
            BreachFacts(of=n, must_not=must_not, what=what or None, where=where or None, who=who or None)
        )

    def undo(self) -> str | None:
        """Take the latest act on this sheet by this device back; what it was, or None when there is none."""
        ledger = next((item for item in self.desk.shelf.sheet(self._key) if item.name == self.ledger().name), None)
        entry = latest_act(live_entries(ledger)) if ledger else None
        if entry is None:
            return None
        self.append(Undo(of=entry.n))
        return told(entry, self.labels)

    @property
    def _key(self) -> tuple[str, str, str]:
        return (self.task_id, self.candidate, self.who)

    def lock(self) -> Entry:
        """Say: this is my sheet. Refused while something that must be there is missing."""
        from assess.store.seals import seal_of

        blocking = [hole for hole in self.holes() if hole.blocks]
        if blocking:
            raise Refusal(f"{self.task_id} {self.candidate} is not complete: {blocking[0].text}", todo="see the holes")
        own = self.ledger()
        heads = {ledger.name: ledger.head for ledger in self.desk.shelf.sheet(self._key)}
        if not heads:
            raise Refusal(f"{self.task_id} {self.candidate} has no mark", todo="mark it, or mark it not observed")
        heads.setdefault(own.name, "0 " + "0" * 16)
        return self.append(Lock(heads=heads, seal=seal_of(heads)))


def _noted(text: str) -> str | None:
    """The text as it is recorded. Raises Refusal when it is too long for a record."""
    return recorded(text, "the note") or None
