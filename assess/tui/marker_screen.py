"""One assessor of a calibration round: the result and why, habits, lesson by lesson, and where the two parted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import zip_longest
from typing import TYPE_CHECKING

from assess.tui.round_screen import CAUTION, RESULT_STYLES
from assess.tui.shown import Content, joined, shown, wrapped
from assess.tui.worked_screen import WorkedScreen

if TYPE_CHECKING:
    from assess.agreement.results.raters import Effect
    from assess.desk.round_lessons import LessonLine, PairedMark, Parted
    from assess.desk.rounds import AssessorRound, RoundView

__all__ = ["MarkerScreen"]

SIDE_BY_SIDE = 70
SLOT, GAP = 11, 2


class MarkerScreen(WorkedScreen):
    """Of two people's words on the same thing those of the assessor stand left, the panel's right."""

    def __init__(self, view: RoundView, marker: AssessorRound) -> None:
        super().__init__()
        self.view, self.marker = view, marker

    @property
    def place(self) -> str:
        """One assessor of a round."""
        return "marker"

    def title_words(self) -> str:
        """Whose round."""
        return f"{self.marker.assessor} {self.marker.name} · against the panel"

    def work(self, progress: Callable[[float], bool]) -> tuple[tuple[LessonLine, ...], tuple[Parted, ...]]:
        """The lessons beside the reference, and where they parted."""
        from assess.desk.round_lessons import lesson_lines, parted

        return lesson_lines(self.desk, self.view, self.marker), parted(self.desk, self.view, self.marker)

    def page(self, found: tuple[tuple[LessonLine, ...], tuple[Parted, ...]], width: int) -> list[Content]:
        """What there is to look at first; then every number, the lessons, and what each had seen."""
        lessons, apart = found
        effects = sorted(self.marker.numbers.effects, key=lambda effect: effect.verdict != "look")
        drawn = [*wrapped(CAUTION, width, "$warn"), *self._result(width)]
        drawn += [row for effect in effects for row in _effect(effect, width) if effect.verdict == "look"]
        drawn += [shown(""), shown("Where they parted", "bold $mark"), *self._parted(apart, width)]
        drawn += [shown(""), shown("Lesson by lesson, in the order of marking", "bold $mark"), *_table(lessons, width)]
        drawn += [shown(""), shown("In numbers", "bold $mark"), *self._numbers(width)]
        return drawn + [row for effect in effects for row in _effect(effect, width) if effect.verdict != "look"]

    def _result(self, width: int) -> list[Content]:
        from assess.desk.round_rule import RESULT_WORDS, reached

        judged = self.marker.judged
        if judged is None:
            return wrapped("No result: the rule of the round cannot be used.", width, "$bad")
        drawn = [shown(RESULT_WORDS[judged.result], f"bold {RESULT_STYLES[judged.result]}")]
        for item in judged.unmet:
            drawn += wrapped(f"not reached: {reached(item)}", width, "$ink", indent=2)
        return drawn

    def _numbers(self, width: int) -> list[Content]:
        numbers, (same, near) = self.marker.numbers, self.marker.near
        told = [each.sentence for each in (numbers.exact, numbers.within_one, numbers.line, numbers.distance)]
        told.append(f"Near the pass line {same} of {near} sheets are on the panel's side.")
        return [row for sentence in told for row in wrapped(sentence, width, "$ink")]

    def _parted(self, items: Sequence[Parted], width: int) -> list[Content]:
        if not items:
            return wrapped("nowhere by two levels, or by one across the pass line", width, "$ink")
        drawn: list[Content] = []
        for item in items:
            mark = item.mark
            head = f"{item.slot} {item.title} · {mark.label}{', across the line' if item.across else ''}"
            drawn += wrapped(head, width, "bold")
            mine = [f"{self.marker.assessor} {_level(mark.level)}", *(item.mine or ("nothing noted",))]
            ends = f" ({_level(mark.lowest)} to {_level(mark.highest)})" if mark.lowest != mark.highest else ""
            reasons = (item.reason,) if item.reason else item.panel[:3]
            panel = [f"panel {_level(mark.reference)}{ends}", *(reasons or ("nothing noted",))]
            drawn += _beside(mine, panel, width)
        return drawn


def _effect(effect: Effect, width: int) -> list[Content]:
    look = effect.verdict == "look"
    drawn = wrapped(f"{effect.verdict}: {effect.sentence}", width, "$warn" if look else "$soft")
    return [*drawn, *(wrapped(f"What helps: {effect.todo}", width, "$ink", indent=2) if effect.todo else [])]


def _beside(left: Sequence[str], right: Sequence[str], width: int) -> list[Content]:
    """Two columns where there is room for them, else one below the other; the first line of each is bold."""
    if width < SIDE_BY_SIDE:
        return [row for side in (left, right) for row in _column(side, width)]
    room = (width - GAP) // 2
    blank = shown("", cells=room + GAP, fill=True)
    rows = zip_longest(_column(left, room), _column(right, room))
    return [
        joined([_filled(one, room + GAP) if one else blank, other] if other else [one or blank]) for one, other in rows
    ]


def _column(texts: Sequence[str], width: int) -> list[Content]:
    head, *rest = texts
    return [*wrapped(head, width, "$mark", indent=2), *(row for text in rest for row in wrapped(text, width, indent=2))]


def _filled(content: Content, cells: int) -> Content:
    return joined([content, shown("", cells=cells - content.cell_length, fill=True)])


def _table(lessons: Sequence[LessonLine], width: int) -> list[Content]:
    """Level and the panel's for each criterion; `~` near the line, `!` the other side of it."""
    labels = list(dict.fromkeys(mark.label for line in lessons for mark in line.marks))
    room = max(8, (width - SLOT - 3) // max(1, len(labels)))
    head = "".join(f" {label[: room - 2]:<{room - 1}}" for label in labels)
    drawn = [*wrapped("yours and the panel's; ~ near the pass line, ! on the other side of it", width, "$soft")]
    drawn.append(shown(f"{'':{SLOT + 3}}{head}", "$mark", cells=width))
    for line in lessons:
        flags = ("~" if line.near else " ") + ("!" if line.same_side is False else " ")
        by_label = {mark.label: mark for mark in line.marks}
        parts = [shown(f"{line.place:>3} {line.slot:<7}", cells=SLOT, fill=True)]
        parts.append(shown(f"{flags} ", "bold $bad" if "!" in flags else "$soft"))
        parts += [_pair(by_label.get(label), room) for label in labels]
        drawn.append(joined(parts))
    return drawn


def _pair(mark: PairedMark | None, room: int) -> Content:
    if mark is None:
        return shown("", cells=room, fill=True)
    gap = mark.gap
    far = gap is not None and abs(gap) >= Fraction(3, 2)
    return shown(
        f" {_level(mark.level)} {_level(mark.reference)}{' <' if far else ''}", "bold $warn" if far else "", cells=room,
        fill=True,
    )  # fmt: skip


def _level(level: Fraction | None) -> str:
    return "-" if level is None else f"{float(level):g}"
