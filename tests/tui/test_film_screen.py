"""The film's screen with mpv: its time, moved films, mpv killed from outside, and nothing left running."""

from __future__ import annotations

import asyncio
import os
import shutil
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from assess.film.film_file import film_file
from tests.seasons import build_season, film_desk
from tests.tui.rest import rest
from tests.tui.seat import Seat, at_seat

needs_mpv = pytest.mark.skipif(not shutil.which("mpv") or not shutil.which("ffmpeg"), reason="needs mpv and ffmpeg")


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    made = tmp_path_factory.mktemp("film") / "-a film.mp4"
    subprocess.run(
        ["ffmpeg", "-v", "error", "-f", "lavfi", "-i", "testsrc2=size=160x90:rate=25:duration=30", "-c:v", "libx264",
         "-preset", "ultrafast", f"./{made.name}"], cwd=made.parent, check=True,
    )  # fmt: skip
    yield made


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ASSESS_MPV_FLAGS", "--vo=null --ao=null --force-window=no")
    return build_season(tmp_path / "season")


def filmed(root: Path, film: Path, name: str) -> Path:
    """The season knows the film by size and digest; it stands beside the season under this name."""
    copy = Path(shutil.copy(film, root.parent / name))
    known = film_file(copy)
    file = root / "season.yaml"
    line = f'film: {{path: "../gone.mp4", size: {known.size}, sha256: {known.sha256}}}'
    file.write_text(file.read_text().replace('film: {path: "film-1.mp4"}', line))
    return copy


async def shown(seat: Seat) -> None:
    for _ in range(400):
        if seat.app.screen.with_film:
            return
        await asyncio.sleep(0.02)
    raise AssertionError(seat.text)


@needs_mpv
async def test_a_moved_film_is_found_played_and_closed_with_the_screen(root: Path, film: Path, tmp_path: Path) -> None:
    filmed(root, film, "-other name.mp4")
    desk = film_desk(root, "TR")
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        await shown(seat)
        assert "the film was moved" in seat.message
        pid = seat.app.screen.player.pid
        await seat.press("right right 3")
        assert abs(seat.app.screen.here() - 10_040) <= 45
        await seat.press("0")
        await seat.type("seen")
        await seat.press("enter 1")
        assert abs(desk.film("T5", "F1").noted()[0].film_ms - 10_040) <= 45
        await seat.press("q")
        await rest(seat.pilot)
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)
    assert "../-other name.mp4" in (root / "season.yaml").read_text()


@needs_mpv
@pytest.mark.parametrize("sign", [signal.SIGKILL, signal.SIGTERM])
async def test_mpv_killed_from_outside_is_told_and_notes_go_on(
    root: Path, film: Path, tmp_path: Path, sign: signal.Signals
) -> None:
    filmed(root, film, "a.mp4")
    desk = film_desk(root, "TR")
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        await shown(seat)
        await seat.press("right")
        os.kill(seat.app.screen.player.pid, sign)
        for _ in range(300):
            if not seat.app.screen.with_film:
                break
            await asyncio.sleep(0.02)
        assert "mpv was closed" in seat.message and "typed times" in seat.text
        await seat.press("right 0")
        await seat.type("on")
        await seat.press("enter 1")
        assert desk.film("T5", "F1").noted()[0].film_ms == 10_000


async def test_without_mpv_times_are_typed_and_the_package_is_named(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (root.parent / "film.mp4").write_bytes(b"x")
    file = root / "season.yaml"
    file.write_text(file.read_text().replace('"film-1.mp4"', '"../film.mp4"'))
    monkeypatch.setenv("PATH", str(tmp_path))
    async with at_seat(tmp_path, ("film", "F1"), desk=film_desk(root, "TR")) as seat:
        for _ in range(200):
            if "install the package `mpv`" in seat.text:
                break
            await asyncio.sleep(0.02)
        assert "install the package `mpv`" in seat.text


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_a_season_and_a_film_fit_the_smallest_window(root: Path, tmp_path: Path, size: tuple[int, int]) -> None:
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    for at in range(40):
        sheet.note(f"seen {at}", ("diagnosis",), film_ms=at * 30_000)
    async with at_seat(tmp_path, desk=desk, size=size) as seat:
        assert "working on" in seat.text and "Lesson 1" in seat.text
        await seat.press("enter")
        await seat.press(["down"] * 39)
        assert "seen 39" in seat.text and "19:30" in seat.text and "first: the learner's fault" in seat.text
        assert all(len(line) <= size[0] for line in seat.text.splitlines())
        # What was just noted is the chosen line, whole and in sight.
        await seat.press("2")
        await seat.type("9:59")
        await seat.press("enter n")
        await seat.type("four sentences said before the first try of the learner")
        await seat.press("enter 1")
        assert [line for line in seat.text.splitlines() if line.startswith(" > ")] == [seat.line(" > 9:59")]
        assert "learner" in " ".join(seat.text.split("> 9:59")[1].split())
