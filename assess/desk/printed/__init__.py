"""What every command prints with `--json`, and the JSON files of ours, as JSON Schema: the contract with programs."""

from __future__ import annotations

from typing import Any

from assess.desk.printed import figures, keeping, lessons, marking, outcomes, rounds
from assess.desk.printed.files import FILES
from assess.desk.printed.shapes import TEXT, Shape, either, shape_schema

__all__ = ["FILES", "PRINTED", "file_schema", "printed_schema"]

_REFUSED: Shape = {"refused": {"what": TEXT, "where": TEXT, "todo": TEXT}}
_FAMILIES = (marking, outcomes, lessons, rounds, figures, keeping)

PRINTED: dict[str, tuple[Shape, ...]] = {
    f"json-{command.replace(' ', '-')}": shapes for family in _FAMILIES for command, shapes in family.DOCUMENTS.items()
}
"""Name of the schema (`json-person-due` of `assess person due`) -> the documents the command may print."""


def printed_schema(name: str) -> dict[str, Any]:
    """The schema of what a command prints, a refusal included."""
    command = name.removeprefix("json-").replace("-", " ")
    described = (
        f"What `assess {command} --json` prints, or why it is refused (exit 1). Keys may be added; none is renamed or"
        " taken away, and a reader ignores those it does not know."
    )
    return {"description": described, **shape_schema(either(*PRINTED[name], _REFUSED))}


def file_schema(name: str) -> dict[str, Any]:
    """The schema of a JSON file of ours that no model reads back."""
    described, shape = FILES[name]
    return {"description": f"{described} Keys may be added; none is renamed or taken away.", **shape_schema(shape)}
