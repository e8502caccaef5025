"""All letters of the sample course: the whole program, and the letters alone against bare ones of the same words."""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.bench.measuring import Measured, in_turn, timed
from tests.sample.story import DAY_9, Story

__all__ = ["rows"]

LIBRARIES = "import typer, pydantic, jinja2, matplotlib.backends.backend_svg"
BARE = "<!DOCTYPE html><html lang=en><title>t</title>{% for line in lines %}<p>{{ line }}</p>{% endfor %}</html>"


def rows() -> Iterator[Measured]:
    """Ten letters as pages by the whole program; then as pages and as PDF where the course is open already."""
    from assess.desk.feedback import release
    from assess.desk.letters import letter_files

    with tempfile.TemporaryDirectory() as place:
        story = Story(Path(place))
        story.reserve_morning()
        story.clock.ms = DAY_9
        story.sign_all()
        with story.desk("D1") as desk:
            release(desk, "candidates")
        words = [
            "-m",
            "assess",
            "letters",
            str(story.root),
            "--as",
            "D1",
            "--html",
            "--to",
            str(Path(place) / "letters"),
        ]
        a, b = in_turn(_program(words), _program(["-c", LIBRARIES]), 5)
        yield Measured("letters, the whole program", "10 candidates", a, b, "its imports", "under 2 s", a < 2)
        with story.desk("D1") as desk:
            files, left_out = letter_files(desk)
            assert len(files) == 10 and not left_out
            texts = [_lines(item.content.decode("utf-8")) for item in files]
            a, b = in_turn(
                lambda: timed(lambda: letter_files(desk)), lambda: timed(lambda: [_bare(lines) for lines in texts]), 3
            )
            yield Measured("letters of a course, as pages", "10 candidates", a, b, "bare jinja2", "under 2 s", a < 2)
            a, b = in_turn(
                lambda: timed(lambda: letter_files(desk, forms=("pdf",))),
                lambda: timed(lambda: [_bare_pdf(lines) for lines in texts]), 2,
            )  # fmt: skip
            yield Measured("letters of a course, as PDF", "10 candidates", a, b, "bare page", "under 15 s", a < 15)


def _program(words: list[str]) -> Callable[[], float]:
    return lambda: timed(lambda: subprocess.run([sys.executable, *words], capture_output=True, check=True))


def _lines(page: str) -> list[str]:
    page = re.sub(r"<style>.*?</style>|<svg.*?</svg>", "", page, flags=re.DOTALL)
    return [line.strip() for line in re.sub(r"<[^>]+>", "\n", page).split("\n") if line.strip()]


def _bare(lines: list[str]) -> str:
    from jinja2 import Environment

    return Environment(autoescape=True).from_string(BARE).render(lines=lines)


def _bare_pdf(lines: list[str]) -> bytes:
    import weasyprint

    raw: bytes = weasyprint.HTML(string=_bare(lines)).write_pdf()
    return raw
