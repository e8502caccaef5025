"""The names of an activity's catalogue, as a person types them: faults to tag, drills to name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.desk.sheet_readings import course_catalogue

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.catalogue import Catalogue, Drill

__all__ = ["CatalogueNames", "Named", "catalogue_names"]


@dataclass(frozen=True)
class Named:
    """An entry of the catalogue: its id, its name, what else it is called, and a few words about it.

    cautions: of a drill, what must be so and where it can hurt. action: what meets a cause outside technique.
    """

    id: str
    words: str
    also: str = ""
    about: str = ""
    cautions: tuple[str, ...] = ()
    action: str = ""


@dataclass(frozen=True)
class CatalogueNames:
    """Faults (and causes outside technique), drills, snow and measures, in the order of the catalogue.

    catalogue: what they were read from; None when the activity ships without one.
    """

    faults: tuple[Named, ...] = ()
    drills: tuple[Named, ...] = ()
    snow: tuple[Named, ...] = ()
    measures: tuple[Named, ...] = ()
    catalogue: Catalogue | None = None

    def fault(self, ident: str) -> Named | None:
        """The fault or cause with this id."""
        return next((entry for entry in self.faults if entry.id == ident), None)

    def drill(self, ident: str) -> Named | None:
        """The drill with this id."""
        return next((entry for entry in self.drills if entry.id == ident), None)


def catalogue_names(desk: Desk) -> CatalogueNames:
    """The names of the catalogue of the course's activity; none when the activity ships without one.

    Takes a second or two when the catalogue was never read on this device. Raises InputError when it
    cannot be used.
    """
    catalogue = course_catalogue(desk)
    if catalogue is None:
        return CatalogueNames()
    faults = [Named(fault.id, fault.words, fault.id, fault.seen) for fault in catalogue.faults]
    faults += [
        Named(cause.id, cause.words, cause.id, cause.seen, action=cause.action)
        for cause in catalogue.non_technique_roots
    ]
    snow = tuple(Named(kind.id, kind.id.replace("-", " "), kind.id, kind.note) for kind in catalogue.vocab.snow)
    measures = tuple(Named(kind.id, kind.id.replace("-", " "), kind.id, kind.what) for kind in catalogue.measures)
    return CatalogueNames(tuple(faults), tuple(map(_drill, catalogue.drills)), snow, measures, catalogue)


def _drill(drill: Drill) -> Named:
    side = " per side" if drill.dose.per_side else ""
    low, high = drill.dose.min, drill.dose.max
    much = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    dose = f"{drill.slope[0]:g}-{drill.slope[1]:g}°, {much} {drill.dose.unit}{side}"
    also = " ".join((drill.id, *drill.aliases))
    return Named(drill.id, drill.name, also, dose, (*(f"must: {line}" for line in drill.must), drill.hazards))
