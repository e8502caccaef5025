"""Numbers as files write them: plain decimals, nothing else that a language would take for a number."""

from __future__ import annotations

import re

__all__ = ["decimal"]

_DECIMAL = re.compile(r"[+-]?(?:\d{1,18}(?:\.\d{0,30})?|\.\d{1,30})(?:[eE][+-]?\d{1,2})?", re.ASCII)
_LARGEST = 1e12


def decimal(text: str) -> float | None:
    """The number a text states, to nine decimals; None for anything else: `NaN`, `inf`, `1_000`, `1,5`, `=1+1`."""
    if not _DECIMAL.fullmatch(text):
        return None
    value = float(text)
    # Nine decimals are finer than any instrument, and keep quotients of readings finite.
    return round(value, 9) if abs(value) <= _LARGEST else None
