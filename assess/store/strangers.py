"""What lies in a course folder beside its records, looked through for one person: archives, exports, left-overs."""

from __future__ import annotations

import html
import io
import json
import os
import re
import zipfile
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path

from assess.records.concerning import texts_about
from assess.records.errors import InputError, Problem
from assess.records.naming import Names
from assess.records.text import pictured
from assess.store.ledger_file import parse_ledger
from assess.store.packing import BUNDLE_ABOUT, PERSON_ABOUT
from assess.store.reading import whole_file

__all__ = ["Sought", "stranger_findings"]

_LARGEST = 64 * 1024 * 1024
_LARGEST_MEMBER = 32 * 1024 * 1024
_MOST_MEMBERS = 20_000
# What `store.atomic` calls a file before it is whole.
_TEMPORARY = re.compile(r"\..+-[0-9a-f]{8}")
_VERSION_KEEPERS = frozenset({".git", ".hg", ".svn", ".jj"})
# Shorter texts are words anybody may have written.
_SHORTEST_TEXT = 12


@dataclass(frozen=True)
class Sought:
    """What of a person is looked for: their id, their names, and what was written about them."""

    person: str
    names: Names
    texts: frozenset[str]

    def held(self, text: str) -> str:
        """What of it a text holds, as a clause; "" when nothing."""
        read = html.unescape(text)
        words = self.names.certain(text) or self.names.certain(read)
        if words:
            return f"holds `{words[0]}`"
        long = [each for each in self.texts if len(each) >= _SHORTEST_TEXT]
        spelled = [json.dumps(each, ensure_ascii=False)[1:-1] for each in long]
        if any(each in read for each in long) or any(each in text for each in spelled):
            return "holds a text about this person"
        return ""


def stranger_findings(root: Path, sought: Sought, known: Collection[str]) -> tuple[set[str], list[Problem]]:
    """(Files the program made that go with a person, what else holds their name or text), by paths in the folder.

    Gone are temporary files, archives of the course (a bundle can be made again) and the person's own copy.
    known: files that are looked through elsewhere.
    """
    gone: set[str] = set()
    left: list[Problem] = []
    for path in _beside(root):
        shown = str(path.relative_to(root))
        if shown in known:
            continue
        if path.is_dir():
            what = "keeps every earlier version of these files, also of what is erased"
            left.append(Problem(shown, 0, what, "rewrite its history, or keep the course in a new folder without it"))
        elif _TEMPORARY.fullmatch(path.name):
            gone.add(shown)
        else:
            _look(path, shown, sought, gone, left)
    return gone, left


def _beside(root: Path) -> Iterator[Path]:
    """Every plain file, and folders that keep versions, in order; links are not followed."""
    for folder, folders, files in os.walk(root):
        here = Path(folder)
        yield from (here / name for name in sorted(_VERSION_KEEPERS.intersection(folders)))
        folders[:] = sorted(name for name in folders if name not in _VERSION_KEEPERS)
        yield from (path for name in sorted(files) if not (path := here / name).is_symlink())


def _look(path: Path, shown: str, sought: Sought, gone: set[str], left: list[Problem]) -> None:
    try:
        raw = whole_file(path, shown, _LARGEST)
    except InputError as trouble:
        left += trouble.problems
        return
    raw_name, shown = shown, pictured(shown)
    if zipfile.is_zipfile(io.BytesIO(raw)):
        ours, found = _in_archive(raw, sought)
        if ours:
            gone.add(raw_name)
        elif found:
            left.append(Problem(shown, 0, found, "take it out of the folder, or make it again without it"))
    elif raw.startswith(b"%PDF"):
        what = "is a PDF, which is not looked into"
        left.append(Problem(shown, 0, what, "look whether it is about this person", doubt=True))
    elif _a_ledger_about(raw, sought.person):
        left.append(Problem(shown, 0, "holds text about this person", "remove it: it is no record by its name"))
    else:
        todo = "take it out by hand, or remove the file"
        lines = enumerate(raw.decode("utf-8", "replace").split("\n"), start=1)
        left += [Problem(shown, number, found, todo) for number, line in lines if (found := sought.held(line))]


def _a_ledger_about(raw: bytes, person: str) -> bool:
    try:
        return any(texts_about(parse_ledger(raw, "").ledger, person))
    except InputError:
        return False


def _in_archive(raw: bytes, sought: Sought) -> tuple[bool, str]:
    """Whether the program made the archive of this course or for this person; else what it holds of them."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            if BUNDLE_ABOUT in archive.namelist() or _own_copy(archive, sought.person):
                return True, ""
            members = archive.infolist()
            if len(members) > _MOST_MEMBERS:
                return False, "is an archive of very many files, which is not looked into"
            for member in members:
                found = sought.held(member.filename) or _in_member(archive, member, sought)
                if found:
                    return False, f"{found} in {pictured(member.filename)}"
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, OSError, ValueError):
        return False, "is an archive that cannot be looked into"
    return False, ""


def _own_copy(archive: zipfile.ZipFile, person: str) -> bool:
    if PERSON_ABOUT not in archive.namelist() or archive.getinfo(PERSON_ABOUT).file_size > _LARGEST_MEMBER:
        return False
    said = json.loads(archive.read(PERSON_ABOUT))
    return isinstance(said, dict) and str(said.get("file", "")).startswith("assess ") and said.get("about") == person


def _in_member(archive: zipfile.ZipFile, member: zipfile.ZipInfo, sought: Sought) -> str:
    if member.file_size > _LARGEST_MEMBER:
        return "a file too large to be looked through is"
    text = archive.read(member).decode("utf-8", "replace")
    # The cells of a workbook are XML without line ends.
    return next((found for line in re.split(r"[\n<>]", text) if (found := sought.held(line))), "")
