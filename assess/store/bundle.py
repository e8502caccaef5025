"""One archive for one person: their own records and what is needed to read them, to be carried on a stick."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from assess.records.errors import InputError, Refusal, StorageTrouble
from assess.store.archive import read_archive
from assess.store.atomic import create_file, replace_file
from assess.store.course_files import LEDGER_FOLDERS, find_files
from assess.store.disk import why
from assess.store.ledger_file import LARGEST_LEDGER, parse_ledger
from assess.store.packing import BUNDLE_ABOUT, packed
from assess.store.reading import whole_file

__all__ = ["bundle_name", "bundled_files", "write_bundle"]

_NAMES_IN_IT = frozenset({"people.yaml", "reference.yaml"})


def bundle_name(course: str, who: str, device: str) -> str:
    """How the archive of a person from a device is called, each time the same."""
    return f"{course}.{who}.{device}.zip"


def bundled_files(root: Path, course: str, who: str, device: str, *, people: bool = False) -> dict[str, bytes]:
    """The files of the archive by name: a person's ledgers, the course, its rubrics, tables; and a list of digests.

    people: the file with names and contacts too. Raises InputError for what cannot be read.
    """
    files: dict[str, bytes] = {}
    found = find_files(root)
    for listed in (found.records, found.aside):
        for folder, names in listed.items():
            for name in names:
                shown = f"{folder}/{name}" if folder else name
                if not people and name.split("~")[0].removesuffix(".yaml") + ".yaml" in _NAMES_IN_IT:
                    continue
                raw = whole_file(root / shown, shown, LARGEST_LEDGER)
                if folder not in LEDGER_FOLDERS or _written_by(raw, name, who):
                    files[shown] = raw
    if (root / "overlay.yaml").is_file() and "overlay.yaml" not in files:
        files["overlay.yaml"] = whole_file(root / "overlay.yaml", "overlay.yaml", LARGEST_LEDGER)
    about = {
        "file": "assess bundle 1",
        "audience": "panel",
        "course": course,
        "by": who,
        "device": device,
        "files": {name: hashlib.sha256(raw).hexdigest() for name, raw in sorted(files.items())},
    }
    return {**files, BUNDLE_ABOUT: (json.dumps(about, indent=1) + "\n").encode("ascii")}


def _written_by(raw: bytes, name: str, who: str) -> bool:
    try:
        return parse_ledger(raw, name.removesuffix(".yaml")).ledger.header.author == who
    except InputError:
        # By its name: `T1.C04.A2.d7h2k`, `2027-02-03.A2.d7h2k`, `C06.A2.d7h2k`.
        return who in name.split("~")[0].split(".")[1:]


def write_bundle(files: dict[str, bytes], to: Path) -> bool:
    """Write the archive, in the place of an earlier one of the same person and course; whether there was one.

    Raises Refusal when something else stands there, StorageTrouble when it cannot be written.
    """
    raw = packed(files)
    try:
        if not to.exists() and not to.is_symlink():
            create_file(to, raw, mode=0o600)
            return False
        if not _same_bundle(to, files):
            raise Refusal("is there already, and is no bundle of this person", where=str(to), todo="move it away")
        replace_file(to, raw)
    except OSError as trouble:
        todo = "look whether the folder is there and has room"
        raise StorageTrouble(f"cannot be written ({why(trouble)})", where=str(to), todo=todo) from trouble
    return True


def _same_bundle(to: Path, files: dict[str, bytes]) -> bool:
    try:
        there = json.loads(read_archive(to)[BUNDLE_ABOUT])
    except (InputError, KeyError, ValueError):
        return False
    mine = json.loads(files[BUNDLE_ABOUT])
    return isinstance(there, dict) and all(there.get(key) == mine[key] for key in ("course", "by", "device"))
