"""What a course keeps about one person, as a page to read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from assess.desk.person_record import only_a_director, person_record
from assess.records.fact import FREE_TEXT

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["person_lines"]


def person_lines(desk: Desk, person: str) -> Iterator[str]:
    """Role, contact, consents, conflicts, then every record by file, and every free text in it.

    Raises Refusal to all but a director.
    """
    only_a_director(desk, "reads what is kept about a person")
    record = person_record(desk, person)
    yield f"{record.id}, {record.role} of {desk.course.title}"
    yield ""
    yield "# In people.yaml"
    yield from (f"{key}: {_said(value)}" for key, value in record.entry.items() if key != "id")
    yield from (f"agreed: {_pairs(item)}" for item in record.consents)
    if not record.consents:
        yield "! agreed to nothing that is written down"
    yield from (f"conflict: {_pairs(item)}" for item in record.conflicts)
    yield from (f"{key}: {_pairs(item)}" for key, items in record.held.items() for item in items)
    kinds = Counter(entry["kind"] for ledger in record.ledgers for entry in ledger["entries"])
    yield ""
    yield f"# Records: {len(record.ledgers)} files, {sum(kinds.values())} entries"
    yield ", ".join(f"{number} {kind}" for kind, number in sorted(kinds.items())) or "none"
    if record.left_out:
        slots = ", ".join(f"{task}.{who}" for task, who in record.left_out)
        yield f"! not shown, because not everybody has locked: {slots}"
    for ledger in record.ledgers:
        texts = [entry for entry in ledger["entries"] if any(entry.get(key) for key in FREE_TEXT)]
        yield ""
        yield f"# {ledger['file']}"
        yield f"{len(ledger['entries'])} entries, {len(texts)} with words"
        for entry in texts:
            words = "; ".join(str(entry[key]) for key in entry if key in FREE_TEXT and entry[key])
            yield f"{desk.clock_text(entry['at'])}  {entry['kind']}: {words}"
    yield ""
    yield "# What can be done"
    yield f"a copy for this person: assess person export COURSE {person} --to FILE.zip"
    yield f"erase what can go: assess person erase COURSE {person} (a dry run first)"


def _pairs(item: dict[str, Any]) -> str:
    return ", ".join(f"{key} {_said(value)}" for key, value in item.items() if key != "who")


def _said(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
