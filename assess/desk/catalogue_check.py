"""What is wrong or doubtful in a catalogue, each with its file and line, in words for the person who wrote it.

A problem leaves a reading or a lesson without ground (an id that is nowhere, a cause that comes back to itself, a drill
without a hazard line); a doubt may be meant, but look at it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from difflib import get_close_matches
from typing import TYPE_CHECKING

from assess.desk.catalogue_places import CataloguePlaces
from assess.desk.cycles import cycles
from assess.desk.practice_check import check_practice
from assess.records.errors import Problem

if TYPE_CHECKING:
    from assess.records.catalogue import Catalogue, Drill
    from assess.store.catalogue_folder import CatalogueFolder

__all__ = ["check_catalogue", "check_practice"]

ANY_SNOW = "any"


def check_catalogue(folder: CatalogueFolder) -> list[Problem]:
    """Everything wrong or doubtful in a catalogue with its overlay, in order of file and line; empty when nothing."""
    found = _Found(folder)
    for check in (_faults, _roots, _drills, _names, _skills, _treated, _graphs, _settings, _overlay):
        check(found)
    return sorted(found.problems)


class _Found:
    """Collects findings; `key` is the list an entry stands in (`drills`), `field` the key inside the entry."""

    def __init__(self, folder: CatalogueFolder) -> None:
        self.problems: list[Problem] = []
        self.catalogue: Catalogue = folder.catalogue
        self.docs = folder.docs
        self.places = CataloguePlaces(folder.root, folder.docs)

    def at(self, place: tuple[str, int], what: str, todo: str, *, doubt: bool = False) -> None:
        self.problems.append(Problem(*place, what, todo, doubt))

    def entry(self, key: str, entry: str, field: str, what: str, todo: str, *, doubt: bool = False) -> None:
        self.at(self.places.entry(key, entry, field), what, todo, doubt=doubt)

    def known(self, key: str, entry: str, field: str, given: Sequence[str], kind: str, among: Collection[str]) -> None:
        """A problem for every id of a field that is none of `among`; `kind` says in words what it should be."""
        for name in given:
            if name not in among:
                what = f"{entry} names {name} in {field}, and there is no {kind} of that id"
                self.entry(key, entry, field, what, _nearest(name, among))

    def filled(self, key: str, entry: str, texts: Mapping[str, str]) -> None:
        for field, text in texts.items():
            if not text.strip():
                self.entry(key, entry, field, f"{field} of {entry} is empty", "write it")


def _nearest(name: str, among: Collection[str]) -> str:
    close = get_close_matches(name, sorted(among), n=1, cutoff=0.6)
    return f"did you mean {close[0]}?" if close else "write an id that is there, or take it out"


def _faults(found: _Found) -> None:
    catalogue = found.catalogue
    roots = {fault.id for fault in catalogue.faults if fault.layer == "root"} | catalogue.root_by_id.keys()
    for fault in catalogue.faults:
        key, entry = "faults", fault.id
        for field in ("caused_by", "amplified_by", "look_alike"):
            found.known(key, entry, field, getattr(fault, field), "fault or cause", catalogue.names)
        found.known(key, entry, "phase", [fault.phase], "phase in vocab.yaml", catalogue.vocab.turn_phases)
        texts = ("part", "seen", "leads_to", "not_this", "measure")
        found.filled(key, entry, {field: getattr(fault, field) for field in texts})
        if not fault.caused_by:
            found.entry(key, entry, "caused_by", f"{entry} has no cause", "name what it comes from", doubt=True)
        for name in fault.caused_by if fault.layer == "root" else ():
            if name in catalogue.fault_by_id and name not in roots:
                what = f"{entry} is a root and is caused by {name}, which is a {catalogue.fault_by_id[name].layer}"
                found.entry(key, entry, "caused_by", what, f"move {name} to amplified_by, or {entry} to layer link")


def _roots(found: _Found) -> None:
    for root in found.catalogue.non_technique_roots:
        found.filled("non_technique_roots", root.id, {"seen": root.seen, "action": root.action})


def _drills(found: _Found) -> None:
    catalogue = found.catalogue
    kinds: tuple[tuple[str, str, Collection[str]], ...] = (
        ("addresses", "fault", catalogue.fault_by_id),
        ("may_worsen", "fault", catalogue.fault_by_id),
        ("supports", "cause outside technique", catalogue.root_by_id),
        ("skills", "skill", catalogue.skill_by_id),
        ("needs", "skill", catalogue.skill_by_id),
        ("prereq", "drill", catalogue.drill_by_id),
    )
    for drill in catalogue.drills:
        for field, kind, among in kinds:
            found.known("drills", drill.id, field, getattr(drill, field), kind, among)
        formations = catalogue.vocab.formation
        found.known("drills", drill.id, "formation", [drill.formation], "formation in vocab.yaml", formations)
        texts = ("name", "purpose", "dose_note", "errors", "check")
        found.filled("drills", drill.id, {field: getattr(drill, field) for field in texts})
        _ground(found, drill)
        _cautions(found, drill)
        _treats(found, drill)


def _ground(found: _Found, drill: Drill) -> None:
    low, high = drill.slope
    snow = {*found.catalogue.vocab.snow_ids, ANY_SNOW}
    if low == high:
        what = f"{drill.id} has the slope {low:g} to {low:g}: no range"
        found.entry("drills", drill.id, "slope", what, "write from and to in degrees")
    for given in (drill.snow.ok, drill.snow.avoid):
        found.known("drills", drill.id, "snow", given, "snow in vocab.yaml", snow)
    if not drill.snow.ok:
        what = f"{drill.id} has no snow it works on"
        found.entry("drills", drill.id, "snow", what, f"write ok: [{ANY_SNOW}] or name it")
    for name in sorted(set(drill.snow.ok) & set(drill.snow.avoid)):
        what = f"{drill.id} works best on {name} and avoids it"
        found.entry("drills", drill.id, "snow", what, "take it out of one of the two")


def _cautions(found: _Found, drill: Drill) -> None:
    if not drill.hazards.strip(" .-") or drill.hazards.strip().casefold().startswith(("none", "nothing")):
        what = f"hazards of {drill.id} names nothing that can go wrong"
        found.entry("drills", drill.id, "hazards", what, "write what can hurt somebody in it, however small")
    if not any(line.strip() for line in (*drill.must, *drill.care)):
        what = f"{drill.id} has neither a must nor a care line"
        found.entry("drills", drill.id, "must", what, "write what has to be so before it begins")


def _treats(found: _Found, drill: Drill) -> None:
    for name in sorted(set(drill.addresses) & set(drill.may_worsen)):
        what = f"{drill.id} treats {name} and may worsen it"
        found.entry("drills", drill.id, "may_worsen", what, "take it out of one of the two")
    for name in drill.prereq:
        before = found.catalogue.drill_by_id.get(name)
        if before is not None and before.difficulty > drill.difficulty:
            what = f"{drill.id} ({drill.difficulty:g}) comes after {name}, which is harder ({before.difficulty:g})"
            found.entry("drills", drill.id, "prereq", what, "look at both difficulties")


def _names(found: _Found) -> None:
    """Names and nicknames that stand for two drills: a person who types one cannot tell which is meant."""
    told = Counter(word.casefold() for drill in found.catalogue.drills for word in {drill.name, *drill.aliases})
    for drill in found.catalogue.drills:
        for field, words in (("name", [drill.name]), ("aliases", drill.aliases)):
            for word in words:
                if told[word.casefold()] > 1:
                    what = f"'{word}' stands for {drill.id} and for another drill"
                    found.entry("drills", drill.id, field, what, "reword one of them", doubt=True)


def _skills(found: _Found) -> None:
    for skill in found.catalogue.skills:
        found.known("skills", skill.id, "needs", skill.needs, "skill", found.catalogue.skill_by_id)
        found.filled("skills", skill.id, {"what": skill.what})


def _treated(found: _Found) -> None:
    """Every fault has a drill that treats it, every skill one that trains it."""
    drills = found.catalogue.drills
    treated = {name for drill in drills for name in drill.addresses}
    trained = {name for drill in drills for name in drill.skills}
    for fault in found.catalogue.faults:
        if fault.id not in treated:
            found.entry("faults", fault.id, "", f"no drill treats {fault.id}", "name it in addresses of a drill")
    for skill in found.catalogue.skills:
        if skill.id not in trained:
            found.entry("skills", skill.id, "", f"no drill trains {skill.id}", "name it in skills of a drill")


def _graphs(found: _Found) -> None:
    catalogue = found.catalogue
    graphs: tuple[tuple[str, str, dict[str, tuple[str, ...]]], ...] = (
        ("faults", "caused_by", {fault.id: fault.caused_by for fault in catalogue.faults}),
        ("drills", "prereq", {drill.id: drill.prereq for drill in catalogue.drills}),
        ("skills", "needs", {skill.id: skill.needs for skill in catalogue.skills}),
    )
    for key, field, graph in graphs:
        for way in cycles(graph):
            what = f"{field} comes back to where it began: {' > '.join(way)}"
            todo = f"take {way[-1]} out of {field} of {way[-2]}"
            if key == "faults":
                todo += ", or move it to amplified_by"
            found.entry(key, way[-2], field, what, todo)


def _settings(found: _Found) -> None:
    settings, catalogue = found.catalogue.settings, found.catalogue
    unknown = [("service", name) for name in settings.service if name not in catalogue.skill_by_id]
    unknown += [("snow_extra", name) for name in settings.snow_extra if name not in catalogue.vocab.snow_ids]
    if "settings" not in found.docs:
        if unknown:
            names = ", ".join(name for _, name in unknown)
            what = f"there is no settings.yaml, and the values used without one name what is not here: {names}"
            found.at(found.places.place("settings"), what, "write a settings.yaml", doubt=True)
        return
    for key, name in unknown:
        among: Collection[str] = catalogue.skill_by_id if key == "service" else catalogue.vocab.snow_ids
        what = f"{key} names {name}, and there is no {'skill' if key == 'service' else 'snow'} of that id"
        found.at(found.places.place("settings", key), what, _nearest(name, among))


def _overlay(found: _Found) -> None:
    doc = found.docs.get("overlay")
    for at, name in enumerate((doc.data.get("off") or []) if doc else []):
        if name not in found.places.ids:
            what = f"off names {name}, and no entry has that id"
            found.at(found.places.place("overlay", "off", at), what, _nearest(str(name), found.places.ids))
