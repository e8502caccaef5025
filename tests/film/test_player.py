"""mpv on a film made for the test: position, exact seek, slow motion, from and to, repeat; killed from either side."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from statistics import correlation

import pytest

from assess.film.beside import turned
from assess.film.player import MISSING, MpvPlayer, TypedTimes, open_pair, open_player
from assess.records.errors import FilmTrouble

HEADLESS = ("--vo=null", "--ao=null", "--force-window=no")
FRAME_MS, SECONDS, TIMES = 40, 8, range(20)
here = pytest.mark.skipif(
    shutil.which("mpv") is None or shutil.which("ffmpeg") is None, reason="mpv or ffmpeg is not installed"
)
pytestmark = [pytest.mark.needs_film, here]


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Eight seconds, 25 frames a second, a key frame every two seconds; its name begins with a dash."""
    path = tmp_path_factory.mktemp("film") / "-lesson.mp4"
    subprocess.run(
        ["ffmpeg", "-v", "error", "-f", "lavfi", "-i", f"testsrc=size=160x90:rate=25:duration={SECONDS}", "-g", "50",
         "-pix_fmt", "yuv420p", "-y", str(path.absolute())], check=True, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    return path


@pytest.fixture(scope="module")
def player(film: Path) -> Iterator[MpvPlayer]:
    shown = open_player(film, flags=HEADLESS)
    yield shown
    shown.close()


@pytest.mark.parametrize("number", TIMES)
def test_an_exact_seek_lands_within_one_frame_and_the_position_is_read(player: MpvPlayer, number: int) -> None:
    wanted = (number * 377) % (1000 * SECONDS - 100)
    player.seek(wanted)
    assert abs(player.position_ms - wanted) <= FRAME_MS


@pytest.mark.parametrize("number", TIMES)
def test_one_frame_on_and_one_back(player: MpvPlayer, number: int) -> None:
    player.seek(1000 + 200 * number)
    start = player.position_ms
    player.step()
    assert player.position_ms - start == pytest.approx(FRAME_MS, abs=2)
    player.step(-1)
    assert player.position_ms == pytest.approx(start, abs=2)


@pytest.mark.parametrize("number", TIMES)
def test_slow_motion_runs_at_its_share_of_the_time(player: MpvPlayer, number: int) -> None:
    factor = (0.25, 0.5)[number % 2]
    player.seek(1000)
    player.speed(factor)
    player.pause(False)
    start, began = player.position_ms, time.monotonic()
    time.sleep(0.4)
    seen, passed = player.position_ms - start, 1000 * (time.monotonic() - began)
    player.pause()
    player.speed(1)
    assert seen / passed == pytest.approx(factor, abs=0.25)


@pytest.mark.parametrize("number", TIMES)
def test_from_and_to_are_shown_again_and_again(player: MpvPlayer, number: int) -> None:
    start, end = 500 + 100 * number, 700 + 100 * number
    player.loop(start, end)
    player.speed(4)
    player.pause(False)
    seen = []
    for _ in range(12):
        time.sleep(0.02)
        seen.append(player.position_ms)
    player.pause()
    player.speed(1)
    player.loop(None)
    assert all(start - FRAME_MS <= at <= end + 2 * FRAME_MS for at in seen)
    assert any(later < earlier for earlier, later in pairwise(seen))


@pytest.mark.parametrize("number", TIMES)
def test_killed_from_outside_it_says_so_and_nothing_hangs(film: Path, number: int) -> None:
    shown = open_player(film, flags=HEADLESS)
    os.kill(shown.pid, (signal.SIGKILL, signal.SIGTERM)[number % 2])
    began = time.monotonic()
    with pytest.raises(FilmTrouble, match=r"was closed|does not answer"):
        for _ in range(200):
            shown.seek(1000)
    assert shown.gone
    assert time.monotonic() - began < 8
    shown.close()


HOLDER = """
import signal, sys, time
from pathlib import Path
from assess.film.player import open_player
signal.signal(signal.SIGHUP, signal.SIG_DFL)  # also where whoever runs the tests has it ignored
shown = open_player(Path(sys.argv[1]), flags=("--vo=null", "--ao=null", "--force-window=no"))
print(shown.pid, flush=True)
time.sleep(60)
"""


@pytest.mark.parametrize("number", TIMES)
def test_when_the_program_is_killed_mpv_ends_too(film: Path, number: int) -> None:
    holder = subprocess.Popen([sys.executable, "-c", HOLDER, str(film)], stdout=subprocess.PIPE, text=True)
    assert holder.stdout is not None
    pid = int(holder.stdout.readline())
    sent = (signal.SIGKILL, signal.SIGTERM, signal.SIGHUP)[number % 3]
    holder.send_signal(sent)
    assert holder.wait() == -sent
    holder.stdout.close()
    ends = time.monotonic() + 10
    while running(pid) and time.monotonic() < ends:
        time.sleep(0.02)
    assert not running(pid)


def running(pid: int) -> bool:
    """True while a process runs; one that has ended and is not yet collected does not."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state != "Z"


def test_past_the_end_is_the_last_frame_and_before_the_beginning_the_first(player: MpvPlayer) -> None:
    player.seek(10**7)
    assert player.position_ms >= 1000 * SECONDS - 2 * FRAME_MS
    player.seek(-5)
    assert player.position_ms <= FRAME_MS


def test_a_still_is_written_once_and_never_over_a_file(player: MpvPlayer, tmp_path: Path) -> None:
    player.seek(2000)
    player.still(tmp_path / "turn.png")
    assert (tmp_path / "turn.png").stat().st_size > 100
    with pytest.raises(FilmTrouble, match="is there already"):
        player.still(tmp_path / "turn.png")


def test_what_cannot_be_shown_is_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = tmp_path / "notes.mp4"
    text.write_text("no film")
    with pytest.raises(FilmTrouble, match="is not there"):
        open_player(tmp_path / "gone.mp4", flags=HEADLESS)
    monkeypatch.setattr("assess.film.player.PATIENCE", 1.0)
    with pytest.raises(FilmTrouble, match="cannot be shown"):
        open_player(text, flags=HEADLESS)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(FilmTrouble) as trouble:
        open_player(text)
    assert MISSING in str(trouble.value)


def test_without_a_film_the_times_are_those_typed() -> None:
    typed = TypedTimes()
    typed.seek(5000)
    typed.step()
    assert typed.position_ms == 5040
    typed.loop(1000, 2000)
    assert (typed.position_ms, typed.gone) == (1000, False)


def test_two_films_run_in_step_each_from_its_own_start(tmp_path: Path) -> None:
    made = []
    for name, rate, turn in (("-left, 100%.mp4", 30, 90), ("right\nname.mp4", 24, 0)):
        whole, film = tmp_path / f"{rate}.mp4", tmp_path / name
        source = ["-f", "lavfi", "-i", f"testsrc2=size=160x90:rate={rate}:duration=20"]
        subprocess.run(
            ["ffmpeg", "-v", "error", *source, "-c:v", "libx264", "-preset", "ultrafast", str(whole)], check=True
        )
        tag = ["-metadata:s:v", f"rotate={turn}"]
        subprocess.run(["ffmpeg", "-v", "error", "-i", str(whole), "-c", "copy", *tag, f"file:{film}"], check=True)
        made.append(film)
    degrees = (turned(made[0]), turned(made[1]))
    assert degrees[0] in (90, 270) and degrees[1] == 0
    shown = open_pair((made[0], 5_000), (made[1], 12_500), turned=degrees, flags=HEADLESS)
    try:
        assert shown.position_ms == 0
        assert abs(shown.length_ms - 15_000) <= 100  # the left one: 20 s from 5 s on
        shown.seek(4_000)
        assert abs(shown.position_ms - 4_000) <= 45
        size = shown.ask("get_property", "video-params", patience=5)
        # 90 by 160 upright at the left, 160 by 90 at the right, both 480 high.
        assert (size["w"], size["h"]) == (270 + 854, 480)
        picture = tmp_path / "pair.png"
        shown.still(picture)  # what stands there, not what stood there when the film was opened
        left, right = (halves(picture, place) for place in ("0:0", "270:0"))
        assert alike(left, frame(made[0], 9_000, 270)) and alike(right, frame(made[1], 16_500, 854))
        assert not alike(right, frame(made[1], 4_000, 854))
        shown.pause(False)
        time.sleep(0.5)
        shown.step(1)
        assert shown.paused and shown.position_ms > 4_000
    finally:
        shown.close()


@pytest.mark.parametrize("number", TIMES)
def test_a_film_sought_as_soon_as_it_is_open_shows_what_is_there(film: Path, tmp_path: Path, number: int) -> None:
    shown = open_pair((film, 0), (film, 1_000), flags=HEADLESS)
    try:
        shown.seek(5_000)
        shown.still(tmp_path / "still.png")
    finally:
        shown.close()
    left = grey(["-i", str(tmp_path / "still.png")], "crop=854:480:0:0")
    there, at_first = frame(film, 5_000, 854), frame(film, 0, 854)
    assert alike(left, there) and correlation(left, there) > correlation(left, at_first)


def halves(picture: Path, corner: str) -> bytes:
    """Half a picture, small and grey."""
    width = 270 if corner == "0:0" else 854
    return grey(["-i", str(picture)], f"crop={width}:480:{corner}")


def frame(film: Path, at_ms: int, width: int) -> bytes:
    """A frame of a film by ffmpeg, which turns it upright itself; small and grey."""
    return grey(["-ss", f"{at_ms / 1000}", "-i", f"file:{film}"], f"scale={width}:480")


def grey(source: list[str], what: str) -> bytes:
    words = ["-vf", f"{what},scale=40:40,format=gray", "-frames:v", "1", "-f", "rawvideo", "-"]
    return subprocess.run(["ffmpeg", "-v", "error", *source, *words], check=True, capture_output=True).stdout


def alike(one: bytes, two: bytes) -> bool:
    """The same picture, however bright it is: players and ffmpeg make grey of colours in their own ways."""
    assert len(one) == len(two) == 1600
    return correlation(one, two) > 0.97


def test_what_is_no_film_is_refused_at_once(tmp_path: Path) -> None:
    torn = tmp_path / "half copied.mp4"
    torn.write_bytes(b"\0\0\0\x18ftypisom" + bytes(5000))
    begun = time.monotonic()
    with pytest.raises(FilmTrouble, match="no film, or not whole"):
        open_player(torn, flags=HEADLESS)
    assert time.monotonic() - begun < 8  # patience with a film that loads is longer


def test_a_film_that_is_heard_and_not_seen_is_known(film: Path, tmp_path: Path) -> None:
    for path, seen in ((film, True), (tmp_path / "sound.wav", False)):
        if not path.exists():
            source = ["-f", "lavfi", "-i", "sine=duration=2"]
            subprocess.run(["ffmpeg", "-v", "error", *source, str(path)], check=True)
        shown = open_player(path, flags=HEADLESS)
        try:
            assert shown.shows_a_picture() is seen
        finally:
            shown.close()
