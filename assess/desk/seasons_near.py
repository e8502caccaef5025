"""Which season a film belongs to: the one that lists it, and the seasons in its folder it could join."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.film_start import is_season, season_at, season_beside
from assess.records.errors import AssessError

if TYPE_CHECKING:
    from assess.records.season import Season

__all__ = ["NearSeason", "season_with", "seasons_near"]

MOST_LOOKED_AT = 500


@dataclass(frozen=True)
class NearSeason:
    """A season in a film's folder: where, whose, how many films."""

    root: Path
    title: str
    trainee: str
    films: int


def season_with(film: Path) -> Path | None:
    """The season that has this film: the one beside it, or one in its folder that lists it; None for none."""
    if is_season(season_beside(film)):
        return season_beside(film)
    here = film.resolve()
    for root, season in _seasons(film.parent):
        if any((root / each.film.path).resolve() == here for each in season.films):
            return root
    return None


def seasons_near(film: Path) -> tuple[NearSeason, ...]:
    """The seasons in a film's folder, by name."""
    return tuple(
        NearSeason(root, season.title, season.trainee, len(season.films)) for root, season in _seasons(film.parent)
    )


def _seasons(folder: Path) -> list[tuple[Path, Season]]:
    try:
        with os.scandir(folder) as found:
            roots = sorted(Path(entry.path) for entry in found if entry.is_dir())[:MOST_LOOKED_AT]
    except OSError:
        return []  # the folder cannot be looked at: nothing is known of its seasons
    told = []
    for root in roots:
        if is_season(root):
            try:
                told.append((root, season_at(root)))
            except AssessError:
                continue  # `assess check` says what is wrong with it; a film does not join it
    return told
