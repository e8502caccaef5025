"""Erasing a person: nothing of them is found any more, and everything still verifies."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from assess.desk.outcomes import results_json
from assess.desk.person_erase import Erased, erase_person, erasure_told
from assess.desk.person_export import export_person, write_archive
from assess.desk.sealing import seal
from assess.desk.verifying import verify
from assess.records.errors import Refusal, StorageTrouble, UsageError
from assess.records.facts import LearnerMet, Observation
from assess.store.course_lock import course_lock
from assess.store.disk import Disk
from assess.store.ledger_file import read_ledger
from assess.store.merge import merge
from tests.cli.commands import ROOT, assess
from tests.courses import FixedClock, build_course, open_desk
from tests.store.course_maker import QUICK, tree

pytestmark = pytest.mark.usefixtures("own_cache")
NAMES = ("Aldous Prynne", "Beric Stannow", "Calla Wendt")
WRITTEN = (
    "tails wash out on the left",
    'he said "never again", twice',
    "naïve line: späte Kante",
    "skids below the knoll",
)
LONG_AFTER = 1_900_000_000_000  # in 2030: the year after the season is over


def later() -> FixedClock:
    return FixedClock(start_ms=LONG_AFTER)


def marked(root: Path, who: str, device: str, text: str, *, lock: bool = True, about: str = "C01") -> None:
    desk = open_desk(root, who, device=device)
    for task in ("T1", "T4"):
        sheet = desk.slot(task, about)
        for criterion in sheet.criteria:
            sheet.score(criterion, 4)
        sheet.note(f"{text} ({task})", sheet.criteria)
        if lock:
            sheet.lock()
    assert desk.close()


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A finished course: C01 marked by two, named in a note about C02 and in the files people edit; sealed."""
    root = build_course(tmp_path / "course", names=NAMES)
    people = root / "people.yaml"
    text = people.read_text(encoding="utf-8").replace("bib: 20,", "bib: 20, contact: c01@example.org,")
    text += (
        "# Prynne asked to go first.\nconsents:\n- {who: C01, film: true, by: C01}\n- {who: C02, film: true, by: C02}\n"
    )
    people.write_text(text, encoding="utf-8")
    course = root / "course.yaml"
    event = '- {day: 1, at: "10:00", kind: illness, who: C01, about: "C01/T4", note: "sat down twice and left early"}\n'
    programme = 'programme:\n- {day: 1, text: "09:00 T1, Aldous Prynne first"}\n'
    course.write_text(course.read_text(encoding="utf-8") + programme + "events:\n" + event, encoding="utf-8")
    marked(root, "A1", "d7h2k", WRITTEN[0])
    marked(root, "A2", "a2a2a", WRITTEN[1])
    for who, device in (("A1", "d7h2k"), ("A2", "a2a2a")):
        for about in ("C02", "C03"):
            marked(root, who, device, "of another", about=about)
    desk = open_desk(root, "D1", device="d31kq")
    desk.day_book.interruption("other", text="waited for Prynne's bib")
    desk.day_book.record_morning(snow="hard, grey patches")
    desk.close()
    seal(open_desk(root, "D1", device="d31kq"))
    return root


def everywhere(root: Path) -> Iterator[tuple[str, bytes]]:
    """Every file the program may have written: the course, its archives opened, the cache and the state."""
    folders = [root, Path(os.environ["ASSESS_STATE_DIR"]), Path(os.environ["ASSESS_CACHE_DIR"])]
    for path in sorted(path for folder in folders for path in folder.rglob("*") if path.is_file()):
        yield str(path), path.name.encode()
        yield str(path), path.read_bytes()
        if zipfile.is_zipfile(path):
            with zipfile.ZipFile(path) as archive:
                yield from ((f"{path}:{name}", archive.read(name)) for name in archive.namelist())


PARTS = ("Aldous", "Prynne", "c01@example.org", "sat down twice", "naïve", "späte", *WRITTEN)
ESCAPED = tuple(text.replace('"', '\\"') for text in PARTS)


def hits(root: Path) -> list[tuple[str, str]]:
    sought = {*PARTS, *ESCAPED}
    return [(place, word) for place, raw in everywhere(root) for word in sought if word.lower().encode() in raw.lower()]


def erase(root: Path, person: str = "C01", **more: Any) -> Erased:
    desk = open_desk(root, "D1", device="d31kq", clock=later())
    try:
        return erase_person(desk, person, "asked for in a letter", **more)
    finally:
        desk.close()


def outcomes(root: Path) -> Any:
    return results_json(open_desk(root, "D1").outcomes())


def holds(root: Path) -> bool:
    found = verify(open_desk(root, "D1"))
    return found.holds and not [p for p in open_desk(root, "D1").folder.problems if not p.doubt]


# --- what is left --------------------------------------------------------------------------------------


def test_nothing_of_the_person_is_found_any_more_and_everything_verifies(root: Path) -> None:
    before, ledgers = outcomes(root), {path: read_ledger(path) for path in sorted((root / "sheets").iterdir())}
    assert len({word for _, word in hits(root)}) >= 6 and holds(root)
    told = erase(root)
    assert hits(root) == []
    assert holds(root) and outcomes(root) == before
    assert told.done and told.left == () and told.hidden == ()
    for path, ledger in ledgers.items():
        again = read_ledger(path)
        assert [(e.n, e.at, e.chain) for e in again.ledger.entries] == [
            (e.n, e.at, e.chain) for e in ledger.ledger.entries
        ]
        assert again.ledger.locked == ledger.ledger.locked and again.link == ledger.link
        assert (again.raw != ledger.raw) == (".C01." in path.name)


def test_the_id_stays_and_the_act_is_written_down(root: Path) -> None:
    erase(root)
    desk = open_desk(root, "D1")
    assert desk.name("C01") == "C01" and "C01" in desk.course.candidates
    (fact,) = [entry.fact for _, entry in desk.shelf.entries("day") if entry.fact.kind == "erasure"]
    assert (fact.person, fact.role, fact.reason, fact.although) == ("C01", "candidate", "asked for in a letter", ())
    assert sorted(fact.entries) == [
        "2026-02-02.D1.d31kq", *(f"{task}.C01.{who}" for task in ("T1", "T4") for who in ("A1.d7h2k", "A2.a2a2a"))
    ]  # fmt: skip
    assert desk.people.consents[0].who == "C02" and len(desk.people.consents) == 1
    assert "# C01 asked to go first." in (root / "people.yaml").read_text()
    assert desk.course.programme[0].text == "09:00 T1, C01 first" and desk.course.events[0].note == "erased"
    assert (desk.course.revision, desk.people.revision) == (2, 2)


def test_what_is_about_others_stays_to_the_byte(root: Path) -> None:
    before = tree(root)
    erase(root)
    after = tree(root)
    changed = {name for name in before if after.get(name) != before[name]}
    assert changed == {
        "course.yaml", "people.yaml", "days/2026-02-02.D1.d31kq.yaml",
        *(f"sheets/{task}.C01.{who}.yaml" for task in ("T1", "T4") for who in ("A1.d7h2k", "A2.a2a2a")),
    }  # fmt: skip
    assert set(after) - set(before) == {"days/2030-03-17.D1.d31kq.yaml"}
    assert b"hard, grey patches" in after["days/2026-02-02.D1.d31kq.yaml"]


def test_a_dry_run_tells_all_of_it_and_changes_nothing(root: Path) -> None:
    before = tree(root)
    desk = open_desk(root, "D1", clock=later())
    told = erasure_told(desk, "C01")
    assert tree(root) == before and not told.done and told.listed
    assert told.files == tuple(
        f"sheets/{task}.C01.{who}.yaml" for task in ("T1", "T4") for who in ("A1.d7h2k", "A2.a2a2a")
    )
    assert {(each.file, each.words) for each in told.mentions} == {
        ("course.yaml", "Aldous Prynne"), ("people.yaml", "Prynne"), ("days/2026-02-02.D1.d31kq.yaml", "Prynne"),
    }  # fmt: skip
    line = next(each.line for each in told.mentions if each.file == "people.yaml")
    assert (root / "people.yaml").read_text().split("\n")[line - 1] == "# Prynne asked to go first."


def test_a_mention_that_means_somebody_else_is_kept_when_a_person_says_so(root: Path) -> None:
    desk = open_desk(root, "D1", clock=later())
    keep = [(each.file, each.line) for each in erasure_told(desk, "C01").mentions if each.file != "people.yaml"]
    desk.close()
    erase(root, keep=keep)
    assert {(Path(place).name, word) for place, word in hits(root)} == {
        ("course.yaml", "Aldous"), ("course.yaml", "Prynne"), ("2026-02-02.D1.d31kq.yaml", "Prynne"),
    }  # fmt: skip


def test_erasing_again_finds_nothing_and_writes_nothing(root: Path) -> None:
    erase(root)
    before = tree(root)
    assert erase(root).nothing
    assert tree(root) == before


def test_archives_temporary_files_and_torn_ends_go_too(root: Path) -> None:
    write_archive(export_person(open_desk(root, "D1"), "C01"), root / "copy.zip")
    (root / "sheets" / "T1.C01.A1.d7h2k.torn-0123abcd").write_bytes(b'- {"n": 9, "text": "tails wash')
    (root / ".people.yaml-89abcdef").write_bytes((root / "people.yaml").read_bytes())
    with zipfile.ZipFile(root / "week.zip", "w") as archive:
        archive.writestr("bundle.json", "{}")
        archive.write(root / "sheets" / "T1.C01.A1.d7h2k.yaml", "sheets/T1.C01.A1.d7h2k.yaml")
    told = erase(root)
    assert hits(root) == [] and holds(root)
    assert told.removed == (".people.yaml-89abcdef", "copy.zip", "sheets/T1.C01.A1.d7h2k.torn-0123abcd", "week.zip")


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("letters/C01.html", b"<p>Dear Aldous Prynne,</p>"),
        ("letters/C01.txt", b"tails wash out on the left (T1)\n"),
        ("table.html", b"<td>he said &quot;never again&quot;, twice (T1)</td>"),
        ("sheets/T1.C01.A1.d7h2k copy.yaml", b""),
    ],
)
def test_what_the_program_did_not_make_is_named_and_left_to_a_person(root: Path, name: str, body: bytes) -> None:
    (root / name).parent.mkdir(exist_ok=True)
    (root / name).write_bytes(body or (root / "sheets" / "T1.C01.A1.d7h2k.yaml").read_bytes())
    told = erase(root)
    assert {problem.file for problem in told.left} == {name}
    assert {Path(place).name for place, _ in hits(root)} <= {Path(name).name}


def test_a_damaged_record_loses_what_nobody_can_read_and_stays_damaged(root: Path) -> None:
    path = root / "sheets" / "T1.C01.A1.d7h2k.yaml"
    lines = path.read_bytes().split(b"\n")
    path.write_bytes(b"\n".join([*lines[:5], lines[5].replace(b"4", b"5"), *lines[6:]]))
    before = read_ledger(path)
    assert before.bad
    erase(root, although=True)
    after = read_ledger(path)
    assert hits(root) == []
    assert after.bad and after.problems[0].line == before.problems[0].line
    assert after.ledger.entries == before.ledger.entries


# --- what stands against it ----------------------------------------------------------------------------


def test_only_a_director_erases_with_a_reason_that_does_not_name_the_person(root: Path) -> None:
    before = tree(root)
    with pytest.raises(Refusal, match="only a director"):
        erase_person(open_desk(root, "A1", clock=later()), "C01", "asked for")
    with pytest.raises(Refusal, match="needs a reason"):
        erase_person(open_desk(root, "D1", clock=later()), "C01", " ")
    with pytest.raises(Refusal, match="the reason names the person"):
        erase_person(open_desk(root, "D1", clock=later()), "C01", "Mr Prynne asked for it")
    with pytest.raises(UsageError, match="C77 is nobody of this course"):
        erase_person(open_desk(root, "D1", clock=later()), "C77", "asked for")
    assert tree(root) == before


def test_before_the_day_it_is_refused_unless_a_person_says_although(root: Path) -> None:
    desk = open_desk(root, "D1", device="d31kq")
    with pytest.raises(Refusal, match="kept until 2027-08-05"):
        erase_person(desk, "C01", "asked for")
    told = erase_person(open_desk(root, "D1", device="d31kq"), "C01", "asked for", although=True)
    assert [each.code for each in told.against] == ["kept-until"]
    facts = [entry.fact for _, entry in open_desk(root, "D1").shelf.entries("day")]
    assert [fact.although for fact in facts if fact.kind == "erasure"] == [("kept-until",)]
    assert hits(root) == []


def test_an_open_case_and_a_hold_stand_against_it(root: Path) -> None:
    from assess.records.facts import CaseClosed, CaseOpened
    from assess.records.ledger import Header

    desk = open_desk(root, "D2", device="d2d2d", clock=later())
    header = {"kind": "case", "case": "C01-1", "by": "D2", "device": "d2d2d", "course": "K-TEST", "opened": desk.now()}
    live = desk.live(Header.model_validate(header))
    desk.append(live, CaseOpened(about="appeal", received="2030-03-17", claim="the order was wrong"))
    assert desk.close()
    with pytest.raises(Refusal, match="a case about C01 is open"):
        erase(root)
    desk = open_desk(root, "D2", device="d2d2d", clock=later())
    desk.append(desk.live(Header.model_validate(header)), CaseClosed(on="2030-03-18"))
    assert desk.close()
    course = root / "course.yaml"
    hold = "retention: {holds: [{who: C01, why: a claim is in court, until: 2031-01-01}]}\n"
    course.write_text(course.read_text() + hold)
    with pytest.raises(Refusal, match="held until 2031-01-01: a claim is in court"):
        erase(root)
    course.write_text(course.read_text().replace("2031", "2029"))
    erase(root)
    assert hits(root) == [] and b"the order was wrong" not in (root / "cases" / "C01-1.D2.d2d2d.yaml").read_bytes()


def test_text_in_sheets_that_are_not_locked_goes_and_nothing_of_it_is_told(root: Path) -> None:
    for who in ("A1", "A2"):
        for file in (root / "sheets").glob(f"T4.C01.{who}.*"):
            file.unlink()
    shutil.rmtree(root / "seals")
    desk = open_desk(root, "A1", device="d7h2k")
    desk.slot("T4", "C01").note(WRITTEN[3])
    assert desk.close()
    with pytest.raises(Refusal, match="not everybody has locked T4 C01"):
        erase(root)
    told = erase(root, although=True)
    assert told.hidden == (("T4", "C01"),) and not any("T4" in name for name in told.files)
    assert hits(root) == [] and holds(root)


def test_versions_that_differ_are_compared_before_their_text_is_gone(root: Path) -> None:
    path = root / "sheets" / "T1.C01.A1.d7h2k.yaml"
    fork = path.with_name("T1.C01.A1.d7h2k~0123abcd.yaml")
    fork.write_bytes(b"\n".join(path.read_bytes().split(b"\n")[:5]) + b"\n")
    desk = open_desk(root, "A1", device="d7h2k")
    other = build_course(root.parent / "other", names=NAMES)
    desk = open_desk(other, "A1", device="d7h2k", clock=FixedClock(start_ms=1_770_025_900_000))
    desk.slot("T1", "C01").note(WRITTEN[3])
    assert desk.close()
    merge(root, [other], disk=QUICK)
    before = tree(root)
    with pytest.raises(Refusal, match=r"sheets/T1.C01.A1.d7h2k~[0-9a-f]{8}.yaml.*settle"):
        erase(root)
    assert tree(root) == before


def test_nothing_is_erased_while_somebody_has_the_course_open(root: Path) -> None:
    before = tree(root)
    with course_lock(root, exclusive=False), pytest.raises(Refusal, match="open in another window"):
        erase(root)
    assert tree(root) == before


def test_in_a_calibration_round_somebody_goes_the_same_way(tmp_path: Path) -> None:
    root = Path(shutil.copytree(ROOT / "sample_sessions" / "calibration", tmp_path / "round"))
    name = next(each.name for each in open_desk(root, "D1").people.assessors if each.id == "A2")
    ran = assess("person", "erase", root, "A2", "--as", "D1", "--yes", "--although", "--reason", "asked for")
    assert ran.code == 0 and name not in b"".join(tree(root).values()).decode()
    assert assess("check", root, "--as", "D1").code == 0
    desk = open_desk(root, "D1")
    assert not [problem for problem in verify(desk).problems if not problem.doubt]


# --- copies on other devices ---------------------------------------------------------------------------


def test_a_copy_that_comes_in_later_brings_nothing_back(root: Path, tmp_path: Path) -> None:
    copy = Path(shutil.copytree(root, tmp_path / "copy"))
    erase(root)
    erased = tree(root)
    assert merge(root, [copy], disk=QUICK).taken == ()
    assert tree(root) == erased and hits(root) == []
    # The other way round the copy learns of it, all but the names that only an erasure there takes out of comments.
    merge(copy, [root], disk=QUICK)
    assert tree(copy) == erased


def test_new_text_about_the_person_from_another_device_is_found_by_check(root: Path, tmp_path: Path) -> None:
    copy = Path(shutil.copytree(root, tmp_path / "copy"))
    desk = open_desk(copy, "D2", device="d2d2d")
    desk.day_book.append(_order_change("C01", WRITTEN[3]))
    assert desk.close()
    people = copy / "people.yaml"
    people.write_text(people.read_text().replace("revision: 1", "revision: 9"))
    erase(root)
    merge(root, [copy], disk=QUICK)
    text, name = [str(p) for p in open_desk(root, "D1").folder.problems if "erased" in p.what]
    assert text.startswith("days/2026-02-02.D2.d2d2d.yaml:4: holds text about `C01`, who was erased; erase again")
    assert "`C01` was erased and stands here again; erase again" in name
    assert assess("check", root, "--as", "D1").code == 1
    erase(root)
    assert hits(root) == [] and holds(root)


def _order_change(candidate: str, text: str) -> Any:
    from assess.records.facts import OrderChange

    return OrderChange(task="T1", candidate=candidate, change="late", text=text)


# --- crashes -------------------------------------------------------------------------------------------


class Breaking(Disk):
    """The disk gives up at its k-th call that changes something, and from then on."""

    def __init__(self, at: int) -> None:
        self.left, self.broken = at, False

    def _count(self) -> None:
        self.left -= 1
        if self.left < 0:
            self.broken = True
            raise OSError(5, "I/O error")

    def write(self, fd: int, data: bytes) -> int:
        self._count()
        return super().write(fd, data)

    def replace(self, source: Path, target: Path) -> None:
        self._count()
        super().replace(source, target)

    def unlink(self, path: Path) -> None:
        if self.left <= 0:
            raise OSError(5, "I/O error")
        super().unlink(path)

    def fsync(self, fd: int) -> None:
        """Quick."""

    def sync_folder(self, path: Path) -> None:
        """Quick."""


def test_wherever_the_disk_gives_up_the_course_verifies_and_the_same_act_finishes(root: Path, tmp_path: Path) -> None:
    (root / "sheets" / "T1.C01.A1.d7h2k.torn-0123abcd").write_bytes(b'- {"n": 9, "text": "tails wash')
    whole, before, at = Path(shutil.copytree(root, tmp_path / "whole")), outcomes(root), 0
    while True:
        shutil.rmtree(root)
        shutil.copytree(whole, root)
        disk = Breaking(at)
        if not disk.broken and at > 40:
            raise AssertionError("never ends")
        try:
            erase(root, disk=disk)
        except StorageTrouble as trouble:
            assert "every file is whole" in str(trouble)
        assert verify(open_desk(root, "D1")).holds and outcomes(root) == before
        if not disk.broken:
            break
        erase(root)
        assert hits(root) == [] and holds(root) and outcomes(root) == before, at
        at += 1
    assert at >= 10


KILLED = """
import os, sys
from pathlib import Path
from assess.store import disk
left = int(sys.argv[2])
class Killed(disk.Disk):
    def replace(self, source, target):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), 9)
        super().replace(source, target)
    def fsync(self, fd): pass
    def sync_folder(self, path): pass
from tests.desk.test_person_erase import erase
erase(Path(sys.argv[1]), disk=Killed())
"""


@pytest.mark.parametrize("at", [0, 2, 5, 6])
def test_killed_in_the_middle_it_can_be_done_again(root: Path, at: int) -> None:
    before = outcomes(root)
    ran = subprocess.run([sys.executable, "-c", KILLED, root, str(at)], cwd=ROOT, check=False)
    assert ran.returncode == -9
    assert verify(open_desk(root, "D1")).holds and outcomes(root) == before and hits(root) != []
    erase(root)
    assert hits(root) == [] and holds(root) and outcomes(root) == before


def test_a_course_with_an_erased_person_can_be_used_like_any_other(tmp_path: Path) -> None:
    root = Path(shutil.copytree(ROOT / "sample_sessions" / "course", tmp_path / "course"))
    person = assess("person", "erase", root, "C09", "--as", "D1", "--yes", "--although", "--reason", "asked for")
    assert person.code == 0
    every: tuple[list[str | Path], ...] = (
        ["results", root], ["open", root, "--plain"], ["open", root / "T5.C09"], ["lesson", root / "T5.C09"],
        ["agreement", root], ["severity", root], ["dependability", root], ["export", root, "--to", "csv"],
        ["verify", root], ["check", root], ["seal", root],
    )  # fmt: skip
    for words in every:
        for who in ("A1", "D1"):
            ran = assess(*words, "--as", who)
            assert ran.code == 0 or (who == "D1" and "T5.C09" in str(words)), (words, ran.all)
            assert "Corvald" not in ran.out and "strip without traffic" not in ran.out


# --- others than candidates, and the command -----------------------------------------------------------


def test_an_assessor_goes_with_name_and_what_is_about_them_and_their_notes_on_candidates_stay(root: Path) -> None:
    desk = open_desk(root, "D1", device="d31kq")
    desk.day_book.append(_order_change("C02", "Marker A2 came late"))
    assert desk.close()
    before = outcomes(root)
    told = erase(root, "A2")
    assert told.role == "assessor" and told.files == ()
    everything = b"".join(raw for _, raw in everywhere(root))
    assert b"Marker A2" not in everything and WRITTEN[0].encode() in everything
    assert holds(root) and outcomes(root) == before


def test_the_command_is_a_dry_run_until_it_is_told_otherwise(root: Path) -> None:
    words: list[str | Path] = ["person", "erase", root, "C01", "--as", "D1"]
    before = tree(root)
    dry = assess(*words)
    assert dry.code == 0 and "a dry run, nothing is changed" in dry.out and tree(root) == before
    assert "goes: the text in sheets/T1.C01.A1.d7h2k.yaml" in dry.out
    assert "not looked for: letters, pages, tables, copies and certificates written outside this folder" in dry.out
    assert assess(*words, "--yes").code == 1 and tree(root) == before
    assert assess(*words, "--keep", "people.yaml").code == 2
    ran = assess(*words, "--yes", "--although", "--reason", "asked for", "--json")
    assert ran.code == 0 and ran.json["done"] and ran.json["against"][0]["code"] == "kept-until"
    assert hits(root) == []
    assert assess("verify", root, "--as", "D1").code == 0 and assess("check", root, "--as", "D1").code == 0
    assert assess(*words).out.startswith("nothing of C01 is left to erase\n")


# --- names that are words --------------------------------------------------------------------------------


def test_somebody_whose_name_is_a_word_of_the_files_and_of_the_trade(tmp_path: Path) -> None:
    """`day` and `line` are keys of course.yaml and criteria; written small they are no person."""
    root = build_course(tmp_path / "course", names=("Doris Day", "Karl Line"), candidates=2)
    put = 'programme:\n- {day: 1, text: "day one: Doris Day and Line first"} # Day asked for it\n'
    (root / "course.yaml").write_text((root / "course.yaml").read_text() + put)
    desk = open_desk(root, "A1")
    desk.slot("T1", "C01").note("the line drifts, Line watched")
    assert desk.close()
    for person in ("C01", "C02"):
        told = erase(root, person, although=True)
        assert told.left == ()
    text = (root / "course.yaml").read_text()
    assert '- {day: 1, text: "day one: C01 and C02 first"}' in text and "# C01 asked for it" in text
    assert [p for p in open_desk(root, "D1").folder.problems if not p.doubt] == []
    assert b"Line" not in (root / "sheets" / "T1.C01.A1.d7h2k.yaml").read_bytes()


def test_an_ordinary_word_written_small_erases_nobodys_note(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", names=("Karl Line", "Aldous Prynne"), candidates=2)
    desk = open_desk(root, "A1")
    desk.slot("T1", "C02").note("holds the line")
    desk.slot("T4", "C02").note("prynne and LINE together")
    assert desk.close()
    erase(root, "C01", although=True)
    assert b"holds the line" in (root / "sheets" / "T1.C02.A1.d7h2k.yaml").read_bytes()
    assert b"together" not in (root / "sheets" / "T4.C02.A1.d7h2k.yaml").read_bytes()


# --- learners, and what editors leave ----------------------------------------------------------------------


def test_a_learner_goes_with_alias_and_what_is_said_of_them_and_a_place_of_that_name_stays(tmp_path: Path) -> None:
    root = Path(shutil.copytree(ROOT / "sample_sessions" / "course", tmp_path / "course"))
    place = b"Heron Slope and its bench"
    assert place in (root / "course.yaml").read_bytes()
    told = erase(root, "L22")
    assert told.role == "learner" and told.left == () and holds(root)
    assert place in (root / "course.yaml").read_bytes()
    assert b"Heron" not in (root / "people.yaml").read_bytes() and b"L22" in (root / "course.yaml").read_bytes()


def test_what_is_said_of_the_only_learner_of_a_lesson_goes_with_them(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=1)
    course, people = root / "course.yaml", root / "people.yaml"
    line = "- {task: T4, order: 1, candidate: C01, assessors: [A1, A2]}"
    course.write_text(course.read_text().replace(line, line[:-1] + ", learners: [L1]}"))
    people.write_text(people.read_text() + "learners:\n- {id: L1, alias: Wren}\n")
    desk = open_desk(root, "A1")
    lesson = desk.lesson("T4", "C01")
    lesson.append(LearnerMet(ability=3, text="afraid of the roll"))
    lesson.append(Observation(text="shows the drill twice"))
    assert desk.close()
    erase(root, "L1", although=True)
    raw = (root / "sheets" / "T4.C01.A1.d7h2k.yaml").read_bytes()
    assert b"afraid of the roll" not in raw and b"shows the drill twice" in raw and b'"ability": 3' in raw


def test_what_an_editor_left_beside_the_files_goes_without_being_settled(root: Path) -> None:
    (root / "people.yaml~").write_bytes((root / "people.yaml").read_bytes())
    (root / ".people.yaml.swp").write_bytes(b"b0VIM\0 Aldous Prynne \0")
    told = erase(root)
    assert told.removed == ("people.yaml~",)
    assert [problem.file for problem in told.left] == [".people.yaml.swp"]
