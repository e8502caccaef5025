"""The lesson sheet of a film: its levels, and all of the sheet, with the film's time where a lesson has its clock."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.records.times import film_text
from assess.tui.lesson_screen import LessonScreen

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet

__all__ = ["FilmLesson", "FilmLevels"]


class FilmLesson(LessonScreen):
    """All of the sheet: what was named in the lesson, drills, the learner, the safety list; back leads to the film."""

    slot: FilmSheet

    def __init__(self, slot: FilmSheet) -> None:
        super().__init__(slot)
        self.mode = self.root = "full"

    def title_words(self) -> str:
        """Which film, and what the lesson shows."""
        return f"{self.slot.candidate} {self.desk.name(self.slot.candidate)} · {self.slot.task.title}"

    def clock_line(self) -> tuple[str, str]:
        """Where the film stands, and what comes next."""
        words = self.slot.asked()
        for name, label in self.labels().items():
            words = words.replace(f"missing: {name}:", f"missing: {label}:")
        return film_text(self.slot.at_ms), words

    def beside_levels(self) -> dict[str, str]:
        """Where in the film one saw what speaks for a level."""
        times = {name: ", ".join(map(film_text, self.slot.film_times(name))) for name in self.slot.criteria}
        return {name: f"noted at {at}" if at else "nothing noted yet" for name, at in times.items()}

    def act_back(self, key: str) -> None:
        """From the readings to the view before; from there to the film."""
        if self.mode != self.root:
            super().act_back(key)
        else:
            self.app.pop_screen()


class FilmLevels(FilmLesson):
    """The criteria with their levels; back leads to the film."""

    def __init__(self, slot: FilmSheet) -> None:
        super().__init__(slot)
        self.mode = self.root = "levels"
