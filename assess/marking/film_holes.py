"""What a trainee's sheet of their own filmed lesson lacks: they say what they see before anybody tells them."""

from __future__ import annotations

from assess.marking.results import Hole, Sheet

__all__ = ["FIRST_ASKED", "film_holes", "scored_first", "told_first"]

FIRST_ASKED = 2
"""So many criteria are asked for before the others: those one takes for one's weakest."""


def told_first(sheet: Sheet) -> tuple[Hole, ...]:
    """What has to be written before any score: what one sees in the learner, and one's own plan."""
    plan = sheet.plan
    lacking = []
    if not sheet.named_faults:
        lacking.append(Hole("no-own-view", "the learner's fault as you see it is not written", True))
    if plan is None or not (plan.goal or plan.steps):
        lacking.append(Hole("no-plan", "your plan is not written: what you would do with this learner", True))
    return tuple(lacking)


def film_holes(sheet: Sheet) -> tuple[Hole, ...]:
    """What blocks the lock of one's own sheet, beside what blocks any; then what is worth a look.

    Every score needs an observation with a time in the film, and there is at least one score. The texts hold no level.
    """
    return (*told_first(sheet), *_times(sheet), *_unscored(sheet), *_order(sheet))


def _unscored(sheet: Sheet) -> list[Hole]:
    """Criteria that were passed over as not observed or not applicable, beside some that have a score."""
    left = [mark.criterion for mark in sheet.marks if mark.value is None]
    if not left or len(left) == len(sheet.marks):
        return []
    text = f"{len(left)} of {len(sheet.marks)} criteria have no level ({', '.join(left)}): nothing is compared there"
    return [Hole("not-all-scored", text, False)]


def _times(sheet: Sheet) -> list[Hole]:
    timed = {seen.ref for seen in sheet.observations if seen.fact.film_ms is not None}
    scored = [mark for mark in sheet.marks if mark.value is not None]
    if not scored:
        return [Hole("no-score", "no criterion has a score yet", True)]
    return [
        Hole("no-film-time", f"{mark.criterion}: no observation with a film time speaks for this score", True, name)
        for mark in scored
        if not timed.intersection(mark.evidence) and (name := mark.criterion)
    ]


def scored_first(sheet: Sheet) -> tuple[str, ...]:
    """The criteria that were scored before all others, at most two."""
    scored = [mark.criterion for mark in sorted(sheet.history, key=lambda mark: (mark.at, mark.ref))]
    return tuple(dict.fromkeys(scored))[:FIRST_ASKED]


def _order(sheet: Sheet) -> list[Hole]:
    first = scored_first(sheet)
    values = {mark.criterion: mark.value for mark in sheet.marks if mark.value is not None}
    asked = [values[name] for name in first if name in values]
    if len(asked) < FIRST_ASKED:
        return []
    lower = [name for name, value in values.items() if name not in first and value < max(asked)]
    text = "you scored others first, as your weakest"
    return [Hole("not-weakest-first", f"{name}: {text}", False, name) for name in lower]
