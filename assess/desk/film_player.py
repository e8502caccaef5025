"""A film of the season shown by mpv where that can be had; otherwise times are typed, and one sentence says why."""

from __future__ import annotations

import os
import shlex
from typing import TYPE_CHECKING

from assess.records.errors import AssessError, FilmTrouble

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet
    from assess.film.film_file import Found
    from assess.film.player import Player

__all__ = ["shown_film", "typed_times"]

FLAGS_FROM = "ASSESS_MPV_FLAGS"
"""More flags of mpv, for whoever wants another screen or none."""


def typed_times(at_ms: int = 0) -> Player:
    """Stands in for a player: the time typed last."""
    from assess.film.player import TypedTimes

    times = TypedTimes()
    times.seek(at_ms)
    return times


def shown_film(sheet: FilmSheet) -> tuple[Player, str]:
    """What shows the film, and a sentence about it: why times are typed, or where the film was found again; or "".

    A film that was moved is found by size and digest, and where it is now is kept. Nothing is raised: whatever is
    wrong with a film must not keep anybody from their notes.
    """
    from assess.film.film_file import find_film
    from assess.film.player import open_player

    film = sheet.film
    if film is None:
        return typed_times(), "times are typed"
    found = find_film(film.film, sheet.desk.folder.root)
    if found.path is None:
        return typed_times(), f"{film.film.path} is not there, nor near; times are typed"
    told = _kept(sheet, found) if found.moved else ""
    try:
        return open_player(found.path, flags=shlex.split(os.environ.get(FLAGS_FROM, ""))), told
    except FilmTrouble as trouble:
        return typed_times(), trouble.sentence


def _kept(sheet: FilmSheet, found: Found) -> str:
    """Keep where the film is now; what was found, and why it could not be kept."""
    from assess.desk.season_edit import remember_path

    path = os.path.relpath(found.path or "", sheet.desk.folder.root)
    try:
        remember_path(sheet.desk, sheet.candidate, path)
    except AssessError as trouble:
        return f"the film is {path} now, which could not be kept: {trouble.sentence}"
    return f"the film was moved: it is {path} now"
