"""A copy of everything a course holds about one person, to be handed to that person. GDPR, articles 15 and 20.

An examiner's comments are the candidate's data too (CJEU C-434/16, 2017), so they are in it; other people's names
are not.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.desk.ordinary_words import ordinary_words
from assess.desk.person_record import PersonRecord, only_a_director, person_record
from assess.records.fact import FREE_TEXT
from assess.records.naming import NOT_FOUND, Named, Names, everybody_named
from assess.reports.csv_file import guarded
from assess.store.packing import PERSON_ABOUT, packed

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["PersonExport", "export_person", "write_archive"]

MARK_COLUMNS = ("task", "candidate", "assessor", "run", "criterion", "status", "level", "why", "at", "state")
TEXT_COLUMNS = ("file", "n", "at", "kind", "by", "key", "text")
CLIP_COLUMNS = ("clip", "film", "lesson", "scope", "by", "guardian", "at", "until", "withdrawn")


@dataclass(frozen=True)
class PersonExport:
    """The files of the archive by name; what could not be put in; how many texts had a name replaced."""

    person: str
    role: str
    files: Mapping[str, bytes]
    left_out: tuple[tuple[str, str], ...]
    replaced: int

    def archive(self) -> bytes:
        """The zip: the same record gives the same bytes."""
        return packed(self.files)


def export_person(desk: Desk, person: str) -> PersonExport:
    """Everything the course holds about a person, without other people's names.

    Sheets of a slot that not everybody has locked stay out and are named. Raises Refusal for anybody but a
    director, UsageError for an id nobody has.
    """
    only_a_director(desk, "hands out what is kept about a person")
    record = person_record(desk, person)
    # An alias is often an ordinary word, so only those of the learners this person met are looked for.
    met = {learner for slot in record.slots for learner in slot.get("learners", ())}
    everybody = [each for each in everybody_named(desk.people) if not each.alias or each.id in met | {person}]
    own = [each for each in everybody if each.id == person]
    others = [each for each in everybody if each.id != person]
    swap = _Swap(Names(others, spared=own, ordinary=ordinary_words(desk)))
    document = {
        "file": "assess person export 1",
        "audience": "person",
        "about": person,
        "role": record.role,
        "course": {"id": desk.course.id, "title": desk.course.title, "days": list(desk.course.days)},
        "newest_entry": record.newest or None,
        **swap.whole(_parts(record)),
        "told_of_themselves": _told_of_themselves(desk, person),
        "left_out": [{"task": task, "candidate": candidate} for task, candidate in record.left_out],
    }
    files = {
        PERSON_ABOUT: (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode("utf-8"),
        "marks.csv": _csv(MARK_COLUMNS, record.marks),
        "texts.csv": _csv(TEXT_COLUMNS, _texts(document["records"])),
        "clips.csv": _csv(CLIP_COLUMNS, _clips(document["consents"])),
        **{name: swap.text(text).encode("utf-8") for name, text in _measures(desk, record).items()},
    }
    files["READ-ME.txt"] = "\n".join(_read_me(desk, record, files, own)).encode("utf-8")
    return PersonExport(person, record.role, files, record.left_out, swap.texts)


def _told_of_themselves(desk: Desk, person: str) -> list[dict[str, str]]:
    """The groups the person chose, if a groups file stands in the course folder."""
    from assess.store.quality_files import told_of_self

    return [dict(told.groups) for _, told in told_of_self(desk.folder.root, f"{desk.course.id}/{person}")]


def write_archive(export: PersonExport, to: Path) -> None:
    """Write the zip to a file that is not there yet. Raises Refusal when one is, StorageTrouble when it cannot be."""
    from assess.desk.new_file import write_new

    write_new(to, export.archive(), private=True)


def _parts(record: PersonRecord) -> dict[str, Any]:
    return {
        "entry": record.entry,
        "consents": list(record.consents),
        "conflicts": list(record.conflicts),
        **{key: list(items) for key, items in record.held.items()},
        "slots": list(record.slots),
        "events": list(record.events),
        "records": list(record.ledgers),
    }


class _Swap:
    """Puts ids in the place of other people's names in the free texts of a document, and counts such texts."""

    def __init__(self, names: Names) -> None:
        self._names, self.texts = names, 0

    def text(self, text: str) -> str:
        self.texts += bool(self._names.found(text))
        return self._names.replaced(text)

    def whole(self, value: Any, *, free: bool = False) -> Any:
        if isinstance(value, dict):
            return {key: self.whole(item, free=key in _WRITTEN) for key, item in value.items()}
        if isinstance(value, list):
            return [self.whole(item, free=free) for item in value]
        return self.text(value) if free and isinstance(value, str) else value


# What people write in their own words; everything else is ids, numbers, times and words of the program.
_WRITTEN = FREE_TEXT | {"tags", "note", "about", "why", "by", "guardian"}


def _texts(records: Sequence[dict[str, Any]]) -> Iterator[dict[str, str]]:
    """Every free text, one a row: who wrote it, in which record, and what it says."""
    for ledger in records:
        by = str(ledger["header"].get("assessor") or ledger["header"].get("by") or "")
        for entry in ledger["entries"]:
            same = {"file": ledger["file"], "n": str(entry["n"]), "at": entry["at"], "kind": entry["kind"], "by": by}
            yield from ({**same, "key": key, "text": entry[key]} for key in entry if key in FREE_TEXT)


def _clips(consents: Sequence[dict[str, Any]]) -> Iterator[dict[str, str]]:
    for consent in consents:
        yield {key: _cell(consent.get(key, "")) for key in CLIP_COLUMNS}


def _cell(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return " ".join(map(str, value)) if isinstance(value, list) else str(value)


def _csv(columns: Sequence[str], rows: Any) -> bytes:
    into = io.StringIO(newline="")
    writer = csv.writer(into, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([guarded(row[column]) for column in columns] for row in rows)
    return into.getvalue().encode("utf-8")


def _measures(desk: Desk, record: PersonRecord) -> dict[str, str]:
    """The tables of what was measured in this person's lessons, with what is said beside them."""
    from assess.store.reading import whole_file

    folder, left = desk.folder.root / "measures", set(record.left_out)
    slots = [(slot["task"], slot["candidate"]) for slot in record.slots if _own_lesson(slot, record.id)]
    names = [f"{task}.{who}.{end}" for task, who in slots if (task, who) not in left for end in _ENDS]
    found = [folder / name for name in names if (folder / name).is_file() and not (folder / name).is_symlink()]
    read = {f"measures/{path.name}": whole_file(path, f"measures/{path.name}", _LARGEST_TABLE) for path in found}
    return {name: raw.decode("utf-8", "replace") for name, raw in read.items()}


def _own_lesson(slot: dict[str, Any], person: str) -> bool:
    return person == slot["candidate"] or slot.get("learners") == [person]


_ENDS = ("before.csv", "before.yaml", "after.csv", "after.yaml")
_LARGEST_TABLE = 8 * 1024 * 1024


def _read_me(desk: Desk, record: PersonRecord, files: Mapping[str, bytes], own: Sequence[Named]) -> Iterator[str]:
    name = next((each.name or each.alias for each in own), "") or record.id
    yield f"What the course {desk.course.id} holds about {name} ({record.id}, {record.role})"
    yield ""
    yield "For this person alone. It is a copy; the records themselves stay where they are."
    yield f"The newest entry in it is of {record.newest}." if record.newest else "There is no entry about them."
    yield ""
    yield "person.json  everything, as data: the entry in people.yaml, consents, slots, and every record"
    yield "marks.csv    every mark, also those taken back or replaced (column `state`)"
    yield "texts.csv    every comment, by whom and when"
    yield "clips.csv    what was agreed about films; the films themselves are with their owners"
    yield from (f"{each}  what was measured" for each in sorted(files) if each.startswith("measures/"))
    yield ""
    yield "Other people stand in it by their ids (A2 an assessor, C07 a candidate, L3 a learner), also inside texts."
    yield f"A program looked for their names; {NOT_FOUND}. Read it through before it is handed over."
    yield "Nothing computed is in it: no outcome, no statistic. A decision is in it once a person has recorded one."
    if record.left_out:
        slots = ", ".join(f"{task} {candidate}" for task, candidate in record.left_out)
        yield ""
        yield f"Not in it, because not everybody has locked: {slots}. Ask again when they have."
    yield ""
