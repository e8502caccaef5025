"""The folder of the season: its hand-edited files, the rubric byte for byte, and two people's sheets of each film."""

from __future__ import annotations

import hashlib
import subprocess
from collections.abc import Callable, Iterator
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from assess.desk.film_sheet import FilmSheet
from assess.desk.session import Desk
from assess.records.times import film_ms, milliseconds
from assess.store.course_files import RUBRIC_FOLDER, rubric_file_name
from making.written import PATIENCE_S, KnownClock, NoWaiting, Salts

__all__ = ["write_films", "write_season"]

HERE = Path(__file__).resolve().parent.parent
SOURCE = HERE / "source" / "season"
RUBRIC, TASK = "r-2026.2", "T5"
DEVICES = {"KW": "k5wnd", "MT": "m3trv"}
SLOWER_MS = 7_000
"""How much later than the trainee the mentor marks a use of time."""
LOOK_MS = 12_000
"""Between two things that are written down."""


def write_season(root: Path) -> None:
    """Make the season at `root`, where nothing stands yet."""
    raw = (HERE.parent / "rubrics" / "alpine-ski" / f"{RUBRIC}.yaml").read_bytes()
    digest = hashlib.sha256(raw).hexdigest()
    (root / RUBRIC_FOLDER).mkdir(parents=True)
    (root / RUBRIC_FOLDER / rubric_file_name(RUBRIC, digest)).write_bytes(raw)
    text = (SOURCE / "season.yaml").read_text(encoding="utf-8").replace(f'"@{RUBRIC}"', digest)
    (root / "season.yaml").write_text(text, encoding="utf-8")
    (root / "people.yaml").write_bytes((SOURCE / "people.yaml").read_bytes())
    sheets: dict[str, Any] = YAML(typ="safe").load((SOURCE / "sheets.yaml").read_text(encoding="utf-8"))
    for film, told in sheets.items():
        for place, who in enumerate(DEVICES):
            _sheet(root, film, who, told, place)


def _sheet(root: Path, film: str, who: str, told: dict[str, Any], place: int) -> None:
    clock = KnownClock()
    clock.ms = milliseconds(told["begun"]) + place * 86_400_000
    desk = Desk.open(root, who, clock=clock, disk=NoWaiting(), salt=Salts(f"season|{film}|{who}"), device=DEVICES[who])
    for act in _acts(desk.film(TASK, film), told["uses"], told[who]):
        # Moved by hand: the writer's thread looks at the clock too.
        clock.ms += LOOK_MS
        act()
    if not desk.close(PATIENCE_S):
        raise RuntimeError(f"{film} of {who} is not on the disk")


def _acts(sheet: FilmSheet, uses: list[list[str]], mine: dict[str, Any]) -> Iterator[Callable[[], object]]:
    """What one person writes about one film, in order; levels in the order they were given."""
    fault, role, words = mine["fault"]
    yield lambda: sheet.name_fault(words, role, whose="assessor", fault=fault)
    if "plan" in mine:
        yield lambda: sheet.plan(steps=mine["plan"])
    # Two people never press at the same second.
    later = 0 if sheet.own else SLOWER_MS
    # Each use ends where the next begins.
    for (start, use), (end, _) in pairwise(uses):
        for at, on in ((start, True), (end, False)):
            yield partial(_at, sheet, at, partial(sheet.interval, use, on), later)
    if "drill" in mine:
        yield partial(_at, sheet, mine["drill"][0], partial(sheet.drill, mine["drill"][1]))
    for at, criterion, direction, text in mine["seen"]:
        yield partial(sheet.note, text, (criterion,), direction=direction, film_ms=film_ms(at))
    for criterion, level in mine["levels"]:
        yield partial(sheet.score, criterion, level)
    yield sheet.lock


def _at(sheet: FilmSheet, at: str, act: Callable[[], object], later: int = 0) -> None:
    sheet.at_ms = film_ms(at) + later
    act()


def write_films(folder: Path) -> list[Path]:
    """Stand-ins of twenty minutes each, with a running clock in the picture; needs ffmpeg."""
    folder.mkdir(parents=True, exist_ok=True)
    made = []
    for film in YAML(typ="safe").load((SOURCE / "sheets.yaml").read_text(encoding="utf-8")):
        path = folder / f"{film}.mp4"
        source = "testsrc=size=320x180:rate=5:duration=1200"
        command = [
            "ffmpeg",
            "-v",
            "error",
            "-y",
            "-f",
            "lavfi",
            "-i",
            source,
            "-c:v",
            "libx264",
            "-preset",
            "ultrafast",
        ]
        subprocess.run([*command, str(path)], check=True)
        made.append(path)
    return made
