"""The sentences of a quality report that are made of its numbers, for the lines and for the page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.agreement.results.again import MarkSpread
    from assess.desk.quality import ModuleAgain
    from assess.desk.quality_groups import Grouping, GroupTable, RateTold

__all__ = ["again_sentences", "group_sentences", "grouping_sentences"]


def again_sentences(module: ModuleAgain) -> Iterator[str]:
    """Whether outcomes of a module would be given again, what it rests on, who is not counted."""
    again = module.again
    yield from again.warnings
    if again.undefined is not None:
        yield f"{again.undefined[0].upper()}{again.undefined[1:]}."
    else:
        yield from (part.sentence for part in (again.overall, again.near, again.in_band))
        if again.spread is not None:
            yield _spread(again.spread)
    for why, n in module.left_out:
        yield f"{_many(n, 'candidate')} not counted: {why}."


def _spread(spread: MarkSpread) -> str:
    return (
        "What it rests on, as standard deviations in levels: error of a whole sheet "
        f"{_number(spread.sheet)}, error of a single mark {_number(spread.mark)}; candidates differ by "
        f"{_number(spread.candidate)}, one candidate's performances by {_number(spread.performance)}, criteria within "
        f"a performance by {_number(spread.criterion)}."
    )


def group_sentences(table: GroupTable) -> Iterator[str]:
    """How many told something of themselves, and which law holds."""
    from assess.desk.quality_words import NO_LAW

    yield f"{_many(table.n_persons, 'person')} of {_many(table.n_courses, 'course')} told something of themselves."
    yield from table.law or (NO_LAW,)


def grouping_sentences(grouping: Grouping, tests: int) -> Iterator[str]:
    """One grouping: rates, pairs, how many are not shown. tests: pairs looked at in all groupings."""
    if grouping.undefined is not None:
        yield grouping.undefined
    yield from map(_rate, grouping.rates)
    for pair in grouping.pairs:
        yield pair.sentence
        if pair.adjusted is not None and tests > 1:
            share = 100 * pair.adjusted
            yield f"Looked at together with all {tests} pairs, chance would bring it in {share:.1f} of 100 cases."
    if grouping.n_hidden:
        yield f"Too few: {_many(grouping.n_hidden, 'group')} of fewer than ten persons not shown."
    if grouping.n_left_out:
        yield f"{_many(grouping.n_left_out, 'person')} not counted: told nothing here, or the outcome is open."


def _rate(rate: RateTold) -> str:
    from assess.desk.quality_groups import UNDER_FIVE

    if rate.rate is None or rate.ci95 is None:
        return f"{rate.group}: {_many(rate.n, 'person')}; {UNDER_FIVE}."
    low, high = rate.ci95
    return f"{rate.group}: {rate.rate} passed ({100 * low:.0f} to {100 * high:.0f} of 100, 95 % interval)."


def _number(value: float | None) -> str:
    return "-" if value is None else f"{round(value, 2) + 0.0:.2f}"


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"
