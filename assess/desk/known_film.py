"""A film's identity, known without reading hours of film anew at every opening."""

from __future__ import annotations

from pathlib import Path

__all__ = ["LARGE", "film_digest"]

LARGE = 500_000_000
"""Bytes from which on the first reading takes long enough to be announced."""


def film_digest(path: Path) -> str:
    """The SHA-256 of a film in hex: read once, then remembered while the file stays as it is. Raises OSError."""
    from assess.film.film_file import digest_of
    from assess.store.film_digests import known_digest

    return known_digest(path, digest_of)
