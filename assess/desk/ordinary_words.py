"""Words that are written small on this hill: a family name among them is not taken for a person in every other note."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["ordinary_words"]

_WORD = re.compile(r"[^\W\d_]{2,}")


def ordinary_words(desk: Desk) -> frozenset[str]:
    """Every word the rubrics of the course and the catalogue of its activity use in small letters."""
    return frozenset(word for text in _texts(desk) for word in _WORD.findall(text) if word.islower())


def _texts(desk: Desk) -> Iterator[str]:
    from assess.store.shipped import shipped

    yield from (doc.raw.decode("utf-8") for doc in desk.folder.rubric_docs.values())
    catalogue = shipped("rubrics") / desk.course.activity / "catalogue"
    for path in sorted(catalogue.glob("*.yaml")) if catalogue.is_dir() else ():
        yield path.read_text(encoding="utf-8")
