"""A season of one's own films as a page: what one works on, film by film beside a mentor, and the direction.

Only what `season_view` gives: of a mentor's sheet nothing stands here before both are locked.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from assess.desk.film_words import CAUTION, own_name, time_lines, told_to, weakest_lines
from assess.records.times import film_text
from assess.reports.document import Block, Document, Listing, Note, Section, Table, Text

if TYPE_CHECKING:
    from assess.desk.film_compare import Beside, FilmCompared
    from assess.desk.season_view import FilmLine, NeverPractised, SeasonView
    from assess.desk.session import Desk

__all__ = ["season_document", "season_missing"]


def season_document(desk: Desk, view: SeasonView) -> Document:
    """The page for the one person who looks. Raises Refusal for somebody without a part in the season."""
    from assess.records.audience import AUDIENCES
    from assess.records.errors import Refusal

    if desk.who not in desk.course.assessors:
        raise Refusal("the page of a season is for the trainee and the mentors", todo="say who you are with --as ID")
    return Document(
        title=f"Season: {view.title}",
        about=f"{view.season}, as {desk.name(desk.who)} sees it; {_many(len(view.films), 'film')}",
        audience=AUDIENCES["person"].capitalize(),
        dated=max((line.date for line in view.films), default=""),
        sections=(
            Section("Working on", tuple(_actions(desk, view))),
            Section("Over the season", tuple(_trend(view))),
            *(_film(desk, line) for line in view.films),
            Section("Never practised", tuple(_never(view.never))),
        ),
        closing=(CAUTION,),
    )


def season_missing(view: SeasonView) -> tuple[str, ...]:
    """Films without a comparison."""
    left = [line.id for line in view.films if not line.compared]
    return (f"no comparison yet: {', '.join(left)}",) if left else ()


def _actions(desk: Desk, view: SeasonView) -> Iterator[Block]:
    if not view.actions:
        yield Text("Nothing is open.")
        return
    rows = tuple(
        (f"{action.id} {action.behaviour}", action.how, desk.name(action.checked_by),
         f"{action.remeasure_on}{', ! due now' if action.id in view.due else ''}")
        for action in view.actions
    )  # fmt: skip
    yield Table("Open actions", ("What", "How it is checked", "Who looks", "On"), rows)


def _trend(view: SeasonView) -> Iterator[Block]:
    from assess.reports.charts import Point, over_time

    yield Text(f"{view.trend.sentence[:1].upper()}{view.trend.sentence[1:].rstrip('.')}.")
    if view.trend.per_month is not None and view.trend.ci95 is not None:
        low, high = view.trend.ci95
        yield Text(f"Mean distance to the mentor: {view.trend.per_month:+.2f} levels a month "
                   f"({low:+.2f} to {high:+.2f}, 95 %, {_many(view.trend.n, 'film')}).")  # fmt: skip
    seen = [(line, found) for line in view.films if (found := _distances(line))]
    if not seen:
        return
    first = date.fromisoformat(seen[0][0].date)
    points = [
        Point(float((date.fromisoformat(line.date) - first).days), f"{line.date} {line.id}",
              sum(found) / len(found), f"{_many(len(found), 'mentor')}, {_criteria(line.compared[0].figures.n)}")
        for line, found in seen
    ]  # fmt: skip
    yield over_time(points, caption="Mean distance to the mentor, film by film",
                    alt=f"Mean distance to the mentor in levels, smaller is closer. {view.trend.sentence}",
                    axis="levels apart")  # fmt: skip


def _distances(line: FilmLine) -> list[float]:
    return [one.figures.mean_distance for one in line.compared if one.figures.mean_distance is not None]


def _film(desk: Desk, line: FilmLine) -> Section:
    locked = "; ".join(f"{desk.name(who)}: {'locked' if done else 'not locked'}" for who, done in line.locked)
    blocks: list[Block] = [Text(f"{line.date}. {locked}.")]
    if line.next_step and not line.compared:
        done = dict(line.locked).get(desk.who or "", False)
        step = line.next_step[:1].upper() + line.next_step[1:]
        blocks.append(Text(f"{step}.") if done else Note(f"! Next: {line.next_step}", "missing"))
    if line.time is not None or line.looks is not None or line.counts:
        head, *rest = time_lines(line)
        blocks += [Text(head), *([Listing(tuple(text.strip() for text in rest))] if rest else [])]
    blocks += _own(desk, line)
    for one in line.compared:
        blocks += _compared(desk, one)
    return Section(f"{line.id} {line.title}", tuple(blocks))


def _own(desk: Desk, line: FilmLine) -> Iterator[Block]:
    """One's own levels, with where each was seen, while nothing stands beside them."""
    if line.compared or not desk.marks(line.task, line.id):
        return
    sheet = desk.film(line.task, line.id)
    rows = tuple(
        (described.label, f"{mark.level}", ", ".join(map(film_text, sheet.film_times(name))) or "no time",
         described.levels.get(int(mark.level), "-"))
        for name in sheet.criteria
        if (mark := sheet.sheet.mark(name)) is not None and mark.level is not None
        and (described := sheet.rubric.criteria[name])
    )  # fmt: skip
    if rows:
        yield Table("My own levels", ("Criterion", "Level", "At", "What it says"), rows, frozenset({1}))


def _compared(desk: Desk, one: FilmCompared) -> Iterator[Block]:
    other = desk.name(one.mentor)
    figures = one.figures
    sentence = f"{told_to(desk)}{figures.sentence.rstrip('.')}"
    yield Text(f"Beside {other} ({_criteria(figures.n)}): {sentence}.")
    if figures.bias is not None and figures.mean_distance is not None:
        yield Text(f"On average {figures.bias:+.2f} levels beside them, {figures.mean_distance:.2f} apart either way.")
    if figures.spread is not None and figures.limits is not None:
        low, high = figures.limits
        yield Text(f"Spread {figures.spread:.2f}; most differences lie from {low:+.1f} to {high:+.1f}.")
    labels = {item.criterion: item.label for item in one.criteria}
    yield from (Text(f"{line[:1].upper()}{line[1:]}.") for line in weakest_lines(figures, labels))
    who = own_name(desk)
    who = "You" if who == "you" else who
    faults = ((who, one.own_faults), (other, one.other_faults))
    yield Listing(tuple(f"{who}: the fault is {', '.join(said) or 'not named'}" for who, said in faults))
    rows = tuple(_criterion(item) for item in one.criteria)
    columns = ("Criterion", who, "At", "What it says", other, "At", "What it says")
    yield Table(f"Own scores beside {other}", columns, rows, frozenset({1, 4}))


def _criterion(item: Beside) -> tuple[str, ...]:
    def told(level: float | None, times: tuple[int, ...], words: str) -> tuple[str, str, str]:
        return "-" if level is None else f"{level:g}", ", ".join(map(film_text, times)) or "no time", words or "-"

    return (
        item.label,
        *told(item.own, item.own_ms, item.own_words),
        *told(item.other, item.other_ms, item.other_words),
    )


def _never(never: NeverPractised) -> Iterator[Block]:
    if not never.films:
        yield Text("No film says yet what it gave practice in.")
        return
    told = []
    if never.of_families:
        named = f"{len(never.families)} of {never.of_families}"
        told.append(f"root faults, not even as a possible cause ({named}): {', '.join(never.families) or 'none'}")
    if never.of_snow:
        told.append(f"snow ({len(never.snow)} of {never.of_snow}): {', '.join(never.snow) or 'none is missing'}")
    told.append(f"learners of level: {', '.join(map(str, never.abilities)) or 'none is missing'}")
    yield Text(f"In {_many(never.films, 'film')}:")
    yield Listing(tuple(told))


def _criteria(n: int) -> str:
    return f"{n} {'criterion' if n == 1 else 'criteria'}"


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"
