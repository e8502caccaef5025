"""The end of every command that makes files to hand on: what leaves is shown, then written, then said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assess.desk.outgoing import Planned

__all__ = ["folder_named", "hand_out"]


def folder_named(to: Path | None, *, dry_run: bool) -> Path:
    """The folder the files go into; for a look without one, the one we are in. Raises UsageError without any."""
    from assess.records.errors import UsageError

    if to is None and not dry_run:
        raise UsageError("where to?", todo="name a folder with --to, or look first with --dry-run")
    return to or Path()


def hand_out(
    planned: Planned, *, dry_run: bool, replace: bool, as_json: bool, told: Sequence[str] = (),
    more: Mapping[str, Any] | None = None, following: Sequence[str] = (),
) -> int:  # fmt: skip
    """Show what would be written, write it unless it is a dry run, say how much was; 0 for the exit code.

    told: lines after those of the files. more: further keys of the document. following: lines once it is written.
    Raises what `write_out` raises; in lines, what would have been written was shown by then.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.outgoing import preview_json, preview_lines, write_out

    if not as_json:
        show_lines([*preview_lines(planned), *told])
    written = 0 if dry_run else write_out(planned, replace=replace)
    if as_json:
        show_json({**preview_json(planned, written=not dry_run), **(more or {})})
    elif dry_run:
        show_lines(["nothing was written"])
    else:
        same = len(planned.files) - written
        show_lines([f"written: {written}" + (f", as they were: {same}" if same else ""), *following])
    return 0
