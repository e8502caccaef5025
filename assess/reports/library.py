"""A library of other people, imported where it is needed: missing, or here but unable to run, it is one sentence."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from assess.records.errors import LibraryTrouble

__all__ = ["library"]

_SHORT = 120


@contextmanager
def library(name: str, makes: str, *, install: str = "", instead: str = "") -> Iterator[None]:
    """Round the imports of a library that `makes` something ("a workbook").

    install: what mends it, when that is not `pip install --force-reinstall NAME`; instead: what works without it.
    Raises LibraryTrouble when it is not installed, and when it is but cannot be imported here, whatever it raises: a
    library built for another version of NumPy may raise anything.
    """
    try:
        yield
    except Exception as error:
        mend = install or f"`pip install --force-reinstall {name}` may mend it"
        todo = mend + (f"; {instead}" if instead else "")
        raise LibraryTrouble(f"{makes} needs the library {name}, {_state(name, error)}", todo=todo) from error


def _state(name: str, error: Exception) -> str:
    if isinstance(error, ModuleNotFoundError) and error.name is not None and error.name.split(".")[0] == name:
        return "which is not installed"
    said = re.sub(r"\s+", " ", str(error)).strip()
    reason = said if len(said) <= _SHORT else said[: _SHORT - 1].rstrip() + "…"
    return f"which is installed but cannot run here ({reason or type(error).__name__})"
