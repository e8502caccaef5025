"""The files of the course folder that are no ledgers: course, people, quality, and the rubrics byte for byte."""

from __future__ import annotations

import hashlib
from pathlib import Path

from assess.store.course_files import LEDGER_FOLDERS, RUBRIC_FOLDER, rubric_file_name
from making.source import SOURCE, rubric_bytes, rubric_digests

__all__ = ["write_folder"]

# There is no film: the digest is that of these words.
FILM = hashlib.sha256(b"six seconds of an invented film").hexdigest()


def write_folder(root: Path) -> None:
    """Make `root` with course.yaml, people.yaml, quality.yaml, rubrics/ and the empty folders of the ledgers."""
    for folder in (*LEDGER_FOLDERS, RUBRIC_FOLDER):
        (root / folder).mkdir(parents=True)
    digests = rubric_digests()
    course = (SOURCE / "course-plan.yaml").read_text(encoding="utf-8").replace("@film", FILM)
    for version, digest in digests.items():
        course = course.replace(f'"@{version}"', f'"{digest}"')
        (root / RUBRIC_FOLDER / rubric_file_name(version, digest)).write_bytes(rubric_bytes()[version])
    (root / "course.yaml").write_bytes(course.encode())
    for name in ("people.yaml", "quality.yaml"):
        (root / name).write_bytes((SOURCE / name).read_bytes())
