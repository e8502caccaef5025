"""The only place that writes to the terminal: results to stdout, everything else to stderr."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from typing import Any

__all__ = [
    "can_show_screen",
    "complain",
    "on_terminal",
    "settle",
    "show_bytes",
    "show_json",
    "show_lines",
    "told_share",
]


def settle() -> None:
    """Let both streams write every text: what the terminal's encoding lacks is spelled out, never an error."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace", newline="\n")


def show_lines(lines: Iterable[str]) -> None:
    """Write lines to stdout; control characters in them are shown as pictures."""
    from assess.records.text import pictured

    for line in lines:
        sys.stdout.write(pictured(line).rstrip() + "\n")


def show_json(document: Any) -> None:
    """Write one JSON document to stdout, in UTF-8 whatever the terminal's encoding is."""
    import json

    text = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1)
    show_bytes((text + "\n").encode("utf-8", "backslashreplace"))


def show_bytes(content: bytes) -> None:
    """Write bytes to stdout as they are."""
    binary = getattr(sys.stdout, "buffer", None)
    if binary is None:
        sys.stdout.write(content.decode("utf-8"))
        return
    sys.stdout.flush()
    binary.write(content)
    binary.flush()


def complain(text: str) -> None:
    """Write lines to stderr; control characters in them are shown as pictures."""
    from assess.records.text import pictured

    for line in text.split("\n"):
        sys.stderr.write(pictured(line) + "\n")
    sys.stderr.flush()


def told_share(what: str) -> Callable[[float], bool] | None:
    """Who tells on stderr how far something is, in one line written over; None where stderr is no terminal."""
    if sys.stderr is None or not sys.stderr.isatty():
        return None

    def tell(share: float) -> bool:
        line = f"{what}: {100 * share:3.0f} %"
        sys.stderr.write(f"\r{' ' * len(line)}\r" if share >= 1 else f"\r{line}")
        sys.stderr.flush()
        return True

    return tell


def on_terminal() -> bool:
    """True when a person can be asked and shown a screen: stdin and stdout are terminals."""
    return sys.stdin is not None and sys.stdin.isatty() and sys.stdout.isatty()


def can_show_screen() -> bool:
    """True on a terminal that can place a cursor; one that says it is `dumb` gets lines, and can still be asked."""
    return on_terminal() and os.environ.get("TERM", "") not in ("dumb", "unknown")
