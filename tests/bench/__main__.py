"""`python -m tests.bench [words]`: the speed of what users wait for, as ratios; prints a table, fails nothing.

Words choose the groups: files, screens, courses, statistics, coverage. All but the last without any: coverage is no
speed but a simulation of a few minutes, how often the intervals of the statistics hold what they should.
"""

from __future__ import annotations

import importlib.metadata
import platform
import sys
from collections.abc import Callable, Iterator

from tests.bench import courses, coverage, files, screens, statistics
from tests.bench.measuring import Measured

GROUPS: dict[str, Callable[[], Iterator[Measured | str]]] = {
    "courses": courses.rows,
    "coverage": coverage.rows,
    "files": files.rows,
    "screens": screens.rows,
    "statistics": statistics.rows,
}


def main(words: list[str]) -> None:
    """Measure the chosen groups and print one row after the other."""
    versions = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in ("textual", "pydantic", "typer"))
    print(f"Python {platform.python_version()}, {versions}")
    print(f"{'what':52} {'size':24} {'ours':>9} {'other':>9} {'ratio':>7}  against, goal")
    for name in words or sorted(GROUPS.keys() - {"coverage"}):
        for row in GROUPS[name]():
            if isinstance(row, str):
                print(row, flush=True)
                continue
            met = {True: "met", False: "MISSED", None: ""}[row.met]
            other = f"{row.other * 1000:7.1f}ms {row.ratio:7.3g}" if row.other == row.other else f"{'-':>9} {'-':>7}"
            times = f"{row.ours * 1000:7.1f}ms {other}"
            print(f"{row.what:52} {row.size:24} {times}  {row.other_name}; {row.goal}: {met}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
