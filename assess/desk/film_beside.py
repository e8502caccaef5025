"""Before and after: two films of a season in one picture, stills of what was noted, and the turns of both."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.film_compare import film_of
from assess.desk.known_film import film_digest
from assess.desk.new_file import write_new
from assess.records.errors import FilmTrouble, Refusal, UsageError
from assess.records.times import film_text

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet
    from assess.desk.session import Desk

__all__ = ["SHOWS", "put_beside", "starts", "stills_of", "tables_of", "turn_lines", "video_of"]

SHOWS = "It shows a learner: pass it on only as was agreed with them."


def put_beside(
    desk: Desk, films: tuple[str, str], starts_ms: tuple[int, int], lasts_ms: int, to: Path, *, dry_run: bool = False
) -> None:
    """Two films side by side, each from its start, as a new MP4 for its owner alone; `dry_run`: looked at, not made.

    Raises Refusal when something stands there, UsageError for a length that is none, FilmTrouble when a film is not
    there or cannot be read.
    """
    from assess.film.beside import MOST_MS, beside, inside

    if not 0 < lasts_ms <= MOST_MS:
        raise UsageError(f"a piece lasts up to {MOST_MS // 1000} s", todo="say --lasts 10")
    if to.suffix.lower() != ".mp4":
        raise UsageError(f"{to.name} is no name for a film", todo="name a file that ends in .mp4")
    if to.exists():
        raise Refusal("is there already", where=str(to), todo="name a file that does not exist yet")
    left, right = ((video_of(desk, film), start) for film, start in zip(films, starts_ms, strict=True))
    for cut in (left, right):
        inside(cut)
    if not dry_run:
        write_new(to, beside(left, right, lasts_ms), private=True)


def stills_of(sheet: FilmSheet, folder: Path, *, dry_run: bool = False) -> tuple[Path, ...]:
    """A still of every instant that was noted, into a folder; the files that are new. One that is there stays.

    dry_run: which they would be; nothing is made.

    Raises Refusal when nothing was noted, FilmTrouble when the film is not there or cannot be read.
    """
    from assess.film.beside import still

    times = sorted({item.film_ms for item in sheet.noted() if item.film_ms is not None})
    if not times:
        raise Refusal(f"{sheet.candidate} has no observation with a film time", todo="note something first")
    video = video_of(sheet.desk, sheet.candidate)
    if not dry_run:
        folder.mkdir(parents=True, exist_ok=True)
    made = []
    for at in times:
        path = folder / f"{sheet.candidate}-{at // 60_000:02d}m{at // 1000 % 60:02d}s{at % 1000:03d}.png"
        if not path.exists():
            if not dry_run:
                write_new(path, still((video, at)), private=True)
            made.append(path)
    return tuple(made)


def tables_of(desk: Desk, film: str) -> tuple[Path, Path] | None:
    """The tables of a film's learner before and after, `measures/T5.F1.before.csv` and `.after.csv`; None without."""
    task, root = film_of(desk, film).task, desk.folder.root
    before, after = (root / "measures" / f"{task}.{film}.{when}.csv" for when in ("before", "after"))
    return (before, after) if before.is_file() and after.is_file() else None


def turn_lines(before: Path, after: Path) -> list[str]:
    """The turns of both tables, value beside value, run by run. Raises InputError with every problem of the two."""
    from assess.desk.lessons import table_runs

    first, second = table_runs(before, after)
    lines = ["run  turn    before     after"]
    for run in range(max(len(first), len(second))):
        sides = [side[run] if run < len(side) else () for side in (first, second)]
        for turn in range(max(map(len, sides))):
            shown = [f"{side[turn]:10.4g}" if turn < len(side) else f"{'-':>10}" for side in sides]
            lines.append(f"{run + 1:>3}  {turn + 1:>4}{shown[0]}{shown[1]}")
    return lines


def video_of(desk: Desk, film: str) -> Path:
    """Where the video of a film of the season is. Raises Refusal for no such film, FilmTrouble when it is not found."""
    from assess.film.film_file import find_film

    known = film_of(desk, film).film
    found = find_film(known, desk.folder.root, digest=film_digest)
    if found.path is None:
        raise FilmTrouble(f"{known.path} is not there, nor near", todo="put the film beside the season again")
    return found.path


def starts(told: tuple[str, str]) -> tuple[int, int]:
    """Two film times as typed, 0:00 for none. Raises UsageError."""
    from assess.records.times import film_ms

    try:
        first, second = (film_ms(text) if text else 0 for text in told)
    except ValueError as trouble:
        raise UsageError(str(trouble), todo=f"say --starts {film_text(12_000)} {film_text(20_000)}") from None
    return first, second
