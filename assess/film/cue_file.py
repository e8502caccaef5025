"""A file of cues, whichever of the two formats it is."""

from __future__ import annotations

from pathlib import Path

from assess.film.cues import Cue
from assess.film.subrip import parse_subrip
from assess.film.webvtt import parse_webvtt
from assess.records.errors import InputError, Problem

__all__ = ["LARGEST", "read_cues"]

LARGEST = 8 * 1024 * 1024
"""Bytes; an hour of dense notes takes a tenth of it."""


def read_cues(path: Path) -> list[Cue]:
    """The cues of a `.vtt` or `.srt` file, told apart by its first line.

    Raises InputError for what is too large, is no UTF-8, or breaks the grammar, with the line; OSError.
    """
    shown = path.name
    if path.stat().st_size > LARGEST:
        raise InputError([Problem(shown, 0, f"is larger than {LARGEST // 2**20} MiB", "this is no file of subtitles")])
    raw = path.read_bytes()
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as trouble:
        line = raw.count(b"\n", 0, trouble.start) + 1
        raise InputError([Problem(shown, line, "is not written in UTF-8", "save it as UTF-8")]) from None
    parse = parse_webvtt if text.removeprefix("\ufeff").startswith("WEBVTT") else parse_subrip
    return parse(text, shown)
