"""How a drill was done: name, ground, how often, shown, feedback, check, tries; asked line by line."""

from __future__ import annotations

from typing import Any

from assess.records.errors import Refusal
from assess.tui.asking import Option, SearchAsk
from assess.tui.lesson_asks import LessonAsks, drill_option

__all__ = ["YES_NO", "LessonDrills"]

YES_NO = (Option("yes", True), Option("no", False))
FEEDBACK = (
    Option("specific", "specific", "what to do, or what it did"), Option("general", "general", "good, more of it"),
    Option("none", "none"),
)  # fmt: skip

DETAILS: dict[str, tuple[str, Any]] = {
    "drill": ("name", "name"),
    "slope_deg": ("slope in degrees", range(61)),
    "on_snow": ("snow or ground", "snow"),
    "dose": ("how often (runs, or as its dose says)", range(100)),
    "practice_ms": ("minutes moved on it", range(100)),
    "demo": ("shown first", YES_NO),
    "feedback": ("feedback", FEEDBACK),
    "check": ("checked", YES_NO),
    "tried": ("tries that worked", "tries"),
}


class LessonDrills(LessonAsks):
    """The details of the drills of one lesson."""

    async def act_drill_details(self, key: str) -> None:
        """How a drill was done, line by line, until it is left."""
        drills = self.slot.drills()
        if not drills:
            raise Refusal("no drill was begun on this device", todo="d begins one")
        n = drills[0][0]
        if len(drills) > 1:
            names = [Option(fact.text or "a drill without a name", number) for number, fact in drills]
            n = await self.tray.pick("which drill?", names)
        if n is not None:
            await self._details(n)

    async def _details(self, n: int) -> None:
        """Each answer leads on to the next line that has none; Esc shows the list, and Esc there ends it."""
        field: str | None = None
        while True:
            fact = dict(self.slot.drills())[n]
            if field is None:
                options = [Option(words, name, _said(fact, name)) for name, (words, _) in DETAILS.items()]
                field = await self.tray.pick(f"{fact.text or 'drill'}; Esc when done", options)
            if field is None:
                return
            value = await self._detail(field)
            if value is None:
                field = None
                continue
            self.slot.drill_is(n, **value)
            self.changed(self.slot)
            known = dict(self.slot.drills())[n]
            later = tuple(DETAILS)[tuple(DETAILS).index(field) + 1 :]
            field = next((name for name in later if _said(known, name) == "?"), None)

    async def _detail(self, field: str) -> dict[str, Any] | None:
        """One line about a drill, as the desk takes it; None when it was left."""
        words, kind = DETAILS[field]
        if kind == "name":
            return await self._drill_name()
        if kind == "snow":
            return await self._snow()
        if kind == "tries":
            return await self._tries()
        if isinstance(kind, range):
            given = await self.tray.amount(f"{words}:", kind)
            return None if given is None else {field: given * (60_000 if field == "practice_ms" else 1)}
        given = await self.tray.pick(f"{words}?", kind)
        return None if given is None else {field: given}

    async def _drill_name(self) -> dict[str, Any] | None:
        ask = SearchAsk("drill:", [], free=lambda typed: (typed.strip(), None))
        self.assess.with_names(lambda names: self.offer(ask, [drill_option(entry) for entry in names.drills]))
        chosen = await self.tray.search(ask)
        if not chosen or not chosen[0]:
            return None
        self.tell(self.cautions(chosen[1]))
        return {"text": chosen[0], "drill": chosen[1]} if chosen[1] else {"text": chosen[0]}

    async def _snow(self) -> dict[str, Any] | None:
        ask = SearchAsk("on which ground or snow?", [])
        self.assess.with_names(
            lambda names: self.offer(ask, [Option(kind.words, kind.id, kind.about) for kind in names.snow])
        )
        chosen = await self.tray.search(ask)
        return {"on_snow": chosen} if chosen else None

    async def _tries(self) -> dict[str, Any] | None:
        tried = await self.tray.amount("how many tries?", range(1, 100))
        if not tried:
            return None
        worked = await self.tray.amount(f"of {tried} how many worked?", range(tried + 1))
        return None if worked is None else {"tried": tried, "worked": worked}


def _said(fact: Any, field: str) -> str:
    """What is known of one line of a drill."""
    value = getattr(fact, field)
    if field == "drill":
        return fact.text or "?"
    if value is None:
        return "?"
    if field == "tried":
        return f"{fact.worked} of {fact.tried}"
    if field == "practice_ms":
        return f"{value / 60_000:g}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else f"{value}"
