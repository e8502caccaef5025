"""Pictures out of films by ffmpeg: two films side by side from their own starts, and stills.

Nothing of a film is kept but its pictures: no place, no device, no sound.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

from assess.records.errors import FilmTrouble
from assess.records.times import film_text

__all__ = ["MOST_MS", "Cut", "beside", "inside", "length_ms", "still", "turned"]

Cut = tuple[Path, int]
"""A film and where in it to begin, in ms."""
HEIGHT, RATE = 360, 30
MOST_MS = 600_000
"""Longest piece that is put side by side."""
PATIENCE_S = 900
# The same pictures give the same bytes: no date, no name of a program.
_BARE = ("-map_metadata", "-1", "-map_chapters", "-1", "-fflags", "+bitexact", "-flags:v", "+bitexact")


def beside(left: Cut, right: Cut, lasts_ms: int) -> bytes:
    """An MP4 of so many ms, one film at the left and one at the right, each from its own start; turned as filmed.

    It ends where the first of the two ends. Raises FilmTrouble when ffmpeg is missing, a film cannot be read, or a
    start lies behind a film's end.
    """
    for cut in (left, right):
        inside(cut)
    halves = ";".join(f"[{place}:v:0]scale=-2:{HEIGHT},setsar=1,fps={RATE}[{name}]" for place, name in enumerate("lr"))
    inputs = [word for path, start in (left, right) for word in ("-ss", _seconds(start), "-i", _name(path))]
    return _made([
        *inputs, "-t", _seconds(lasts_ms), "-filter_complex", f"{halves};[l][r]hstack=inputs=2:shortest=1[v]",
        "-map", "[v]", "-an", "-c:v", "libx264", "-pix_fmt", "yuv420p", "-threads", "1", *_BARE,
    ], "beside.mp4")  # fmt: skip


def still(cut: Cut) -> bytes:
    """A PNG of the frame at this time. Raises FilmTrouble as `beside` does."""
    inside(cut)
    path, at = cut
    return _made(["-ss", _seconds(at), "-i", _name(path), "-frames:v", "1", "-an", *_BARE], "still.png")


def turned(path: Path) -> int:
    """By how many degrees, clockwise, a film is to be turned: 0, 90, 180 or 270. Raises FilmTrouble as `beside`."""
    told = _run("ffprobe", ["-select_streams", "v:0", "-show_entries", "stream_side_data=rotation", "-of", "csv=p=0",
                            _name(path)], path)  # fmt: skip
    degrees = next((part for part in told.replace(",", " ").split() if part.lstrip("-").isdigit()), "0")
    return round(-int(degrees) / 90) * 90 % 360


def length_ms(path: Path) -> int:
    """How long a film is. Raises FilmTrouble when ffprobe is missing or knows no length."""
    told = _run("ffprobe", ["-show_entries", "format=duration", "-of", "csv=p=0", _name(path)], path)
    try:
        return round(1000 * float(told.strip()))
    except ValueError:
        raise FilmTrouble(f"{path.name} has no length", todo="try it in another player") from None


def inside(cut: Cut) -> None:
    """Raises FilmTrouble for a start that lies behind the film's end, or a film that cannot be read."""
    path, start = cut
    ends = length_ms(path)
    if start >= ends:
        what = f"{path.name} ends at {film_text(ends)}, before {film_text(start)}"
        raise FilmTrouble(what, todo="begin earlier")


def _made(words: Sequence[str], name: str) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / name
        _run("ffmpeg", ["-nostdin", *words, _name(out)], out)
        return out.read_bytes()


def _run(program: str, words: Sequence[str], about: Path) -> str:
    found = shutil.which(program)
    if found is None:
        todo = "install the package `ffmpeg`; everything else goes on without it"
        raise FilmTrouble(f"{program} is not installed", todo=todo)
    try:
        ran = subprocess.run(
            [found, "-v", "error", *words],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=PATIENCE_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise FilmTrouble(f"{program} does not come to an end", todo="take a shorter piece") from None
    if ran.returncode != 0:
        said = ran.stderr.decode("utf-8", "replace").strip().splitlines()
        raise FilmTrouble(f"{about.name}: {said[-1] if said else program + ' failed'}", todo="try it in another player")
    return ran.stdout.decode("utf-8", "replace")


def _name(path: Path) -> str:
    """A path that is never taken for an option nor for another protocol, whatever it begins with."""
    return f"file:{path.absolute()}"


def _seconds(ms: int) -> str:
    return f"{ms // 1000}.{ms % 1000:03d}"
