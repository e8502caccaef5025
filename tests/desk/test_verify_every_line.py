"""Whatever is done to a signed course before its newest recorded heads, `verify` finds it: every line, many bytes."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from assess.desk.verifying import Verified, verify
from assess.records.errors import InputError
from assess.store.course_folder import CourseFolder, load_course
from assess.store.heads import look_at_heads
from assess.store.ledger_file import parse_ledger
from assess.store.verdicts import judge_ledger
from tests.courses import open_desk
from tests.store.signed_course import AFTER, BEFORE, NEWEST, signed_course

SAMPLE = Path(__file__).resolve().parents[2] / "sample_sessions" / "course"
BYTES = 2_000


@pytest.fixture(scope="module")
def signed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return signed_course(tmp_path_factory.mktemp("signed") / "k")


def verified(root: Path) -> Verified:
    desk = open_desk(root, "D1", device="reads")
    try:
        return verify(desk)
    finally:
        desk.close()


def test_the_course_as_it_was_written_holds_and_what_came_after_the_seal_is_listed(signed: Path) -> None:
    found = verified(signed)
    assert found.problems == ()
    assert found.not_anchored == AFTER
    assert {state: n for state, n in found.counts.items() if n} == {"intact": 22, "not yet anchored": 3}
    assert (found.signed, found.unsigned, found.missing) == (7, 0, ())
    after = {record.file: [entry.state for entry in record.entries] for record in found.records if record.file in AFTER}
    assert after == {AFTER[0]: ["intact", "intact", "not yet anchored"], AFTER[1]: ["not yet anchored"] * 2}


# --- lines --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Change:
    """One change to one file."""

    file: str
    what: str
    raw: bytes


def lines_of(raw: bytes) -> list[bytes]:
    return raw.split(b"\n")[:-1]


def joined(lines: list[bytes]) -> bytes:
    return b"".join(line + b"\n" for line in lines)


def anchored_lines(root: Path, file: str) -> int:
    """How many lines of a file stand before the newest heads; the newest seal itself is the last line that does."""
    lines = len(lines_of((root / file).read_bytes()))
    return 3 + BEFORE[file] if file in BEFORE else lines


def files_of(root: Path) -> list[str]:
    """Every ledger and every copy of a rubric."""
    found = [path.relative_to(root) for path in root.rglob("*.yaml") if path.parent != root]
    return sorted(str(path) for path in found)


def line_changes(root: Path) -> Iterator[Change]:
    for file in files_of(root):
        lines = lines_of((root / file).read_bytes())
        last = anchored_lines(root, file)
        for at in range(last):
            line = lines[at]
            # To take the newest seal itself away leaves older heads the newest: that is found by nothing else.
            if not (file == NEWEST and at == last - 1):
                yield Change(file, f"line {at + 1} deleted", joined(lines[:at] + lines[at + 1 :]))
            yield Change(file, f"line {at + 1} duplicated", joined(lines[: at + 1] + lines[at:]))
            middle = len(line) // 2
            changed = line[:middle] + bytes([line[middle] ^ 1]) + line[middle + 1 :] if line else b"x"
            yield Change(file, f"line {at + 1} changed", joined([*lines[:at], changed, *lines[at + 1 :]]))
            yield Change(file, f"line {at + 1} emptied", joined([*lines[:at], b"", *lines[at + 1 :]]))
            if at + 1 < last and lines[at + 1] != line:
                yield Change(
                    file,
                    f"lines {at + 1} and {at + 2} swapped",
                    joined([*lines[:at], lines[at + 1], line, *lines[at + 2 :]]),
                )
            # A copy of a rubric is held against one digest of the whole file: two places say as much as all.
            for to in (0, last - 1) if file.startswith("rubrics/") else range(last):
                copied = joined([*lines[:to], line, *lines[to:]])
                if copied != joined(lines[: at + 1] + lines[at:]):
                    yield Change(file, f"a copy of line {at + 1} put before line {to + 1}", copied)


def test_every_line_deleted_duplicated_changed_swapped_or_copied_is_found(signed: Path) -> None:
    missed, tried = [], 0
    for change in line_changes(signed):
        tried += 1
        path = signed / change.file
        before = path.read_bytes()
        path.write_bytes(change.raw)
        try:
            if verified(signed).holds:
                missed.append((change.file, change.what))
        finally:
            path.write_bytes(before)
    assert missed == []
    assert tried > 600, tried


def test_every_line_put_into_another_ledger_is_found(signed: Path) -> None:
    """The lines of each ledger, appended to each other: nothing can be moved from one to another."""
    ledgers = [file for file in files_of(signed) if not file.startswith("rubrics/") and file not in AFTER]
    missed = []
    for file in ledgers:
        before = (signed / file).read_bytes()
        for source in ledgers:
            for number, line in enumerate(lines_of((signed / source).read_bytes())[3:], start=1):
                (signed / file).write_bytes(before + line + b"\n")
                try:
                    if verified(signed).holds:
                        missed.append((file, source, number))
                finally:
                    (signed / file).write_bytes(before)
    assert missed == []


def test_every_ledger_and_every_copy_of_a_rubric_that_is_removed_is_missed(signed: Path) -> None:
    removed = []
    for file in files_of(signed):
        if file in (NEWEST, AFTER[1]):
            continue
        raw = (signed / file).read_bytes()
        (signed / file).unlink()
        try:
            found = verified(signed)
            assert not found.holds, file
            # Without its lock a sheet counts as open again, and a director is told its name without the device.
            assert {file, file.rsplit(".", 2)[0]} & {problem.file for problem in found.problems}, file
            removed.append(file)
        finally:
            (signed / file).write_bytes(raw)
    assert len(removed) == len(files_of(signed)) - 2
    assert verified(signed).holds


def test_a_whole_folder_that_is_removed_is_missed_file_by_file(signed: Path, tmp_path: Path) -> None:
    for folder in ("sheets", "days", "moderation", "decisions", "rubrics"):
        copy = tmp_path / folder
        shutil.copytree(signed, copy)
        gone = {f"{folder}/{path.name}" for path in (copy / folder).iterdir()} - {AFTER[1]}
        gone = {file.rsplit(".", 2)[0] if folder == "sheets" else file for file in gone}
        shutil.rmtree(copy / folder)
        found = verified(copy)
        assert gone <= {problem.file for problem in found.problems}, folder


def test_a_ledger_copied_under_another_name_is_found(signed: Path) -> None:
    for file in files_of(signed):
        if file.startswith("rubrics/"):
            continue
        path = signed / file
        twin = path.with_name(path.name.replace(path.stem.rsplit(".", 1)[-1], "zz2zz"))
        shutil.copy(path, twin)
        try:
            assert not verified(signed).holds, file
        finally:
            twin.unlink()


# --- bytes --------------------------------------------------------------------------------------------


def byte_changes(raw: bytes, pick: random.Random, first: int, last: int) -> tuple[str, bytes]:
    """One byte changed, put in, taken out or doubled, somewhere in raw[first:last]."""
    at = pick.randrange(first, last)
    how = pick.choice(("changed", "put in", "taken out", "doubled", "swapped", "flipped"))
    any_byte = bytes([pick.randrange(256)])
    if how == "changed":
        return f"byte {at} changed", raw[:at] + any_byte + raw[at + 1 :]
    if how == "flipped":
        return f"byte {at} flipped", raw[:at] + bytes([raw[at] ^ 1 << pick.randrange(8)]) + raw[at + 1 :]
    if how == "put in":
        put_in = pick.choice((b" ", b"\n", b"0", b"\\", b'"', any_byte))
        return f"a byte put in at {at}", raw[:at] + put_in + raw[at:]
    if how == "doubled":
        return f"byte {at} doubled", raw[: at + 1] + raw[at:]
    if how == "swapped" and at + 1 < last:
        return f"bytes {at}, {at + 1} swapped", raw[:at] + raw[at + 1 : at + 2] + raw[at : at + 1] + raw[at + 2 :]
    return f"byte {at} taken out", raw[:at] + raw[at + 1 :]


def before_the_heads(root: Path, file: str) -> int:
    """How many bytes of a file stand before the newest heads."""
    return len(joined(lines_of((root / file).read_bytes())[: anchored_lines(root, file)]))


def test_bytes_changed_anywhere_before_the_newest_heads_are_found(signed: Path) -> None:
    pick, missed, tried = random.Random(20270204), [], 0
    files = [file for file in files_of(signed) if file != AFTER[1]]
    sizes = [before_the_heads(signed, file) for file in files]
    while tried < BYTES:
        [file] = pick.choices(files, weights=sizes)
        path = signed / file
        before = path.read_bytes()
        what, raw = byte_changes(before, pick, 0, before_the_heads(signed, file))
        if raw == before:
            continue
        if file == NEWEST and parse_is_shorter(before, raw):
            continue  # the newest seal itself taken away
        tried += 1
        path.write_bytes(raw)
        try:
            if verified(signed).holds:
                missed.append((file, what))
        finally:
            path.write_bytes(before)
    assert missed == []
    assert tried == BYTES


def parse_is_shorter(before: bytes, after: bytes) -> bool:
    """True when what is left is a whole file that only lacks its last line."""
    return after == joined(lines_of(before)[:-1])


def test_bytes_changed_in_the_sample_course_are_found() -> None:
    """Nobody signed it: its seals alone tell. One ledger is read anew each time; the command itself is asked below."""
    folder = load_course(SAMPLE)
    newest = max(path.name for path in (SAMPLE / "seals").iterdir())
    pick, missed, tried = random.Random(20260204), [], 0
    sizes = [len(file.raw) for file in folder.ledgers]
    while tried < BYTES:
        [index] = pick.choices(range(len(sizes)), weights=sizes)
        file = folder.ledgers[index]
        what, raw = byte_changes(file.raw, pick, 0, len(file.raw))
        if raw == file.raw:
            continue
        tried += 1
        if not told_of(folder, index, raw):
            missed.append((file.name, what))
    assert missed == []
    assert newest == "2026-02-04.D1.r5tzc.yaml"


def told_of(folder: CourseFolder, index: int, raw: bytes) -> bool:
    """Whether what `verify` is made of tells of these bytes in place of a ledger's."""
    file = folder.ledgers[index]
    others = folder.ledgers[:index] + folder.ledgers[index + 1 :]
    try:
        changed = replace(parse_ledger(raw, file.name), path=file.path)
    except InputError:
        return True  # it cannot be read at all, which is a finding of its own
    if changed.ledger.header.name != file.name or changed.ledger.header.course != folder.course.id:
        return True  # it is not what its name says, which is a finding of its own
    if any(not problem.doubt for problem in changed.problems):
        return True
    now = replace(folder, ledgers=(*others[:index], changed, *others[index:]))
    heads = look_at_heads(now)
    verdict = judge_ledger(changed, heads, None, folder.course.utc_offset, {})
    return bool(heads.problems) or any(entry.state == "altered" for entry in verdict.entries)


def test_the_command_tells_of_changed_bytes_in_the_sample_course_as_the_parts_do(tmp_path: Path) -> None:
    root = tmp_path / "sample"
    shutil.copytree(SAMPLE, root)
    assert verified(root).holds
    pick = random.Random(5)
    files = [file for file in files_of(root) if not file.startswith("seals/2026-02-04")]
    for file in pick.sample(files, 30):
        path = root / file
        before = path.read_bytes()
        what, raw = byte_changes(before, pick, 0, len(before))
        path.write_bytes(raw)
        assert raw == before or not verified(root).holds, (file, what)
        path.write_bytes(before)


def test_every_file_of_the_sample_course_that_is_removed_is_missed() -> None:
    folder = load_course(SAMPLE)
    for index, file in enumerate(folder.ledgers):
        shown = f"{file.path.parent.name}/{file.path.name}"
        if shown == "seals/2026-02-04.D1.r5tzc.yaml":
            continue
        without = replace(folder, ledgers=folder.ledgers[:index] + folder.ledgers[index + 1 :])
        assert shown in look_at_heads(without).absent
