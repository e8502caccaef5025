"""The lines of the lesson sheet: pure, from what the desk says of the session."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.tui.shown import Content, joined, shown, wrapped

if TYPE_CHECKING:
    from assess.desk.lesson_moments import Moment
    from assess.desk.lesson_sheet import LessonSheet

__all__ = [
    "SAFETY_WORDS", "USE_WORDS", "clock_words", "column", "criterion_lines", "for_and_against", "level_lines",
    "level_text", "minutes", "safety_strip", "share_bar", "split",
]  # fmt: skip

ROOMY = 72
USE_WORDS = {
    "practise": "practice", "talk": "talk", "wait": "waiting", "lift": "lift", "move": "moving", "pause": "pause",
}  # fmt: skip
SAFETY_WORDS = {
    "done": "done", "missed-once": "missed once", "missed": "MISSED", "missed-twice": "MISSED TWICE",
    "missed-with-traffic": "MISSED IN TRAFFIC", "violated": "VIOLATED", "not-acted-upon": "NOT ACTED UPON",
    "not-applicable": "n/a", None: "?",
}  # fmt: skip
_SAFETY_STYLE = {
    "done": "$good", "missed-once": "$warn", "missed": "bold $warn", "missed-twice": "bold $bad",
    "missed-with-traffic": "bold $bad", "violated": "bold $bad", "not-acted-upon": "bold $bad",
    "not-applicable": "$soft",
}  # fmt: skip
_KIND_WORDS = {"seen": "", "you see": "you:", "named": "said"}


def minutes(ms: int | None) -> str:
    """`12:05`, or `--:--` before the start."""
    if ms is None:
        return "--:--"
    whole, seconds = divmod(max(0, ms) // 1000, 60)
    return f"{whole}:{seconds:02d}"


def clock_words(slot: LessonSheet, clock_ms: int | None) -> tuple[str, str]:
    """The session time, and in words what is going on."""
    doing = "practising" if slot.practising else "not practising"
    if clock_ms is None:
        return minutes(None), f"{doing}; clock not started: s starts it"
    if slot.ended:
        safety = slot.ended == "unsafe"
        return minutes(clock_ms), f"ended: {slot.ended}" + ("; what it did not reach is not judged" if safety else "")
    return minutes(clock_ms), doing


@dataclass(frozen=True)
class _Count:
    seen_for: int
    against: int
    last: str


def _counts(moments: Sequence[Moment], criterion: str) -> _Count:
    mine = [moment for moment in moments if criterion in moment.criteria and moment.direction]
    last = f"last {mine[-1].minute_text} {mine[-1].direction}" if mine else ""
    return _Count(
        sum(moment.direction == "for" for moment in mine), sum(moment.direction == "against" for moment in mine), last
    )


def criterion_lines(slot: LessonSheet, moments: Sequence[Moment], chosen: int | None, width: int) -> list[Content]:
    """The criteria with their numbers, how often seen for and against, and when last."""
    name = max(10, min(26, width - (44 if width >= ROOMY else 26)))
    drawn = []
    for index, criterion in enumerate(slot.criteria):
        here = index == chosen
        count = _counts(moments, criterion)
        drawn.append(
            joined(
                [
                    shown(f"{'>' if here else ' '} {index + 1} ", "bold $mark"),
                    shown(slot.rubric.criteria[criterion].label, "bold" if here else "", cells=name, fill=True),
                    shown(f"  for {count.seen_for:<3}", "bold $good" if count.seen_for else "$soft"),
                    shown(f" against {count.against:<3}", "bold $warn" if count.against else "$soft"),
                    shown(f" {count.last}" if width >= ROOMY else "", "$soft"),
                ]
            )
        )
    return drawn


def split(moments: Iterable[Moment]) -> tuple[list[Moment], list[Moment], list[Moment]]:
    """Learner before, what was done, learner after; what was named and what you see stand with before."""
    before: list[Moment] = []
    done: list[Moment] = []
    after: list[Moment] = []
    for moment in moments:
        if moment.phase == "after":
            after.append(moment)
        elif moment.phase == "before" or moment.kind in ("named", "you see"):
            before.append(moment)
        else:
            done.append(moment)
    return before, done, after


def column(head: str, moments: Sequence[Moment], labels: Mapping[str, str], width: int, room: int) -> list[Content]:
    """One column: its head, then the newest moments that fit, oldest of them first; how many are left out."""
    drawn = [shown(head, "bold $mark", cells=width, fill=True)]
    kept: list[list[Content]] = []
    for moment in reversed(moments):
        lines = _moment(moment, labels, width)
        # One line stays free for how many are left out, unless this is the first of all.
        if sum(map(len, kept)) + len(lines) + (len(kept) + 1 < len(moments)) > max(1, room):
            break
        kept.insert(0, lines)
    if len(kept) < len(moments):
        drawn.append(shown(f"{len(moments) - len(kept)} earlier", "$soft", cells=width, fill=True))
    return drawn + [line for lines in kept for line in lines]


def _moment(moment: Moment, labels: Mapping[str, str], width: int) -> list[Content]:
    """A moment on one line, or on two where its words are long."""
    about = ", ".join(labels.get(name, name) for name in moment.criteria)
    sign = {"for": "+", "against": "-"}.get(moment.direction, "")
    kind = _KIND_WORDS.get(moment.kind, USE_WORDS.get(moment.kind, moment.kind))
    learner = f"L{moment.learner}" if moment.learner else ""
    words = " ".join(part for part in (kind, learner, f"{sign}{about}" if about or sign else "", moment.text) if part)
    style = "bold $bad" if moment.kind == "breach reported" else "$warn" if sign == "-" else "$good" if sign else ""
    heads = (shown(f"{moment.minute_text:>5} ", "$soft"), shown(" " * 6))
    room = max(8, width - 7)
    parts = wrapped(words, room, style, most=2)
    return [
        joined([head, part, shown(" " * (room + 1 - part.cell_length))])
        for head, part in zip(heads, parts, strict=False)
    ]


def safety_strip(states: Mapping[str, str | None], width: int) -> list[Content]:
    """The safety list as a strip of words: `count done · look-uphill MISSED · last-place ?`."""
    parts, drawn, used = [shown("safety  ", "bold $mark")], [], 8
    for item, state in states.items():
        word = f"{item.replace('-', ' ')} {SAFETY_WORDS[state]}"
        piece = shown(word, _SAFETY_STYLE.get(state or "", "$soft"))
        if used + piece.cell_length + 3 > width and used > 8:
            drawn.append(joined(parts))
            parts, used = [shown(" " * 8)], 8
        elif used > 8:
            parts.append(shown(" · ", "$soft"))
            used += 3
        parts.append(piece)
        used += piece.cell_length
    return [*drawn, joined(parts)] if states else []


def share_bar(shares: Mapping[str, int] | None, width: int) -> Content:
    """Shares of time as words and a bar, or that no time was recorded."""
    head = shown("time    ", "bold $mark")
    if not shares:
        return joined([head, shown("time not recorded", "$soft")])
    whole = sum(shares.values()) or 1
    parts = [head]
    for use, ms in sorted(shares.items(), key=lambda pair: -pair[1]):
        cells = max(1, round(ms / whole * max(4, (width - 60) // 1))) if width > 76 else 1
        parts += [shown("█" * cells, "$mark"), shown(f" {USE_WORDS.get(use, use)} {minutes(ms)}  ")]
    return joined(parts)


def for_and_against(slot: LessonSheet) -> dict[str, str]:
    """Of each criterion how often something was seen for and against it."""
    counts = {name: _counts(slot.timeline(), name) for name in slot.criteria}
    return {name: f"for {count.seen_for}, against {count.against}" for name, count in counts.items()}


def level_lines(
    slot: LessonSheet, beside: Mapping[str, str], at: int, foreshown: tuple[int, str] | None, width: int
) -> list[Content]:
    """The criteria with the level given, and beside it what was seen."""
    due = set(slot.needing_evidence())
    name = max(10, min(26, width - 44))
    drawn = []
    for index, criterion in enumerate(slot.criteria):
        here = index == at
        text = foreshown[1] if foreshown and foreshown[0] == index else level_text(slot, criterion)
        drawn.append(
            joined(
                [
                    shown(f"{'>' if here else ' '} {index + 1} ", "bold $mark"),
                    shown(slot.rubric.criteria[criterion].label, "bold" if here else "", cells=name, fill=True),
                    shown(" "),
                    shown(f"[{text or ' '}]", "bold $cursor-ink on $cursor")
                    if here
                    else shown(f" {text or '·'} ", "bold"),
                    shown(f"  {beside[criterion]}", "$soft"),
                    shown("  note due" if criterion in due else "", "bold $warn"),
                ]
            )
        )
    return drawn


def level_text(slot: LessonSheet, criterion: str) -> str:
    """The level as shown: digits, `no`, `na`, or nothing."""
    mark = slot.sheet.mark(criterion)
    if mark is None:
        return ""
    return {"not-observed": "no", "not-applicable": "na"}.get(mark.status, str(mark.level))
