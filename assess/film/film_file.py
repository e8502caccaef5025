"""Which film a file is: known again by size and SHA-256 wherever it was moved and whatever it is called now."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from assess.records.errors import InputError, Problem
from assess.records.season import FilmFile

__all__ = ["Digest", "Found", "as_text", "digest_of", "film_file", "find_film", "need_film"]

Digest = Callable[[Path], str]
"""Knows the SHA-256 of a file, in hex; may raise OSError."""

_BLOCK = 1 << 20
_MOST_LOOKED_AT = 5000


@dataclass(frozen=True)
class Found:
    """Where a film is, None when it is nowhere that was looked. moved: not where it was last seen."""

    path: Path | None
    moved: bool = False


def film_file(path: Path, shown: str = "", *, digest: Digest | None = None) -> FilmFile:
    """A film's identity. Raises InputError as `need_film` does, or when it cannot be read; nothing is written.

    digest: what knows the SHA-256 of a file; it is read whole when left out.
    """
    need_film(path, shown)
    try:
        return FilmFile(path=shown or str(path), size=path.stat().st_size, sha256=(digest or digest_of)(path))
    except OSError as trouble:
        what = f"cannot be read ({trouble.strerror})"
        raise InputError([Problem(str(path), 0, what, "look at its access rights")]) from trouble


def need_film(path: Path, shown: str = "") -> None:
    """Raises InputError when there is no plain file, an empty one, or one whose name is no text; reads nothing."""
    try:
        if not path.is_file():
            raise InputError([Problem(as_text(path), 0, "is no film: there is no such file", "name the film's file")])
        name = shown or str(path)
        if not name.isprintable() and any("\ud800" <= letter <= "\udfff" for letter in name):
            what = "has a name with bytes that are no text (UTF-8)"
            raise InputError([Problem(as_text(path), 0, what, "give the film another name")])
        if not path.stat().st_size:
            raise InputError([Problem(str(path), 0, "is empty: nothing was filmed, or copied", "copy it again")])
    except OSError as trouble:
        what = f"cannot be read ({trouble.strerror})"
        raise InputError([Problem(str(path), 0, what, "look at its access rights")]) from trouble


def as_text(path: Path) -> str:
    """A path as it can be printed: bytes that are no text as `?`."""
    return os.fsencode(path).decode("utf-8", "replace").replace("\ufffd", "?")


def find_film(film: FilmFile, root: Path, more: Iterable[Path] = (), *, digest: Digest | None = None) -> Found:
    """The film of a season at `root`: where it was last seen, near there, in `films/`, beside the season, or in `more`.

    A path in the season is meant from the season's folder. Without size and digest only the path is believed. A file
    of the right size is read whole, or known to `digest`, before it is taken for the film; one that cannot be read is
    passed over.
    """
    last = root / film.path
    read = digest or digest_of
    if _is(film, last, read):
        return Found(last)
    if film.size is None or film.sha256 is None:
        return Found(None)
    looked_at = 0
    for folder in dict.fromkeys((last.parent, root / "films", root, root.resolve().parent, *more)):
        for path in _files(folder):
            looked_at += 1
            if looked_at > _MOST_LOOKED_AT:
                return Found(None)
            if _is(film, path, read):
                return Found(path, moved=True)
    return Found(None)


def _is(film: FilmFile, path: Path, digest: Digest) -> bool:
    try:
        if not path.is_file():
            return False
        if film.size is not None and path.stat().st_size != film.size:
            return False
        return film.sha256 is None or digest(path) == film.sha256
    except OSError:
        return False  # it cannot be looked at, so it cannot be shown either


def _files(folder: Path) -> list[Path]:
    try:
        with os.scandir(folder) as found:
            return sorted(Path(entry.path) for entry in found if entry.is_file())
    except OSError:
        return []  # there is no such folder any more


def digest_of(path: Path) -> str:
    """The SHA-256 of a file in hex, read whole. Raises OSError when it cannot be."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            digest.update(block)
    return digest.hexdigest()
