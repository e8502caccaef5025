"""What somebody answered in practice at judging: one JSON line an attempt, appended and kept on this device."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from assess.records.errors import InputError, Problem, StorageTrouble
from assess.store.disk import why
from assess.store.folders import data_folder
from assess.store.reading import whole_file

__all__ = ["add_result", "results_file", "results_of"]

_LARGEST = 8 * 1024 * 1024


def results_file(who: str) -> Path:
    """Where the attempts of a person are kept."""
    return data_folder() / "practice" / f"{who}.jsonl"


def results_of(who: str) -> list[dict[str, Any]]:
    """Every attempt of a person, oldest first. Raises InputError, with the line, for a line that is no attempt."""
    path = results_file(who)
    if not path.exists():
        return []
    told, problems = [], []
    for number, line in enumerate(whole_file(path, str(path), _LARGEST).split(b"\n"), 1):
        if not line.strip():
            continue
        try:
            item = json.loads(line)
            told.append({"lesson": str(item["lesson"]), "at": str(item["at"]), **item})
        except (ValueError, KeyError, TypeError):
            problems.append(Problem(str(path), number, "is no attempt", "take this line out"))
    if problems:
        raise InputError(problems)
    return told


def add_result(who: str, attempt: dict[str, Any]) -> None:
    """Append one attempt. Raises StorageTrouble when it is not on the disk."""
    path = results_file(who)
    line = json.dumps(attempt, ensure_ascii=False, allow_nan=False).encode("utf-8") + b"\n"
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        descriptor = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        try:
            if os.write(descriptor, line) != len(line):
                raise OSError("written in part")
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError as trouble:
        what = f"the attempt is not saved: {why(trouble)}"
        raise StorageTrouble(what, where=str(path), todo="make room on the disk and try again") from trouble
