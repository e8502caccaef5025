"""The templates of pages and cards: every text in them is escaped, and a value that is missing is an error."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from assess.reports.library import library

__all__ = ["TEMPLATES", "environment"]

TEMPLATES = Path(__file__).parent / "templates"


def environment() -> Any:
    """A new jinja2 environment over the templates; `shown` pictures control and direction characters."""
    with library("jinja2", "a page"):
        from jinja2 import Environment, FileSystemLoader, StrictUndefined

    from assess.records.text import pictured

    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["shown"] = pictured
    return made
