"""The pictures of the README, made from the sample course: `python tools/screenshots.py [FOLDER]`.

Each picture is a real screen driven by real keys, kept as SVG (`docs/pictures` unless a folder is named).
"""

from __future__ import annotations

import asyncio
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
SAMPLE = ROOT / "sample_sessions" / "course"
CALIBRATION = ROOT / "sample_sessions" / "calibration"
SEASON = ROOT / "sample_sessions" / "season"
START_MS = 1_770_025_500_000  # day 1 of the sample course, 09:45 UTC

KEYS_RUN = ["4", "5", "4", "4", "4", "3", "3", "5", "n", *"tails wash left", "enter", "4"]
KEYS_LESSON = ["s", "2", "plus", "d", "space", "4", "minus", "n", *"poles wide", "enter", "1", "plus"]
# A whole lesson in the full view: your own view, what the candidate named, a drill with its details, then the readings.
KEYS_READINGS = [
    "f", "s", "x", "1", "5", "enter", "y", "WAIT", *"no grip", "enter", "1", "y", *"turning the", "enter", "2",
    "w", *"no grip", "enter", "1", "d", *"side-slip", "enter", "space", "space",
    "j", "2", "1", "3", "enter", *"packed", "enter", "4", "enter", "4", "enter", "1", "1", "1", "4", "enter", "3",
    "enter", "escape", "b", "1", "1", "2", "1", "3", "1", "4", "2", "escape",
    "z", *"crossing below", "enter", "1", "2", "l", "2", "4", "3", "1", "9", "1", "escape", "e", "1", "m",
]  # fmt: skip


# A film of one's own lesson: one's view and plan first, then notes at their times, a stretch, and what comes next.
KEYS_FILM = [
    "WAIT", "w", "WAIT", *"sits back", "enter", "p", *"traverse, one turn uphill, then linked; ten tries", "enter",
    "i", "2", "g", *"0:48", "enter", "n", *"four sentences before the first try", "enter", "3",
    "g", *"1:35", "enter", "d", *"traverse", "enter", "i", "1", "g", *"6:30", "enter", "f", "g", *"6:52", "enter",
    "t", *"hands on hips, and the shoulders stay quiet", "enter", "2", "m", "3", "3", "q", "y",
]  # fmt: skip


class StillClock:
    """A clock that moves two seconds each time it is asked: the same picture every time."""

    def __init__(self) -> None:
        self.ms = START_MS

    def now_ms(self) -> int:
        """Two seconds later than the last time."""
        self.ms += 2000
        return self.ms

    def monotonic_ms(self) -> int:
        """The same moment."""
        return self.ms


def unfinished_copy(place: Path) -> Path:
    """The sample course as A1 would have it in the middle of day 1: what comes later is not there."""
    copy = place / "course"
    shutil.copytree(SAMPLE, copy)
    for sheet in (copy / "sheets").glob("T[1-5].*.A1.*"):
        task, candidate = sheet.name.split(".")[:2]
        if task != "T1" or candidate not in ("C04", "C08"):
            sheet.unlink()
    for seal in (copy / "seals").glob("*.yaml"):
        seal.unlink()
    return copy


def season_with_a_film(place: Path) -> Path:
    """The sample season, its third film not looked at yet by its trainee, with a stand-in for that film."""
    copy = Path(shutil.copytree(SEASON, place / "season"))
    for sheet in (copy / "sheets").glob("T5.F3.*"):
        sheet.unlink()
    film = place / "lesson.mp4"
    source = ["-f", "lavfi", "-i", "testsrc2=size=320x180:rate=25:duration=1230", "-c:v", "libx264"]
    subprocess.run(["ffmpeg", "-v", "error", *source, "-preset", "ultrafast", "-crf", "40", str(film)], check=True)
    told = (copy / "season.yaml").read_text(encoding="utf-8")
    told = re.sub(r'\{path: "films/F3\.mp4"[^}]*\}', '{path: "../lesson.mp4"}', told)
    (copy / "season.yaml").write_text(told, encoding="utf-8")
    os.environ["ASSESS_MPV_FLAGS"] = "--vo=null --ao=null --force-window=no"
    return copy


async def picture(course: Path, who: str, start: Any, keys: list[str], theme: str, file: Path) -> None:
    """One screen after some keys."""
    from assess.desk.session import Desk
    from assess.tui.app import AssessApp

    numbers = iter(range(1_000_000))
    clock: Any = StillClock()
    desk = Desk.open(course, who, clock=clock, device="ph2tz", salt=lambda: f"{next(numbers):032x}")
    app = AssessApp(desk, start, theme=theme)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for key in keys:
            if key == "WAIT":
                await pilot.pause(4)  # the catalogue is read in a thread
                continue
            await pilot.press(key)
            await pilot.pause(0.08)
        desk.drain()
        await pilot.pause(1.5)  # a page may still be drawn
        svg = app.export_screenshot(title="assess")
    desk.close()
    # The terminal picture names a font that would be fetched from elsewhere.
    svg = re.sub(r"@font-face\s*\{.*?\}", "", svg, flags=re.S).replace("Fira Code", "DejaVu Sans Mono")
    file.write_text(re.sub(r"terminal-\d+", "terminal", svg), encoding="utf-8", newline="\n")
    print(file)


PICTURES: dict[str, tuple[Callable[[Path], Path], str, Any, list[str], str]] = {
    "board": (lambda place: shutil.copytree(SAMPLE, place / "course"), "A1", "board", [], "dark"),
    "run-sheet": (unfinished_copy, "A1", ("task", "T1"), KEYS_RUN, "dark"),
    "run-sheet-light": (unfinished_copy, "A1", ("task", "T1"), KEYS_RUN, "light"),
    "lesson": (unfinished_copy, "A1", ("lesson", "T4", "C02"), KEYS_LESSON, "dark"),
    "lesson-light": (unfinished_copy, "A1", ("lesson", "T4", "C02"), KEYS_LESSON, "light"),
    "readings": (unfinished_copy, "A1", ("lesson", "T5", "C04"), KEYS_READINGS, "dark"),
    "outcomes": (lambda place: shutil.copytree(SAMPLE, place / "course"), "D1", "board", ["r"], "dark"),
    "differences": (
        lambda place: shutil.copytree(SAMPLE, place / "course"), "D1", "board", ["d", *["down"] * 4], "dark",
    ),
    "signing": (
        lambda place: shutil.copytree(SAMPLE, place / "course"), "D1", "board", ["r", "s", "2", *"2027-02-05", "enter"],
        "dark",
    ),
    "case": (
        lambda place: shutil.copytree(SAMPLE, place / "course"), "D1", "board",
        ["f", *["down"] * 8, "enter", "WAIT", "WAIT"], "dark",
    ),
    "calibration": (
        lambda place: shutil.copytree(CALIBRATION, place / "round"), "D1", "round",
        ["WAIT", "down", "down", "enter", "WAIT"], "dark",
    ),
    "film": (season_with_a_film, "KW", ("film", "F3"), KEYS_FILM, "dark"),
    "board-light": (lambda place: shutil.copytree(SAMPLE, place / "course"), "A1", "board", [], "light"),
}  # fmt: skip


def main(words: list[str]) -> None:
    """Make every picture."""
    folder = Path(words[0]) if words else ROOT / "docs" / "pictures"
    folder.mkdir(parents=True, exist_ok=True)
    for name, (make, who, start, keys, theme) in PICTURES.items():
        with tempfile.TemporaryDirectory() as place:
            course = make(Path(place))
            asyncio.run(picture(course, who, start, keys, theme, folder / f"{name}.svg"))


if __name__ == "__main__":
    main(sys.argv[1:])
