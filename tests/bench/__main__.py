"""`python -m tests.bench [words]`: the speed of what users wait for, as ratios; prints a table, fails nothing.

Words choose the groups: files, letters, plans, screens, courses, statistics; without any, all. Other words are no
speed but seeded simulations of some minutes: coverage (how often the intervals of the statistics hold what they
should), severity (how true severities come out of the Rasch model), decisions (how often a written rule passes who
should not, and what that costs in markings), again (how near the chance of the same outcome comes to what repeats),
rounds (how often the flags of a calibration round are false, and how often a habit is missed) and devices (whether
several copies of a course come to the same whatever the order of acts, merges and crashes). A number after one of
these is how many data sets it draws: `python -m tests.bench severity 500`.
"""

from __future__ import annotations

import importlib.metadata
import platform
import sys
from collections.abc import Callable, Iterator

from tests.bench import (
    again,
    courses,
    coverage,
    decisions,
    devices,
    files,
    letters,
    plans,
    rounds,
    screens,
    severity,
    statistics,
)
from tests.bench.measuring import Measured

GROUPS: dict[str, Callable[[], Iterator[Measured | str]]] = {
    "courses": courses.rows,
    "files": files.rows,
    "letters": letters.rows,
    "plans": plans.rows,
    "screens": screens.rows,
    "statistics": statistics.rows,
}
SIMULATIONS: dict[str, Callable[..., Iterator[str]]] = {
    "coverage": coverage.rows,
    "decisions": decisions.rows,
    "devices": devices.rows,
    "severity": severity.rows,
    "again": again.rows,
    "rounds": rounds.rows,
}


def chosen(words: list[str]) -> Iterator[Iterator[Measured | str]]:
    """The rows of the groups that were named, of all speeds without a name; a number counts for the word before it."""
    named = words or sorted(GROUPS)
    for word, after in zip(named, [*named[1:], ""], strict=True):
        if word in SIMULATIONS:
            yield SIMULATIONS[word](int(after)) if after.isdecimal() else SIMULATIONS[word]()
        elif not word.isdecimal():
            yield GROUPS[word]()


def main(words: list[str]) -> None:
    """Measure the chosen groups and print one row after the other."""
    versions = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in ("textual", "pydantic", "typer"))
    print(f"Python {platform.python_version()}, {versions}")
    print(f"{'what':52} {'size':24} {'ours':>9} {'other':>9} {'ratio':>7}  against, goal")
    for group in chosen(words):
        for row in group:
            if isinstance(row, str):
                print(row, flush=True)
                continue
            met = {True: "met", False: "MISSED", None: ""}[row.met]
            other = f"{row.other * 1000:7.1f}ms {row.ratio:7.3g}" if row.other == row.other else f"{'-':>9} {'-':>7}"
            times = f"{row.ours * 1000:7.1f}ms {other}"
            print(f"{row.what:52} {row.size:24} {times}  {row.other_name}; {row.goal}: {met}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
