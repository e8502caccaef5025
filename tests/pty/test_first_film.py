"""A telephone's film, no rubric, no course: one command, at most three questions, and the list beside the film."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pty.terminal import Terminal

ANSWERS = {"Whose lesson": "Kaja Wendrin", "Which activity": "1", "What does": "one l"}
"""The beginning of each question, and what a person might type."""


def first_time(film: Path, answers: dict[str, str]) -> tuple[Terminal, list[str]]:
    """Start with a film and answer what is asked; the terminal at the film's screen and the questions in order."""
    terminal = Terminal(["film", str(film)])
    asked: list[str] = []
    waiting = dict(answers)
    while True:
        text = terminal.wait(lambda text: "Nothing noted yet" in text or any(q in text for q in waiting))
        if "Nothing noted yet" in text:
            return terminal, asked
        terminal.wait(lambda text: text.rstrip().endswith(">"))
        question = next(q for q in waiting if q in terminal.text)
        asked.append(question)
        terminal.type(waiting.pop(question) + "\n")


@pytest.fixture
def film(tmp_path: Path) -> Path:
    path = tmp_path / "VID 0815.mp4"
    path.write_bytes(b"no film that any player shows")
    return path


def test_three_questions_lead_to_the_list_beside_the_film_and_none_the_second_time(film: Path) -> None:
    terminal, asked = first_time(film, ANSWERS)
    try:
        assert asked == list(ANSWERS) and len(asked) <= 3
        assert terminal.lines[0].startswith(" F1 VID 0815") and "first: the learner's fault" in terminal.text
    finally:
        terminal.close()
    root = film.with_name("VID 0815-season")
    assert '{id: KW, name: "Kaja Wendrin"}' in (root / "people.yaml").read_text(encoding="utf-8")
    again, more = first_time(film, {})
    again.close()
    assert more == []


def test_a_wrong_answer_is_asked_again_and_a_number_or_a_beginning_is_enough(film: Path) -> None:
    terminal = Terminal(["film", str(film), "--trainee", "KW", "--task", "T5"])
    try:
        terminal.wait(lambda text: text.rstrip().endswith("1 to 2>"))
        terminal.type("9\n")
        terminal.wait(lambda text: "type a number from 1 to 2" in text)
        terminal.type("alp\n")
        terminal.wait(lambda text: "Nothing noted yet" in text)
    finally:
        terminal.close()


def test_a_second_film_is_asked_into_the_season_that_is_there(film: Path) -> None:
    terminal, _ = first_time(film, ANSWERS)
    terminal.close()
    second = film.with_name("VID 0816.mp4")
    second.write_bytes(b"another film")
    terminal, asked = first_time(second, {"Does VID 0816.mp4 belong": "1"})
    try:
        assert len(asked) == 1 and terminal.lines[0].startswith(" F2 VID 0816")
    finally:
        terminal.close()
    assert not film.with_name("VID 0816-season").exists()
