"""SubRip: number, times with a comma, text, a blank line. There is no standard; this is what players agree on."""

from __future__ import annotations

import re
from collections.abc import Iterable

from assess.film.cues import Cue, in_order
from assess.film.webvtt import HOUR, MINUTE, lines_of, stamp
from assess.records.errors import InputError, Problem

__all__ = ["parse_subrip", "write_subrip"]

_TIMING = re.compile(
    r"(\d{2,}):([0-5]\d):([0-5]\d),(\d{3})[ \t]+-->[ \t]+(\d{2,}):([0-5]\d):([0-5]\d),(\d{3})[ \t]*", re.ASCII
)


def write_subrip(cues: Iterable[Cue]) -> str:
    """The file's text, numbered from 1; cues that are data for a program are left out."""
    blocks = []
    for number, cue in enumerate((cue for cue in in_order(cues) if not cue.data), 1):
        voice = " ".join(" ".join(lines_of(cue.voice)).split())
        words = [line.replace("-->", "-- >") for line in lines_of(cue.text)] or ["-"]
        said = "\n".join([f"{voice}: {words[0]}" if voice else words[0], *words[1:]])
        blocks.append(f"{number}\n{stamp(cue.start_ms, ',')} --> {stamp(cue.end_ms, ',')}\n{said}\n")
    return "\n".join(blocks)


def parse_subrip(text: str, name: str) -> list[Cue]:
    """The cues of a SubRip text. Raises InputError with the line of what is wrong."""
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    cues: list[Cue] = []
    wrong: list[Problem] = []
    at = 0
    while at < len(lines):
        if not lines[at].strip():
            at += 1
            continue
        end = next((n for n in range(at, len(lines)) if not lines[n].strip()), len(lines))
        block, first = lines[at:end], at + 1
        at = end
        found = _TIMING.fullmatch(block[1]) if len(block) > 1 else None
        if not block[0].strip().isdecimal():
            wrong.append(Problem(name, first, "is no number of a subtitle", "number them 1, 2, 3"))
        elif found is None:
            what = "has no times like 00:00:01,000 --> 00:00:02,000"
            wrong.append(
                Problem(name, first + 1, what, "write hours, minutes, seconds and three decimals, with a comma")
            )
        else:
            numbers = [int(part) for part in found.groups()]
            start, stop = (h * HOUR + m * MINUTE + s * 1000 + ms for h, m, s, ms in (numbers[:4], numbers[4:]))
            if stop <= start:
                wrong.append(Problem(name, first + 1, "ends before it begins, or at once", "put the later time second"))
            else:
                cues.append(Cue(start, stop, "\n".join(block[2:]), block[0].strip()))
    if wrong:
        raise InputError(wrong)
    return cues
