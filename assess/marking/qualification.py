"""The qualification rule of a calibration round: what it reads of an assessor's sheets, and what it says. Exact."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from assess.marking.reference import Reference
from assess.marking.results import Sheet
from assess.marking.values import given_levels, weighted_mean
from assess.records.ids import base_task
from assess.records.round import Conditions, Qualification, RoundResult
from assess.records.round_figures import Figures
from assess.records.rubric import Rubric

__all__ = ["Judged", "Unmet", "figures", "forbids_any_far_score", "judged", "unmet"]


@dataclass(frozen=True, slots=True)
class Unmet:
    """A condition that is not met: its key, what was reached (None where nothing can be counted), what is asked."""

    condition: str
    reached: Fraction | None
    asked: Fraction

    @property
    def at_most(self) -> bool:
        """True for a condition with an upper end."""
        return self.condition.endswith("_at_most")


@dataclass(frozen=True, slots=True)
class Judged:
    """What the rule says of one assessor: the result, and the conditions of the better results that are not met."""

    result: RoundResult
    unmet: tuple[Unmet, ...]


def figures(sheets: Sequence[Sheet], reference: Reference, rubric: Rubric) -> Figures:
    """What the rule reads of an assessor's sheets in the order of marking, second markings (`L03-2`) included.

    Of a reference between two levels either of them is exact. A sheet value counts over the criteria that have both a
    level and a reference.
    """
    known = {item.lesson for item in reference.lessons}
    firsts: dict[str, dict[str, Fraction]] = {}
    halves: tuple[list[Fraction], list[Fraction]] = ([], [])
    possible = sides = same = several = flat = 0
    repeated: list[Fraction] = []
    for place, sheet in enumerate(sheets):
        lesson = base_task(sheet.candidate, known)
        panel = {item.criterion: item.level for item in reference.lesson(lesson).levels}
        given = {key: level for key, level in given_levels(sheet).items() if key in panel}
        possible += len(panel)
        halves[place >= len(sheets) // 2].extend(level - panel[key] for key, level in given.items())
        if given:
            own, theirs = weighted_mean(given, rubric), weighted_mean({key: panel[key] for key in given}, rubric)
            sides += 1
            same += (own >= rubric.scale.pass_line) == (theirs >= rubric.scale.pass_line)
        several += len(given) > 1
        flat += len(given) > 1 and len(set(given.values())) == 1
        if lesson in firsts:
            repeated += [level - firsts[lesson][key] for key, level in given.items() if key in firsts[lesson]]
        firsts.setdefault(lesson, given)
    half, gaps = Fraction(1, 2), [*halves[0], *halves[1]]
    return Figures(
        possible=possible, scores=len(gaps), exact=sum(abs(gap) <= half for gap in gaps),
        within_one=sum(abs(gap) <= 1 + half for gap in gaps),
        distance=sum((abs(gap) for gap in gaps), Fraction(0)), above=sum(gaps, Fraction(0)),
        sheets=sides, same_side=same, several=several, flat=flat, repeated=len(repeated),
        repeated_exact=sum(gap == 0 for gap in repeated), repeated_within_one=sum(abs(gap) <= 1 for gap in repeated),
        early=sum(halves[0], Fraction(0)), early_scores=len(halves[0]),
        late=sum(halves[1], Fraction(0)), late_scores=len(halves[1]),
    )  # fmt: skip


def judged(rule: Qualification, found: Figures) -> Judged:
    """The result the rule gives; `unmet` names what keeps it from the result above."""
    short = unmet(rule.current, found)
    if not short:
        return Judged("current", ())
    again = unmet(rule.mark_again, found) if rule.mark_again is not None else None
    if again is not None and not again:
        return Judged("mark-again", short)
    return Judged("train", short if again is None else tuple(dict.fromkeys((*again, *short))))


def unmet(conditions: Conditions, found: Figures) -> tuple[Unmet, ...]:
    """The conditions that are not met, in their order. What cannot be counted (nothing was given) is not met."""
    return tuple(
        Unmet(key, reached, asked)
        for key, reached, asked in _reached(conditions, found)
        if reached is None or (reached > asked if key.endswith("_at_most") else reached < asked)
    )


def _reached(conditions: Conditions, found: Figures) -> Iterator[tuple[str, Fraction | None, Fraction]]:
    """What is asked and what was reached; simulated rounds ask thousands of times, so nothing else is worked out."""
    for key, reached in _REACHED.items():
        asked = getattr(conditions, key)
        if asked is not None:
            yield key, reached(found), asked


def _size(value: Fraction | None) -> Fraction | None:
    return None if value is None else abs(value)


def _share(part: int, whole: int) -> Fraction | None:
    return Fraction(part, whole) if whole else None


_REACHED: dict[str, Callable[[Figures], Fraction | None]] = {
    "scored_at_least": lambda found: _share(found.scores, found.possible),
    "exact_at_least": lambda found: _share(found.exact, found.scores),
    "within_one_at_least": lambda found: _share(found.within_one, found.scores),
    "line_agreement_at_least": lambda found: _share(found.same_side, found.sheets),
    "severity_at_most": lambda found: _size(found.severity),
    "distance_at_most": lambda found: found.distance / found.scores if found.scores else None,
    "drift_at_most": lambda found: _size(found.drift),
    "repeats_within_one_at_least": lambda found: _share(found.repeated_within_one, found.repeated),
    "flat_sheets_at_most": lambda found: _share(found.flat, found.several),
}


def forbids_any_far_score(conditions: Conditions, n_scores: int) -> bool:
    """True when not one of so many scores may be more than one level off, which a good marker does not reach."""
    asked = conditions.within_one_at_least
    return asked is not None and n_scores > 0 and asked > Fraction(n_scores - 1, n_scores)
