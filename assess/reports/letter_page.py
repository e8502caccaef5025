"""A candidate's letter as a document: the result first, then what was seen, what to work on, and what can be done."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.reports.document import Document, Listing, Note, Section, Text
from assess.reports.letter_result import result_section
from assess.reports.letter_rights import rights_section

if TYPE_CHECKING:
    from assess.reports.document import Block, Picture
    from assess.reports.letter import Letter, Place, ToTrain
    from assess.reports.messages import Messages

__all__ = ["letter_document"]

BESIDE = 230.0
"""Points: the picture stands beside its table on paper."""
HALF = 0.5
"""Levels to either side of a dot in the picture: what such a mean may easily differ by. A reading aid, not measured."""
_WHERE = {
    "above": "letter.where_above",
    "close": "letter.where_close",
    "below": "letter.where_below",
    "single": "letter.where_single",
}


def letter_document(letter: Letter, said: Messages) -> Document:
    """The letter in one language; the same letter gives the same document."""
    sections = [result_section(letter, said)]
    if letter.strengths:
        sections.append(Section(said.say("letter.best_title"), (Listing(tuple(_strengths(letter, said))),)))
    if letter.to_train or any(module.breach for module in letter.modules):
        sections.append(_training(letter, said))
    sections.append(rights_section(letter, said))
    if any(place.value is not None for place in letter.places):
        sections.append(_profile(letter, said))
    return Document(
        title=said.say("letter.title", name=letter.name),
        about=_about(letter, said),
        audience=said.say("letter.audience", name=letter.name),
        dated=said.day(letter.dated),
        sections=tuple(sections),
        language=said.language,
        closing=tuple(_closing(letter, said)),
    )


def _about(letter: Letter, said: Messages) -> str:
    if not letter.days[0]:
        return said.say("letter.about_undated", candidate=letter.candidate, course=letter.course)
    days = said.days(*letter.days)
    return said.say("letter.about", candidate=letter.candidate, course=letter.course, days=days)


def _strengths(letter: Letter, said: Messages) -> Iterator[str]:
    for item in letter.strengths:
        words = said.say("letter.strength", criterion=item.criterion, module=item.module, shown=item.shown)
        if item.note:
            words += " " + said.say("letter.noted", task=item.task, note=item.note)
        yield words


def _training(letter: Letter, said: Messages) -> Section:
    planned = any(item.behaviour for item in letter.to_train)
    intro: list[Block] = []
    if not planned and any(module.breach for module in letter.modules):
        intro.append(Text(said.say("letter.train_breach")))
    if not planned and letter.to_train:
        intro.append(Text(said.say("letter.train_unplanned")))
    return Section(
        said.say("letter.train_title"), tuple(intro), tuple(_thing(item, said) for item in letter.to_train)
    )  # fmt: skip


def _thing(item: ToTrain, said: Messages) -> Section:
    about = said.say("letter.train_about", criterion=item.criterion, module=item.module) if item.criterion else ""
    lines = [about] if about and item.behaviour else []
    step = [said.say("letter.shown", shown=item.shown)] if item.shown else []
    step += [said.say("letter.following", following=item.following)] if item.following else []
    quotes = [said.say("letter.quoted", words=note) for note in item.notes]
    step += [said.say("letter.seen", notes=", ".join(quotes))] if quotes else []
    lines += [" ".join(step)] if step else []
    if item.practice:
        lines.append(said.say("letter.practice", practice=_ended(item.practice)))
    for drill in item.drills:
        words = [said.say("letter.drill", name=drill.name, purpose=drill.purpose.rstrip(". "))]
        words += [said.say("letter.drill_check", check=_ended(drill.check))] if drill.check else []
        words += [said.say("letter.drill_care", care=_ended("; ".join(drill.care)))] if drill.care else []
        lines.append(" ".join(words))
    if item.checked_by:
        lines.append(
            said.say("letter.checked", checked_by=item.checked_by.rstrip(". "), day=said.day(item.by_when))
        )  # fmt: skip
    return Section(item.behaviour or about or item.module, tuple(Text(line) for line in lines))


def _ended(text: str) -> str:
    text = text.rstrip()
    return text if not text or text[-1] in ".!?" else f"{text}."


def _profile(letter: Letter, said: Messages) -> Section:
    blocks: list[Block] = [Text(said.say("letter.profile_intro")), _picture(letter, said)]
    if any(place.where == "single" for place in letter.places):
        blocks.append(Note(said.say("letter.profile_single")))
    return Section(said.say("letter.profile_title"), tuple(blocks))


def _picture(letter: Letter, said: Messages) -> Picture:
    from dataclasses import replace

    from assess.reports.charts import Dot, dots
    from assess.reports.document import Table

    low, line, high = letter.scale
    count = {where: sum(place.where == where for place in letter.places) for where in _WHERE}
    shown = [place for place in letter.places if place.value is not None]
    caption = said.say("letter.profile_caption", line=said.decimal(f"{line:g}"))
    drawn = dots(
        [Dot(place.criterion, at := low + place.share * (high - low), _ends(at, low, high)) for place in shown],
        caption=caption,
        alt=said.say(
            "letter.profile_alt", all=str(len(shown)), above=str(count["above"]), close=str(count["close"]),
            below=str(count["below"]),
        ),
        axis=said.say("letter.profile_axis"),
        names=said.say("letter.column_criterion"),
        line=(line, said.say("letter.profile_line")),
        scale=(low - 0.1, high + 0.1),
        width=BESIDE,
    )  # fmt: skip
    columns = (
        said.say("letter.column_criterion"), said.say("letter.column_module"), said.say("letter.column_value"),
        said.say("letter.column_n"), said.say("letter.column_where"),
    )  # fmt: skip
    rows = tuple(_row(place, said) for place in letter.places)
    return replace(drawn, table=Table(caption, columns, rows, frozenset({2, 3})))


def _ends(at: float, low: float, high: float) -> tuple[float, float]:
    return max(low, at - HALF), min(high, at + HALF)


def _row(place: Place, said: Messages) -> tuple[str, ...]:
    value = "-" if place.value is None else said.decimal(place.value)
    return (place.criterion, place.module, value, str(place.n), said.say(_WHERE[place.where]))


def _closing(letter: Letter, said: Messages) -> Iterator[str]:
    signed: dict[tuple[str, str], list[str]] = {}
    for module in letter.modules:
        signed.setdefault((module.by, module.signed), []).append(module.title)
    for (by, day), titles in signed.items():
        yield said.say("letter.signed", by=by, day=said.day(day), modules=said.listed(titles))
    yield said.say("letter.care_rules")
    if any(item.drills for item in letter.to_train):
        yield said.say("letter.care_drills")
    if letter.written_in.split("-")[0] != said.language:
        yield said.say("letter.care_language")
