"""`quality.yaml` and `groups.yaml` on disk: which courses they belong to, and what in them contradicts itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from assess.records.errors import InputError, Problem
from assess.records.quality import GroupedPerson, Groups, QualityFile
from assess.store.reading import why_not_plain
from assess.store.validate import as_model
from assess.store.yaml_file import YamlDoc, read_yaml

__all__ = [
    "GROUPS", "QUALITY", "QualityPlace", "groups_problems", "need_sound", "quality_of", "quality_problems",
    "read_groups", "read_quality", "told_of_self",
]  # fmt: skip

QUALITY, GROUPS = "quality.yaml", "groups.yaml"
_FIRST = b"# assess quality "


@dataclass(frozen=True)
class QualityPlace:
    """A quality file as read."""

    doc: YamlDoc
    quality: QualityFile

    @property
    def folder(self) -> Path:
        """The folder it stands in."""
        return self.doc.path.parent

    @property
    def courses(self) -> tuple[Path, ...]:
        """The course folders it covers that are there, by name; a folder that is a course itself before others."""
        if self.quality.courses != "all":
            named = [self.folder if name == "." else self.folder / name for name in self.quality.courses]
        elif (self.folder / "course.yaml").is_file():
            named = [self.folder]
        else:
            named = sorted(file.parent for file in self.folder.glob("*/course.yaml"))
        return tuple(folder for folder in named if (folder / "course.yaml").is_file())


def read_quality(path: Path, shown: str = "") -> QualityPlace:
    """The quality file at `path`. Raises InputError with every problem and its line."""
    doc = read_yaml(path, shown=shown or str(path), what="quality")
    return QualityPlace(doc, as_model(doc, QualityFile))


def read_groups(path: Path, shown: str = "") -> tuple[YamlDoc, Groups]:
    """The groups file at `path`, of which nothing is kept in the parse cache.

    Raises InputError with every problem; none quotes what a person told.
    """
    doc = read_yaml(path, shown=shown or str(path), what="groups", kept=False)
    return doc, as_model(doc, Groups)


def quality_of(course: Path) -> QualityPlace | None:
    """The quality file that covers a course: the one in its folder, else one beside it that names it; or None.

    Raises InputError when that file cannot be used.
    """
    root = course.resolve()
    own = root / QUALITY
    if own.exists() or own.is_symlink():
        return read_quality(own, str(course / QUALITY))
    beside = root.parent / QUALITY
    # In the folder around a course anything may stand; only a file that says so is a quality file.
    if why_not_plain(beside) is not None or not _says_so(beside):
        return None
    place = read_quality(beside)
    return place if place.quality.covers(root.name) else None


def _says_so(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(_FIRST)) == _FIRST
    except OSError:
        return True  # it may be one; why it cannot be read is told by reading it


def quality_problems(place: QualityPlace) -> list[Problem]:
    """What in a quality file points to nothing or contradicts itself."""
    return sorted(Problem(place.doc.shown, place.doc.line(*at), *said) for at, said in _wrong(place))


_At = tuple[str | int, ...]


def _wrong(place: QualityPlace) -> Iterator[tuple[_At, tuple[str, str, bool]]]:
    quality = place.quality
    for number, name in enumerate(quality.courses if quality.courses != "all" else ()):
        if not (place.folder / name / "course.yaml").is_file():
            yield ("courses", number), (f"`{name}` is no course folder beside this file", "name one", False)
    for number, review in enumerate(quality.reviews):
        for at, action in enumerate(review.actions):
            if action.done is not None and action.done < review.on:
                what = "this was done before the report that asks for it"
                yield ("reviews", number, "actions", at, "done"), (what, "look at the two days", True)
    seen: dict[tuple[str, str | None], int] = {}
    for number, record in enumerate(quality.pass_lines):
        first = seen.setdefault((record.rubric, record.sha256), number)
        if first != number:
            what = f"the pass line of `{record.rubric}` is recorded twice, first in line {_line(place, first)}"
            yield ("pass_lines", number), (what, "keep the record that holds; write the other's story into it", False)
        if record.approved_on < max(record.days):
            what = "this line was approved before the judging was over"
            yield ("pass_lines", number, "approved_on"), (what, "look at the days", True)


def _line(place: QualityPlace, record: int) -> int:
    return place.doc.line("pass_lines", record)


def groups_problems(doc: YamlDoc, groups: Groups) -> list[Problem]:
    """Persons and attempts that stand twice: each person counts once."""
    problems = []
    persons: set[str] = set()
    attempts: dict[str, int] = {}
    for number, person in enumerate(groups.persons):
        if person.id in persons:
            todo = "write one entry for each person"
            problems.append(Problem(doc.shown, doc.line("persons", number, "id"), "this id stands twice", todo))
        persons.add(person.id)
        for at, attempt in enumerate(person.attempts):
            line = doc.line("persons", number, "attempts", at)
            first = attempts.setdefault(attempt, line)
            if first != line:
                what = f"`{attempt}` stands twice, first in line {first}"
                problems.append(Problem(doc.shown, line, what, "one candidate of a course is one person"))
    return problems


def told_of_self(course: Path, attempt: str) -> list[tuple[int, GroupedPerson]]:
    """The entries of an attempt (`course/candidate`) in the groups file of a course folder, each with its line.

    Empty without such a file; one that is kept elsewhere is not known here. Raises InputError when it cannot be used.
    """
    path = course / GROUPS
    if not (path.exists() or path.is_symlink()):
        return []
    doc, groups = read_groups(path, GROUPS)
    return [
        (doc.line("persons", number), person)
        for number, person in enumerate(groups.persons)
        if attempt in person.attempts
    ]


def need_sound(problems: list[Problem]) -> None:
    """Raise InputError with these problems when one of them makes a file unusable."""
    wrong = [problem for problem in problems if not problem.doubt]
    if wrong:
        raise InputError(wrong)
