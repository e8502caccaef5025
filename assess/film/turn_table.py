"""Per-turn tables: one row per turn with its times and what was measured, or one value per turn; units are stated.

A column's unit stands in its name (`width_m`), in brackets behind it (`v_in [km/h]`), or is handed in from a side file.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import pi
from typing import Literal

from assess.film.number import decimal
from assess.film.table import CsvRow, CsvTable, read_table, told
from assess.records.errors import InputError, Problem

__all__ = ["TURN_COLUMNS", "TurnRow", "read_turns", "read_values"]

_TIME = {"s": 1.0, "ms": 0.001}
_SPEED = {"m/s": 1.0, "km/h": 1 / 3.6}
_ANGLE = {"deg": 1.0, "rad": 180 / pi}
_SHARE = {"share": 1.0, "%": 0.01}
_UNITS: dict[str, dict[str, float]] = {
    "t_start": _TIME, "t_end": _TIME, "v_in": _SPEED, "v_out": _SPEED, "heading_change": _ANGLE,
    "width_m": {"m": 1.0}, "mid_offset_m": {"m": 1.0}, "edge_peak": _ANGLE, "slope_deg": {"deg": 1.0},
    "third_1": _SHARE, "third_2": _SHARE, "third_3": _SHARE,
}  # fmt: skip
# Wide bounds: what lies outside is a wrong unit or a wrong column, not skiing.
_BOUNDS: dict[str, tuple[float, float]] = {
    "t_start": (0, 86_400), "t_end": (0, 86_400), "v_in": (0, 75), "v_out": (0, 75), "heading_change": (-360, 360),
    "width_m": (0, 500), "mid_offset_m": (-500, 500), "edge_peak": (0, 90), "slope_deg": (0, 60),
    "third_1": (-1, 2), "third_2": (-1, 2), "third_3": (-1, 2),
}  # fmt: skip
_BASE = {"t_start": "s", "t_end": "s", "v_in": "m/s", "v_out": "m/s", "width_m": "m", "mid_offset_m": "m"}
_SAYS_ITS_UNIT = {"width_m": "m", "mid_offset_m": "m", "slope_deg": "deg", "third_1": "share", "third_2": "share",
                  "third_3": "share"}  # fmt: skip
_REQUIRED = ("run", "n", "side", "t_start", "t_end")
_THIRDS = ("third_1", "third_2", "third_3")
TURN_COLUMNS = (*_REQUIRED, *(name for name in _UNITS if name not in _REQUIRED), "source")
"""Every column a table of turns may hold; the first five are needed."""

_SHORTEST_S, _LONGEST_S, _HIGHEST = 0.1, 60.0, 9999
_SIDES: dict[str, Literal["left", "right"]] = {"left": "left", "l": "left", "right": "right", "r": "right"}
_NAME = re.compile(r"([^\[\]]+?)(?:\s*\[\s*([^\[\]]*?)\s*\])?")


@dataclass(frozen=True, slots=True)
class TurnRow:
    """One turn as a table states it: seconds, m/s, degrees, metres; None where the table says nothing."""

    line: int
    run: int
    n: int
    side: Literal["left", "right"]
    t_start: float
    t_end: float
    v_in: float | None = None
    v_out: float | None = None
    heading_change: float | None = None
    width_m: float | None = None
    mid_offset_m: float | None = None
    edge_peak: float | None = None
    thirds: tuple[float, float, float] | None = None
    slope_deg: float | None = None
    source: str = ""


def read_turns(raw: bytes, shown: str, units: Mapping[str, str] | None = None) -> tuple[TurnRow, ...]:
    """The turns of a CSV table, in order of run and number, in SI units and degrees.

    Columns: `TURN_COLUMNS`. units: by column, from a side file. Raises InputError with the line of every unknown or
    missing column, unit that is not stated, cell that is no number or out of its bounds, turn that ends before it
    starts, stands twice or begins before the one before has ended.
    """
    table = read_table(raw, shown)
    names, factors = _columns(table, units or {})
    problems: list[Problem] = []
    rows = []
    for row in table.rows:
        cells = CsvRow(row.line, {name: row[head] for head, name in zip(table.header, names, strict=True)})
        wrong: list[tuple[str, str]] = []
        turn = _turn(cells, factors, wrong)
        problems += [Problem(shown, row.line, what, todo) for what, todo in wrong]
        rows += [turn] if turn is not None else []
    rows.sort(key=lambda turn: (turn.run, turn.n, turn.line))
    problems += [Problem(shown, line, what, todo) for line, what, todo in _between(rows)]
    if not table.rows:
        problems.append(Problem(shown, 1, "the table holds no turn", "one line for each turn follows the first line"))
    if problems:
        raise told(problems)
    return tuple(rows)


def read_values(raw: bytes, shown: str) -> tuple[tuple[float, ...], ...]:
    """One value per turn: the values of each run, in the order of runs and turns, from columns `run,turn,value`.

    Further columns are not read. Raises InputError with the line of every row that is none.
    """
    table = read_table(raw, shown)
    if table.header[:3] != ("run", "turn", "value"):
        what = "the first line does not name the columns"
        raise InputError([Problem(shown, 1, what, "begin with `run,turn,value`")])
    problems: list[Problem] = []
    found: dict[int, dict[int, float]] = {}
    for row in table.rows:
        run, turn, value = _whole(row["run"]), _whole(row["turn"]), decimal(row["value"])
        if run is None or turn is None or value is None:
            todo = "run and turn are whole numbers from 1, the value is a number"
            problems.append(Problem(shown, row.line, "is no row of `run,turn,value`", todo))
        elif turn in found.setdefault(run, {}):
            problems.append(Problem(shown, row.line, f"run {run} has turn {turn} twice", "number the turns of a run"))
        else:
            found[run][turn] = value
    if problems:
        raise told(problems)
    return tuple(tuple(value for _, value in sorted(found[run].items())) for run in sorted(found))


def _columns(table: CsvTable, units: Mapping[str, str]) -> tuple[list[str], dict[str, float]]:
    """The column each cell of the first line names, and what its numbers are multiplied with."""
    names, factors, wrong = [], {}, []
    for head in table.header:
        match = _NAME.fullmatch(head)
        name = match[1] if match else head
        names.append(name)
        if name not in TURN_COLUMNS:
            wrong.append(_unknown(name, table.header))
            continue
        if names.count(name) > 1:
            wrong.append((f"the column `{name}` stands twice", "keep one of them"))
        factor, trouble = _factor(name, match[2] if match else None, units.get(name))
        factors[name] = factor
        wrong += trouble
    wrong += [(f"the column `{name}` is missing", "add it") for name in _REQUIRED if name not in names]
    if 0 < sum(name in names for name in _THIRDS) < 3:
        wrong.append(("the thirds of the turning are not all there", f"give {', '.join(_THIRDS)} or none of them"))
    wrong += [
        (f"the side file gives a unit for `{name[:40]}`, which is no column here", "take it out")
        for name in units
        if name not in names
    ]
    if wrong:
        raise told([Problem(table.shown, 1, what, todo) for what, todo in wrong])
    return names, factors


def _unknown(name: str, header: Sequence[str]) -> tuple[str, str]:
    if tuple(header[:3]) == ("run", "turn", "value"):
        return "this is a table of one value per turn", "compare two of them with `assess change`"
    return f"the column `{name[:40]}` is not known", f"columns are {', '.join(TURN_COLUMNS)}"


def _factor(name: str, bracket: str | None, beside: str | None) -> tuple[float, list[tuple[str, str]]]:
    known = _UNITS.get(name)
    said = [unit for unit in (bracket, beside) if unit is not None]
    if known is None:
        return 1.0, [(f"`{name}` has no unit", "take the unit out")] if said else []
    if len(set(said)) > 1:
        return 1.0, [(f"the unit of `{name}` is {said[0][:20]} here and {said[1][:20]} in the side file", "settle it")]
    unit = said[0] if said else _SAYS_ITS_UNIT.get(name)
    choice = " or ".join(f"`{name} [{unit}]`" for unit in known)
    if unit is None:
        return 1.0, [(f"the unit of `{name}` is not stated", f"write {choice}, or `units` in a side file")]
    if unit not in known:
        return 1.0, [(f"`{name}` cannot be in `{unit[:20]}`", f"write {choice}")]
    return known[unit], []


def _whole(cell: str) -> int | None:
    number = int(cell) if re.fullmatch(r"[0-9]{1,4}", cell) else 0
    return number if 1 <= number <= _HIGHEST else None


def _turn(row: CsvRow, factors: Mapping[str, float], wrong: list[tuple[str, str]]) -> TurnRow | None:
    """The row as a turn; None with `wrong` grown where it is none."""
    before = len(wrong)
    run, n, side = _whole(row["run"]), _whole(row["n"]), _SIDES.get(row["side"].lower())
    if run is None or n is None:
        wrong.append(("run and n are whole numbers from 1", f"number runs and their turns, up to {_HIGHEST}"))
    if side is None:
        wrong.append((f"side is `{row['side'][:20]}`", "write left or right"))
    numbers = {name: _number(row, name, factor, wrong) for name, factor in factors.items() if name in _UNITS}
    start, end = numbers["t_start"], numbers["t_end"]
    if start is not None and end is not None and end <= start:
        wrong.append((f"the turn ends at {end:g} s and starts at {start:g} s", "t_end is later than t_start"))
    elif start is not None and end is not None and not _SHORTEST_S <= end - start <= _LONGEST_S:
        wrong.append(
            (f"the turn lasts {end - start:g} s", f"a turn lasts {_SHORTEST_S:g} to {_LONGEST_S:g} s; look at the unit")
        )
    thirds = _thirds([numbers.pop(name, None) for name in _THIRDS], wrong)
    if run is None or n is None or side is None or start is None or end is None or len(wrong) > before:
        return None
    rest = {name: value for name, value in numbers.items() if name not in ("t_start", "t_end")}
    return TurnRow(row.line, run, n, side, start, end, thirds=thirds, source=row["source"], **rest)


def _number(row: CsvRow, name: str, factor: float, wrong: list[tuple[str, str]]) -> float | None:
    cell = row[name]
    if not cell and name not in _REQUIRED:
        return None
    value = decimal(cell)
    if value is None:
        wrong.append((f"{name} is `{cell[:20]}`, which is no number", "write a plain number with a decimal point"))
        return None
    low, high = _BOUNDS[name]
    value *= factor
    if not low <= value <= high:
        unit = _BASE.get(name, "share" if name in _THIRDS else "deg")
        wrong.append((f"{name} is {value:g} {unit}", f"from {low:g} to {high:g} {unit}; look at the unit"))
        return None
    return round(value, 9)


def _thirds(shares: Sequence[float | None], wrong: list[tuple[str, str]]) -> tuple[float, float, float] | None:
    first, middle, last = shares
    if first is None and middle is None and last is None:
        return None
    if first is None or middle is None or last is None or abs(first + middle + last - 1) > 0.01:
        wrong.append(("the thirds of the turning do not add up to 1", "give the share of each third, or none"))
        return None
    return first, middle, last


def _between(rows: Iterable[TurnRow]) -> Iterable[tuple[int, str, str]]:
    for before, turn in pairwise(rows):
        if before.run != turn.run:
            continue
        if before.n == turn.n:
            yield turn.line, f"run {turn.run} has turn {turn.n} twice", "number the turns of a run"
        elif turn.t_start < before.t_end - 1e-9:
            yield turn.line, f"turn {turn.n} starts before turn {before.n} has ended", "put the times right"
