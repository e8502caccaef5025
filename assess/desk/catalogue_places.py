"""Where the entries of a catalogue stand: in its files, or in the overlay that lies over them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assess.store.yaml_file import YamlDoc

__all__ = ["CataloguePlaces"]

_FILE = {"faults": "faults", "non_technique_roots": "faults", "drills": "drills", "skills": "skills"}


class CataloguePlaces:
    """File and line of every entry of a catalogue folder's files; an entry of the overlay goes before a shipped one."""

    def __init__(self, root: Path, docs: Mapping[str, YamlDoc]) -> None:
        self._root, self._docs = root, docs
        self._places: dict[tuple[str, str], tuple[YamlDoc, int]] = {}
        for key, file in _FILE.items():
            for name in ("overlay", file):
                for at, entry in enumerate(self._entries(name, key)):
                    self._places.setdefault((key, str(entry.get("id"))), (docs[name], at))

    def _entries(self, name: str, key: str) -> list[dict[str, Any]]:
        doc = self._docs.get(name)
        entries = doc.data.get(key, []) if doc else []
        return [entry for entry in entries if isinstance(entry, dict)]

    def entry(self, key: str, entry: str, field: str = "") -> tuple[str, int]:
        """File and line of an entry of the list `key`, or of its field; the folder and 0 when it stands in none."""
        doc, at = self._places.get((key, entry), (None, 0))
        if doc is None:
            return str(self._root), 0
        return doc.shown, doc.line(key, at, *([field] if field else []))

    def place(self, file: str, *place: str | int) -> tuple[str, int]:
        """File and line of a place of a file (its name without `.yaml`); the folder and 0 when it is not there."""
        doc = self._docs.get(file)
        return (doc.shown, doc.line(*place)) if doc else (str(self._root), 0)

    @property
    def ids(self) -> frozenset[str]:
        """Every id of the shipped lists and of the overlay, also of entries that are switched off."""
        return frozenset(entry for _, entry in self._places)
