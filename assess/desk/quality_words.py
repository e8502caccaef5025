"""The sentences of a quality report that stand in it every time, and those about who marked and decided."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.desk.quality_separation import SeparationSeen, WaiverSeen

__all__ = ["AGAIN_MEANS", "NO_GROUPS", "NO_LAW", "separation_sentences"]

AGAIN_MEANS = (
    "Again means: the same performances marked afresh by other assessors like these, through the whole written rule "
    "(mean, minimum, count, band, third look). A new performance or another day would repeat less. Moderation cannot "
    "be simulated, because people do it; sheets are taken to err independently of one another."
)
NO_GROUPS = (
    "No groups file was named (--groups FILE), so nothing is said. Group data is given voluntarily, kept apart from "
    "everything else, and never shown to assessors."
)
NO_LAW = "quality.yaml names no law on equal treatment: write there which holds where you work."


def separation_sentences(seen: SeparationSeen) -> Iterator[str]:
    """Counts of conflicts, waivers and threats, each waiver by itself; never a name."""
    yield (
        f"{_many(seen.turns, 'marking')} allocated; declared: {_many(seen.conflicts, 'conflict')}, training of "
        f"{_many(seen.trained, 'candidate')} by an assessor."
    )
    waived = ", ".join(f"{n} for {about}" for about, n in sorted(seen.waived.items()))
    yield f"Markings under a director's waiver: {waived or 'none'}."
    yield from map(_waiver, seen.waivers)
    barred = len(seen.standing) or "none"
    yield f"Allocated although something stands against them, so that the sheet counts for nothing: {barred}."
    yield f"Decisions signed with a waiver, by somebody who marked or trained the candidate: {seen.decided or 'none'}."
    treated = len(seen.threats) - len(seen.open_threats)
    yield f"Threats to impartiality: {len(seen.open_threats)} open, {treated} treated."
    for threat in seen.threats:
        state = f"treated on {threat.treated}" if threat.treated else "open"
        what = f": {threat.treatment}" if threat.treatment else ""
        yield f"{threat.kind}, found on {threat.found}, {state}: {threat.text}{what}"


def _waiver(waiver: WaiverSeen) -> str:
    whom = waiver.candidate or "all candidates"
    used = f"used in {_many(waiver.turns, 'turn')}" if waiver.turns else "not needed so far"
    return (
        f"Waiver in {waiver.course} by {waiver.by} on {waiver.on}: {waiver.assessor} may mark {whom} although of "
        f"{waiver.about}, {used}: {waiver.reason}"
    )


def _many(n: int, what: str) -> str:
    return f"{n} {what}{'' if n == 1 else 's'}"
