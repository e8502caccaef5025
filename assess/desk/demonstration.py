"""A demonstration read from a track or a table of turns: measures for the assessor, never a score."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from math import sqrt
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.desk.turns_about import StatedPrecision, turns_about

if TYPE_CHECKING:
    from assess.lesson.results import MeasureReading
    from assess.lesson.track_turns import RunTurns
    from assess.lesson.turns import Precision, Turn, TurnKind

__all__ = ["CAUTION", "Demonstration", "demonstration_json", "demonstration_read"]

CAUTION = "Evidence for the assessor, never a score."
_NOT_SAID = "not said"
_PHONE = "phone"


@dataclass(frozen=True)
class Demonstration:
    """What a file of turns lets be said.

    readings: one per measure. turns: those used, by run and number; seen: all a track shows, None for a table.
    Of wedge turns nothing is used.
    notes: what was taken for granted, and what the file may not tell.
    """

    file: str
    kind: TurnKind
    method: Precision
    turns: tuple[Turn, ...]
    seen: int | None
    readings: tuple[MeasureReading, ...]
    notes: tuple[str, ...]

    @property
    def refused(self) -> bool:
        """Nothing is computed for turns of this kind."""
        return self.kind == "wedge"


@dataclass(frozen=True)
class _Cut:
    turns: tuple[Turn, ...]
    seen: int | None = None
    sampling_s: float | None = None
    notes: tuple[str, ...] = ()


def demonstration_read(path: Path, kind: TurnKind | None = None, method: str | None = None) -> Demonstration:
    """The measures of a demonstration from a GPX 1.1 track or a CSV table of turns.

    kind, method: as said here, else as in the side file of the same name ending in `.yaml`; a track is taken for a
    phone's, turns of a kind nobody said for drifted ones, the more doubtful. Raises InputError with every problem of
    both files.
    """
    from assess.film.gpx import LARGEST_TRACK
    from assess.lesson.demonstration import read_demonstration
    from assess.store.reading import whole_file

    shown = str(path)
    raw = whole_file(path, shown, LARGEST_TRACK)
    about = turns_about(path)
    known_kind: TurnKind = kind or about.kind or "drifted"
    notes = [] if kind or about.kind else ["the kind of turns was not said: they are read as drifted ones"]
    method = method or about.method
    if _is_track(path, raw):
        method = method or _PHONE
        cut = _from_track(raw, shown, method, known_kind)
    else:
        cut = _from_table(raw, shown, about.units)
        method = method or _only_source(cut.turns)
    precision = _precision(method, about.precision, cut)
    readings = read_demonstration(cut.turns, known_kind, precision, about.targets)
    if known_kind == "wedge":
        return Demonstration(shown, known_kind, precision, (), None, readings, ())
    notes += [*cut.notes, *([precision.caution] if precision.caution else []), *_unknown_precision(precision)]
    return Demonstration(shown, known_kind, precision, cut.turns, cut.seen, readings, tuple(notes))


def demonstration_json(found: Demonstration) -> dict[str, Any]:
    """The measures as other programs read them; a measure that is void is null with the reason in `void`."""
    from assess.lesson.rounding import rounded_or_none

    return {
        "file": found.file,
        "kind": found.kind,
        "method": {
            "name": found.method.name,
            "switch_s": rounded_or_none(found.method.switch_s),
            "place_m": rounded_or_none(found.method.place_m),
            "speed_ms": rounded_or_none(found.method.speed_ms),
        },
        "n_turns": len(found.turns),
        "n_seen": found.seen,
        "n_runs": len({turn.run for turn in found.turns}),
        "measures": [
            {
                "name": read.name, "unit": read.unit, "void": read.void, "value": rounded_or_none(read.value),
                "n": read.n, "noise_floor": rounded_or_none(read.noise_floor), "beyond_noise": read.beyond_noise,
                "target": list(read.target) if read.target else None, "in_target": read.in_target,
                "why": list(read.why),
            }
            for read in found.readings
        ],
        "notes": list(found.notes),
        "caution": CAUTION,
    }  # fmt: skip


def _is_track(path: Path, raw: bytes) -> bool:
    """Told by the name, else by the first sign: `<` in UTF-8 or UTF-16."""
    if path.suffix.lower() in (".gpx", ".csv"):
        return path.suffix.lower() == ".gpx"
    return raw[:64].lstrip(b"\xef\xbb\xbf\xff\xfe\0 \t\r\n").startswith(b"<")


def _from_table(raw: bytes, shown: str, units: Mapping[str, str]) -> _Cut:
    from assess.film.turn_table import read_turns
    from assess.lesson.turns import Turn

    rows = read_turns(raw, shown, units)
    names = [field.name for field in fields(Turn)]
    return _Cut(tuple(Turn(**{name: getattr(row, name) for name in names}) for row in rows))


def _only_source(turns: Sequence[Turn]) -> str:
    sources = {turn.source for turn in turns if turn.source}
    return sources.pop() if len(sources) == 1 else _NOT_SAID


def _from_track(raw: bytes, shown: str, method: str, kind: TurnKind) -> _Cut:
    """The turns of every run of a track; of wedge turns none are cut."""
    from assess.film.gpx import read_gpx
    from assess.film.local_metres import local_metres
    from assess.lesson.track_turns import Fix, moving_runs, turns_of_run

    pieces = read_gpx(raw, shown)
    if kind == "wedge":
        return _Cut(())
    plan = iter(local_metres([(point.lat, point.lon) for piece in pieces for point in piece]))
    tracked = [[Fix(point.t, *next(plan)) for point in piece] for piece in pieces]
    moving = [run for piece in tracked for run in moving_runs(piece)]
    runs = [turns_of_run(at, run, method, places=method != _PHONE) for at, run in enumerate(moving, 1)]
    turns = tuple(turn for run in runs for turn in run.turns)
    sampling = max((run.sampling_s for run in runs), default=None)
    return _Cut(turns, sum(run.seen for run in runs), sampling, tuple(_track_notes(runs, sampling)))


def _track_notes(runs: Sequence[RunTurns], sampling: float | None) -> list[str]:
    if sampling is None:
        return ["nobody moves in this track for three seconds: there is no run in it"]
    notes = [
        "the first and the last turn of a run are not timed: how they begin or end is no switch",
        "speeds are over the plan, without height; the slope under a turn and edge angles are not in a track",
    ]
    if len(runs) > 1:
        parted = f"standing, a lost signal or a leap of the receiver parts the track into {len(runs)} runs"
        notes.insert(0, f"{parted}; lifts and waits do not belong in it")
    for run in runs:
        if run.unsteady:
            notes.append(
                f"positions scatter by about {run.scatter_m:.2g} m from one reading to the next: in that run turns"
                " cannot be told from scatter and none are counted; mark the turns by film instead"
            )
            break
    if sampling > 0.11:
        notes.append(
            f"one reading every {sampling:.2g} s: turns shorter than about {4 * sampling:.2g} s may be missing or"
            " wrong; 10 to 50 readings a second are wanted for turn times and turn shape"
        )
    return notes


def _precision(method: str, stated: StatedPrecision, cut: _Cut) -> Precision:
    """What is known of the method: what was stated, else what is published; no finer than the track's readings."""
    from assess.lesson.turns import METHODS, Precision

    known = METHODS.get(method, Precision(method))
    known = replace(
        known,
        switch_s=stated.switch_s or known.switch_s,
        place_m=stated.place_m or known.place_m,
        speed_ms=stated.speed_ms or known.speed_ms,
    )
    if known.switch_s is None or cut.sampling_s is None:
        return known
    # The spread of a time that is known only to lie somewhere between two readings.
    return replace(known, switch_s=max(known.switch_s, cut.sampling_s / sqrt(12)))


def _unknown_precision(precision: Precision) -> list[str]:
    lacking = [
        name
        for name, value in (
            ("switch_s", precision.switch_s), ("place_m", precision.place_m), ("speed_ms", precision.speed_ms),
        )
        if value is None
    ]  # fmt: skip
    if not lacking:
        return []
    return [
        f"how precise the method `{precision.name}` is is not known ({', '.join(lacking)}): where that is needed"
        " nothing is said to be beyond noise; state it under `precision` in a side file ending in .yaml"
    ]
