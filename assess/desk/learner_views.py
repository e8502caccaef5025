"""What one person sees in a learner, in the shape of a panel's reference. One view, no panel."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from assess.records.practice import LearnerReference

if TYPE_CHECKING:
    from assess.marking.results import Sheet
    from assess.records.catalogue import Catalogue

__all__ = ["view_of"]


def view_of(
    whose: Literal["candidate", "assessor"], sheet: Sheet, learner: str, catalogue: Catalogue
) -> LearnerReference:
    """What the assessor, or the candidate, saw in a learner: roots of equal weight, and their chains.

    A chain is a shortest way in the cause graph from a root down to each other thing that person named.
    Without a root the first name counts as one; without a name there are none.
    """
    mine = [seen.fact for seen in sheet.named_faults if seen.fact.whose == whose and seen.fact.role != "ruled-out"]
    mine = [fact for fact in mine if (fact.learner or learner) == learner and fact.fault in catalogue.names]
    roots = [fact.fault for fact in mine if fact.role == "root"] or [fact.fault for fact in mine[:1]]
    names = list(dict.fromkeys(name for name in roots if name))
    below = [fact.fault for fact in mine if fact.fault and fact.fault not in names]
    chains = [way for root in names for name in below if (way := _way_down(root, name, catalogue))]
    return LearnerReference.model_validate(
        {
            "id": learner,
            "roots": [{"id": name, "w": 1 / len(names)} for name in names],
            "chains": chains,
            "tolerated": [],
            "harmful": [],
        }
    )


def _way_down(root: str, name: str, catalogue: Catalogue) -> list[str]:
    """A shortest path of causes from `root` to `name`, or nothing."""
    ways, seen = [[name]], {name}
    while ways:
        way = ways.pop(0)
        fault = catalogue.fault_by_id.get(way[0])
        for cause in fault.caused_by if fault else ():
            if cause == root:
                return [root, *way]
            if cause not in seen:
                seen.add(cause)
                ways.append([cause, *way])
    return []
