"""Zip archives the program writes: the same files give the same bytes, whatever the clock says."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping

__all__ = ["BUNDLE_ABOUT", "PERSON_ABOUT", "packed"]

BUNDLE_ABOUT = "bundle.json"
"""The file in an archive of a course that says what it is."""
PERSON_ABOUT = "person.json"
"""The file in a copy of what is kept about one person that says whose it is."""

# The earliest time a zip can name; a real one would make every archive another.
_NO_TIME = (1980, 1, 1, 0, 0, 0)
_PLAIN_FILE = 0o100600 << 16


def packed(files: Mapping[str, bytes]) -> bytes:
    """A zip of these files by name, in the order of their names, readable by their owner alone.

    Stored and not compressed: compressors differ between versions, and the same content is to give the same bytes.
    """
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(files):
            member = zipfile.ZipInfo(name, _NO_TIME)
            member.external_attr, member.create_system = _PLAIN_FILE, 3
            archive.writestr(member, files[name])
    return into.getvalue()
