"""How well one drill suits a target, this learner, this ground: factors between 0 and 1, multiplied.

The factors are judgement, not fitted to data; all constants stand in the settings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp

from assess.lesson.technique import DoneDrill
from assess.records.catalogue import Catalogue, Drill
from assess.records.reading_settings import Settings

__all__ = ["aim", "fresh", "harm", "level", "prepared", "slope", "snow"]


def aim(drill: Drill, target: str, chains: Sequence[Sequence[str]], catalogue: Catalogue) -> float:
    """Does it treat the target: 1 when it addresses it, less a few steps below it on a chain or before such a drill.

    For a cause outside technique: `support` when the drill supports it, otherwise 0.
    """
    settings = catalogue.settings
    if target in catalogue.root_by_id:
        return settings.support if target in drill.supports else 0.0
    if target in drill.addresses:
        return 1.0
    before = any(target in later.addresses and drill.id in later.prereq for later in catalogue.drills)
    found = [settings.address_before if before else 0.0]
    for chain in chains:
        if target in chain:
            below = chain[chain.index(target) + 1 :]
            found += [
                worth for worth, name in zip(settings.address_link, below, strict=False) if name in drill.addresses
            ]
    return max(found)


def level(difficulty: float, ability: float, settings: Settings) -> float:
    """Too easy is forgiven, too hard is not."""
    over = difficulty - (ability + settings.harder_slack)
    if over > 0:
        return _bell(over / settings.harder_width)
    return max(settings.easier_floor, _bell(over / settings.easier_width))


def _bell(away: float) -> float:
    # A product, not a power: a square too large for a float is infinite and the value 0.
    return exp(-(away * away))


def slope(given: float, wanted: tuple[float, float], ability: float, settings: Settings) -> float:
    """1 inside the drill's range of degrees; falling outside it, steeper faster than flatter."""
    low, high = wanted
    if given < low:
        return max(settings.slope_flat_floor, 1 - (low - given) / settings.slope_flat_width)
    weak = ability <= settings.low_ability
    width = settings.slope_steep_low if weak else settings.slope_steep_high
    return max(0.0, 1 - max(0.0, given - high) / width)


def snow(given: str, drill: Drill, settings: Settings) -> float:
    """Less on snow the drill is to avoid; unlisted snow is no fault."""
    return settings.snow_avoid if given in drill.snow.avoid else 1.0


def prepared(done: DoneDrill, settings: Settings) -> float:
    """From `prereq_floor` when nothing it asks for is owned to 1 when all is."""
    return settings.prereq_floor + (1 - settings.prereq_floor) * done.owned_share


def harm(drill: Drill, weights: Mapping[str, float], settings: Settings) -> float:
    """Less when the drill may worsen a target, most for the heaviest."""
    worsened = max((weight for target, weight in weights.items() if target in drill.may_worsen), default=0.0)
    return 1 - settings.worsen * worsened / max(weights.values()) if worsened else 1.0


def fresh(tired: float | None, settings: Settings) -> float:
    """Less for tired learners; tiredness not recorded takes nothing off."""
    return 1.0 if tired is None else max(0.0, 1 - settings.tired_step * max(0.0, tired - settings.tired_from))
