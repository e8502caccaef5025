"""A report of a fault of the program: where it happened, and nothing of anybody's data."""

from __future__ import annotations

import platform
import sys
import traceback
from datetime import UTC, datetime
from pathlib import Path

from assess import __version__

__all__ = ["crash_lines", "keep_crash"]

_PACKAGE = Path(__file__).resolve().parent.parent


def crash_lines(error: BaseException) -> list[str]:
    """Versions, the kinds of error, and per frame file:line and function. No messages, values, words or folders.

    A message may quote a name or a mark, and the folder of a file may hold the name of its owner.
    """
    lines = [
        f"assess {__version__}",
        f"python {platform.python_version()} on {platform.system()} {platform.machine()}",
    ]
    for one in _causes(error):
        lines.append("")
        lines.append(type(one).__name__)
        lines += [
            f"  {_place(frame.filename)}:{frame.lineno} {frame.name}"
            for frame in traceback.extract_tb(one.__traceback__)
        ]
    return lines


def _causes(error: BaseException) -> list[BaseException]:
    """The error and what led to it, the first cause first; each once."""
    chain: list[BaseException] = []
    one: BaseException | None = error
    while one is not None and one not in chain:
        chain.append(one)
        one = one.__cause__ or one.__context__
    return chain[::-1]


def _place(filename: str) -> str:
    path = Path(filename)
    if path.is_relative_to(_PACKAGE):
        return f"assess/{path.relative_to(_PACKAGE)}"
    for root in sorted(
        {*map(Path, sys.path), Path(sys.prefix), Path(sys.base_prefix)}, key=lambda item: -len(item.parts)
    ):
        if len(root.parts) > 2 and path.is_relative_to(root):
            return str(path.relative_to(root))
    return path.name


def keep_crash(error: BaseException) -> Path:
    """Write the report into the state folder; the file. Raises OSError when it cannot be written there."""
    from assess.store.folders import state_folder

    folder = state_folder() / "crashes"
    folder.mkdir(parents=True, exist_ok=True)
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    file = folder / f"crash-{stamp}.txt"
    file.write_text("\n".join(crash_lines(error)) + "\n", encoding="utf-8", newline="\n")
    return file
