"""Archives of a course somebody brings on a stick: read into memory, and nothing of them is ever unpacked.

Refused whole, with the first reason: a name that leads out of the archive, a link, two files of one name, a
password, more or larger files than a course has, damage on the way. What a name or a size promises is not believed.
"""

from __future__ import annotations

import hashlib
import io
import json
import stat
import zipfile
import zlib
from pathlib import Path, PurePosixPath

from assess.records.errors import InputError, Problem
from assess.records.frame import FRAMES
from assess.records.text import pictured
from assess.store.ledger_file import LARGEST_LEDGER
from assess.store.packing import BUNDLE_ABOUT
from assess.store.reading import whole_file

__all__ = ["LARGEST_ARCHIVE", "MOST_FILES", "read_archive"]

LARGEST_ARCHIVE = 256 * 1024 * 1024
LARGEST_CONTENT = 512 * 1024 * 1024
MOST_FILES = 20_000
_ENCRYPTED = 0x1
# What zipfile raises for archives that are none, are cut, or use what it does not know.
_DAMAGE = (zipfile.BadZipFile, NotImplementedError, EOFError, OSError, RuntimeError, ValueError, zlib.error)
_NO_FILES = frozenset({"__MACOSX", ".DS_Store", "Thumbs.db", "desktop.ini"})
_TODO = "make it again with `assess bundle`, or copy the folder itself"


def read_archive(path: Path) -> dict[str, bytes]:
    """Name in the course (`sheets/T1.C04.A2.d7h2k.yaml`) -> bytes, of a bundle or a zip of a course folder.

    A zip of the folder may hold it under its own name. Raises InputError with one sentence for what cannot be taken.
    """
    raw = whole_file(path, str(path), LARGEST_ARCHIVE)
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            files = _members(archive, path)
    except _DAMAGE as trouble:
        raise _refused(path, "is no zip, or was damaged on the way") from trouble
    files = _from_its_folder(files)
    _check_whole(files, path)
    return files


def _refused(path: Path, what: str) -> InputError:
    return InputError([Problem(str(path), 0, what, _TODO)])


def _members(archive: zipfile.ZipFile, path: Path) -> dict[str, bytes]:
    members = [each for each in archive.infolist() if not each.is_dir() and not _no_file(each.filename)]
    if len(members) > MOST_FILES:
        raise _refused(path, f"holds more than {MOST_FILES} files")
    files: dict[str, bytes] = {}
    known: set[str] = set()
    left = LARGEST_CONTENT
    for member in members:
        name = _safe_name(member, path)
        if name.casefold() in known:
            raise _refused(path, f"holds `{pictured(name)}` twice, or in upper and lower case")
        known.add(name.casefold())
        files[name] = _content(archive, member, path, min(left, LARGEST_LEDGER))
        left -= len(files[name])
    return files


def _no_file(name: str) -> bool:
    parts = PurePosixPath(name).parts
    return bool(_NO_FILES.intersection(parts)) or any(part.startswith("._") for part in parts)


def _safe_name(member: zipfile.ZipInfo, path: Path) -> str:
    name = member.filename
    shown = pictured(name[:80])
    # `orig_filename` is what stands in the file: zipfile cuts a name at a NUL.
    odd = "\\" in name or ":" in name or "\0" in member.orig_filename
    if odd or name.startswith("/") or any(part in ("", ".", "..") for part in name.split("/")):
        raise _refused(path, f"holds a file named `{shown}`, which leads out of it")
    mode = member.external_attr >> 16
    if stat.S_IFMT(mode) not in (0, stat.S_IFREG):
        raise _refused(path, f"holds `{shown}`, which is a link or no plain file")
    if member.flag_bits & _ENCRYPTED:
        raise _refused(path, "is protected by a password")
    return name


def _content(archive: zipfile.ZipFile, member: zipfile.ZipInfo, path: Path, limit: int) -> bytes:
    with archive.open(member) as file:
        raw = file.read(limit + 1)
    if len(raw) > limit:
        raise _refused(path, f"holds `{pictured(member.filename[:80])}`, which is larger than a record can be")
    return raw


def _from_its_folder(files: dict[str, bytes]) -> dict[str, bytes]:
    """A folder packed with its own name around it, without that name."""
    tops = {name.split("/", 1)[0] for name in files}
    if len(tops) != 1 or not all("/" in name for name in files):
        return files
    inside = {name.split("/", 1)[1]: raw for name, raw in files.items()}
    return inside if any(f"{kind}.yaml" in inside for kind in ("course", *FRAMES)) else files


def _check_whole(files: dict[str, bytes], path: Path) -> None:
    """A bundle lists the digests of its files: whether all of it arrived."""
    if BUNDLE_ABOUT not in files:
        return
    try:
        listed = json.loads(files[BUNDLE_ABOUT])["files"].items()
        wrong = [name for name, digest in listed if hashlib.sha256(files.get(name, b"")).hexdigest() != digest]
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as trouble:
        raise _refused(path, f"has a {BUNDLE_ABOUT} that cannot be read") from trouble
    if wrong:
        raise _refused(path, f"did not arrive whole: `{pictured(str(wrong[0])[:80])}` is missing or was changed")
