"""What `assess film` says of two films side by side, stills, and the turns of before and after."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from assess.cli.film_options import Wanted
    from assess.desk.session import Desk

__all__ = ["beside_lines", "measured_lines"]


def beside_lines(desk: Desk, which: str | None, wanted: Wanted) -> list[str]:
    """Do what is wanted of before and after; a line for each thing done, then the learner's change."""
    return [*_rendered(desk, wanted), *_stills(desk, which, wanted), *_turns(wanted)]


def _rendered(desk: Desk, wanted: Wanted) -> list[str]:
    from assess.desk.film_beside import SHOWS, put_beside, starts
    from assess.records.errors import UsageError

    if not any(wanted.beside):
        if wanted.to is not None:
            raise UsageError("which two films?", todo="say --beside F1 F3")
        return []
    if wanted.to is None:
        raise UsageError("into which file?", todo="say --to before-after.mp4, or look at both in a terminal")
    left, right = wanted.beside
    begin = starts(wanted.starts)
    put_beside(desk, wanted.beside, begin, round(1000 * wanted.lasts), wanted.to, dry_run=wanted.dry_run)
    first, second = (told or "0:00" for told in wanted.starts)
    where = f"{left} from {first} at the left, {right} from {second} at the right"
    return [f"{_done(wanted)}: {wanted.to} ({where}), for you alone; without sound, place or device", SHOWS]


def _stills(desk: Desk, which: str | None, wanted: Wanted) -> list[str]:
    from assess.desk.film_beside import SHOWS, stills_of
    from assess.desk.film_compare import film_of, season_of

    if wanted.stills is None:
        return []
    film = film_of(desk, which or season_of(desk).films[-1].id)
    made = stills_of(desk.film(film.task, film.id), wanted.stills, dry_run=wanted.dry_run)
    return [*(f"{_done(wanted)}: {path}" for path in made), SHOWS if made else "every still is there already"]


def _done(wanted: Wanted) -> str:
    return "would be written" if wanted.dry_run else "written"


def _turns(wanted: Wanted) -> list[str]:
    from pathlib import Path

    if not any(wanted.turns):
        return []
    return _change(*map(Path, wanted.turns))


def measured_lines(desk: Desk, film: str) -> list[str]:
    """The turns of a film's learner before and after with the change, where the season holds both tables."""
    from assess.desk.film_beside import tables_of
    from assess.records.errors import AssessError

    tables = tables_of(desk, film)
    if tables is None:
        return []
    try:
        return ["", "The learner, before and after", *_change(*tables)]
    except AssessError as trouble:
        # The rest of the page does not wait for a table.
        return ["", f"The tables of the learner cannot be used: {trouble.sentence}"]


def _change(before: Path, after: Path) -> list[str]:
    from assess.cli.lessons import change_lines
    from assess.desk.film_beside import turn_lines
    from assess.desk.lessons import change_between

    read = change_between(before, after)
    return [*turn_lines(before, after), *change_lines(read)]
