"""Commands for rubrics: show, diff, check."""

from __future__ import annotations

import typer

__all__ = ["add_to"]


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
