"""Files that are about to leave the tool: shown first, then written into one chosen folder, whole or not at all."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from assess.records.audience import AUDIENCES, Audience
from assess.records.errors import Refusal, StorageTrouble

__all__ = ["Outgoing", "Planned", "look_ahead", "preview_json", "preview_lines", "write_out"]

State = Literal["new", "same", "different"]
_PART = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.@+-]*")
_WORDS: dict[State, str] = {"new": "new", "same": "there already, the same", "different": "there already, different"}
PRIVATE, OPEN = 0o600, 0o644


@dataclass(frozen=True, slots=True)
class Outgoing:
    """One file before it is written.

    name: its place in the chosen folder, parts joined by `/`, of ASCII letters, digits and `_ . @ + -`. audience:
    whom it is for. what: what it is, in words. missing: what could not be put into it, in words. private: readable
    for its owner alone (0600), as everything that names a person is.
    """

    name: str
    audience: Audience
    what: str
    content: bytes
    missing: tuple[str, ...] = ()
    private: bool = True


@dataclass(frozen=True, slots=True)
class Planned:
    """Files and what stands in their places now. left_out: what gets no file, and why."""

    folder: Path
    files: tuple[Outgoing, ...]
    states: tuple[State, ...]
    left_out: tuple[str, ...] = ()


def look_ahead(files: Sequence[Outgoing], folder: Path, left_out: Sequence[str] = ()) -> Planned:
    """What writing these files would do; nothing is written.

    Raises Refusal for a name that leads out of the folder or stands twice (also by case), for a link on the way or a
    folder in a file's place, and when `folder` is a file; StorageTrouble when the folder cannot be looked at.
    """
    taken: set[str] = set()
    for item in files:
        parts = item.name.split("/")
        if not all(_PART.fullmatch(part) for part in parts):
            raise Refusal(f"`{item.name}` is no name for a file in a chosen folder", where=str(folder))
        if item.name.casefold() in taken:
            raise Refusal(f"`{item.name}` would be written twice", where=str(folder))
        taken.add(item.name.casefold())
    try:
        if folder.exists() and not folder.is_dir():
            raise Refusal("is a file", where=str(folder), todo="name a folder with --to")
        states = tuple(_state(folder, item) for item in files)
    except OSError as trouble:
        raise _cannot("be looked at", folder, trouble) from trouble
    return Planned(folder, tuple(files), states, tuple(left_out))


def _state(folder: Path, item: Outgoing) -> State:
    path = folder
    for part in item.name.split("/"):
        path = path / part
        if path.is_symlink():
            raise Refusal("is a link", where=str(path), todo="take it away, or choose another folder")
    if not path.exists():
        return "new"
    if not path.is_file():
        raise Refusal("is no file", where=str(path), todo="take it away, or choose another folder")
    return "same" if path.read_bytes() == item.content else "different"


def preview_lines(planned: Planned) -> list[str]:
    """What would be written, for whom, what is missing: a line per file, one for each gap, one for each left out."""
    files = "1 file" if len(planned.files) == 1 else f"{len(planned.files)} files"
    lines = [f"{files} into {planned.folder}"]
    for item, state in zip(planned.files, planned.states, strict=True):
        size = f"{max(1, round(len(item.content) / 1000))} kB"
        lines.append(f"  {item.name}  {item.what}; {AUDIENCES[item.audience]}; {size}; {_WORDS[state]}")
        lines += [f"    missing: {gap}" for gap in item.missing]
    lines += [f"  left out: {gap}" for gap in planned.left_out]
    return lines


def preview_json(planned: Planned, *, written: bool) -> dict[str, Any]:
    """The same as one document. written: whether it has been done."""
    return {
        "folder": str(planned.folder),
        "written": written,
        "files": [
            {
                "name": item.name,
                "audience": item.audience,
                "what": item.what,
                "bytes": len(item.content),
                "was": state,
                "missing": list(item.missing),
            }
            for item, state in zip(planned.files, planned.states, strict=True)
        ],
        "left_out": list(planned.left_out),
    }


def write_out(planned: Planned, *, replace: bool = False) -> int:
    """Write what is not there yet; how many files were written. Each is there whole or not at all.

    A file with the same bytes stays as it is. Raises Refusal before anything is written when different bytes stand
    in a place and `replace` is not given; StorageTrouble when the disk does not take it.
    """
    now = look_ahead(planned.files, planned.folder, planned.left_out)
    standing = [item.name for item, state in zip(now.files, now.states, strict=True) if state == "different"]
    if standing and not replace:
        more = f" and {len(standing) - 3} more" if len(standing) > 3 else ""
        todo = "choose another folder, or write over them with --replace"
        raise Refusal(f"{', '.join(standing[:3])}{more}: other files stand there", where=str(now.folder), todo=todo)
    written = 0
    for item, state in zip(now.files, now.states, strict=True):
        if state != "same":
            _write(now.folder, item, over=state == "different")
            written += 1
    return written


def _write(folder: Path, item: Outgoing, *, over: bool) -> None:
    from assess.desk.new_file import write_new
    from assess.store.atomic import replace_file

    path = folder / item.name
    try:
        path.parent.mkdir(mode=0o700 if item.private else 0o755, parents=True, exist_ok=True)
        if over:
            replace_file(path, item.content, mode=PRIVATE if item.private else OPEN)
    except OSError as trouble:
        raise _cannot("be written", path, trouble) from trouble
    if not over:
        write_new(path, item.content, private=item.private)


def _cannot(done: str, path: Path, trouble: OSError) -> StorageTrouble:
    from assess.store.disk import why

    return StorageTrouble(f"cannot {done}: {why(trouble)}", where=str(path), todo="look at the folder")
