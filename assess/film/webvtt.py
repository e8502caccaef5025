r"""WebVTT by its grammar (W3C): written so that every player reads it; read strictly, with the line of what is wrong.

Times are whole milliseconds. In cue text `&`, `<` and `>` are escaped, which also keeps the arrow out; a payload has
no blank line; JSON payloads are not escaped but spelled (`--\u003e`).
"""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from assess.film.cues import Cue, in_order
from assess.records.errors import InputError, Problem

__all__ = ["HOUR", "MINUTE", "data_cue", "lines_of", "parse_webvtt", "stamp", "write_webvtt"]

_TIME = r"(?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3})"
_TIMING = re.compile(rf"{_TIME}[ \t]+-->[ \t]+{_TIME}(?:[ \t]+(.*))?", re.ASCII)
_VOICE = re.compile(r"<v(?:\.[^ >]*)?[ \t]+([^>]*)>(.*?)(?:</v>)?", re.S)
_TAG = re.compile(r"</?[a-z]*(?:\.[^>]*|[ \t][^>]*)?>|<\d\d[^>]*>")
HOUR, MINUTE = 3_600_000, 60_000


def stamp(ms: int, mark: str = ".") -> str:
    """`00:12:03.480`; hours take as many digits as they need, two at least."""
    hours, rest = divmod(ms, HOUR)
    minutes, rest = divmod(rest, MINUTE)
    return f"{hours:02d}:{minutes:02d}:{rest // 1000:02d}{mark}{rest % 1000:03d}"


def data_cue(start_ms: int, end_ms: int, data: Any, ident: str = "") -> Cue:
    """A cue whose payload is JSON for a program."""
    return Cue(start_ms, end_ms, json.dumps(data, ensure_ascii=False, sort_keys=True), ident, data=True)


def write_webvtt(cues: Iterable[Cue], notes: Sequence[str] = ()) -> str:
    """The file's text: signature, comments, cues in the order of their starts. Any text gives a valid file."""
    blocks = ["WEBVTT", *(f"NOTE\n{_comment(note)}" for note in notes)]
    for cue in in_order(cues):
        head = f"{cue.id}\n" if cue.id else ""
        payload = _json(cue.text) if cue.data else _spoken(cue)
        blocks.append(f"{head}{stamp(cue.start_ms)} --> {stamp(cue.end_ms)}\n{payload}")
    return "\n\n".join(blocks) + "\n"


def lines_of(text: str) -> list[str]:
    """Its lines without blank ones; what no file can hold is a replacement character."""
    clean = "".join("\ufffd" if char == "\0" or "\ud800" <= char <= "\udfff" else char for char in text)
    clean = clean.replace("\r\n", "\n").replace("\r", "\n").replace("\f", " ")
    return [line for line in clean.split("\n") if line.strip()]


def _comment(note: str) -> str:
    # In a comment nothing is decoded, so the arrow is spelled with a space.
    return "\n".join(line.replace("-->", "-- >") for line in lines_of(note)) or "(empty)"


def _json(text: str) -> str:
    return " ".join(lines_of(text)).replace("-->", "--\\u003e") or "null"


def _spoken(cue: Cue) -> str:
    said = "\n".join(_escaped(line) for line in lines_of(cue.text)) or "&nbsp;"
    if said[0] in "{[":
        said = f"<c>{said}</c>"  # words that look like data for a program stay words
    voice = " ".join(_escaped(" ".join(lines_of(cue.voice))).split())
    return f"<v {voice}>{said}</v>" if voice else said


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def parse_webvtt(text: str, name: str) -> list[Cue]:
    """The cues of a WebVTT text. Comments, styles and regions are left out.

    Raises InputError with the line of everything that breaks the grammar.
    """
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not re.fullmatch(r"WEBVTT(?:[ \t].*)?", lines[0]):
        raise InputError([Problem(name, 1, "does not begin with WEBVTT", "this is no WebVTT file")])
    wrong: list[Problem] = []
    if len(lines) > 1 and lines[1].strip():
        wrong.append(Problem(name, 2, "the line after WEBVTT is not blank", "leave one line blank there"))
    cues = [found for at, block in _blocks(lines) if (found := _cue(at, block, name, wrong)) is not None]
    last, ids = 0, set[str]()
    for line, cue in cues:
        if cue.start_ms < last:
            wrong.append(Problem(name, line, "begins before the cue above it", "put the cues in order"))
        if cue.id and cue.id in ids:
            wrong.append(Problem(name, line, f"the identifier `{cue.id[:60]}` comes twice", "give it another"))
        last = max(last, cue.start_ms)
        ids.add(cue.id)
    if wrong:
        raise InputError(wrong)
    return [cue for _, cue in cues]


def _blocks(lines: Sequence[str]) -> Iterator[tuple[int, list[str]]]:
    """(line number of its first line, its lines) of each block between blank lines, the signature's left out."""
    block: list[str] = []
    first = 0
    for number, line in enumerate([*lines[1:], ""], 2):
        if line:
            first = first if block else number
            block.append(line)
        elif block:
            yield first, block
            block = []


def _cue(at: int, block: list[str], name: str, wrong: list[Problem]) -> tuple[int, Cue] | None:
    if re.fullmatch(r"(?:NOTE|STYLE|REGION)(?:[ \t].*)?", block[0]) and "-->" not in block[0]:
        if any("-->" in line for line in block):
            wrong.append(Problem(name, at, "has an arrow in a comment or a style", "take it out"))
        return None
    ident = "" if "-->" in block[0] else block[0]
    timing = block[1 if ident else 0] if len(block) > bool(ident) else ""
    line = at + bool(ident)
    found = _TIMING.fullmatch(timing.strip(" \t"))
    if found is None:
        what = "is no cue: two times like 00:01.000 --> 00:02.000 are missing or wrong"
        wrong.append(Problem(name, line, what, "write minutes, seconds and three decimals, with a point"))
        return None
    start, end = _ms(found.groups()[:4]), _ms(found.groups()[4:8])
    if end <= start:
        wrong.append(Problem(name, line, "ends before it begins, or at once", "put the later time second"))
        return None
    payload = block[2 if ident else 1 :]
    if any("-->" in each for each in payload):
        wrong.append(Problem(name, line + 1, "has an arrow in its text", "leave a line blank before the next cue"))
        return None
    return line, _read(start, end, "\n".join(payload), ident, line, name, wrong)


def _ms(parts: Sequence[str | None]) -> int:
    hours, minutes, seconds, rest = (int(part or 0) for part in parts)
    return hours * HOUR + minutes * MINUTE + seconds * 1000 + rest


def _read(start: int, end: int, payload: str, ident: str, line: int, name: str, wrong: list[Problem]) -> Cue:
    if payload[:1] in ("{", "["):
        try:
            json.loads(payload)
        except ValueError:
            pass
        else:
            return Cue(start, end, payload, ident, data=True)
    spoken = _VOICE.fullmatch(payload)
    voice, said = (spoken[1], spoken[2]) if spoken else ("", payload)
    bare = _TAG.sub("", said)
    if "<" in bare or re.search(r"&(?![a-zA-Z]+;|#\d+;|#x[0-9a-fA-F]+;)", bare):
        wrong.append(Problem(name, line + 1, "has `<` or `&` that stands for nothing", "write &lt; and &amp;"))
    return Cue(start, end, html.unescape(bare).replace("\xa0", " ").strip(), ident, html.unescape(voice).strip())
