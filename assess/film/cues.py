"""What was seen, with its time in a film: the cues that WebVTT and SubRip files are made from and read into."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

__all__ = ["Cue", "in_order"]


@dataclass(frozen=True, slots=True)
class Cue:
    """From, to (whole milliseconds of the film) and what is said there.

    id: unique in its file, "" for none. voice: who saw it. data: the text is JSON for a program and is not shown.
    """

    start_ms: int
    end_ms: int
    text: str
    id: str = ""
    voice: str = ""
    data: bool = False


def in_order(cues: Iterable[Cue]) -> list[Cue]:
    """As a file must hold them: by start; an instant (from = to) lasts one millisecond; ids unique.

    An id that comes again gets `-2`, `-3`; a negative time becomes 0.
    """
    told: list[Cue] = []
    taken: set[str] = set()
    for cue in sorted(cues, key=lambda cue: (max(0, cue.start_ms), cue.end_ms)):
        start = max(0, cue.start_ms)
        name = _one_line(cue.id)
        if name:
            number, base = 2, name
            while name in taken:
                name, number = f"{base}-{number}", number + 1
            taken.add(name)
        told.append(replace(cue, id=name, start_ms=start, end_ms=max(cue.end_ms, start + 1)))
    return told


def _one_line(text: str) -> str:
    """An identifier: one line, without the arrow, not looking like a block of its own."""
    clean = "".join("\ufffd" if char == "\0" or "\ud800" <= char <= "\udfff" else char for char in text)
    name = " ".join(clean.replace("-->", " ").split())
    return f"cue {name}" if name.startswith(("NOTE", "STYLE", "REGION", "WEBVTT")) else name
