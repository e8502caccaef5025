"""The command line: arguments in, text or one JSON document out."""

from __future__ import annotations

from typing import NoReturn

__all__ = ["main"]


def main() -> NoReturn:
    """Run the command in `sys.argv` and end the process with its exit code."""
    import sys

    from assess.cli.running import run

    raise SystemExit(run(sys.argv[1:]))
