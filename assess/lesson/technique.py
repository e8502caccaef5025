"""The drills of technique of a lesson, and what of the things each asks for the learner owned by then.

One rule for drill choice and progression. A drill is owned when its difficulty is low enough for the ability or
when it was done earlier in this lesson; a skill when the ability reaches its level or a drill that trains it was
done earlier in this lesson. Nothing is guessed about other days.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assess.lesson.last_bit import above, below
from assess.records.catalogue import Catalogue, Drill
from assess.records.practice import GivenDrill
from assess.records.reading_settings import Settings

__all__ = ["DoneDrill", "Technique", "is_service", "technique"]


@dataclass(frozen=True, slots=True)
class DoneDrill:
    """A drill of technique as it was done, with its catalogue entry.

    asked: how many drills and skills it asks for; missing: those not owned when it began.
    """

    given: GivenDrill
    drill: Drill
    asked: int
    missing: tuple[str, ...]

    @property
    def owned_share(self) -> float:
        """Share of what it asks for that was owned; 1 when it asks for nothing."""
        return (self.asked - len(self.missing)) / self.asked if self.asked else 1.0

    @property
    def worked(self) -> float | None:
        """Share of tries that worked, or None when no tries were counted."""
        return self.given.success.ok / self.given.success.of if self.given.success else None


@dataclass(frozen=True, slots=True)
class Technique:
    """The drills of technique in lesson order; ids of service drills and of drills the catalogue does not know."""

    drills: tuple[DoneDrill, ...]
    service: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def unknown_sentences(self) -> tuple[str, ...]:
        """One sentence per drill that could not be read."""
        return tuple(f"{name} is not in the catalogue: left out of this reading" for name in self.unknown)


def is_service(drill: Drill, settings: Settings) -> bool:
    """True for a drill that trains kit, traffic or lift only; a drill that trains nothing is no service drill."""
    return bool(drill.skills) and all(skill in settings.service for skill in drill.skills)


def technique(given: Sequence[GivenDrill], ability: float, catalogue: Catalogue) -> Technique:
    """The drills of technique among those `given`, in order, with what was missing for each when it began."""
    settings = catalogue.settings
    drills, service, unknown = [], [], []
    done: set[str] = set()
    trained: set[str] = set()
    for item in given:
        drill = catalogue.drill_by_id.get(item.id)
        if drill is None:
            unknown.append(item.id)
        elif is_service(drill, settings):
            service.append(item.id)
        else:
            missing = _missing(drill, ability, catalogue, done, trained)
            drills.append(DoneDrill(item, drill, len(drill.prereq) + len(drill.needs), missing))
        done.add(item.id)
        trained.update(drill.skills if drill else ())
    return Technique(tuple(drills), tuple(service), tuple(unknown))


def _missing(drill: Drill, ability: float, catalogue: Catalogue, done: set[str], trained: set[str]) -> tuple[str, ...]:
    settings = catalogue.settings

    def drill_owned(name: str) -> bool:
        entry = catalogue.drill_by_id.get(name)
        return name in done or (entry is not None and not above(entry.difficulty, ability - settings.own_margin))

    def skill_owned(name: str) -> bool:
        entry = catalogue.skill_by_id.get(name)
        return name in trained or (entry is not None and not below(ability, settings.skill_from[entry.level - 1]))

    return (
        *(name for name in drill.prereq if not drill_owned(name)),
        *(name for name in drill.needs if not skill_owned(name)),
    )
