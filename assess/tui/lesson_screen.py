"""The lesson sheet: thin while the lesson runs, full in the minutes after, and the levels at the end."""

from __future__ import annotations

from assess.records.errors import Refusal
from assess.tui.lesson_lines import level_text
from assess.tui.lesson_picture import LessonPicture

__all__ = ["LessonScreen"]


class LessonScreen(LessonPicture):
    """One teaching session. Nothing on it waits for an answer while people are on the snow."""

    # --- views ---------------------------------------------------------------------------------

    def act_full(self, key: str) -> None:
        """Full, or thin again."""
        self.show_mode("thin" if self.mode == "full" else "full")

    def act_levels(self, key: str) -> None:
        """The criteria with their levels."""
        self.back_to = self.mode
        missing = (index for index, name in enumerate(self.slot.criteria) if not level_text(self.slot, name))
        self.at = next(missing, 0)
        self.show_mode("levels")

    def act_readings(self, key: str) -> None:
        """The readings with their reasons: evidence to look at."""
        self.before_readings = self.mode
        self.show_mode("readings")

    def act_back(self, key: str) -> None:
        """From the readings or the levels to the view before; from there to the board."""
        if self.mode == "readings":
            self.show_mode(self.before_readings)
        elif self.mode == "levels":
            self.show_mode(self.back_to)
        else:
            super().act_back(key)

    # --- levels --------------------------------------------------------------------------------

    def act_level(self, key: str) -> None:
        """A level, and on to the next criterion."""
        self.slot.score(self.slot.criteria[self.at], int(key))
        self._next()

    def act_not_observed(self, key: str) -> None:
        """Could have been seen, was not."""
        self.slot.not_observed(self.slot.criteria[self.at])
        self._next()

    async def act_not_applicable(self, key: str) -> None:
        """It cannot exist here; the reason is asked once per task."""
        criterion, reason = self.slot.criteria[self.at], ""
        if self.desk.day_book.reason_not_applicable(self.slot.task_id, criterion) is None:
            label = self.labels()[criterion]
            reason = (
                await self.tray.text(f"why is {label} not applicable in {self.slot.task_id}? (asked once)") or ""
            ).strip()
            if not reason:
                return
        self.slot.not_applicable(criterion, reason)
        self._next()

    def _next(self) -> None:
        order = [*range(self.at + 1, len(self.slot.criteria)), *range(self.at)]
        self.at = next((index for index in order if not level_text(self.slot, self.slot.criteria[index])), self.at)
        done = all(level_text(self.slot, name) for name in self.slot.criteria)
        self.tell("all criteria have a mark; k shows what is missing before the lock" if done else "")
        self.changed(self.slot)

    def act_up(self, key: str) -> None:
        """The criterion before."""
        self.at = max(0, self.at - 1)
        self.draw()

    def act_down(self, key: str) -> None:
        """The criterion after."""
        self.at = min(len(self.slot.criteria) - 1, self.at + 1)
        self.draw()

    def act_descriptors(self, key: str) -> None:
        """All levels in full, or three again."""
        self.whole = not self.whole
        self.draw()

    def foreshow(self, key: str) -> None:
        """Show a level that may yet turn out to be a held key."""
        item = self.assess.keys.at(self.place, key)
        if self.mode != "levels" or self.asker.open_now or item is None or self.slot.locked:
            return
        if item.id == "run.level" and int(key) in self.slot.rubric.scale.levels:
            self._foreshown = (self.at, key)
        elif item.id == "run.not-observed":
            self._foreshown = (self.at, "no")
        self.draw()

    def keep(self, key: str) -> None:
        """Write what was shown."""
        self._foreshown = None
        self.press(key)

    def take_back(self, key: str) -> None:
        """It was a held key: as before."""
        self._foreshown = None
        self.draw()

    # --- undo ----------------------------------------------------------------------------------

    def act_undo(self, key: str) -> None:
        """Take the latest act on this sheet back."""
        if self.slot.locked:
            raise Refusal(self.may_write())
        taken = self.slot.undo()
        self.changed(self.slot)
        self.tell(f"taken back: {taken}" if taken else "nothing to take back")
