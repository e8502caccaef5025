"""Whether groups of candidates pass at different rates; never on one course, never for fewer than ten persons.

Source of the four-fifths screen: US Uniform Guidelines on Employee Selection Procedures, 29 CFR 1607.4 D (from
memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from assess.agreement.fisher import fewest_persons, fisher_exact, persons_to_flip_test
from assess.agreement.multiplicity import benjamini_hochberg
from assess.agreement.results import Interval
from assess.agreement.scores import ScoreError
from assess.agreement.share_intervals import newcombe, wilson

__all__ = [
    "FEWEST", "FEWEST_IN_A_CELL", "FOUR_FIFTHS", "GroupDifference", "GroupDifferences", "GroupRate",
    "adjusted_together", "group_differences", "persons_to_flip_ratio",
]  # fmt: skip

FEWEST = 10
FEWEST_IN_A_CELL = 5
FOUR_FIFTHS = Fraction(4, 5)
CAUTIONS = (
    "The four-fifths ratio is a screen of US employment rules (29 CFR 1607.4 D), no law of sport or of other places.",
    "Persons of one course are counted as if they had nothing in common; the chances are therefore too small.",
    "A difference is a reason to look at how it came about, not a finding about a course, an assessor or a group.",
)


@dataclass(frozen=True, slots=True)
class GroupRate:
    """Who passed of a group; rate exact, ci95 after Wilson."""

    group: str
    n: int
    passed: int
    rate: Fraction
    ci95: Interval

    @property
    def may_be_told(self) -> bool:
        """False where so few passed, or so few did not, that a table handed on could tell who they are."""
        return min(self.passed, self.n - self.passed) >= FEWEST_IN_A_CELL


@dataclass(frozen=True, slots=True)
class GroupDifference:
    """Two groups, the one with the lower rate first.

    ratio: lower rate by higher, exact; under_four_fifths: compared exactly. difference: higher less lower, with
    Newcombe's interval. p: Fisher's exact test, two-sided; adjusted: for the family of all pairs. persons_to_flip_*:
    how many persons' other outcomes would change under_four_fifths, or take p across 0.05; None when none would.
    """

    lower: str
    higher: str
    ratio: Fraction | None
    under_four_fifths: bool | None
    difference: Fraction
    difference_ci95: Interval
    p: float
    adjusted: float
    persons_to_flip_ratio: int | None
    persons_to_flip_test: int | None
    undefined: str | None = None
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class GroupDifferences:
    """Groups of ten persons or more, by name, and every pair of them.

    n_hidden: groups that are too small to show. n_courses: with persons of the groups shown.
    There are no totals, from which a hidden group could be worked out. n_left_out: persons without a group or an
    outcome.
    """

    rates: tuple[GroupRate, ...]
    differences: tuple[GroupDifference, ...]
    n_hidden: int
    n_courses: int
    n_left_out: int
    undefined: str | None = None
    warnings: tuple[str, ...] = ()


def group_differences(
    candidates: Sequence[str], groups: Sequence[str | None], passed: Sequence[bool | None], courses: Sequence[str]
) -> GroupDifferences:
    """Pass rates by group over two courses or more, from one row per person; None is not known and left out.

    Raises ScoreError for columns of unequal length or a person with two rows.
    """
    if not len(candidates) == len(groups) == len(passed) == len(courses):
        raise ScoreError("the columns are not equally long")
    _no_doubles(candidates)
    rows = [
        (group, bool(outcome), course)
        for group, outcome, course in zip(groups, passed, courses, strict=True)
        if group is not None and outcome is not None
    ]
    left_out = len(candidates) - len(rows)
    outcomes: dict[str, list[bool]] = {}
    for group, outcome, _ in rows:
        outcomes.setdefault(group, []).append(outcome)
    shown = sorted(group for group, of_group in outcomes.items() if len(of_group) >= FEWEST)
    hidden = len(outcomes) - len(shown)
    n_courses = len({course for group, _, course in rows if group in shown})
    why = None
    if len(shown) < 2:
        why = f"Fewer than two groups have at least {FEWEST} persons: nothing is compared and nothing shown."
    elif n_courses < 2:
        why = "One course says nothing about groups: at least two courses are needed."
    if why is not None:
        return GroupDifferences((), (), hidden, n_courses, left_out, why)
    rates = tuple(_rate(group, outcomes[group]) for group in shown)
    warnings: tuple[str, ...] = CAUTIONS
    if hidden:
        warnings = (f"Groups with fewer than {FEWEST} persons are not shown ({hidden} of them).", *CAUTIONS)
    return GroupDifferences(rates, _differences(rates), hidden, n_courses, left_out, None, warnings)


def adjusted_together(found: Mapping[str, GroupDifferences]) -> dict[str, GroupDifferences]:
    """Several groupings of the same persons, their differences adjusted as one family; by grouping."""
    places = [(grouping, number) for grouping in sorted(found) for number in range(len(found[grouping].differences))]
    tested = {f"{at:06}": found[grouping].differences[number].p for at, (grouping, number) in enumerate(places)}
    family = benjamini_hochberg("groups", tested)
    adjusted = {place: test.adjusted for place, test in zip(places, family.tests, strict=True)}
    return {
        grouping: replace(
            each,
            differences=tuple(
                replace(pair, adjusted=pair.p if (p := adjusted[grouping, number]) is None else p)
                for number, pair in enumerate(each.differences)
            ),
        )
        for grouping, each in found.items()
    }


def persons_to_flip_ratio(passed: int, n: int, other_passed: int, other_n: int) -> int | None:
    """Fewest persons, of either group, whose other outcome would change whether the ratio is under four fifths."""

    def under(a: int, b: int) -> bool:
        low, high = sorted((a * other_n, b * n))
        return 5 * low < 4 * high

    return fewest_persons(passed, n, other_passed, other_n, under)


def _no_doubles(candidates: Sequence[str]) -> None:
    seen: set[str] = set()
    for row, candidate in enumerate(candidates):
        if candidate in seen:
            raise ScoreError(f"{candidate} has two rows; a person counts once, with the first attempt", row)
        seen.add(candidate)


def _rate(group: str, outcomes: list[bool]) -> GroupRate:
    n, passed = len(outcomes), sum(outcomes)
    return GroupRate(group, n, passed, Fraction(passed, n), wilson(passed, n))


def _differences(rates: tuple[GroupRate, ...]) -> tuple[GroupDifference, ...]:
    pairs = [_pair(one, other) for one, other in combinations(rates, 2)]
    family = benjamini_hochberg("groups", {f"{number:06}": pair.p for number, pair in enumerate(pairs)})
    return tuple(
        replace(pair, adjusted=pair.p if test.adjusted is None else test.adjusted)
        for pair, test in zip(pairs, family.tests, strict=True)
    )


def _pair(one: GroupRate, other: GroupRate) -> GroupDifference:
    low, high = sorted((one, other), key=lambda rate: (rate.rate, rate.group))
    ratio = low.rate / high.rate if high.rate else None
    difference = high.rate - low.rate
    p = float(fisher_exact(low.passed, low.n, high.passed, high.n))
    found = GroupDifference(
        low.group, high.group, ratio, None if ratio is None else ratio < FOUR_FIFTHS, difference,
        newcombe(high.passed, high.n, low.passed, low.n), p, p,
        None if ratio is None else persons_to_flip_ratio(low.passed, low.n, high.passed, high.n),
        persons_to_flip_test(low.passed, low.n, high.passed, high.n),
        "Nobody passed in either group: there is no ratio." if ratio is None else None,
    )  # fmt: skip
    return replace(found, sentence=_sentence(low, high, found))


def _sentence(low: GroupRate, high: GroupRate, found: GroupDifference) -> str:
    shares = (
        f"{low.passed} of {low.n} passed in {low.group} and {high.passed} of {high.n} in {high.group}: a difference of "
        f"{100 * float(found.difference):.0f} points ({_points(found.difference_ci95)})."
    )
    chance = f"Blind chance alone would bring one as large in {100 * found.p:.1f} of 100 cases"
    if found.persons_to_flip_test is not None:
        chance += f"; {_persons(found.persons_to_flip_test)} with the other outcome would take that across 5"
    if found.ratio is None:
        return f"{shares} {chance}. {found.undefined}"
    side = "under" if found.under_four_fifths else "not under"
    screen = f"The ratio {found.ratio} is {side} the four fifths of the US employment screen"
    if found.persons_to_flip_ratio is not None:
        screen += f"; {_persons(found.persons_to_flip_ratio)} with the other outcome would change that"
    return f"{shares} {chance}. {screen}."


def _points(interval: Interval) -> str:
    return f"95 % interval {100 * interval[0]:.0f} to {100 * interval[1]:.0f}"


def _persons(n: int) -> str:
    return "one person" if n == 1 else f"{n} persons"
