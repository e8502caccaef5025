"""Own observations of a film as cues any player shows, and subtitles read in as observations, marked as imported."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet, Noted
    from assess.film.cues import Cue

__all__ = ["read_in", "write_out"]

INSTANT_MS = 2000
"""An instant is shown so long."""


def write_out(sheet: FilmSheet, vtt: Path | None, srt: Path | None, *, dry_run: bool = False) -> tuple[Path, ...]:
    """Write my observations as WebVTT, as SubRip or as both, and beside them one WebVTT file whose cues are JSON.

    That one is called after the first of them, `NAME.data.vtt`. The files made; all of them or none, and with
    `dry_run` none. They are for their owner alone (0600): observations about people. Raises Refusal
    when something stands in one's place, or there is nothing with a film time to write.
    """
    from assess.desk.new_file import write_new
    from assess.film.cues import in_order
    from assess.film.subrip import write_subrip
    from assess.film.webvtt import write_webvtt

    noted = [item for item in sheet.noted() if item.film_ms is not None]
    if not noted:
        raise Refusal(f"{sheet.candidate} has no observation with a film time", todo="note something first")
    cues = in_order(_text_cue(sheet, item) for item in noted)
    files = [(vtt, write_webvtt(cues))] if vtt else []
    files += [(srt, write_subrip(cues))] if srt else []
    first = files[0][0]
    data = write_webvtt(in_order(_data_cue(item) for item in noted))
    files.append((first.with_name(f"{first.name.removesuffix(first.suffix)}.data.vtt"), data))
    paths = tuple(path for path, _ in files)
    for path in paths:
        if path.exists() or paths.count(path) > 1:
            raise Refusal("is there already", where=str(path), todo="name a file that does not exist yet")
    for path, text in () if dry_run else files:
        write_new(path, text.encode("utf-8"), private=True)
    return paths


def _text_cue(sheet: FilmSheet, item: Noted) -> Cue:
    from assess.film.cues import Cue

    at = item.film_ms or 0
    labels = ", ".join(sheet.rubric.criteria[name].label for name in item.criteria)
    sign = {"for": "+", "against": "-"}.get(item.direction, "")
    words = " ".join(part for part in (f"{labels}{sign}:" if labels else "", item.text) if part)
    return Cue(at, _end(item), words or item.category, id=f"n{item.n}", voice=sheet.who)


def _data_cue(item: Noted) -> Cue:
    from assess.film.webvtt import data_cue

    told = {
        "text": item.text, "category": item.category, "criteria": list(item.criteria), "direction": item.direction,
    }  # fmt: skip
    return data_cue(item.film_ms or 0, _end(item), told, f"n{item.n}")


def _end(item: Noted) -> int:
    at = item.film_ms or 0
    return at + INSTANT_MS if item.end_ms is None else item.end_ms


def read_in(sheet: FilmSheet, path: Path) -> int:
    """Read subtitles in as observations marked `imported`; how many. What JSON cues say of criteria is kept.

    Everything is read before anything is written. Raises InputError for a file that breaks the grammar, Refusal for
    a locked sheet or a film that has all of them already.
    """
    from assess.film.cue_file import read_cues
    from assess.records.text import typed

    # What was written out comes back with the names of its criteria before it.
    there = {(n.film_ms, text) for n in sheet.noted() for text in (n.text, _text_cue(sheet, n).text)}
    wanted = [told for cue in read_cues(path) if (told := _told(sheet, cue))]
    new = [told for told in wanted if (told["film_ms"], typed(told["text"])) not in there]
    if not new:
        raise Refusal(f"{path.name} holds nothing new" if wanted else f"{path.name} holds no words", todo="look at it")
    return sheet.note_all({**told, "imported": True} for told in new)


def _told(sheet: FilmSheet, cue: Cue) -> dict[str, Any]:
    said = _json(cue.text) if cue.data or cue.text.startswith("{") else {}
    text = str(said.get("text", "")) if said else cue.text
    if not text.strip():
        return {}
    known = [name for name in said.get("criteria", ()) if name in sheet.criteria]
    told = {"text": text, "criteria": known, "film_ms": cue.start_ms, "film_end_ms": cue.end_ms}
    told |= dict(_choices(said))
    return told


def _choices(said: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    from assess.desk.film_sheet import KINDS

    if said.get("direction") in ("for", "against"):
        yield "direction", said["direction"]
    if said.get("category") in KINDS:
        yield "category", said["category"]


def _json(text: str) -> dict[str, Any]:
    import json

    try:
        found = json.loads(text)
    except ValueError:
        return {}  # words that begin with a brace are words
    return found if isinstance(found, dict) else {}
