"""A sheet of one film: the film's own time stands where a lesson has its clock, and one's own view comes first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, get_args

from assess.desk.lesson_sheet import LessonSheet
from assess.records.errors import Refusal
from assess.records.facts import Observation, Score
from assess.records.ledger import Entry

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.marking.results import Seen
    from assess.records.facts import SomeFact

__all__ = ["KINDS", "FilmSheet", "Noted"]

KINDS: tuple[str, ...] = get_args(Observation.model_fields["category"].annotation)
"""The kinds of observation."""


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

    def needing_film_time(self) -> tuple[str, ...]:
        """The scored criteria for which no observation with a film time speaks, or none at all where one is needed."""
        kinds = ("no-film-time", "no-evidence")
        return tuple(dict.fromkeys(h.criterion for h in self.holes() if h.kind in kinds and h.criterion))

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
        from assess.marking.film_holes import FIRST_ASKED, scored_first, told_first

        if self.locked:
            return "locked; another's is shown once it is locked too"
        if self.own:
            for hole in told_first(self.sheet):
                return f"first: {hole.text}"
        scored = len(scored_first(self.sheet))
        if self.own and scored < FIRST_ASKED:
            left = "your two weakest criteria" if scored == 0 else "the other of your two weakest"
            return f"score {left} before the others"
        blocking = [hole.text for hole in self.holes() if hole.blocks]
        return f"still: {blocking[0]}" if blocking else "nothing is missing: lock it"


def _noted(seen: Seen[Observation]) -> Noted:
    fact = seen.fact
    return Noted(
        seen.ref.n, fact.film_ms, fact.film_end_ms, fact.text or "", fact.category, fact.criteria,
        fact.direction or "", fact.imported,
    )  # fmt: skip
