"""A lesson sheet as the readings take it: the same shape as a written practice lesson.

Nothing is guessed. What a reading needs and the sheet does not say is named in `lacking`, with the reading that
has to wait for it; what was filled in from the course (slope, snow) or counted otherwise is named in `told`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from assess.desk.learner_views import view_of
from assess.desk.lesson_moments import session_minute, shares_of
from assess.records.practice import Hazard, LearnerReference, Lesson
from assess.records.reading_settings import SAFETY_ITEMS

if TYPE_CHECKING:
    from assess.marking.results import Seen, Sheet
    from assess.records.catalogue import Catalogue
    from assess.records.course import CourseTask
    from assess.records.lesson_facts import Drill, LearnerMet

__all__ = ["LessonCase", "lesson_case"]

MINUTE = 60_000
STEPS = {
    "goal": "was the goal told",
    "whole-first": "was the whole seen first",
    "whole-last": "was the whole done last",
    "remeasure": "was it measured again",
}


@dataclass(frozen=True)
class LessonCase:
    """The lesson, whom it was for, and what was missing.

    reference: the assessor's own view of the target learner; without roots when none was noted. named_view: the
    same made of what the candidate named, for the fit of drills to that. ability: None
    while nobody said. lacking: reading -> what to note for it. told: sentences on what was filled in.
    """

    lesson: Lesson
    reference: LearnerReference
    named_view: LearnerReference
    ability: int | None
    hazards: tuple[Hazard, ...]
    lacking: Mapping[str, tuple[str, ...]]
    told: tuple[str, ...]


def lesson_case(
    sheet: Sheet,
    learners: Sequence[str],
    place: CourseTask | None,
    catalogue: Catalogue,
    now_ms: int | None,
    planned_minutes: int,
) -> LessonCase:
    """The lesson of a sheet. place: the task on this hill. now_ms: session time while it still runs.

    planned_minutes: how long the rubric has it last, taken where neither a clock nor an end tells.
    """
    made = _Making(sheet, tuple(learners), place, catalogue, now_ms, planned_minutes)
    target = made.target()
    met = made.met(target)
    drills = made.drills(met)
    lesson = {
        "id": f"{sheet.task}-{sheet.candidate}-{sheet.assessor}",
        "minutes": made.minutes(),
        "stopped_by_assessor": None,
        "ended_for_safety": made.ended_for_safety(),
        "named": made.named(target),
        "managed": made.managed(),
        "drills": drills,
        "flow": made.flow(),
        "time": made.time(),
        "safety": made.safety(),
        "hazards_handled": [made.hazard_id(item) for item in sheet.hazards if item.fact.handled != "no"],
        "reported_breaches": [],
        "group": made.group(),
        "events": [],
        "outcome": {"before": made.side("before"), "after": made.side("after")},
    }
    hazards = tuple(Hazard(id=made.hazard_id(item), w=1.0, crit=item.fact.critical) for item in sheet.hazards)
    return LessonCase(
        Lesson.model_validate(lesson), view_of("assessor", sheet, target, catalogue),
        view_of("candidate", sheet, target, catalogue), met.ability if met else None, hazards,
        {reading: tuple(said) for reading, said in made.lacking.items()}, tuple(dict.fromkeys(made.told)),
    )  # fmt: skip


class _Making:
    """One sheet on its way to a lesson; collects what is lacking on the way."""

    def __init__(
        self, sheet: Sheet, learners: tuple[str, ...], place: CourseTask | None, catalogue: Catalogue,
        now_ms: int | None, planned_minutes: int,
    ) -> None:  # fmt: skip
        self.sheet, self.learners, self.place, self.catalogue, self.now_ms = sheet, learners, place, catalogue, now_ms
        self.planned_minutes = planned_minutes
        self.lacking: dict[str, list[str]] = {}
        self.told: list[str] = []

    def lacks(self, reading: str, what: str) -> None:
        """A reading has to wait for this."""
        self.lacking.setdefault(reading, []).append(what)

    def target(self) -> str:
        """The learner whose diagnosis is read: the one most was named for; the first of the slot otherwise."""
        named = [seen.fact.learner for seen in self.sheet.named_faults if seen.fact.learner]
        first = self.learners[0] if self.learners else "learner"
        return max(dict.fromkeys(named), key=named.count, default=first)

    def met(self, target: str) -> LearnerMet | None:
        """What the target (or the group) was taken for."""
        known = {fact.learner: fact for fact in self.sheet.learners_met}
        met = known.get(target) or known.get(None)
        if met is None or met.ability is None:
            for reading in ("drills", "build-up"):
                self.lacks(reading, "how able the learner is")
        return met

    def named(self, target: str) -> list[dict[str, Any]]:
        """The candidate's names that the catalogue knows; others are told, not judged."""
        found = []
        for seen in self.sheet.named_faults:
            fact = seen.fact
            if fact.whose != "candidate":
                continue
            if fact.fault not in self.catalogue.names:
                self.told.append(
                    f"named in other words than the catalogue's, so not compared: {fact.text or fact.fault}"
                )
                continue
            role = (fact.role or "symptom").replace("-", "_")
            found.append({"fault": fact.fault, "role": role, "learner": fact.learner or target})
        return found

    def managed(self) -> list[str]:
        """Causes outside technique that were met by an action."""
        return [seen.fact.fault for seen in self.sheet.named_faults if seen.fact.met and seen.fact.fault]

    def minutes(self) -> float:
        """How long it lasted, pauses left out."""
        last = self._end_ms()
        pauses = (shares_of(self.sheet.intervals, last) or {}).get("pause", 0)
        return max(0.1, round((last - pauses) / MINUTE, 2))

    def _end_ms(self) -> int:
        sheet = self.sheet
        until = self.now_ms
        if sheet.ended is not None and sheet.ended_at is not None:
            until = session_minute(sheet, sheet.ended.minute_ms, sheet.ended_at)
        if until is not None:
            return until
        self.told.append(f"how long it lasted is not noted: taken as the {self.planned_minutes} minutes planned")
        return self.planned_minutes * MINUTE

    def ended_for_safety(self) -> dict[str, Any] | None:
        """An ending for safety, with the assessor's word on it."""
        ended = self.sheet.ended
        if ended is None or ended.why != "unsafe":
            return None
        why = ended.text or "ended for safety"
        return {"minute": round(self._end_ms() / MINUTE, 2), "why": why, "judged": ended.judged or "open"}

    def drills(self, met: LearnerMet | None) -> list[dict[str, Any]]:
        """The drills the catalogue knows, with what is lacking of them."""
        found = []
        for number, seen in enumerate(self.sheet.drills, 1):
            fact = seen.fact
            drill = self.catalogue.drill_by_id.get(fact.drill or "")
            name = fact.text or (drill.name if drill else fact.drill) or f"drill {number}"
            if drill is None:
                self.told.append(f"drill in other words than the catalogue's, so not read: {name}")
                continue
            missing = [
                word for word, value in (("shown or not", fact.demo), ("feedback", fact.feedback),
                ("check", fact.check), ("how often", fact.dose)) if value is None
            ]  # fmt: skip
            if missing:
                self.lacks("build-up", f"{name}: {', '.join(missing)}")
            found.append(self._drill(fact, number, met))
        return found

    def _drill(self, fact: Drill, number: int, met: LearnerMet | None) -> dict[str, Any]:
        success = {"ok": fact.worked, "of": fact.tried} if fact.worked is not None and fact.tried is not None else None
        return {
            "id": fact.drill,
            "slope": float(self._slope(fact.slope_deg)),
            "snow": fact.on_snow or self._snow(),
            "n": float(fact.dose or 0),
            "practice_min": self._practice(fact, number),
            "demo": bool(fact.demo),
            "fb": fact.feedback or "none",
            "check": bool(fact.check),
            "success": success if success and success["ok"] <= success["of"] else None,
            "tired": fact.tired if fact.tired is not None else (met.tired if met else None),
        }

    def _slope(self, given: int | None) -> int:
        if given is not None:
            return given
        if self.place is None or self.place.slope_deg is None:
            for reading in ("drills", "build-up"):
                self.lacks(reading, "the slope in degrees")
            return 0
        self.told.append(f"slope not noted with every drill: taken as the task's {self.place.slope_deg}°")
        return self.place.slope_deg

    def _snow(self) -> str:
        words = self.place.snow.casefold() if self.place else ""
        known = [snow.id for snow in self.catalogue.vocab.snow]
        found = [snow for snow in known if snow in words or snow.replace("-", " ") in words]
        if not found:
            return "not-noted"
        snow = min(found, key=lambda name: words.find(name.replace("-", " ").split(" ")[0]))
        self.told.append(f"snow not noted with every drill: taken as the task's, {snow.replace('-', ' ')}")
        return snow

    def _practice(self, fact: Drill, number: int) -> float | None:
        """Minutes moved on a drill: as noted, else what was counted as practice until the next drill began."""
        if fact.practice_ms is not None:
            return round(fact.practice_ms / MINUTE, 2)
        begins = fact.minute_ms
        after = [seen.fact.minute_ms for seen in self.sheet.drills[number:] if seen.fact.minute_ms is not None]
        if begins is None:
            return None
        until = min(after, default=self._end_ms())
        whole, before = (
            (shares_of([s for s in self.sheet.intervals if (s.fact.minute_ms or 0) < at], at) or {}).get("practise", 0)
            for at in (until, begins)
        )
        return round(max(0, whole - before) / MINUTE, 2) or None

    def flow(self) -> dict[str, bool]:
        """The four parts of a lesson; what was not said counts as lacking."""
        said: dict[str, bool] = {fact.step: fact.done for fact in self.sheet.steps}
        for step, question in STEPS.items():
            if step not in said:
                self.lacks("build-up", question)
        return {step.replace("-", "_"): said.get(step, False) for step in STEPS}

    def time(self) -> dict[str, float] | None:
        """The time split: what was neither practice, waiting nor lift is talk."""
        shares = shares_of(self.sheet.intervals, self._end_ms())
        if not shares or not any(shares.get(use) for use in ("practise", "talk", "wait", "lift", "move")):
            return None
        minutes = {use: round(shares.get(use, 0) / MINUTE, 2) for use in ("practise", "wait")}
        minutes["lift"] = round((shares.get("lift", 0) + shares.get("move", 0)) / MINUTE, 2)
        rest = self.minutes() - sum(minutes.values())
        self.told.append("time that was neither practice, waiting nor lift is counted as talk")
        return {**minutes, "talk": round(max(0.0, rest), 2)}

    def safety(self) -> dict[str, str]:
        """The safety list; an item this rubric does not have, or that has no state, does not apply."""
        states = {seen.fact.item: seen.fact.state for seen in self.sheet.safety}
        if not states:
            self.lacks("safety", "the safety list")
        found = {item: states.get(item, "na") for item in SAFETY_ITEMS}
        return {item: "na" if state == "not-applicable" else state for item, state in found.items()}

    def hazard_id(self, item: Seen[Any]) -> str:
        """An id for a hazard that was typed: its words, cut."""
        words = item.fact.hazard or re.sub(r"[^A-Za-z0-9]+", "-", item.fact.text or "").strip("-")
        return words[:34] or f"hazard-{item.ref.n}"

    def group(self) -> dict[str, list[str]] | None:
        """Who of a group was seen alone, spoken to, improved; None for a single learner or when nothing was noted."""
        if len(self.learners) < 2 or not self.sheet.attended:
            return None
        kinds = {"seen_alone": "seen-alone", "spoken_to": "spoken-to", "improved": "improved"}
        return {key: [a.learner for a in self.sheet.attended if a.how == how] for key, how in kinds.items()}

    def side(self, when: str) -> dict[str, Any]:
        """What was measured before or after."""
        mine = sorted((s.fact for s in self.sheet.measured if s.fact.when == when), key=lambda fact: fact.run)
        first = mine[0] if mine else None
        slope = first.slope_deg if first and first.slope_deg is not None else self.place and self.place.slope_deg
        return {
            "place": (first.text if first else None) or (self.place.place if self.place else "") or "the task's ground",
            "slope": float(slope or 0),
            "snow": (first.on_snow if first else None) or self._snow(),
            "runs": [list(fact.values) for fact in mine],
        }
