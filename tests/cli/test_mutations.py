"""Thousands of files gone wrong: never a traceback, never a long wait, never a byte written by looking."""

from __future__ import annotations

import random
import shutil
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from assess.cli.board_lines import board_json, board_lines
from assess.desk.checking import check_paths, course_findings
from assess.desk.importing import import_scores
from assess.desk.opening import need_rubrics, open_course
from assess.desk.outcomes import results_json
from assess.desk.scaffold import new_course
from assess.desk.sealing import seal
from assess.desk.verifying import verify
from assess.records.errors import AssessError
from tests.cli.commands import assess_process, tree
from tests.cli.mutations import mutated_bytes, mutated_ledger
from tests.courses import open_desk

SEED = 27_02_03
LONGEST_SECONDS = 60.0
"""A file that makes the program hang is found; how quick it is on a busy machine is not asked here."""
PEOPLE = ("A1", "A2", "D1", None)
COUNTS = {
    "course.yaml": 200, "people.yaml": 200, "rubrics": 160, "sheets": 1000, "days": 120, "decisions": 120, "seals": 120,
}  # fmt: skip
TABLES = 500
TABLE = "day,task,order,candidate,assessor,criterion,score,status,rubric\n" + "".join(
    f"1,T1,{place},C0{place},A1,{criterion},{place + 2},scored,first-rubric\n"
    for place in (1, 2)
    for criterion in ("control", "line")
)


@dataclass
class Watch:
    """What happened while looking at files that went wrong."""

    files: int = 0
    refused: int = 0
    longest: float = 0.0
    wrong: list[str] = field(default_factory=list)


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small course with records of every kind: marked, locked, moved, a lesson, days, a breach decided, seals."""
    from datetime import date

    root = tmp_path_factory.mktemp("original") / "course"
    new_course(root, date(2026, 2, 2))
    desk = open_desk(root, "A1")
    sheet = desk.slot("T1", "C01")
    sheet.view("side")
    sheet.score("control", 1)
    sheet.note("stands in the way ☃", ("control",))
    sheet.score("line", 3)
    sheet.undo()
    sheet.not_observed("line", "fog")
    sheet.breach("beyond-a-closure", "past a rope", "top", "everybody")
    sheet.lock()
    rows = desk.run_sheet("T1")
    rows.slot("C02").score("control", 2)
    rows.order("C02", "late")
    lesson = desk.lesson("T2", "C01")
    lesson.start(2)
    lesson.seen("explain", "for")
    lesson.drill("one ski")
    lesson.end("time")
    desk.day_book.record_morning(weather="fog")
    desk.day_book.bib_change("C01", 7)
    assert desk.close()
    other = open_desk(root, "A2", device="a2a2a")
    for task, candidate in (("T1", "C01"), ("T2", "C01")):
        for criterion in other.task(task).criteria:
            other.slot(task, candidate).score(criterion, 3)
        other.slot(task, candidate).lock()
    assert other.close()
    director = open_desk(root, "D1", device="d1d1d")
    director.day_book.change_allocation("T2", "C02", "A1", None, "ill")
    _decide(director)
    assert director.close()
    seal(open_desk(root, "D1", device="d1d1d"))
    assert check_paths([root], "D1").clean
    return root


def _decide(director: object) -> None:
    from assess.desk.session import Desk
    from assess.records.facts import BreachAccount, BreachFinding
    from assess.records.ledger import Header

    assert isinstance(director, Desk)
    opened = "2026-02-02T12:00:00.000Z"
    header = Header(kind="decision", course="course", candidate="C01", by="D1", device="d1d1d", opened=opened)
    live = director.live(header)
    director.append(live, BreachAccount(must_not="beyond-a-closure", account="I did not see it"))
    finding = BreachFinding(
        must_not="beyond-a-closure", state="not-confirmed", modules=("demo",), reports=("T1.C01.A1.d7h2k 7",),
        standard="more likely than not", reason="nobody else saw it",
    )  # fmt: skip
    director.append(live, finding)


@pytest.fixture
def course(original: Path, tmp_path: Path) -> Path:
    root = tmp_path / "course"
    shutil.copytree(original, root)
    return root


def looked_at(root: Path, who: str | None, watch: Watch) -> None:
    """Check the course and open it, as a command does, and all that its screens and lists are made of."""
    before = tree(root)
    started = time.process_time()
    try:
        watch.refused += not check_paths([root], who).clean
        desk = open_course(root, who)
    except AssessError:
        # Of `check` only because the person asking is nobody of the course any more.
        desk = None
    if desk is not None:
        try:
            need_rubrics(desk)
            course_findings(desk)
            list(board_lines(desk.board()))
            board_json(desk.board())
            results_json(desk.outcomes())
            verify(desk)
            for task in ("T1", "T2"):
                if desk.mine(task):
                    desk.run_sheet(task).rows()
                    for slot in desk.mine(task):
                        desk.lesson(task, slot.candidate).timeline()
        except AssessError:
            pass  # a sentence: what it says is tested elsewhere
        finally:
            desk.close()
    watch.longest = max(watch.longest, time.process_time() - started)
    if tree(root) != before:
        watch.wrong.append("looking wrote something")


def batches(root: Path, where: str, count: int) -> Iterator[tuple[random.Random, list[Path]]]:
    """The files to spoil, several at a time where they are read one by one."""
    files = [root / where] if where.endswith(".yaml") else sorted((root / where).iterdir())
    done = 0
    for number in range(count):
        pick = random.Random(f"{SEED} {where} {number}")
        chosen = pick.sample(files, k=pick.randint(1, min(4, len(files))))
        yield pick, chosen
        done += len(chosen)
        if done >= count:
            return


@pytest.mark.parametrize("where", COUNTS)
def test_looking_at_files_gone_wrong_gives_sentences_soon_and_writes_nothing(course: Path, where: str) -> None:
    watch = Watch()
    spoil = mutated_bytes if where.endswith(".yaml") or where == "rubrics" else mutated_ledger
    kept = tree(course)
    for number, (pick, files) in enumerate(batches(course, where, COUNTS[where])):
        for file in files:
            file.write_bytes(spoil(file.read_bytes(), pick))
        watch.files += len(files)
        try:
            looked_at(course, PEOPLE[number % 4], watch)
        except Exception as error:
            place = error.__traceback__
            while place and place.tb_next:
                place = place.tb_next
            where_at = f"{place.tb_frame.f_code.co_filename}:{place.tb_lineno}" if place else ""
            watch.wrong.append(f"{number} {[file.name for file in files]}: {type(error).__name__} {error} {where_at}")
        for file in files:
            file.write_bytes(kept[str(file.relative_to(course))])
    assert watch.wrong == []
    assert watch.files >= COUNTS[where]
    assert watch.longest < LONGEST_SECONDS
    assert watch.refused > 0


def test_the_files_looked_at_are_two_thousand_and_more() -> None:
    assert sum(COUNTS.values()) + TABLES >= 2000


def test_score_tables_gone_wrong_are_refused_or_taken_whole(course: Path) -> None:
    watch = Watch()
    table = course.parent / "scores.csv"
    for old in (course / "sheets").glob("T1.*.A1.*"):
        old.unlink()
    untouched = tree(course)
    desk = open_desk(course, "D1")
    for number in range(TABLES):
        table.write_bytes(mutated_bytes(TABLE.encode(), random.Random(f"{SEED} table {number}")))
        started = time.process_time()
        try:
            report = import_scores(desk, table)
        except AssessError:
            watch.refused += 1
            assert tree(course) == untouched
        else:
            assert {f"sheets/{name}.yaml" for name in report.written} == set(tree(course)) - set(untouched)
            for name in report.written:
                (course / "sheets" / f"{name}.yaml").unlink()
        watch.longest = max(watch.longest, time.process_time() - started)
    assert watch.longest < LONGEST_SECONDS and 100 < watch.refused < TABLES


# --- the worst of them, through the whole program ------------------------------------------------------

DEEP = b"[" * 20_000
WORST: dict[str, tuple[str, bytes, bytes]] = {
    "an id that is a path": ("course.yaml", b"candidates: [C01, C02]", b"candidates: [../../x, C02]"),
    "20,000 brackets": ("course.yaml", b"events: []", b"events: " + DEEP),
    "an alias": ("people.yaml", b'name: "Director"', b"name: &a Director, contact: *a"),
    "a tag": ("people.yaml", b'name: "Director"', b"name: !!python/name:os.system x"),
    "a NUL byte": ("course.yaml", b'place: ""', b'place: "\x00"'),
    "two encodings": ("people.yaml", b'name: "Director"', b'name: "D\xefrector \xc3\xaf"'),
    "a newer version": ("course.yaml", b"# assess course 1", b"# assess course 2"),
    "a line of 50 MB": ("course.yaml", b'place: ""', b'place: "' + b"x" * 50_000_000 + b'"'),
    "keys that are lists": ("course.yaml", b"events: []", b"? [a, b]\n: c"),
    "a number without end": ("course.yaml", b"revision: 1", b"revision: " + b"9" * 5000),
}


@pytest.mark.parametrize("name", WORST)
def test_the_worst_files_are_a_sentence_with_3_and_with_1_from_check(course: Path, name: str) -> None:
    file, old, new = WORST[name]
    raw = (course / file).read_bytes()
    assert old in raw
    (course / file).write_bytes(raw.replace(old, new, 1))
    before = {path: content for path, content in tree(course).items() if path != file}
    for words, code in ((["open", "--json"], 3), (["check"], 1)):
        started = time.process_time()
        ran = assess_process(words[0], course, *words[1:])
        assert time.process_time() - started < LONGEST_SECONDS
        assert ran.code == code, ran
        told = ran.out if words[0] == "check" else ran.err
        assert file in told and "Traceback" not in ran.out + ran.err and len(told) < 3000
        assert words[0] == "check" or ran.out == ""
    assert {path: content for path, content in tree(course).items() if path != file} == before


def test_ledgers_of_the_worst_kind_and_links_out_are_findings_and_stop_nothing(course: Path, tmp_path: Path) -> None:
    sheets = course / "sheets"
    head, _, rest = (sheets / "T1.C01.A2.a2a2a.yaml").read_bytes().partition(b"entries:\n")
    (sheets / "T1.C01.A2.b2b2b.yaml").write_bytes(head + b"entries:\n- " + b'{"a": ' + DEEP + b"\n")
    (sheets / "T1.C01.A2.c2c2c.yaml").write_bytes(head + b"entries:\n" + b"x" * 50_000_000)
    (sheets / "T1.C01.A2.d2d2d.yaml").write_bytes(b"# assess ledger 2\n" + head.partition(b"\n")[2] + rest)
    (tmp_path / "outside.yaml").write_bytes(head + b"entries:\n" + rest)
    (sheets / "T1.C01.A2.f2f2f.yaml").symlink_to(tmp_path / "outside.yaml")
    (sheets / "T1.C01.A2.g2g2g.yaml").mkdir()
    for words, code in ((["check"], 1), (["results", "--as", "D1"], 0), (["open", "--as", "A2"], 0)):
        started = time.process_time()
        ran = assess_process(words[0], course, *words[1:])
        assert time.process_time() - started < LONGEST_SECONDS
        assert ran.code == code and "Traceback" not in ran.err
    found = assess_process("check", course, "--as", "A2", "--json").json["findings"]
    named = {Path(finding["file"]).name for finding in found if not finding["doubt"]}
    assert named >= {f"T1.C01.A2.{device}.yaml" for device in ("b2b2b", "c2c2c", "d2d2d", "f2f2f", "g2g2g")}


def test_a_few_dozen_files_gone_wrong_through_the_whole_program(course: Path) -> None:
    kept = tree(course)
    for number, where in enumerate(("course.yaml", "people.yaml", "rubrics", "sheets", "days", "seals") * 4):
        pick = random.Random(f"{SEED} process {number}")
        file = course / where if where.endswith(".yaml") else sorted((course / where).iterdir())[0]
        file.write_bytes(mutated_bytes(file.read_bytes(), pick))
        words = (["check", "--json"], ["open", "--as", "A1"], ["results", "--as", "D1", "--json"])[number % 3]
        ran = assess_process(words[0], course, *words[1:])
        assert ran.code in (0, 1, 3) and "Traceback" not in ran.out + ran.err, (number, where, ran)
        assert ran.code != 3 or (ran.out == "" and ran.err)
        file.write_bytes(kept[str(file.relative_to(course))])
