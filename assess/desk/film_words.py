"""A season, or one film of it, in plain lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from assess.desk.film_compare import season_of
from assess.lesson.self_words import kindness
from assess.records.times import film_text

if TYPE_CHECKING:
    from assess.desk.film_compare import Beside, FilmCompared
    from assess.desk.film_counts import Looks
    from assess.desk.season_view import FilmLine, NeverPractised, SeasonView
    from assess.desk.session import Desk
    from assess.lesson.results.trainee import ObserverAgreement, SelfAssessment

__all__ = ["compared_lines", "film_lines", "own_name", "season_lines", "time_lines", "told_to", "weakest_lines"]

CAUTION = "For training alone: nobody passes or fails by what stands here, and one film is one day."


def season_lines(desk: Desk, view: SeasonView) -> Iterator[str]:
    """What one works on first, then film by film, the direction, and what was never practised."""
    yield f"{view.title}, as {desk.who}" if desk.who else f"{view.title}; say who you are with --as ID"
    yield ""
    yield from _actions(desk, view)
    yield ""
    for line in view.films:
        yield from _film(desk, line)
    yield ""
    yield f"Over the season: {view.trend.sentence}"
    if view.trend.per_month is not None and view.trend.ci95 is not None:
        low, high = view.trend.ci95
        yield (
            f"  mean distance to the mentor: {view.trend.per_month:+.2f} levels a month "
            f"({low:+.2f} to {high:+.2f}, 95 %, {view.trend.n} films)"
        )
    yield from _never(view.never)
    yield CAUTION


def _actions(desk: Desk, view: SeasonView) -> Iterator[str]:
    if not view.actions:
        yield "Working on: nothing is open"
        return
    yield "Working on"
    for action in view.actions:
        late = ", due now" if action.id in view.due else ""
        yield f"  {action.id}  {action.behaviour}"
        yield f"      {action.how}; {desk.name(action.checked_by)} looks on {action.remeasure_on}{late}"


def _film(desk: Desk, line: FilmLine) -> Iterator[str]:
    locked = ", ".join(f"{desk.name(who)} {'locked' if done else 'not locked'}" for who, done in line.locked)
    yield f"{line.id}  {line.date}  {line.title}: {locked}"
    if line.next_step and not line.compared:
        yield f"    {line.next_step}"
    for one in line.compared:
        figures, other = one.figures, desk.name(one.mentor)
        if figures.mean_distance is None:
            yield f"    beside {other}: {figures.sentence}"
            continue
        distance = f"{figures.mean_distance:.2f} levels apart on average ({_criteria(figures.n)})"
        yield f"    beside {other}: {distance}; {told_to(desk)}{kindness(figures)}"


def _never(never: NeverPractised) -> Iterator[str]:
    if not never.films:
        yield "Never practised: no film says yet what it gave practice in"
        return
    yield f"Never practised in {never.films} films"
    if never.of_families:
        named = f"{len(never.families)} of {never.of_families}"
        yield f"  root faults, not even as a possible cause ({named}): {_some(never.families)}"
    if never.of_snow:
        yield f"  snow ({len(never.snow)} of {never.of_snow}): {_some(never.snow)}"
    yield f"  learners of level: {', '.join(map(str, never.abilities)) or 'none is missing'}"


def _some(words: Iterable[str], most: int = 8) -> str:
    told = list(words)
    more = f" and {len(told) - most} more" if len(told) > most else ""
    return (", ".join(told[:most]) or "none is missing") + more


def film_lines(desk: Desk, view: SeasonView, film: str) -> Iterator[str]:
    """One film: what comes next, what I noted, and the comparison once it may be seen."""
    line = next(item for item in view.films if item.id == film)
    yield from _film(desk, line)
    if desk.marks(line.task, film):
        for item in desk.film(line.task, film).noted():
            at = "-" if item.film_ms is None else film_text(item.film_ms)
            end = "" if item.end_ms is None else f"-{film_text(item.end_ms)}"
            about = f" [{', '.join(item.criteria)}]" if item.criteria else ""
            yield f"  {at + end:<13} {item.text or item.category}{about}{' (imported)' if item.imported else ''}"
        yield from _own_levels(desk, line)
    yield from time_lines(line)
    for one in line.compared:
        yield ""
        yield from compared_lines(desk, one)
    yield CAUTION


def _own_levels(desk: Desk, line: FilmLine) -> Iterator[str]:
    """One's own levels with what they say, until they stand beside another's; and time that was begun alone."""
    sheet = desk.film(line.task, line.id)
    for name in sheet.criteria if not line.compared else ():
        mark, described = sheet.sheet.mark(name), sheet.rubric.criteria[name]
        if mark is not None and mark.level is not None:
            yield f"  {described.label}: {mark.level}, {described.levels.get(int(mark.level), '')}"
    if line.time is None and sheet.sheet.intervals:
        yield "  Use of time: it begins and never stops; say where it stops too"


def time_lines(line: FilmLine) -> Iterator[str]:
    """The use of time by marks and by looks, and what was counted, each with its n and where it comes from."""
    from assess.desk.film_sheet import USES

    if line.time is None and line.looks is None:
        yield "Use of time: no stretch is marked"
    if line.time is not None:
        told = (f"{USES.get(s.use, s.use)} {100 * s.share:.0f} %" for s in line.time.shares if s.share)
        yield f"Use of time, {film_text(line.time.total_ms)} by your marks: {', '.join(told)}"
    if line.looks is not None:
        yield from _looks(line.looks)
    if line.time is not None or line.looks is not None:
        yield "Practice is the time the learner does the task; more of it is not better by itself."
    yield from _counts(line)


def _looks(looks: Looks) -> Iterator[str]:
    from assess.desk.film_sheet import USES

    every = f", one every {looks.every_ms / 1000:g} s" if looks.every_ms else ""
    yield f"Use of time by {looks.n} {'look' if looks.n == 1 else 'looks'}{every}"
    for share in looks.shares:
        if share.share and share.ci95 is not None:
            low, high = share.ci95
            yield f"  {USES[share.use]} {100 * share.share:.0f} % ({100 * low:.0f} to {100 * high:.0f}, 95 %)"
    yield "  Looks follow each other closely, so these intervals are optimistic: the truth lies outside more often."


def _counts(line: FilmLine) -> Iterator[str]:
    from assess.desk.film_counts import COUNTED

    if not line.counts:
        return
    yield "Counted in the whole film, so without an interval"
    for item in line.counts:
        words, when = COUNTED[item.name]
        rate = "" if item.rate is None else f", {item.rate:.2f} a minute"
        yield f"  {words}: {item.count}{rate} ({when})"
    if any(item.rate is None for item in line.counts):
        yield "  How often a minute needs the lesson's length: mark the use of time from its beginning to its end."
    if any(item.name.startswith("question") for item in line.counts):
        yield "  After a question wait 3 s or longer before you go on (Rowe 1974)."


def _practice(found: ObserverAgreement) -> Iterator[str]:
    both, first, second, none = found.table
    kappa = "does not exist" if found.kappa is None else f"{found.kappa:.2f}"
    equal = "-" if found.equal is None else f"{100 * found.equal:.0f} %"
    yield f"Practice, marked by both {both} s, by you alone {first} s, by them alone {second} s, by none {none} s:"
    yield f"  equal in {equal} of {found.n} seconds, beyond chance (kappa) {kappa}"
    yield "  Neighbouring seconds go together, so this says less than its number of seconds."
    yield "  Where nearly all is practice, or nearly none, kappa is low."


def compared_lines(desk: Desk, one: FilmCompared) -> Iterator[str]:
    """Own scores beside a mentor's: figures with their n, then criterion by criterion."""
    other = desk.name(one.mentor)
    yield f"Beside {other} ({_criteria(one.figures.n)})"
    yield from _figures(desk, one.figures, {item.criterion: item.label for item in one.criteria})
    if one.practice is not None:
        yield from _practice(one.practice)
    who = own_name(desk)
    yield f"The fault: {who} {_said(one.own_faults)}; {other} {_said(one.other_faults)}"
    for item in one.criteria:
        yield from _criterion(item, who, other)


def _criteria(n: int) -> str:
    return f"{n} {'criterion' if n == 1 else 'criteria'}"


def _said(faults: Iterable[str]) -> str:
    return ", ".join(f"`{fault}`" for fault in faults) or "named none"


def weakest_lines(found: SelfAssessment, labels: Mapping[str, str]) -> Iterator[str]:
    """Which of their weakest criteria are among one's own, what a guess would have found, and which one did not see."""
    if found.weakest_found is None:
        return
    guess = len(found.weakest) * len(found.own_weakest) / found.n
    names = ", ".join(labels.get(name, name) for name in found.weakest)
    yield f"of their weakest ({names}) you had {found.weakest_found} among yours; a guess would have had {guess:.1f}"
    missed = [labels.get(name, name) for name in found.weakest if name not in found.own_weakest]
    if missed:
        yield f"weak, and you did not see it: {', '.join(missed)}"


def _figures(desk: Desk, found: SelfAssessment, labels: Mapping[str, str]) -> Iterator[str]:
    told = f"{told_to(desk)}{found.sentence}"
    yield f"{told[:1].upper()}{told[1:]}."
    if found.bias is None or found.mean_distance is None:
        return
    yield f"  on average {found.bias:+.2f} levels beside them, {found.mean_distance:.2f} apart either way"
    if found.spread is not None and found.limits is not None:
        low, high = found.limits
        yield f"  spread {found.spread:.2f}; most differences lie from {low:+.1f} to {high:+.1f}"
    needed = "too few criteria to tell" if found.tau_needed is None else f"needs {found.tau_needed:.2f}"
    yield f"  same order: {'-' if found.tau is None else f'{found.tau:.2f}'} ({needed}, n {found.n})"
    yield from (f"  {line}" for line in weakest_lines(found, labels))
    if found.timed_share is not None:
        yield f"  scores with a time in the film: {100 * found.timed_share:.0f} %"


def own_name(desk: Desk) -> str:
    """Whose lesson it is: `you` to the trainee, to anybody else the trainee's name."""
    trainee = season_of(desk).trainee
    return "you" if desk.who == trainee else desk.name(trainee)


def told_to(desk: Desk) -> str:
    """What stands before a sentence that says `you`; "" where the trainee reads it."""
    name = own_name(desk)
    return "" if name == "you" else f"{name} is told: "


def _criterion(item: Beside, who: str, other: str) -> Iterator[str]:
    yield f"- {item.label}"
    both = ((who, item.own, item.own_words, item.own_ms), (other, item.other, item.other_words, item.other_ms))
    for name, level, words, times in both:
        shown = "-" if level is None else f"{level:g}"
        where = ", ".join(map(film_text, times)) or "no time"
        yield f" {name} {shown} [{where}] {words}"
