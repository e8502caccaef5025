"""Streams at the end of the program: what was said goes out, or nobody waits for it."""

from __future__ import annotations

import os
from typing import TextIO

__all__ = ["flushed", "silence"]


def flushed(*streams: TextIO) -> bool:
    """Whether everything went out. A terminal that is gone is let go of: Python would end with 120 for it.

    Raises BrokenPipeError when a reader has seen enough.
    """
    gone = []
    for stream in streams:
        try:
            stream.flush()
        except BrokenPipeError:
            raise
        except OSError:
            silence(stream)
            gone.append(stream)
    return not gone


def silence(stream: TextIO) -> None:
    """Let whatever is still written there go nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
