"""The acts in the minutes after a lesson: what was named, how drills went, what was dangerous, who the learner was."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from assess.records.errors import Refusal
from assess.tui.asking import Option, SearchAsk
from assess.tui.lesson_drills import YES_NO, LessonDrills
from assess.tui.lesson_lines import SAFETY_WORDS

if TYPE_CHECKING:
    from assess.desk.catalogue_names import Named

__all__ = ["LessonAfter"]

ROLES = (
    Option("the root cause", "root"),
    Option("a link between", "link"),
    Option("a symptom", "symptom"),
    Option("ruled out", "ruled-out", "named as not the cause"),
    Option("not said", ""),
)
STATES = (
    Option("done", "done"),
    Option("missed once", "missed-once"),
    Option("missed", "missed"),
    Option("missed with traffic above", "missed-with-traffic"),
    Option("violated", "violated", "a breach is reported with g, by a person only"),
    Option("not acted upon", "not-acted-upon"),
    Option("not applicable", "not-applicable"),
)
ANSWERS = (Option("answered fully", "full"), Option("with prompting", "prompted"), Option("not answered", "no"))
HANDLED = (Option("named", "named"), Option("visibly avoided", "avoided"), Option("neither", "no"))
CRITICAL = (Option("no", False), Option("yes", True, "somebody could be badly hurt"))
PARTS = {
    "goal": "the goal was told",
    "whole-first": "the whole task was seen first",
    "whole-last": "the whole task was done last",
    "remeasure": "it was measured again as before",
}
ATTENDED = {"seen-alone": "seen alone", "spoken-to": "spoken to", "improved": "improved"}


def _fault(entry: Named) -> Option:
    return Option(entry.words, (entry.words, entry), entry.about, entry.also)


class LessonAfter(LessonDrills):
    """What is filled in when nobody moves any more; all of it may be done during the lesson too."""

    # --- diagnosis -----------------------------------------------------------------------------

    async def act_named(self, key: str) -> None:
        """A fault the candidate named, in the candidate's own order."""
        await self._named_by("candidate", "the candidate named:", key)

    async def act_own_view(self, key: str) -> None:
        """What you see in the learner yourself, to compare the candidate's names with."""
        await self._named_by("assessor", "you see in the learner:", key)

    async def _named_by(self, whose: Literal["candidate", "assessor"], title: str, key: str) -> None:
        ask = SearchAsk(title, [], free=lambda typed: (typed.strip(), None))
        self.assess.with_names(lambda names: self.offer(ask, [_fault(entry) for entry in names.faults]))
        chosen = await self.tray.search(ask, opened_by=key)
        if not chosen or not chosen[0]:
            return
        words, entry = chosen
        role = await self.tray.pick(f"{words}, named as", ROLES)
        if role is None:
            return
        met = False
        if entry is not None and entry.action and whose == "candidate" and role != "ruled-out":
            met = bool(await self.tray.pick(f"met by an action ({entry.action})?", YES_NO))
        self.slot.name_fault(words, role or None, self.learner, fault=entry.id if entry else None, whose=whose, met=met)
        self.changed(self.slot)
        self.tell("kept in the candidate's own order" if whose == "candidate" else "your own view, one and no panel")

    async def act_parts(self, key: str) -> None:
        """Goal, whole task first and last, measured again: there or not, until it is left."""
        while True:
            known = self.slot.steps()
            shown = {True: "yes", False: "no", None: "?"}
            part = await self.tray.pick(
                "parts of the lesson; Esc when done",
                [Option(words, part, shown[known[part]]) for part, words in PARTS.items()],
            )
            if part is None:
                return
            there = await self.tray.pick(PARTS[part], YES_NO)
            if there is not None:
                self.slot.step(part, there)
                self.changed(self.slot)

    # --- safety --------------------------------------------------------------------------------

    async def act_hazard(self, key: str) -> None:
        """A danger of the place, and what the candidate did about it."""
        known = dict.fromkeys(seen.fact.text or "" for seen in self.slot.sheet.hazards)
        ask = SearchAsk(
            "hazard of the place:", [Option(name, name) for name in known if name], free=lambda typed: typed.strip()
        )
        text = await self.tray.search(ask, opened_by=key)
        if not text:
            return
        handled = await self.tray.pick(f"{text}: the candidate", HANDLED)
        if handled is None:
            return
        critical = await self.tray.pick("critical?", CRITICAL)
        self.slot.hazard(text, handled, critical=bool(critical))
        self.changed(self.slot)
        self.tell("noted")

    async def act_safety(self, key: str) -> None:
        """The safety list, item by item, until it is left."""
        if not self.slot.rubric.safety_list:
            raise Refusal("this rubric has no safety list")
        items = self.slot.safety_items()
        while True:
            states = self.slot.safety_states()
            options = [Option(words, item, SAFETY_WORDS[states.get(item)]) for item, words in items.items()]
            item = await self.tray.pick("safety list; Esc when done", options)
            if item is None:
                return
            state = await self.tray.pick(items[item], STATES)
            if state is not None:
                self.slot.safety_item(item, state)
                self.changed(self.slot)

    async def act_plan(self, key: str) -> None:
        """Goal, steps and plan B as handed in."""
        told: dict[str, str] = {}
        plan = self.slot.sheet.plan
        for name, label in (("goal", "goal"), ("steps", "steps"), ("plan_b", "plan B")):
            draft = (getattr(plan, name) if plan else None) or ""
            text = await self.tray.text(f"the candidate's plan, {label}:", draft, "Enter goes on; Esc ends here")
            if text is None:
                break
            told[name] = text.strip()
        if any(told.values()):
            self.slot.plan(**told)
            self.changed(self.slot)
            self.tell("plan noted")

    async def act_question(self, key: str) -> None:
        """A question asked after, and how it was answered."""
        options = [Option(item.text, item.id) for item in self.slot.rubric.questions]
        chosen = await self.tray.pick("question", [*options, Option("another question", "")])
        if chosen is None:
            return
        asked = ""
        if not chosen:
            asked = (await self.tray.text("asked:") or "").strip()
            if not asked:
                return
        answer = await self.tray.pick("answered", ANSWERS)
        if answer is not None:
            self.slot.question(chosen or None, asked, answer)
            self.changed(self.slot)
            self.tell("question noted")

    # --- the learner ---------------------------------------------------------------------------

    async def act_about_learner(self, key: str) -> None:
        """How able, how old, how tired; seen alone, spoken to, improved; values counted before and after."""
        options = [Option("how able (1 to 10)", "ability"), Option("how tired (0 to 5)", "tired"), Option("age", "age")]
        options += [Option(f"values of one run, {when}", when) for when in ("before", "after")]
        if len(self.slot.learners) > 1:
            options += [Option(f"learner {self.learner or '...'} {words}", how) for how, words in ATTENDED.items()]
        about = await self.tray.pick("the learner", options)
        if about in ("before", "after"):
            await self._measure(about)
        elif about in ATTENDED:
            await self._attend(about)
        elif about is not None:
            known = {"ability": range(1, 11), "tired": range(6), "age": range(1, 100)}[about]
            given = await self.tray.amount(f"{about}:", known)
            if given is not None:
                self.slot.learner_is(self.learner, **{about: given})
                self.changed(self.slot)
                self.tell(f"{about} {given}")

    async def _attend(self, how: str) -> None:
        learner = self.learner
        if learner is None:
            learner = await self.tray.pick("which learner?", [Option(f"learner {x}", x) for x in self.slot.learners])
        if learner is not None:
            self.slot.attended(learner, how)
            self.changed(self.slot)
            self.tell(f"learner {learner} {ATTENDED[how]}")

    async def _measure(self, when: str) -> None:
        """The values of one run, typed one after the other; the measure is asked once a sheet."""
        measured = self.slot.sheet.measured
        measure = measured[-1].fact.measure if measured else None
        if not measured:
            ask = SearchAsk("what was measured?", [], free=lambda typed: "")
            self.assess.with_names(
                lambda names: self.offer(ask, [Option(kind.words, kind.id, kind.about) for kind in names.measures])
            )
            measure = await self.tray.search(ask) or None
        text = await self.tray.text(f"{when}, one run, a value a turn:", "", "numbers with spaces between them")
        if not text:
            return
        try:
            values = [float(word.replace(",", ".")) for word in text.split()]
        except ValueError:
            raise Refusal(f"{text} is no row of numbers", todo="type numbers with spaces between: 68 71 66") from None
        self.slot.measured(when, values, measure=measure)
        self.changed(self.slot)
        self.tell(f"{len(values)} values {when}")
