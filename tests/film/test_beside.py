"""Two films in one picture and stills, made by ffmpeg from generated films: size, length, starts, nothing else kept."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from assess.film.beside import beside, length_ms, still
from assess.records.errors import FilmTrouble

pytestmark = pytest.mark.skipif(shutil.which("ffmpeg") is None, reason="needs ffmpeg")


def made(path: Path, colour: str, *, size: str = "160x120", seconds: int = 4, rate: int = 10) -> Path:
    """A film that is black for a second, then of one colour, with a place and a device in its metadata."""
    source = f"color=black:s={size}:r={rate}:d=1[a];color={colour}:s={size}:r={rate}:d={seconds - 1}[b];[a][b]concat"
    command = [
        "ffmpeg", "-nostdin", "-v", "error", "-f", "lavfi", "-i", source, "-metadata", "location=+47.1+011.3/",
        "-metadata", "title=someone", "-c:v", "libx264", "-pix_fmt", "yuv420p", f"file:{path.absolute()}",
    ]  # fmt: skip
    subprocess.run(command, check=True)
    return path


def facts(raw: bytes, path: Path) -> dict[str, Any]:
    path.write_bytes(raw)
    command = ["ffprobe", "-v", "error", "-show_format", "-show_streams", "-of", "json", str(path)]
    found: dict[str, Any] = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
    return found


def pixels(path: Path, at: str) -> bytes:
    """The film at this time as two pixels beside each other, red green blue each."""
    command = ["ffmpeg", "-nostdin", "-v", "error", "-ss", at, "-i", str(path), "-frames:v", "1", "-vf",
               "format=rgb24,scale=2:1:flags=area", "-f", "rawvideo", "-pix_fmt", "rgb24", "-"]  # fmt: skip
    return subprocess.run(command, check=True, capture_output=True).stdout


def test_each_begins_at_its_own_time_and_only_pictures_are_kept(tmp_path: Path) -> None:
    left, right = made(tmp_path / "-a: b.mp4", "red"), made(tmp_path / "b.mp4", "blue", rate=25)
    raw = beside((left, 1500), (right, 0), 2000)
    assert raw == beside((left, 1500), (right, 0), 2000)
    out = tmp_path / "out.mp4"
    told = facts(raw, out)
    (stream,) = told["streams"]
    assert (stream["width"], stream["height"], stream["codec_type"]) == (960, 360, "video")
    assert abs(length_ms(out) - 2000) <= 40
    assert b"+47.1" not in raw and b"someone" not in raw
    # Red at once at the left; at the right black until its first second is over.
    red, dark = pixels(out, "0.3")[:3], pixels(out, "0.3")[3:]
    assert red[0] > 180 and red[2] < 60 and max(dark) < 60
    assert pixels(out, "1.6")[5] > 180


def test_a_film_turned_by_its_phone_stands_upright(tmp_path: Path) -> None:
    plain = made(tmp_path / "p.mp4", "red")
    turned = tmp_path / "turned.mp4"
    command = ["ffmpeg", "-nostdin", "-v", "error", "-i", str(plain), "-c", "copy", "-metadata:s:v:0", "rotate=90"]
    subprocess.run([*command, str(turned)], check=True)
    raw = beside((plain, 0), (turned, 0), 1000)
    (stream,) = facts(raw, tmp_path / "o.mp4")["streams"]
    assert stream["height"] == 360 and stream["width"] in (480 + 270, 480 + 272)


def test_a_still_is_the_frame_at_its_time(tmp_path: Path) -> None:
    film = made(tmp_path / "-f.mp4", "blue")
    for at, blue in ((200, False), (1500, True)):
        picture = tmp_path / f"{at}.png"
        picture.write_bytes(still((film, at)))
        assert (pixels(picture, "0")[2] > 180) is blue


def test_what_cannot_be_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    film = made(tmp_path / "f.mp4", "red")
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(b"no film")
    with pytest.raises(FilmTrouble, match="ends at 0:04, before 0:04"):
        beside((film, 0), (film, 4000), 1000)
    with pytest.raises(FilmTrouble, match=r"broken\.mp4"):
        still((broken, 0))
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(FilmTrouble, match="not installed"):
        still((film, 0))
