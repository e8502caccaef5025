"""The names of an activity's catalogue, as a person types them: faults to tag, drills to name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["CatalogueNames", "Named", "catalogue_names"]


@dataclass(frozen=True)
class Named:
    """An entry of the catalogue: its id, its name, what else it is called, and a few words about it."""

    id: str
    words: str
    also: str = ""
    about: str = ""


@dataclass(frozen=True)
class CatalogueNames:
    """Faults (and causes outside technique) and drills, in the order of the catalogue."""

    faults: tuple[Named, ...] = ()
    drills: tuple[Named, ...] = ()


def catalogue_names(desk: Desk) -> CatalogueNames:
    """The names of the catalogue of the course's activity; none when the activity ships without one.

    Takes a second or two when the catalogue was never read on this device. Raises InputError when it
    cannot be used.
    """
    from assess.store.catalogue_folder import load_catalogue
    from assess.store.shipped import shipped

    root = shipped("rubrics") / desk.course.activity / "catalogue"
    if not root.is_dir():
        return CatalogueNames()
    catalogue = load_catalogue(root).catalogue
    faults = [Named(fault.id, fault.words, fault.id, fault.seen) for fault in catalogue.faults]
    faults += [Named(cause.id, cause.words, cause.id, cause.seen) for cause in catalogue.non_technique_roots]
    drills = [Named(drill.id, drill.name, " ".join((drill.id, *drill.aliases))) for drill in catalogue.drills]
    return CatalogueNames(tuple(faults), tuple(drills))
