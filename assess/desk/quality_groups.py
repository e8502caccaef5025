"""Pass rates by what candidates told of themselves, over several courses; for the director alone.

Nobody is counted twice: of a person's attempts the first in these courses counts. Where fewer than five of a group
passed, or did not, its numbers are left out of everything that can be handed on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.agreement.group_differences import GroupDifference, GroupDifferences, GroupRate
    from assess.desk.quality_courses import LookedAt
    from assess.desk.session import Desk
    from assess.records.quality import GroupedPerson, Groups

__all__ = ["GroupTable", "Grouping", "PairTold", "RateTold", "group_table", "passed_whole"]

UNDER_FIVE = "fewer than five passed or did not: numbers not shown"


@dataclass(frozen=True)
class RateTold:
    """A group: how many, and its pass rate (exact, as `12/20`), None where numbers are not shown."""

    group: str
    n: int
    passed: int | None
    rate: str | None
    ci95: tuple[float, float] | None


@dataclass(frozen=True)
class PairTold:
    """Two groups; figures None where those of one of them are not shown. adjusted: over all pairs of all groupings."""

    lower: str
    higher: str
    ratio: str | None
    under_four_fifths: bool | None
    p: float | None
    adjusted: float | None
    persons_to_flip_ratio: int | None
    sentence: str


@dataclass(frozen=True)
class Grouping:
    """One grouping; undefined: why nothing is compared. n_hidden: groups too small to be shown at all."""

    name: str
    rates: tuple[RateTold, ...]
    pairs: tuple[PairTold, ...]
    n_hidden: int
    n_left_out: int
    undefined: str | None


@dataclass(frozen=True)
class GroupTable:
    """All groupings. n_persons: with an entry and an attempt in these courses; law: as the quality file names it."""

    groupings: tuple[Grouping, ...]
    n_persons: int
    n_courses: int
    n_tests: int
    law: tuple[str, ...]
    warnings: tuple[str, ...]


def group_table(courses: LookedAt, file: Path) -> GroupTable:
    """The table from a groups file. Raises InputError when it cannot be used."""
    from assess.agreement.group_differences import adjusted_together, group_differences
    from assess.store.quality_files import groups_problems, need_sound, read_groups

    doc, groups = read_groups(file)
    need_sound(groups_problems(doc, groups))
    persons = _first_attempts(courses, groups)
    found: dict[str, GroupDifferences] = {}
    for name in sorted({name for person, _, _ in persons for name in person.groups}):
        rows = [(person.id, person.groups.get(name), passed, course) for person, passed, course in persons]
        found[name] = group_differences(*zip(*rows, strict=True))
    found = adjusted_together(found)
    # Which groups are too small is told grouping by grouping.
    warnings = dict.fromkeys(said for each in found.values() for said in each.warnings if "not shown" not in said)
    law = tuple(dict.fromkeys(place.quality.law for place in courses.places if place.quality.law))
    return GroupTable(
        tuple(_grouping(name, each) for name, each in found.items()), len(persons), len(courses.desks),
        sum(len(each.differences) for each in found.values()), law, tuple(warnings),
    )  # fmt: skip


def _first_attempts(courses: LookedAt, groups: Groups) -> list[tuple[GroupedPerson, bool | None, str]]:
    """Every person with an attempt in these courses; whether the first of them was passed; its course."""
    outcomes = {
        f"{desk.course.id}/{candidate}": (number, passed_whole(desk, candidate), desk.course.id)
        for number, desk in enumerate(courses.desks)
        for candidate in desk.course.candidates
    }
    found = []
    for person in groups.persons:
        own = sorted((outcomes[attempt] for attempt in person.attempts if attempt in outcomes), key=lambda one: one[0])
        if own:
            found.append((person, own[0][1], own[0][2]))
    return found


def passed_whole(desk: Desk, candidate: str) -> bool | None:
    """True when every module the candidate has a turn in is passed; None while one is open.

    A signed decision goes before what the rules give.
    """
    from assess.desk.outcomes import course_modules

    tasks = {slot.task for slot in desk.course.allocation if slot.candidate == candidate}
    words = [_word(desk, candidate, module) for module in course_modules(desk) if _has_turn(desk, module, tasks)]
    if "not_passed" in words:
        return False
    return True if words and set(words) == {"passed"} else None


def _has_turn(desk: Desk, module: str, tasks: set[str]) -> bool:
    found = [(task, described.id) for task in tasks if (described := desk.course.task(task)) is not None]
    return any(module in desk.rubric_for(task).modules_of(base) for task, base in found)


def _word(desk: Desk, candidate: str, module: str) -> str:
    from assess.desk.deciding import standing_decision
    from assess.desk.outcomes import HiddenModule, module_result_of

    try:
        signed = standing_decision(desk, candidate, module)
    except Refusal:
        return "open"  # decided in two ways: it is nobody's outcome until a person settles it
    if signed is not None:
        return {"grant": "passed", "renew": "passed", "refuse": "not_passed"}.get(signed.fact.decision, "open")
    result = module_result_of(desk, candidate, module)
    return "open" if isinstance(result, HiddenModule) else result.outcome


# --- what may be told ------------------------------------------------------------------------------


def _grouping(name: str, found: GroupDifferences) -> Grouping:
    rates = {rate.group: rate for rate in found.rates}
    pairs = tuple(_pair(pair, rates) for pair in found.differences)
    return Grouping(name, tuple(map(_rate, found.rates)), pairs, found.n_hidden, found.n_left_out, found.undefined)


def _rate(rate: GroupRate) -> RateTold:
    if not rate.may_be_told:
        return RateTold(rate.group, rate.n, None, None, None)
    return RateTold(rate.group, rate.n, rate.passed, f"{rate.passed}/{rate.n}", rate.ci95)


def _pair(pair: GroupDifference, rates: dict[str, GroupRate]) -> PairTold:
    told = PairTold(
        pair.lower, pair.higher, None if pair.ratio is None else str(pair.ratio), pair.under_four_fifths, pair.p,
        pair.adjusted, pair.persons_to_flip_ratio, pair.sentence,
    )  # fmt: skip
    small = [name for name in (pair.lower, pair.higher) if not rates[name].may_be_told]
    if not small:
        return told
    return replace(told, ratio=None, p=None, adjusted=None, sentence=_without_numbers(pair, small))


def _without_numbers(pair: GroupDifference, small: list[str]) -> str:
    said = f"{pair.lower} and {pair.higher}: in {' and '.join(small)} {UNDER_FIVE}"
    if pair.under_four_fifths is None:
        return f"{said}; nobody passed in either group."
    side = "under" if pair.under_four_fifths else "not under"
    hangs = pair.persons_to_flip_ratio
    flip = "" if hangs is None else f"; {hangs} {'person' if hangs == 1 else 'persons'} would change that"
    return f"{said}; the ratio of pass rates is {side} the four fifths of the US employment screen{flip}."
