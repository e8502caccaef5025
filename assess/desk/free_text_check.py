"""Free text looked through for what a record should not hold: one sentence, and nothing is stopped."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from assess.records.errors import InputError, Problem
from assess.records.fact import FREE_TEXT
from assess.records.free_text import CONTACT_KEYS, not_for_a_record
from assess.records.naming import Named, Names, everybody_named

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.facts import SomeFact

__all__ = ["free_text_findings", "remark_on_fact"]

_TODO = "leave it out next time: what is written stays until the person is erased"
_NAMED = "write the id instead: names stand in people.yaml alone"


def remark_on_fact(desk: Desk, fact: SomeFact) -> str:
    """One sentence about what in its text does not belong into a record; "" when all is well or it has no text."""
    texts = list(_texts(fact))
    if not any(texts):
        return ""
    try:
        words, names = _health_words(desk), _names(desk)
    except InputError:
        return ""  # the course's own list cannot be read, which `check` tells; it must not stop a note
    return next((said for text in texts if (said := _remark(text, words, names))), "")


def free_text_findings(desk: Desk) -> Iterator[Problem]:
    """One doubt for each entry, and each line of course.yaml, with something in its text that does not belong there."""
    try:
        words, names = _health_words(desk), _names(desk)
    except InputError as trouble:
        yield from trouble.problems
        return
    for file in desk.folder.ledgers:
        shown = f"{file.path.parent.name}/{file.path.name}"
        for entry in file.ledger.entries:
            remark = next((said for text in _texts(entry.fact) if (said := _remark(text, words, names))), "")
            if remark:
                yield Problem(shown, entry.line, remark, _TODO, doubt=True)
    for number, line in enumerate(desk.folder.course_doc.raw.decode("utf-8").split("\n"), start=1):
        found = names.found(line)
        if found:
            yield Problem(desk.folder.course_doc.shown, number, f"names `{found[0]}`", _NAMED, doubt=True)


def _texts(fact: Any) -> Iterator[str]:
    """What people wrote into a fact, tags included; the numbers to call that a morning record is there for are left."""
    yield from (text for key in FREE_TEXT - CONTACT_KEYS if isinstance(text := getattr(fact, key, None), str))
    yield from getattr(fact, "tags", ())


def _remark(text: str, words: tuple[str, ...], names: Names) -> str:
    said = not_for_a_record(text, words)
    if said:
        return said
    found = names.found(text)
    return f"`{found[0]}` names a person: write the id instead" if found else ""


def _health_words(desk: Desk) -> tuple[str, ...]:
    from assess.store.health_words_file import health_words

    return health_words(desk.folder.root, desk.course.language)


def _names(desk: Desk) -> Names:
    """Everybody but learners, whose alias is often an ordinary word; whole names and family names as they are written.

    A family name that is another word when it is written small would be found in every other note. The lessons of a
    round and the films of a season are no people, though they stand where a course has candidates.
    """
    things = set(desk.course.candidates) if desk.folder.frame else set()
    people = [each for each in everybody_named(desk.people) if not each.alias and each.id not in things]
    return Names([Named(each.id, each.name) for each in people], as_written=True)
