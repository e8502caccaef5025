"""A film of the season shown by mpv where that can be had; otherwise times are typed, and one sentence says why."""

from __future__ import annotations

import os
import shlex
from typing import TYPE_CHECKING

from assess.desk.known_film import film_digest
from assess.records.errors import AssessError, FilmTrouble

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet
    from assess.desk.session import Desk
    from assess.film.film_file import Found
    from assess.film.player import MpvPlayer, Player

__all__ = ["shown_film", "shown_pair", "typed_times"]

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
    found = find_film(film.film, sheet.desk.folder.root, digest=film_digest)
    if found.path is None:
        return typed_times(), f"{film.film.path} is not there, nor near; times are typed"
    told = _kept(sheet, found) if found.moved else ""
    try:
        player = open_player(found.path, flags=shlex.split(os.environ.get(FLAGS_FROM, "")))
        return player, "; ".join(part for part in (told, _unseen(player)) if part)
    except FilmTrouble as trouble:
        return typed_times(), trouble.sentence


def shown_pair(desk: Desk, films: tuple[str, str], starts_ms: tuple[int, int]) -> tuple[Player, str]:
    """What shows two films in one picture, each from its own start, and a sentence about it; nothing is raised."""
    from assess.desk.film_beside import video_of
    from assess.film.beside import turned
    from assess.film.player import open_pair

    told = ""
    try:
        paths = [video_of(desk, film) for film in films]
        try:
            upright = (turned(paths[0]), turned(paths[1]))
        except FilmTrouble as trouble:
            # It may lie on its side then; it can be looked at all the same.
            upright, told = (0, 0), f"{trouble}: a film that was filmed turned may lie on its side"
        cuts = [(path, start) for path, start in zip(paths, starts_ms, strict=True)]
        flags = shlex.split(os.environ.get(FLAGS_FROM, ""))
        player = open_pair(cuts[0], cuts[1], turned=upright, flags=flags)
        return player, "; ".join(part for part in (told, _unseen(player)) if part)
    except AssessError as trouble:
        return typed_times(), trouble.sentence


def _unseen(player: MpvPlayer) -> str:
    """That mpv runs and nothing is seen of it; "" when it shows the film."""
    try:
        return "" if player.shows_a_picture() else "mpv has no window for the film here: it is heard and not seen"
    except FilmTrouble:
        return ""  # it is gone already, which the screen tells at its next look


def _kept(sheet: FilmSheet, found: Found) -> str:
    """Keep where the film is now; what was found, and why it could not be kept."""
    from assess.desk.season_edit import remember_path

    path = os.path.relpath(found.path or "", sheet.desk.folder.root)
    try:
        remember_path(sheet.desk, sheet.candidate, path)
    except AssessError as trouble:
        return f"the film is {path} now, which could not be kept: {trouble.sentence}"
    return f"the film was moved: it is {path} now"
