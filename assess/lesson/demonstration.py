"""Measures of a demonstration from its turns: evidence for the assessor, never a score by itself.

Every measure stands beside its noise floor: about how large it would read were there nothing but measuring error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import sqrt
from statistics import fmean

from assess.lesson.last_bit import below
from assess.lesson.measures import (
    coefficient_of_variation,
    least_squares_slope,
    noise_cv,
    symmetry_index,
    theil_sen,
    within_side_cv,
)  # fmt: skip
from assess.lesson.results import MeasureReading
from assess.lesson.rounding import rounded
from assess.lesson.turns import Precision, Turn, TurnKind, by_run, checked_turns

__all__ = ["MEASURES", "read_demonstration"]

Targets = Mapping[str, tuple[float, float]]
MEASURES = (
    "symmetry", "rhythm", "corridor width", "corridor evenness", "corridor drift", "speed control", "speed kept",
    "turn shape", "edge angle",
)  # fmt: skip
UNITS = {
    "symmetry": "%", "rhythm": "%", "corridor width": "m", "corridor evenness": "%", "corridor drift": "m per turn",
    "speed control": "m/s per turn", "speed kept": "%", "turn shape": "%", "edge angle": "°",
}  # fmt: skip
SAME_SLOPE = 2.0
ROUND_LOW, ROUND_HIGH, Z_SHARE = 0.25, 0.40, 0.60
PHONE = (
    "a phone's positions on slopes are off by about 4 to 6 m (Petrella, Ellenberger & Gilgien 2025):"
    " a lane a few metres wide cannot be judged with it; a differential receiver or film can"
)
WEDGE = (
    "not computed for wedge turns: turn detection found about half of them in the published study;"
    " mark the turns by film instead"
)
DRIFTED = "drifted turns: the published detection missed about one in six, so look whether all turns are there"


def read_demonstration(
    turns: Sequence[Turn], kind: TurnKind, precision: Precision, targets: Targets | None = None
) -> tuple[MeasureReading, ...]:
    """One reading per measure of `MEASURES`, in that order; a measure without its columns is void with the reason.

    targets: by measure, the range the task sets (in the measure's unit). Raises ValueError as `checked_turns` does,
    and for a target of no measure.
    """
    stray = sorted(set(targets or {}) - set(MEASURES))
    if stray:
        raise ValueError(f"no such measure: {', '.join(stray)}; measures are {', '.join(MEASURES)}")
    rows = checked_turns(turns)
    if kind == "wedge":
        readings = [_void(name, WEDGE) for name in MEASURES]
    else:
        readings = [
            _symmetry(rows, precision), _rhythm(rows, precision), *_corridor(rows, precision),
            _speed_control(rows, precision), _speed_kept(rows), _shape(rows), _edge(rows),
        ]  # fmt: skip
        if kind == "drifted":
            readings = [replace(read, why=(*read.why, DRIFTED)) for read in readings]
    return tuple(_aimed(read, (targets or {}).get(read.name)) for read in readings)


def _void(name: str, reason: str) -> MeasureReading:
    return MeasureReading(name, UNITS[name], reason, None, 0, None, None, None, None, (reason,))


def _found(
    name: str, value: float, n: int, floor: float | None, *why: str, beyond: float | None = None
) -> MeasureReading:
    """A reading; `beyond`: what is compared with the floor when it is not the value itself."""
    if floor is None:
        clear, note = None, "how precise the method is was not given, so the noise floor is not known"
    else:
        clear = abs(value) > floor
        size = f"noise alone would read about {rounded(floor, 2):g} {UNITS[name]}"
        note = f"{size}: this is {'beyond' if clear else 'not beyond'} noise"
    return MeasureReading(name, UNITS[name], None, value, n, floor, clear, None, None, (*why, note))


def _aimed(read: MeasureReading, target: tuple[float, float] | None) -> MeasureReading:
    if target is None:
        return read
    low, high = target
    if read.value is None:
        return replace(read, target=target)
    inside = low <= read.value <= high
    note = f"{'inside' if inside else 'outside'} the range of the task, {low:g} to {high:g} {read.unit}"
    return replace(read, target=target, in_target=inside, why=(*read.why, note))


def _sides(turns: Sequence[Turn]) -> tuple[list[float], list[float]]:
    left = [turn.seconds for turn in turns if turn.side == "left"]
    right = [turn.seconds for turn in turns if turn.side == "right"]
    return left, right


def _symmetry(turns: Sequence[Turn], precision: Precision) -> MeasureReading:
    left, right = _sides(turns)
    if not left or not right:
        return _void("symmetry", "turns to both sides are needed")
    floor = None
    if precision.switch_s is not None:
        floor = 100 * noise_cv(precision.switch_s, fmean([*left, *right])) * sqrt(1 / len(left) + 1 / len(right))
    longer = "left" if fmean(left) > fmean(right) else "right"
    means = f"turns to the left last {rounded(fmean(left), 2):g} s, to the right {rounded(fmean(right), 2):g} s"
    value = 100 * symmetry_index(left, right)
    why = f"{means}; the {longer} ones are longer" if value > 0 else means
    return _found("symmetry", value, len(turns), floor, f"{why}; a cross-fall or a softer side does that too")


def _rhythm(turns: Sequence[Turn], precision: Precision) -> MeasureReading:
    left, right = _sides(turns)
    if len(turns) < 3 or max(len(left), len(right)) < 2:
        return _void("rhythm", "at least three turns, two of them to one side, are needed")
    times = [turn.seconds for turn in turns]
    floor = None if precision.switch_s is None else 100 * noise_cv(precision.switch_s, fmean(times))
    pooled = rounded(100 * coefficient_of_variation(times), 1)
    why = f"spread of turn times within each side; with both sides mixed it would read {pooled:g} %, asymmetry included"
    return _found("rhythm", 100 * within_side_cv(left, right), len(turns), floor, why)


def _corridor(turns: Sequence[Turn], precision: Precision) -> list[MeasureReading]:
    names = ("corridor width", "corridor evenness", "corridor drift")
    if precision.name == "phone" or any(turn.source == "phone" for turn in turns):
        return [_void(name, PHONE) for name in names]
    widths = [turn.width_m for turn in turns if turn.width_m is not None]
    offsets = [
        [(float(turn.n), turn.mid_offset_m) for turn in run if turn.mid_offset_m is not None]
        for run in by_run(turns).values()
    ]
    return [*_widths(widths, precision), _drift([run for run in offsets if len(run) > 1], precision)]


def _widths(widths: Sequence[float], precision: Precision) -> list[MeasureReading]:
    if len(widths) < 2 or fmean(widths) == 0:
        reason = "the width of at least two turns is needed"
        return [_void("corridor width", reason), _void("corridor evenness", reason)]
    place = precision.place_m
    # A width is the difference of two places.
    floor = None if place is None else sqrt(2) * place
    even = None if floor is None else 100 * floor / fmean(widths)
    mean = f"{rounded(fmean(widths), 2):g} m on average"
    return [
        _found("corridor width", fmean(widths), len(widths), floor, f"{mean}, measured from the run's own main axis"),
        _found(
            "corridor evenness", 100 * coefficient_of_variation(widths), len(widths), even, f"spread of widths, {mean}"
        ),
    ]


def _drift(runs: Sequence[Sequence[tuple[float, float]]], precision: Precision) -> MeasureReading:
    if not runs:
        return _void("corridor drift", "the middle of at least two turns of a run is needed")
    centred = [point for run in runs for point in _centred(run)]
    spread = sum(x * x for x, _ in centred)
    floor = None if precision.place_m is None else precision.place_m / sqrt(spread)
    why = "how far the middle of the turns moves sideways per turn; a cross-fall pulls everybody the same way"
    return _found("corridor drift", least_squares_slope(centred), len(centred), floor, why)


def _centred(run: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Each run around its own middle, so that several runs share one slope but no place."""
    x0, y0 = fmean(x for x, _ in run), fmean(y for _, y in run)
    return [(x - x0, y - y0) for x, y in run]


def _speed_control(turns: Sequence[Turn], precision: Precision) -> MeasureReading:
    runs = []
    for run in by_run(turns).values():
        points = [(float(t.n), (t.v_in + t.v_out) / 2) for t in run if t.v_in is not None and t.v_out is not None]
        if len(points) > 1:
            runs.append(points)
    if not runs:
        return _void("speed control", "speeds at the start and end of at least two turns of a run are needed")
    slopes = [turn.slope_deg for turn in turns if turn.slope_deg is not None]
    if slopes and not below(max(slopes) - min(slopes), SAME_SLOPE):
        low, high = min(slopes), max(slopes)
        return _void("speed control", f"the ground goes from {low:g}° to {high:g}°: compare speeds on even ground only")
    ground = (
        "on even ground"
        if slopes
        else "whether the ground was even is not recorded: speeds compare on even ground only"
    )
    spread = sum(x * x for run in runs for x, _ in _centred(run))
    floor = None if precision.speed_ms is None else precision.speed_ms / sqrt(spread)
    n = sum(len(run) for run in runs)
    return _found(
        "speed control", theil_sen(runs), n, floor, f"how much faster each turn is than the one before; {ground}"
    )


def _speed_kept(turns: Sequence[Turn]) -> MeasureReading:
    kept = [turn.v_out / turn.v_in for turn in turns if turn.v_in and turn.v_out is not None]
    if not kept:
        return _void("speed kept", "speeds at the start and end of a turn are needed")
    why = f"speed at the end of a turn against its start, from {100 * min(kept):.0f} to {100 * max(kept):.0f} %"
    return _found("speed kept", 100 * fmean(kept), len(kept), None, why)


def _shape(turns: Sequence[Turn]) -> MeasureReading:
    shapes = [turn.thirds for turn in turns if turn.thirds is not None]
    if not shapes:
        return _void("turn shape", "the heading through each turn is needed")
    even = sum(all(ROUND_LOW <= share <= ROUND_HIGH for share in shares) for shares in shapes)
    sharp = sum(max(shares) > Z_SHARE for shares in shapes)
    first = 100 * fmean(shares[0] for shares in shapes)
    why = (
        f"{rounded(first, 0):.0f} % of the turning is done in the first third; round (each third a quarter to two"
        f" fifths): {even} of {len(shapes)} turns; Z-shaped (more than {100 * Z_SHARE:.0f} % in one third): {sharp}"
    )
    return _found("turn shape", 100 * even / len(shapes), len(shapes), None, why)


def _edge(turns: Sequence[Turn]) -> MeasureReading:
    peaks = [turn.edge_peak for turn in turns if turn.edge_peak is not None]
    if not peaks:
        return _void("edge angle", "edge angles are needed")
    why = (
        "mean of the peaks, in whole degrees: sensors agree to about 1° on a ski ergometer"
        " (Hummel, Huber & Spitzenpfeil 2024); on snow that is not shown"
    )
    return _found("edge angle", rounded(fmean(peaks), 0), len(peaks), None, why)
