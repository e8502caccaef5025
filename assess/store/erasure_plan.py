"""What has to go from a course folder so that nothing of one person is left in it, found before anything is touched.

Of the ledgers: the free text of entries about them, and of any entry that names them. Of the hand-edited files: their
entry, their consents, and their name wherever it stands. Archives the program made of the course, temporary files a
crash left, torn ends. What cannot be dealt with is named, for a person to settle.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from assess.records.concerning import kept_on, texts_about
from assess.records.errors import InputError, Problem
from assess.records.fact import FREE_TEXT
from assess.records.ledger import Entry
from assess.records.naming import Names
from assess.store.course_files import (
    LEDGER_FOLDERS,
    RUBRIC_FOLDER,
    TABLE_FOLDER,
    base_stem,
    find_files,
    is_version,
    recorded_name,
)
from assess.store.course_folder import CourseFolder
from assess.store.erasing import without_texts, without_unread
from assess.store.ledger_file import LARGEST_LEDGER, LedgerFile, read_ledger
from assess.store.names_out import without_name
from assess.store.quality_files import told_of_self
from assess.store.reading import whole_file
from assess.store.strangers import Sought, stranger_findings
from assess.store.versions import fork_problems
from assess.store.yaml_file import YamlDoc
from assess.store.yaml_splice import plain

__all__ = ["ErasurePlan", "Mention", "plan_erasure"]

Place = tuple[str, int]
_OF_THE_LEARNER = ("learner", "measured")
"""What is said of the learner of a lesson without an id, when there is one learner."""
_BESIDE = ("keys.yaml", "overlay.yaml", "quality.yaml", "groups.yaml")


@dataclass(frozen=True, order=True)
class Mention:
    """A place outside the person's own records that names them; `goes`: what becomes of it."""

    file: str
    line: int
    words: str
    goes: str


@dataclass
class ErasurePlan:
    """What an erasure would do, by file names as `sheets/...`.

    writes: new bytes of files; removes: files that go. entries: record -> heads of the entries whose text goes.
    own: ledgers with text about the person. unsettled: versions somebody has to compare before the text is gone.
    left: what nobody but a person can deal with. listed: the person still has an entry in people.yaml.
    """

    person: str
    writes: dict[str, bytes] = field(default_factory=dict)
    removes: set[str] = field(default_factory=set)
    entries: dict[str, set[str]] = field(default_factory=dict)
    own: set[str] = field(default_factory=set)
    mentions: set[Mention] = field(default_factory=set)
    unsettled: list[Problem] = field(default_factory=list)
    left: list[Problem] = field(default_factory=list)
    listed: bool = False

    @property
    def empty(self) -> bool:
        """True when there is nothing to do."""
        return not (self.writes or self.removes)


def plan_erasure(folder: CourseFolder, person: str, names: Names, keep: Collection[Place] = ()) -> ErasurePlan:
    """What is to be done in a course folder. keep: (file, line) of mentions that mean somebody else and stay."""
    plan = ErasurePlan(person)
    look = _Look(folder, plan, names, frozenset(keep))
    look.ledgers()
    look.hand_edited()
    sought = Sought(person, look.elsewhere, frozenset(look.texts))
    removed, left = stranger_findings(folder.root, sought, look.known)
    plan.removes |= removed
    plan.left += [problem for problem in left if (problem.file, problem.line) not in look.keep]
    plan.left.sort()
    return plan


class _Look:
    def __init__(self, folder: CourseFolder, plan: ErasurePlan, names: Names, keep: frozenset[Place]) -> None:
        self.folder, self.plan, self.names, self.keep = folder, plan, names, keep
        self.root, self.files = folder.root, find_files(folder.root)
        self.texts: set[str] = set()
        listed = [each for each in (*self.files.records.items(), *self.files.aside.items()) if each[0] != TABLE_FOLDER]
        self.known = {f"{where}/{name}" if where else name for where, names in listed for name in names} | set(_BESIDE)
        in_use = [file for file in folder.ledgers if not file.bad]
        doubts = fork_problems(self.root, folder.aside, in_use, folder.forks)
        # What an editor leaves (`people.yaml~`) is no version anybody could settle.
        self.unsettled = {each.file: each for each in doubts if is_version(*_place(each.file))}
        self._learners(plan.person)

    def _learners(self, person: str) -> None:
        """An alias is often an ordinary word: it means the learner in sheets of lessons they had, and nowhere else."""
        taught = [slot for slot in self.folder.course.allocation if person in slot.learners]
        self.met = {(slot.task, slot.candidate) for slot in taught}
        self.alone = {(slot.task, slot.candidate) for slot in taught if slot.learners == (person,)}
        learner = any(each.id == person for each in self.folder.people.learners)
        self.elsewhere = Names(()) if learner else self.names

    # --- ledgers ----------------------------------------------------------------------------------

    def ledgers(self) -> None:
        """Every file of the ledger folders, in use or kept aside, whatever state it is in."""
        for listed in (self.files.records, self.files.aside):
            for where in LEDGER_FOLDERS:
                for name in listed.get(where, ()):
                    if name.endswith(".yaml"):
                        self._ledger(where, name)
                    else:
                        self._torn_end(where, name)

    def _ledger(self, where: str, name: str) -> None:
        shown = f"{where}/{name}"
        try:
            file = read_ledger(self.root / where / name, shown=shown)
        except InputError:
            self._unreadable(shown)
            return
        header = file.ledger.header
        slot = (header.task or "", header.candidate or "")
        names = self.names if slot in self.met else self.elsewhere
        gone = {entry.n for entry in texts_about(file.ledger, self.plan.person)}
        if slot in self.alone:
            gone |= {each.n for each in file.ledger.entries if each.fact.kind in _OF_THE_LEARNER and _told(each)}
        named = {entry.n for entry in file.ledger.entries if self._names(shown, entry, names)} - gone
        theirs = kept_on(header, self.plan.person)
        new = without_texts(file, gone | named)
        if (file.bad or file.torn) and theirs:
            new = without_unread(new, file)
        elif file.bad or file.torn:
            self._read_by_nobody(shown, file.raw[file.whole :])
        self._tags(shown, file, names)
        if new != file.raw:
            self._change(where, name, new, file, gone | named)
            if gone or theirs:
                self.plan.own.add(shown)

    def _names(self, shown: str, entry: Entry, names: Names) -> bool:
        """True for an entry that names the person and is not to be kept; what it says is remembered to look for."""
        said = [text for key in FREE_TEXT if isinstance(text := getattr(entry.fact, key, None), str)]
        found = [words for text in said for words in names.found(text)]
        if not found or (shown, entry.line) in self.keep or entry.fact.kind == "erasure":
            return False
        self.plan.mentions.add(Mention(shown, entry.line, found[0], "the text of this entry goes"))
        return True

    def _tags(self, shown: str, file: LedgerFile, names: Names) -> None:
        """Words outside the free text are chained as they are: nothing takes them out without breaking the chain."""
        for entry in file.ledger.entries:
            words = [found for text in _strings(_but_texts(entry)) for found in names.found(text)]
            if words and (shown, entry.line) not in self.keep:
                what = f"`{words[0]}` stands in a tag or another fixed word of this entry, which nothing can take out"
                self._left(shown, entry.line, what, "tell the person that it stays, and why")

    def _change(self, where: str, name: str, new: bytes, file: LedgerFile, numbers: set[int]) -> None:
        shown, stem = f"{where}/{name}", base_stem(name)
        record = recorded_name(where, stem)
        heads = {f"{entry.n} {entry.chain}" for entry in file.ledger.entries if entry.n in numbers}
        if heads:
            self.plan.entries.setdefault(record, set()).update(heads)
        self.texts |= set(_strings([_texts(entry) for entry in file.ledger.entries if entry.n in numbers]))
        aside = [each for each in self.folder.aside if each.startswith(f"{where}/{stem}~")]
        self.plan.unsettled += [self.unsettled[each] for each in aside if each in self.unsettled]
        if "~bad-" in name:
            # Compared and set aside by somebody; its name is made of the bytes it has.
            self.plan.removes.add(shown)
        else:
            self.plan.writes[shown] = new

    def _torn_end(self, where: str, name: str) -> None:
        """A line cut short that was kept; it is no record, and goes when it may be about the person."""
        shown = f"{where}/{name}"
        raw = whole_file(self.root / where / name, shown, LARGEST_LEDGER)
        if self._by_name(where, name) or self.elsewhere.found(raw.decode("utf-8", "replace")):
            self.plan.removes.add(shown)

    def _unreadable(self, shown: str) -> None:
        where, _, name = shown.partition("/")
        if self._by_name(where, name):
            self._left(shown, 0, "cannot be read, and is kept on this person by its name", "take it out of the folder")
        else:
            try:
                self._read_by_nobody(shown, whole_file(self.root / shown, shown, LARGEST_LEDGER))
            except InputError as trouble:
                self.plan.left += trouble.problems

    def _by_name(self, where: str, name: str) -> bool:
        parts = name.split("~")[0].split(".")
        place = {"sheets": 1, "moderation": 1, "decisions": 0}.get(where)
        if where == "cases":
            return parts[0].rpartition("-")[0] == self.plan.person
        return place is not None and len(parts) > place and parts[place] == self.plan.person

    def _read_by_nobody(self, shown: str, raw: bytes) -> None:
        for words in self.elsewhere.found(raw.decode("utf-8", "replace"))[:1]:
            self._left(shown, 0, f"`{words}` stands in a part of it that cannot be read", "take it out by hand")

    def _left(self, shown: str, line: int, what: str, todo: str) -> None:
        self.plan.left.append(Problem(shown, line, what, todo))

    # --- hand-edited files --------------------------------------------------------------------------

    def hand_edited(self) -> None:
        """The two files of the course or round, those kept aside, rubrics (which nobody may change), the overlay."""
        person, course_doc = self.plan.person, self.folder.course_doc
        self.plan.listed = _take_out(plain(self.folder.people_doc.data), person)
        self._replaced(self.folder.people_doc, "people", lambda people: _take_out(people, person))
        self.texts |= _silence_events(plain(course_doc.data), person)
        kind = course_doc.shown.removesuffix(".yaml")
        self._replaced(course_doc, kind, lambda course: _silence_events(course, person))
        for name in self.files.aside.get("", ()):
            raw = whole_file(self.root / name, name, LARGEST_LEDGER).decode("utf-8", "replace")
            if self.names.found(raw) or (name.startswith("people") and re.search(rf"\b{re.escape(person)}\b", raw)):
                self.plan.removes.add(name)
                self.plan.unsettled += [self.unsettled[name]] if name in self.unsettled else []
        for name in self.files.records.get(RUBRIC_FOLDER, ()):
            self._in_text(f"{RUBRIC_FOLDER}/{name}", "a rubric in force keeps its bytes; correct the next version")
        # The panel's words of a round are for people to change.
        done = (self.folder.people_doc.shown, course_doc.shown)
        others = [name for name in self.files.records.get("", ()) if name not in done]
        for name in dict.fromkeys((*_BESIDE, *others)):
            if (self.root / name).is_file():
                self._in_text(name, "take it out in an editor")
        self._told_of_self()

    def _told_of_self(self) -> None:
        """What the person told of themselves stands under an id and names nobody, but it is about them."""
        try:
            found = told_of_self(self.root, f"{self.folder.course.id}/{self.plan.person}")
        except InputError as trouble:
            self.plan.left += trouble.problems
            return
        for line, _ in found:
            what = "holds what this person told of themselves"
            self._left("groups.yaml", line, what, "take the entry out in an editor")

    def _in_text(self, shown: str, todo: str) -> None:
        text = whole_file(self.root / shown, shown, LARGEST_LEDGER).decode("utf-8", "replace")
        for number, line in enumerate(text.split("\n"), start=1):
            for words in self.elsewhere.certain(line)[:1]:
                if (shown, number) not in self.keep:
                    self._left(shown, number, f"names `{words}`", todo)

    def _replaced(self, doc: YamlDoc, what: str, change: Callable[[Any], object]) -> None:
        """The file as it is meant, the person's name replaced by the id, the revision one higher."""
        keep = {line for file, line in self.keep if file == doc.shown}
        names = self.names if what == "people" else self.elsewhere
        new, found = without_name(doc, what, names, keep, change, (self.plan.person,))
        self.plan.mentions |= {Mention(doc.shown, line, words, f"becomes {self.plan.person}") for line, words in found}
        if new != doc.raw:
            self.plan.writes[doc.shown] = new


def _place(shown: str) -> tuple[str, str]:
    folder, _, name = shown.rpartition("/")
    return folder, name


def _told(entry: Entry) -> bool:
    return any(_texts(entry).values())


def _take_out(people: Any, person: str) -> bool:
    """Take a person out of what people.yaml says; True when there was something to take out."""
    before = repr(people)
    for key in ("candidates", "assessors", "directors", "reviewers", "learners"):
        if key in people:
            people[key] = [each for each in people[key] if each["id"] != person]
    if "consents" in people:
        people["consents"] = [each for each in people["consents"] if each["who"] != person]
    for conflict in people.get("conflicts", ()):
        if person in (conflict["assessor"], conflict["candidate"]):
            # That there is one stays: it says who may not mark whom.
            conflict["why"] = "erased"
    for agreed in people.get("accommodations", ()):
        if agreed["candidate"] == person:
            agreed["what"] = "erased"
    return repr(people) != before


def _silence_events(course: Any, person: str) -> set[str]:
    """Take the notes out of events that are about this candidate or person alone; what they said."""
    if not course.get("events"):
        return set()
    others = {*course["candidates"], *course["assessors"], *course["directors"]} - {person}
    gone = set()
    for event in course.get("events", ()):
        ids = {str(event.get("who", "")), *re.findall(r"[A-Za-z0-9-]+", str(event.get("about", "")))}
        if person in ids and not ids & others and event.get("note", "") not in ("", "erased"):
            gone.add(event["note"])
            event["note"] = "erased"
    return gone


def _texts(entry: Entry) -> dict[str, Any]:
    return {key: getattr(entry.fact, key, None) for key in FREE_TEXT}


def _but_texts(entry: Entry) -> dict[str, Any]:
    return {key: value for key, value in entry.fact.payload().items() if key not in FREE_TEXT}


def _strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from _strings(key)
            yield from _strings(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _strings(item)
