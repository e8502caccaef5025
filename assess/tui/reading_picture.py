"""The readings of a lesson on a screen: in short beside the criteria, or whole with their reasons."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.desk.reading_lines import CAUTION, reading_lines
from assess.tui.shown import Content, joined, shown, wrapped

if TYPE_CHECKING:
    from assess.desk.reading_lines import ReadingLine
    from assess.desk.sheet_readings import SheetReadings

__all__ = ["reading_page", "reading_summary"]

LABEL = 34
SCROLLBAR = 2
HEADS = {
    "diagnosis": "found", "drills": "drills fit", "build-up": "built up", "safety": "safe", "change": "change",
}  # fmt: skip

SHORT = {
    "found, of what mattered": "of what mattered", "order of the names": "order", "named with ground": "with ground",
    "how a guess would do": "a guess", "how a stock answer would do": "a stock answer",
    "drills fit what the learner needs": "what the learner needs", "drills fit what was named": "what was named",
    "safety list": "of the list", "hazards named or avoided": "of the hazards",
}  # fmt: skip


def reading_summary(read: SheetReadings, width: int) -> list[Content]:
    """A line per reading; five answers side by side, never one."""
    width -= SCROLLBAR
    found: dict[str, list[ReadingLine]] = {}
    for line in reading_lines(read.readings):
        found.setdefault(line.reading, []).append(line)
    drawn = [shown("readings: evidence, not levels; r shows why", "bold $mark", cells=width)]
    for reading, lines in found.items():
        style = "bold $bad" if any(line.look for line in lines) else ""
        # What has to be looked at comes first: a narrow screen cuts the end.
        ordered = sorted(lines, key=lambda line: not line.look)
        said = "; ".join(dict.fromkeys(_short(line) for line in ordered))
        head = shown(f"  {HEADS[reading]}", "$soft", cells=13, fill=True)
        drawn.append(joined([head, shown(said, style, cells=max(1, width - 13))]))
    return drawn


def _short(line: ReadingLine) -> str:
    """A number with what it is a share of; a word or a reason as it stands."""
    what = SHORT.get(line.label, "")
    if line.look:
        return f"possible breach: {line.value}"
    return f"{line.value} {what}".strip() if line.value[:1].isdigit() else line.value


def reading_page(read: SheetReadings, width: int) -> list[Content]:
    """Every line with its reasons, then what was filled in or left out; long sentences go on over lines."""
    width -= SCROLLBAR
    drawn = [*wrapped(CAUTION, width, "$warn"), shown("")]
    last = ""
    for line in reading_lines(read.readings):
        if last and line.reading != last:
            drawn.append(shown(""))
        last = line.reading
        value = "bold $bad" if line.look else "bold"
        if LABEL + len(line.value) > width:
            drawn += [shown(line.label, "$mark"), *wrapped(line.value, width, value, indent=2)]
        else:
            drawn.append(joined([shown(line.label, "$mark", cells=LABEL, fill=True), shown(line.value, value)]))
        for sentence in line.why:
            drawn += wrapped(sentence, width, "$ink", indent=2)
    if read.told:
        drawn.append(shown(""))
    for sentence in read.told:
        drawn += wrapped(sentence, width, "$soft")
    return drawn
