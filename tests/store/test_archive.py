"""Archives from a stick: a bundle or a zip of a folder is read, all else is refused whole, nothing is unpacked."""

from __future__ import annotations

import io
import os
import random
import stat
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from assess.records.errors import InputError, Refusal
from assess.store import archive
from assess.store.archive import read_archive
from assess.store.bundle import bundle_name, bundled_files, write_bundle
from assess.store.merge import merge
from assess.store.packing import packed
from tests.store.course_maker import QUICK, RUBRIC_NAME, ledger_bytes, make_course, other, put, scores, sheet, tree


@pytest.fixture
def course(tmp_path: Path) -> Path:
    root = make_course(tmp_path / "week")
    for candidate in ("C01", "C02"):
        for assessor in ("A1", "A2"):
            about = sheet(candidate=candidate, assessor=assessor)
            put(root, about, ledger_bytes(about, scores(4)))
    day = other("day", by="A2", date="2027-02-03")
    put(root, day, ledger_bytes(day, []))
    return root


def zipped(files: dict[str, bytes], *, compress: int = zipfile.ZIP_DEFLATED) -> bytes:
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w", compress) as made:
        for name, raw in files.items():
            made.writestr(zipfile.ZipInfo(name), raw, compress)
    return into.getvalue()


# --- bundles -----------------------------------------------------------------------------------------


def test_a_bundle_holds_ones_own_records_and_what_is_needed_to_read_them(course: Path) -> None:
    files = bundled_files(course, "K-1", "A2", "d7h2k")
    assert sorted(files) == [
        "bundle.json", "course.yaml", "days/2027-02-03.A2.d31kq.yaml", f"rubrics/{RUBRIC_NAME}",
        "sheets/T1.C01.A2.d7h2k.yaml", "sheets/T1.C02.A2.d7h2k.yaml",
    ]  # fmt: skip
    assert "people.yaml" in bundled_files(course, "K-1", "A2", "d7h2k", people=True)
    assert packed(files) == packed(bundled_files(course, "K-1", "A2", "d7h2k"))


def test_a_bundle_merges_like_the_folder_it_came_from(course: Path, tmp_path: Path) -> None:
    to = tmp_path / bundle_name("K-1", "A2", "d7h2k")
    assert write_bundle(bundled_files(course, "K-1", "A2", "d7h2k"), to) is False
    into = make_course(tmp_path / "into")
    report = merge(into, [to], disk=QUICK)
    assert [name for name in report.taken if name.startswith("sheets")] == [
        "sheets/T1.C01.A2.d7h2k.yaml", "sheets/T1.C02.A2.d7h2k.yaml",
    ]  # fmt: skip
    assert report.left == () and merge(into, [to], disk=QUICK).taken == ()
    assert all(raw == tree(course)[name] for name, raw in tree(into).items())


def test_a_bundle_takes_the_place_of_its_own_earlier_one_and_of_nothing_else(course: Path, tmp_path: Path) -> None:
    files, to = bundled_files(course, "K-1", "A2", "d7h2k"), tmp_path / "b.zip"
    write_bundle(files, to)
    assert write_bundle(files, to) is True and (to.stat().st_mode & 0o777) == 0o600
    before = to.read_bytes()
    with pytest.raises(Refusal, match="no bundle of this person"):
        write_bundle(bundled_files(course, "K-1", "A1", "d7h2k"), to)
    assert to.read_bytes() == before
    to.write_text("a diary")
    with pytest.raises(Refusal):
        write_bundle(files, to)
    assert to.read_text() == "a diary"


def test_a_zip_of_a_folder_made_by_hand_is_read_too(course: Path, tmp_path: Path) -> None:
    files = {f"week/{name}": raw for name, raw in tree(course).items()}
    files |= {"__MACOSX/week/._course.yaml": b"x", "week/.DS_Store": b"x"}
    to = tmp_path / "week.zip"
    to.write_bytes(zipped(files))
    assert read_archive(to) == tree(course)
    into = make_course(tmp_path / "into")
    merge(into, [to], disk=QUICK)
    assert tree(into) == tree(course)


# --- what is refused -----------------------------------------------------------------------------------


def link() -> zipfile.ZipInfo:
    made = zipfile.ZipInfo("sheets/T1.C03.A1.d7h2k.yaml")
    made.external_attr, made.create_system = (stat.S_IFLNK | 0o777) << 16, 3
    return made


def with_member(files: dict[str, bytes], member: zipfile.ZipInfo, raw: bytes) -> bytes:
    into = io.BytesIO(zipped(files))
    with zipfile.ZipFile(into, "a") as made:
        made.writestr(member, raw)
    return into.getvalue()


def with_password(files: dict[str, bytes]) -> bytes:
    raw = bytearray(zipped(files))
    for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = raw.index(mark) + at
        struct.pack_into("<H", raw, place, 1)
    return bytes(raw)


EVIL: dict[str, tuple[Callable[[dict[str, bytes]], bytes], str]] = {
    "out of it": (lambda f: zipped({**f, "../evil.yaml": b"x"}), "leads out of it"),
    "deep out of it": (lambda f: zipped({**f, "sheets/../../evil.yaml": b"x"}), "leads out of it"),
    "absolute": (lambda f: zipped({**f, "/etc/evil.yaml": b"x"}), "leads out of it"),
    "backslash": (lambda f: zipped({**f, "sheets\\..\\evil.yaml": b"x"}), "leads out of it"),
    "drive": (lambda f: zipped({**f, "C:evil.yaml": b"x"}), "leads out of it"),
    "link": (lambda f: with_member(f, link(), b"/etc/passwd"), "link or no plain file"),
    "twice": (lambda f: with_member(f, zipfile.ZipInfo("course.yaml"), f["course.yaml"]), "twice"),
    "case": (lambda f: zipped({**f, "COURSE.yaml": b"x"}), "twice"),
    "password": (with_password, "password"),
    "no zip": (lambda f: b"PK nothing", "is no zip"),
    "cut": (lambda f: zipped(f)[:-30], "is no zip"),
    "too large": (
        lambda f: zipped({**f, "sheets/T1.C03.A1.d7h2k.yaml": bytes(33 * 1024 * 1024)}),
        "larger than a record",
    ),
    "many": (lambda f: zipped({**f, **{f"sheets/x{n}.yaml": b"" for n in range(20_001)}}), "more than 20000 files"),
    "no course": (lambda f: zipped({k: v for k, v in f.items() if k != "course.yaml"}), "is not in this archive"),
    "other course": (
        lambda f: zipped({**f, "course.yaml": f["course.yaml"].replace(b"id: K-1", b"id: K-2")}),
        "is course",
    ),
}


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("what", EVIL)
def test_what_an_archive_must_not_hold_is_refused_whole(what: str, course: Path, tmp_path: Path) -> None:
    make, said = EVIL[what]
    (tmp_path / "away").mkdir()
    evil = tmp_path / "away" / "evil.zip"
    evil.write_bytes(make(tree(course)))
    into = make_course(tmp_path / "into")
    before = tree(tmp_path)
    with pytest.raises((InputError, Refusal), match=said):
        merge(into, [evil], disk=QUICK)
    assert tree(tmp_path) == before


def test_a_bundle_of_which_something_is_missing_or_was_changed_is_refused(course: Path, tmp_path: Path) -> None:
    files, to = bundled_files(course, "K-1", "A2", "d7h2k"), tmp_path / "b.zip"
    name = "sheets/T1.C01.A2.d7h2k.yaml"
    for spoilt in ({k: v for k, v in files.items() if k != name}, {**files, name: files[name][:-40]}):
        to.write_bytes(packed(spoilt))
        with pytest.raises(InputError, match=f"did not arrive whole: `{name}`"):
            read_archive(to)
    for about in (b"{", b"[]", b'{"files": 3}', b"\xff"):
        to.write_bytes(packed({**files, "bundle.json": about}))
        with pytest.raises(InputError, match="that cannot be read"):
            read_archive(to)


def test_a_size_that_is_a_lie_is_not_believed(course: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "LARGEST_LEDGER", 10_000)
    raw = bytearray(zipped({**tree(course), "sheets/T1.C03.A1.d7h2k.yaml": bytes(50_000)}))
    name = b"sheets/T1.C03.A1.d7h2k.yaml"
    central = raw.rindex(name) - 46
    struct.pack_into("<I", raw, central + 24, 5)
    to = tmp_path / "lie.zip"
    to.write_bytes(bytes(raw))
    with pytest.raises(InputError):
        read_archive(to)


def test_whatever_happens_to_the_bytes_there_is_a_sentence_or_the_same_files(course: Path, tmp_path: Path) -> None:
    whole, chance, to = packed(bundled_files(course, "K-1", "A2", "d7h2k")), random.Random(3), tmp_path / "b.zip"
    to.write_bytes(whole)
    files = read_archive(to)
    for _ in range(300):
        raw = bytearray(whole)
        for _ in range(chance.randint(1, 4)):
            raw[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
        to.write_bytes(bytes(raw[: chance.choice([len(raw), chance.randrange(len(raw))])]))
        try:
            assert read_archive(to) == files
        except InputError as told:
            assert "b.zip" in str(told)


def test_nothing_is_unpacked_anywhere(course: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    passing = tmp_path / "passing"
    passing.mkdir()
    monkeypatch.setenv("TMPDIR", str(passing))
    to = tmp_path / "b.zip"
    write_bundle(bundled_files(course, "K-1", "A2", "d7h2k"), to)
    merge(make_course(tmp_path / "into"), [to], disk=QUICK)
    assert os.listdir(passing) == []
