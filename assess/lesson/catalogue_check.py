"""Doubts about a catalogue: ids that lead nowhere, circles, drills nobody can be ready for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from assess.records.catalogue import Catalogue

__all__ = ["catalogue_doubts", "circle"]


def catalogue_doubts(catalogue: Catalogue) -> tuple[str, ...]:
    """One sentence per thing wrong; none for a sound catalogue."""
    return (
        *_dangling(catalogue),
        *_circles(catalogue),
        *_roots_with_symptoms(catalogue),
        *_untreated(catalogue),
        *_hard_before_easy(catalogue),
        *_treats_and_worsens(catalogue),
    )


def circle(edges: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """One circle of a graph (node -> the nodes before it), first node repeated at the end; () when there is none."""
    done: set[str] = set()
    for start in edges:
        path: list[str] = []
        waiting = [(start, iter(edges.get(start, ())))]
        path.append(start)
        while waiting:
            node, before = waiting[-1]
            following = next(before, None)
            if following is None:
                done.add(node)
                waiting.pop()
                path.pop()
            elif following in path:
                return (*path[path.index(following) :], following)
            elif following not in done:
                path.append(following)
                waiting.append((following, iter(edges.get(following, ()))))
    return ()


def _dangling(catalogue: Catalogue) -> list[str]:
    names, drills, skills = set(catalogue.names), set(catalogue.drill_by_id), set(catalogue.skill_by_id)
    faults, roots, snow = set(catalogue.fault_by_id), set(catalogue.root_by_id), {"any", *catalogue.vocab.snow_ids}
    told: list[str] = []

    def look(owner: str, key: str, ids: Iterable[str], known: set[str]) -> None:
        told.extend(f"{owner}: {key}: {name} is not known" for name in ids if name not in known)

    for fault in catalogue.faults:
        look(fault.id, "caused_by", fault.caused_by, names)
        look(fault.id, "amplified_by", fault.amplified_by, names)
        look(fault.id, "look_alike", fault.look_alike, names)
    for drill in catalogue.drills:
        look(drill.id, "addresses", drill.addresses, faults)
        look(drill.id, "may_worsen", drill.may_worsen, faults)
        look(drill.id, "supports", drill.supports, roots)
        look(drill.id, "skills", drill.skills, skills)
        look(drill.id, "needs", drill.needs, skills)
        look(drill.id, "prereq", drill.prereq, drills)
        look(drill.id, "snow", (*drill.snow.ok, *drill.snow.avoid), snow)
        look(drill.id, "formation", (drill.formation,), set(catalogue.vocab.formation))
    for skill in catalogue.skills:
        look(skill.id, "needs", skill.needs, skills)
    look("settings", "service", catalogue.settings.service, skills)
    look("settings", "snow_extra", catalogue.settings.snow_extra, snow)
    return told


def _circles(catalogue: Catalogue) -> list[str]:
    graphs = {
        "causes": {fault.id: fault.caused_by for fault in catalogue.faults},
        "drills that come before": {drill.id: drill.prereq for drill in catalogue.drills},
        "skills that come before": {skill.id: skill.needs for skill in catalogue.skills},
    }
    found = {what: circle(edges) for what, edges in graphs.items()}
    return [f"{what} go round in a circle: {' > '.join(path)}" for what, path in found.items() if path]


def _roots_with_symptoms(catalogue: Catalogue) -> list[str]:
    return [
        f"{fault.id} is a root but caused by {cause}, which is not; feedback belongs in amplified_by"
        for fault in catalogue.faults
        if fault.layer == "root"
        for cause in fault.caused_by
        if cause in catalogue.fault_by_id and catalogue.fault_by_id[cause].layer != "root"
    ]


def _untreated(catalogue: Catalogue) -> list[str]:
    treated = {name for drill in catalogue.drills for name in drill.addresses}
    trained = {name for drill in catalogue.drills for name in drill.skills}
    return [
        *(f"no drill addresses {fault.id}" for fault in catalogue.faults if fault.id not in treated),
        *(f"no drill trains {skill.id}" for skill in catalogue.skills if skill.id not in trained),
    ]


def _hard_before_easy(catalogue: Catalogue) -> list[str]:
    return [
        f"{drill.id} (difficulty {drill.difficulty:g}) asks for {name}, which is harder"
        for drill in catalogue.drills
        for name in drill.prereq
        if name in catalogue.drill_by_id and catalogue.drill_by_id[name].difficulty > drill.difficulty
    ]


def _treats_and_worsens(catalogue: Catalogue) -> list[str]:
    return [
        f"{drill.id} both addresses and may worsen {name}"
        for drill in catalogue.drills
        for name in drill.addresses
        if name in drill.may_worsen
    ]
