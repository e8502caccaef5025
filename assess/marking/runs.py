"""The marks of every run, where two devices clash, and how the runs of a demonstration become one mark."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from assess.marking.results import Mark, MarkState
from assess.marking.union import Placed
from assess.records.facts import Score
from assess.records.rubric import Rubric

__all__ = ["Standing", "all_marks", "fold_runs", "standing_marks"]

OVERALL = 0


@dataclass(frozen=True, slots=True)
class Standing:
    """The mark that stands for each (run, criterion), and the pairs on which two devices clash."""

    marks: Mapping[tuple[int, str], Mark]
    clashes: tuple[tuple[int, str], ...]
    replaced: frozenset[tuple[str, int]]


def all_marks(entries: Iterable[Placed], rubric: Rubric) -> tuple[Mark, ...]:
    """Every score ever written, in order, each with its state; `standing` here means live and usable."""
    marks = []
    for placed in entries:
        fact = placed.entry.fact
        if isinstance(fact, Score):
            state: MarkState = placed.state
            if state == "standing" and not _usable(fact, rubric):
                state = "not usable"
            level = fact.level if fact.status == "scored" else None
            marks.append(
                Mark(
                    fact.criterion, fact.status, level, fact.why, fact.run, placed.ref, placed.entry.at,
                    fact.viewpoint, state=state,
                )
            )  # fmt: skip
    return tuple(marks)


def _usable(fact: Score, rubric: Rubric) -> bool:
    return fact.status != "scored" or (fact.level is not None and fact.level in rubric.scale.levels)


def standing_marks(marks: Iterable[Mark]) -> Standing:
    """The later mark replaces the earlier one of the same run and criterion.

    When the first mark of a second device differs from the one that stood, the two clash: the later is shown, and
    the next mark for that run and criterion, on whatever device, settles it.
    """
    stands: dict[tuple[int, str], Mark] = {}
    writers: dict[tuple[int, str], set[str]] = {}
    clashes: set[tuple[int, str]] = set()
    replaced: set[tuple[str, int]] = set()
    for mark in marks:
        if mark.state != "standing":
            continue
        key = (mark.run or OVERALL, mark.criterion)
        before = stands.get(key)
        known = writers.setdefault(key, set())
        if before is not None:
            replaced.add((before.ref.ledger, before.ref.n))
            differs = (before.status, before.level) != (mark.status, mark.level)
            newcomer = mark.ref.ledger not in known
            if differs and newcomer and key not in clashes:
                clashes.add(key)
            else:
                clashes.discard(key)
        known.add(mark.ref.ledger)
        stands[key] = mark
    return Standing(stands, tuple(sorted(clashes)), frozenset(replaced))


def fold_runs(marks: Sequence[Mark], how: str) -> Mark | None:
    """One mark of one criterion from its runs: `last`, `median`, `best` or `overall`; None while there is none.

    Only scored runs fold; a run that was not observed changes nothing while another was. With `overall` a single
    scored run stands for itself, and several without an overall mark give none.
    """
    runs = sorted((m for m in marks if m.run != OVERALL), key=lambda m: m.run or OVERALL)
    overall = next((m for m in marks if m.run == OVERALL), None)
    if how == "overall" and overall is not None:
        return overall
    scored = [(mark.value, mark) for mark in runs if mark.value is not None]
    if not scored:
        unseen = [mark for mark in runs if mark.status == "not-observed"] or runs
        return unseen[-1] if unseen else None
    if len(scored) == 1 or how == "last":
        return scored[-1][1]
    if how == "best":
        return max(scored, key=lambda pair: pair[0])[1]
    return _median(scored) if how == "median" else None


def _median(scored: Sequence[tuple[Fraction, Mark]]) -> Mark:
    levels = sorted(level for level, _ in scored)
    middle = (levels[(len(levels) - 1) // 2] + levels[len(levels) // 2]) / 2
    latest = max((mark for _, mark in scored), key=lambda mark: (mark.at, mark.ref))
    return replace(latest, level=int(middle) if middle.denominator == 1 else middle, run=None)
