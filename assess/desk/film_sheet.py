"""A sheet of one film: the film's own time stands where a lesson has its clock, and one's own view comes first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, get_args

from assess.desk.lesson_sheet import LessonSheet
from assess.records.errors import Refusal
from assess.records.facts import Observation, Score
from assess.records.ledger import Entry

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.marking.results import Hole, Seen
    from assess.records.facts import SomeFact

__all__ = ["KINDS", "USES", "FilmSheet", "Noted"]

KINDS: tuple[str, ...] = get_args(Observation.model_fields["category"].annotation)
"""The kinds of observation."""
USES = {
    "practise": "practice", "talk": "talk", "wait": "waiting", "move": "moving", "lift": "lift", "pause": "pause",
}  # fmt: skip
"""What time is used for, in words."""
FIRST = {
    "no-own-view": ("fault", "first: the learner's fault as you see it"),
    "no-plan": ("plan", "first: your plan, what you would do with this learner"),
}
"""What a hole of one's own view asks for."""


@dataclass(frozen=True)
class Noted:
    """One observation in the list beside the film, by film time; ms of the film, no end for an instant."""

    n: int
    film_ms: int | None
    end_ms: int | None
    text: str
    category: str
    criteria: tuple[str, ...]
    direction: str
    imported: bool


class FilmSheet(LessonSheet):
    """My sheet of a filmed lesson. `at_ms` is where the film stands: whatever is noted carries it.

    The trainee's own sheet takes a score only once the learner's fault and a plan are written.
    """

    def __init__(self, desk: Desk, task: str, candidate: str) -> None:
        super().__init__(desk, task, candidate)
        self.at_ms = 0
        season = desk.folder.season
        self.film = season.film(candidate) if season else None
        self.own = season is not None and self.who == season.trainee

    def _trainee(self) -> str:
        season = self.desk.folder.season
        return season.trainee if season else self.who

    # --- the film's time -----------------------------------------------------------------------

    @property
    def started(self) -> bool:
        """A film has always started."""
        return True

    def clock_ms(self) -> int:
        """Where the film stands."""
        return self.at_ms

    def note(self, text: str, criteria: Sequence[str] | None = None, **told: Any) -> Entry:
        """Note something seen, at `film_ms`, or where the film stands; see `SlotSheet.note`."""
        at = told.pop("film_ms", self.at_ms)
        end = told.get("film_end_ms")
        if end is not None and end < at:
            raise Refusal("it ends before it begins", todo="give the earlier time first")
        chosen = self.needing_film_time() if criteria is None else criteria
        return super().note(text, chosen, **{**told, "film_ms": at, "minute_ms": at})

    def note_all(self, told: Iterable[Mapping[str, Any]]) -> int:
        """Note many things at once, each with `text`, `criteria`, `film_ms` and whatever else `note` takes; how many.

        All are looked at before the first is written.
        """
        view = self.viewpoint
        found = [
            self._observed(each["text"], each["criteria"], view, **{
                "category": "run", "minute_ms": each["film_ms"],
                **{key: value for key, value in each.items() if key not in ("text", "criteria")},
            })
            for each in told
        ]  # fmt: skip
        for fact in found:
            self.append(fact)
        return len(found)

    def holes(self) -> tuple[Hole, ...]:
        """What is missing before a lock; what one note with a film time mends is said once."""
        found = super().holes()
        untimed = {hole.criterion for hole in found if hole.kind == "no-film-time"}
        return tuple(hole for hole in found if hole.kind != "no-evidence" or hole.criterion not in untimed)

    def start(self, ago_minutes: float = 0) -> Entry:
        """Never: a film has a time of its own. Raises Refusal."""
        raise Refusal("a film has a time of its own: nothing is started", todo="go on")

    def needing_film_time(self) -> tuple[str, ...]:
        """The scored criteria for which no observation with a film time speaks, or none at all where one is needed."""
        kinds = ("no-film-time", "no-evidence")
        return tuple(dict.fromkeys(h.criterion for h in self.holes() if h.kind in kinds and h.criterion))

    def listed(self) -> tuple[Noted, ...]:
        """What was noted, the drills begun and where a use of time begins or stops: one list by film time."""
        begun = (
            Noted(
                seen.ref.n, seen.fact.minute_ms, None, seen.fact.text or seen.fact.drill or "", "drill", (), "", False
            )
            for seen in self.sheet.drills
        )
        used = (
            Noted(
                seen.ref.n, seen.fact.minute_ms, None, f"{USES[seen.fact.use]} {'begins' if seen.fact.on else 'stops'}",
                "time", (), "", False,
            )
            for seen in self.sheet.intervals
        )  # fmt: skip
        # Where one use begins the one before stops; that is said once.
        begins = {seen.fact.minute_ms for seen in self.sheet.intervals if seen.fact.on}
        used = (item for item in used if item.film_ms not in begins or not item.text.endswith(" stops"))
        return tuple(sorted((*self.noted(), *begun, *used), key=lambda item: (item.film_ms or 0, item.n)))

    def noted(self) -> tuple[Noted, ...]:
        """Everything seen, by film time; looks at the use of time are a list of their own."""
        from assess.desk.film_counts import is_look

        seen = (item for item in self.sheet.observations if not is_look(item.fact.tags))
        return tuple(sorted(map(_noted, seen), key=lambda item: (item.film_ms or 0, item.n)))

    def film_times(self, criterion: str) -> tuple[int, ...]:
        """Where in the film I saw what speaks for my score on a criterion, in ms."""
        return tuple(n.film_ms for n in self.noted() if criterion in n.criteria and n.film_ms is not None)

    # --- the order of honesty ------------------------------------------------------------------

    def append(self, fact: SomeFact) -> Entry:
        """Append a fact; one's own score waits for one's own view and plan."""
        if isinstance(fact, Score) and fact.status == "scored" and self.own:
            from assess.marking.film_holes import told_first

            lacking = told_first(self.sheet)
            if lacking:
                raise Refusal(lacking[0].text, todo="write it first: what you think before anybody tells you")
        return super().append(fact)

    def asked(self) -> str:
        """What comes next, in one sentence."""
        return self.next_step()[1]

    def next_step(self) -> tuple[str, str]:
        """What comes next: fault, plan, levels, note, lock, compare or "" for nothing to do; and in one sentence."""
        from assess.marking.film_holes import FIRST_ASKED, scored_first, told_first

        if self.locked:
            return self._after_lock()
        if self.own and (lacking := told_first(self.sheet)):
            return FIRST[lacking[0].kind]
        scored = len(scored_first(self.sheet))
        if self.own and scored < FIRST_ASKED:
            left = "your two weakest criteria" if scored == 0 else "the other of your two weakest"
            return "levels", f"score {left} before the others"
        blocking = [hole for hole in self.holes() if hole.blocks]
        if not blocking:
            return "lock", "nothing is missing: lock it"
        return "note" if blocking[0].kind == "no-film-time" else "levels", f"missing: {blocking[0].text}"

    def _after_lock(self) -> tuple[str, str]:
        """Locked: a comparison there is, whose sheet is waited for, or that nobody else looks at this film."""
        from assess.desk.film_compare import compared_films

        found = compared_films(self.desk, self.candidate)
        if found:
            names = [self.desk.name(one.mentor) for one in found] if self.own else [self.desk.name(self._trainee())]
            return "compare", f"locked; it can be compared with {' and '.join(names)}"
        others = [self.desk.name(who) for who, state in self.partners().items() if state == "not locked"]
        if others:
            return "", f"locked; {' and '.join(others)} {'have' if len(others) > 1 else 'has'} not locked yet"
        return "", "locked; no mentor looks at this film yet"


def _noted(seen: Seen[Observation]) -> Noted:
    fact = seen.fact
    return Noted(
        seen.ref.n, fact.film_ms, fact.film_end_ms, fact.text or "", fact.category, fact.criteria,
        fact.direction or "", fact.imported,
    )  # fmt: skip
