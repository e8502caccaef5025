"""A season at a glance: what one works on, each film, whether the gaps close, and what was never practised."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from assess.desk.film_compare import FilmCompared, compared_films, season_of
from assess.desk.film_counts import Looks, counted, looks_of
from assess.desk.film_time import TimeUse, time_use

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assess.desk.session import Desk
    from assess.lesson.results.trainee import GapTrend, PerMinute
    from assess.records.catalogue import Catalogue
    from assess.records.season import OpenAction, Season, SeasonFilm

__all__ = ["FilmLine", "NeverPractised", "SeasonView", "season_json", "season_view"]

ABILITIES = range(1, 11)


@dataclass(frozen=True)
class FilmLine:
    """A film: whose sheets are locked (nothing more of others before one's own is), and the comparisons there are.

    time: how it was used by one's own marks; looks: by looks at set moments; counts: what was counted, and per minute.
    """

    id: str
    date: str
    title: str
    task: str
    locked: tuple[tuple[str, bool], ...]
    next_step: str
    time: TimeUse | None
    looks: Looks | None
    counts: tuple[PerMinute, ...]
    compared: tuple[FilmCompared, ...]


@dataclass(frozen=True)
class NeverPractised:
    """What no film of the season practised, out of what the catalogue has; empty where there is no catalogue.

    families: faults to be taught at their root, none of whose kin was treated. films: how many films say what they
    practised; with none of them nothing is known.
    """

    films: int
    families: tuple[str, ...]
    of_families: int
    snow: tuple[str, ...]
    of_snow: int
    abilities: tuple[int, ...]


@dataclass(frozen=True)
class SeasonView:
    """What one person may see of a season. due: actions to be measured again by now."""

    season: str
    title: str
    actions: tuple[OpenAction, ...]
    due: tuple[str, ...]
    films: tuple[FilmLine, ...]
    trend: GapTrend
    never: NeverPractised


def season_view(desk: Desk) -> SeasonView:
    """The season as this person may see it. Raises Refusal in a folder that is none."""
    season = season_of(desk)
    films = tuple(_film(desk, season, film) for film in season.films)
    mine = desk.who in desk.course.assessors
    actions = season.open_actions if mine else ()
    return SeasonView(
        season.id, season.title, actions,
        tuple(action.id for action in actions if action.remeasure_on <= desk.today()),
        films, _trend(season, films), _never(desk, season),
    )  # fmt: skip


def _film(desk: Desk, season: Season, film: SeasonFilm) -> FilmLine:
    locked = tuple((who, desk.locked(film.task, film.id, who)) for who in season.markers(film))
    mine = desk.film(film.task, film.id) if desk.marks(film.task, film.id) else None
    step, time = (mine.asked(), time_use(mine.sheet)) if mine else ("", None)
    looks = looks_of(mine.sheet) if mine else None
    total = time.total_ms if time else looks.n * looks.every_ms if looks else 0
    counts = counted(mine.sheet, total) if mine else ()
    beside = compared_films(desk, film.id)
    return FilmLine(film.id, film.date, film.title, film.task, locked, step, time, looks, counts, beside)


def _trend(season: Season, films: Iterable[FilmLine]) -> GapTrend:
    """Of each film the mean over its mentors of the mean distance; days since the first film."""
    from assess.lesson.self_assessment import gap_trend

    days, gaps = [], []
    for line in films:
        found = [one.figures.mean_distance for one in line.compared if one.figures.mean_distance is not None]
        if found:
            days.append(float(date.fromisoformat(line.date).toordinal()))
            gaps.append(sum(found) / len(found))
    return gap_trend(days, gaps)


def _never(desk: Desk, season: Season) -> NeverPractised:
    from assess.desk.sheet_readings import course_catalogue

    told = [film.practised for film in season.films if film.practised != type(film.practised)()]
    catalogue = course_catalogue(desk)
    abilities = {each.ability for each in told}
    left = tuple(level for level in ABILITIES if level not in abilities)
    if catalogue is None:
        return NeverPractised(len(told), (), 0, (), 0, left)
    roots = {fault.id: fault.words for fault in catalogue.faults if fault.layer == "root"}
    treated = {root for each in told for fault in each.faults for root in _roots(fault, catalogue)}
    snow = {kind.id for kind in catalogue.vocab.snow}
    met = {each.snow for each in told}
    return NeverPractised(
        len(told), tuple(words for ident, words in roots.items() if ident not in treated), len(roots),
        tuple(kind.id.replace("-", " ") for kind in catalogue.vocab.snow if kind.id not in met), len(snow), left,
    )  # fmt: skip


def _roots(fault: str, catalogue: Catalogue) -> set[str]:
    """A fault and all it may come from in the catalogue's graph of causes."""
    causes = {item.id: item.caused_by for item in catalogue.faults}
    found, waiting = set[str](), [fault]
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting += causes.get(one, ())
    return found


def season_json(view: SeasonView) -> dict[str, Any]:
    """The season as one document."""
    from dataclasses import asdict

    told = asdict(view)
    told["actions"] = [action.model_dump(mode="json") for action in view.actions]
    for line in told["films"]:
        line["locked"] = dict(line["locked"])
        for compared in line["compared"]:
            compared["figures"]["gaps"] = dict(compared["figures"]["gaps"])
    return told
