"""One assessor's page as headings and sentences, for a screen or for plain text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.agreement.results.raters import Rater, Raters

__all__ = ["Told", "advice_lines", "flat_sentence", "told_effects"]


@dataclass(frozen=True)
class Told:
    """One part of a page. look: there is something to look at."""

    heading: str
    lines: tuple[str, ...]
    look: bool = False


def told_effects(rater: Rater, fit: str) -> tuple[Told, ...]:
    """What there is to look at first, then the rest in its order, the fit of the model at the end."""
    from assess.agreement.rater_words import NAMES

    parts: list[Told] = []
    before: list[str] = []
    for effect in sorted(rater.effects, key=lambda effect: effect.verdict != "look"):
        look = effect.verdict == "look"
        lines = [effect.sentence]
        # What cannot be told of several effects is said once.
        limit = effect.limit if effect.estimate is not None else ""
        for said in before:
            limit = limit.removeprefix(said).strip()
        if limit:
            lines.append(limit)
            before.append(limit)
        if look:
            lines.append(f"What helps: {effect.todo}")
        heading = NAMES[effect.name]
        parts.append(Told(f"{heading[0].upper()}{heading[1:]}: {effect.verdict}", tuple(lines), look))
    if fit:
        parts.append(Told("Beside the model of the whole course", (fit,)))
    return tuple(parts)


def flat_sentence(rater: Rater) -> str:
    """How many sheets have one digit only, and how far apart the marks of a sheet are."""
    spread = "" if rater.spread is None else f"; spread within a sheet {rater.spread:.2f}"
    return f"{rater.n_flat} of {rater.n_several} sheets with several marks have one digit only{spread}."


def advice_lines(raters: Raters, own: str = "") -> tuple[str, ...]:
    """What follows from each flag, named by assessor and effect; by the effect alone on an assessor's own page."""
    from assess.agreement.rater_words import NAMES

    said = [(f"{NAMES[one.name]}: {one.sentence}", one.assessor) for one in raters.advice]
    return tuple(text[0].upper() + text[1:] if own else f"{who}, {text}" for text, who in said)
