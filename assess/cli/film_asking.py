"""Asking on the terminal for what a new film lacks: a number, a word or its beginning answers."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["ask", "chosen"]

TRIES = 3


def ask(question: str, choices: Sequence[tuple[str, str]]) -> str | None:
    """Ask on the terminal; None without one, when nothing was answered, or after three answers that fit no choice."""
    import sys

    from assess.cli.say import complain, on_terminal

    if not on_terminal():
        return None
    complain(question)
    for place, (answer, words) in enumerate(choices, 1):
        complain(f"  {place}  {words or answer}")
    for _ in range(TRIES):
        sys.stderr.write(f"1 to {len(choices)}> " if choices else "> ")
        sys.stderr.flush()
        line = sys.stdin.readline()
        said = line.strip()
        if not choices or not line:
            return said or None
        found = chosen(said, choices)
        if found is not None:
            return found
        complain(f"type a number from 1 to {len(choices)}")
    return None


def chosen(said: str, choices: Sequence[tuple[str, str]]) -> str | None:
    """What somebody meant: by number, id, words, or a beginning that only one of them has; None for nothing of it."""
    want = said.casefold()
    if said.isascii() and said.isdigit() and 1 <= int(said) <= len(choices):
        return choices[int(said) - 1][0]
    told = [(answer, (answer.casefold(), words.casefold())) for answer, words in choices]
    whole = [answer for answer, names in told if want in names]
    begun = [answer for answer, names in told if want and any(name.startswith(want) for name in names)]
    found = whole or begun
    return found[0] if len(found) == 1 else None
