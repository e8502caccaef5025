"""Written practice lessons and measures of a learner, read from files: the readings, never a score."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ConfigDict

from assess.records.errors import InputError, Problem
from assess.records.measure import EntryId, Measure
from assess.records.practice import Ability, Degrees, Measured, Outcome, Words

if TYPE_CHECKING:
    from assess.lesson.results import ChangeReading, LessonReadings
    from assess.records.reading_settings import Settings

__all__ = [
    "LessonsRead",
    "change_between",
    "change_json",
    "lessons_json",
    "lessons_read",
    "table_problems",
    "table_runs",
]


@dataclass(frozen=True)
class LessonsRead:
    """The readings of every lesson of a file, with the constants they were read with and the titles of the lessons.

    told: what was filled in, counted otherwise or left out.
    """

    readings: tuple[LessonReadings, ...]
    settings: Settings
    titles: dict[str, str]
    told: tuple[str, ...] = ()


def lessons_read(file: Path, catalogue: Path | None = None) -> LessonsRead:
    """The readings of the practice lessons in a file.

    catalogue: the activity's catalogue folder; otherwise one beside the file, or the shipped one that knows its ids.
    Raises InputError with every problem of the file or the catalogue.
    """
    from assess.lesson.reading import read_scenarios
    from assess.store.catalogue_folder import load_catalogue
    from assess.store.practice_file import catalogue_for, read_practice
    from assess.store.shipped import shipped

    practice = read_practice(file).practice
    if catalogue is not None:
        folder = load_catalogue(catalogue)
    else:
        folder = catalogue_for(practice, file.resolve(), shipped("rubrics"))
    readings = read_scenarios(practice.scenarios, folder.catalogue)
    titles = {lesson.id: scenario.title for scenario in practice.scenarios for lesson in scenario.lessons}
    return LessonsRead(readings, folder.catalogue.settings, titles)


def lessons_json(found: LessonsRead) -> dict[str, Any]:
    """The readings as other programs read them, with every constant they were read with."""
    from assess.lesson.lesson_json import to_json

    told = {"told": list(found.told)} if found.told else {}
    return {**to_json(found.readings, found.settings), **told}


def change_json(read: ChangeReading) -> dict[str, Any]:
    """The change as other programs read it."""
    from assess.lesson.lesson_json import change_json as as_json

    return as_json(read)


class MeasuredSide(BaseModel):
    """The side file of a table of per-turn values: what was measured, where, on what, and the learner's ability."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    measure: Measure
    place: Words
    slope: Degrees
    snow: EntryId
    ability: Ability


def change_between(before: Path, after: Path, settings: Settings | None = None) -> ChangeReading:
    """Did the learner change between two tables of per-turn values (`run,turn,value`, a side file `.yaml` each).

    Raises InputError with every problem of the four files, also when they are of different measures.
    """
    from assess.lesson.change import read_change
    from assess.records.reading_settings import Settings as AllSettings

    problems: list[Problem] = []
    sides = [_side(path, problems) for path in (before, after)]
    runs = [_runs(path, problems) for path in (before, after)]
    if problems or sides[0] is None or sides[1] is None:
        raise InputError(problems)
    first, second = sides[0], sides[1]
    if first.measure != second.measure:
        what = "describes another measure than the table before"
        raise InputError([Problem(str(after.with_suffix(".yaml")), 1, what, "compare one and the same measure")])
    outcome = Outcome(before=_measured(first, runs[0]), after=_measured(second, runs[1]))
    return read_change(first.measure, outcome, first.ability, settings or AllSettings())


def table_runs(*tables: Path) -> tuple[tuple[tuple[float, ...], ...], ...]:
    """The values of each run of each table. Raises InputError with every problem."""
    problems: list[Problem] = []
    runs = tuple(_runs(table, problems) for table in tables)
    if problems:
        raise InputError(problems)
    return runs


def table_problems(table: Path) -> tuple[Problem, ...]:
    """Everything wrong with one table of per-turn values and its side file."""
    problems: list[Problem] = []
    _side(table, problems)
    _runs(table, problems)
    return tuple(problems)


def _measured(side: MeasuredSide, runs: tuple[tuple[float, ...], ...]) -> Measured:
    return Measured.model_validate({"place": side.place, "slope": side.slope, "snow": side.snow, "runs": runs})


def _side(table: Path, problems: list[Problem]) -> MeasuredSide | None:
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    path = table.with_suffix(".yaml")
    try:
        return as_model(read_yaml(path, shown=str(path), what="lesson"), MeasuredSide)
    except InputError as trouble:
        problems += trouble.problems
        return None


def _runs(table: Path, problems: list[Problem]) -> tuple[tuple[float, ...], ...]:
    """The values of each run, in the order of runs and turns."""
    from assess.film.table import LARGEST_TABLE
    from assess.film.turn_table import read_values
    from assess.store.reading import whole_file

    shown = str(table)
    try:
        return read_values(whole_file(table, shown, LARGEST_TABLE), shown)
    except InputError as trouble:
        problems += trouble.problems
        return ()
