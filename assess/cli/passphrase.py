"""A passphrase: typed unseen on a terminal, or handed in through a descriptor; never a word of the command line."""

from __future__ import annotations

import os
import sys

__all__ = ["ask_passphrase"]

_MOST = 4096
_TRIES = 3


def ask_passphrase(question: str, *, twice: bool = False) -> str:
    """The passphrase, from the first line of the descriptor `ASSESS_PASSPHRASE_FD` names, else from the terminal.

    Words of a command line and variables can be seen by other programs; a descriptor cannot.
    twice: on a terminal it is typed again, so that a slip does not make a key nobody can open.
    Raises UsageError when there is neither a descriptor nor a terminal, or the two typed differ three times.
    """
    from assess.records.errors import UsageError

    named = os.environ.get("ASSESS_PASSPHRASE_FD", "")
    if named:
        return _from_descriptor(named)
    if sys.stdin is None or not sys.stdin.isatty():
        todo = "run it on a terminal, or name an open descriptor in ASSESS_PASSPHRASE_FD"
        raise UsageError("there is no terminal on which to ask for the passphrase", todo=todo)
    import getpass

    from assess.cli.say import complain

    for _ in range(_TRIES):
        typed = getpass.getpass(f"{question}: ")
        if not twice or typed == getpass.getpass("once more: "):
            return typed
        complain("the two differ")
    raise UsageError("the two differ", todo="try again")


def _from_descriptor(named: str) -> str:
    from assess.records.errors import UsageError

    trouble = UsageError(f"ASSESS_PASSPHRASE_FD is {named}, which is no open descriptor", todo="name one, like 3")
    raw = b""
    try:
        while b"\n" not in raw and len(raw) < _MOST and (part := os.read(int(named), _MOST - len(raw))):
            raw += part
    except (ValueError, OSError, OverflowError):
        raise trouble from None
    try:
        return raw.split(b"\n", 1)[0].rstrip(b"\r").decode("utf-8")
    except UnicodeDecodeError:
        raise UsageError("the passphrase is not UTF-8", todo="hand it in as UTF-8") from None
