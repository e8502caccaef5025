"""First marks are blind: whatever a partner has marked and not locked, every word I am told stays the same.

Two courses that differ only in what A2 has done on sheets that are not locked must look alike to A1, byte for
byte and exit code for exit code, through every command and through what the screens are made of.
"""

from __future__ import annotations

import json
import os
import random
import shutil
from collections.abc import Callable, Iterator
from dataclasses import asdict
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from assess.desk.outcomes import results_json
from assess.reports.pdf import html_as_pdf
from tests.cli.commands import assess
from tests.courses import FixedClock, build_course, open_desk, release

TASKS, CANDIDATES = ("T6", "T4"), ("C01", "C02")
A2_FILE = "T6.C01.A2.a2a2a.yaml"
WORDS = ("tails", "wash", "edging", "4", "passed", "not_passed", '"level": 6', "[brackets]")
Told = dict[str, Any]
PRINTED = cache(html_as_pdf)


@pytest.fixture(autouse=True)
def one_print_of_each_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """Setting a page takes a second, and one with any other letter in it is another page."""
    monkeypatch.setattr("assess.reports.pdf.html_as_pdf", PRINTED)


@pytest.fixture
def state(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The same device in every run, so that its name is no difference."""
    folder = tmp_path / "state"
    folder.mkdir()
    (folder / "device").write_text("d7h2k\n")
    monkeypatch.setenv("ASSESS_STATE_DIR", str(folder))
    return folder


def my_part(root: Path) -> None:
    """A1: one slot locked, one begun, a lesson begun, one untouched."""
    desk = open_desk(root, "A1")
    done = desk.slot("T6", "C01")
    for criterion in done.criteria:
        done.score(criterion, 4)
    done.lock()
    desk.slot("T6", "C02").score("hazards", 2)
    lesson = desk.lesson("T4", "C01")
    lesson.start()
    lesson.score("plan-and-fit", 5)
    assert desk.close()


def partner_part(root: Path, pick: random.Random, *, damage: bool, way: Iterator[int]) -> None:
    """A2: anything at all on any slot, but no lock; then, if wanted, any damage to the files."""
    desk = open_desk(root, "A2", device="a2a2a", clock=FixedClock(start_ms=1_770_025_500_000 + pick.randrange(10**7)))
    for task in TASKS:
        for candidate in CANDIDATES:
            for _ in range(pick.choice((0, 0, 1, 4, 12))):
                act(desk.slot(task, candidate), pick)
    assert desk.close()
    if damage:
        for file in sorted((root / "sheets").glob("*.A2.*.yaml")):
            spoil(file, pick, next(way))


def act(sheet: Any, pick: random.Random) -> None:
    criterion = pick.choice(sheet.criteria)
    what = pick.randrange(8)
    if what < 4:
        sheet.score(criterion, pick.randint(1, 6))
    elif what == 4:
        sheet.not_observed(criterion, pick.choice((None, "fog", "fell")))
    elif what == 5:
        sheet.note(" ".join(pick.choices(WORDS, k=3)), (criterion,), direction=pick.choice(("for", "against")))
    elif what == 6:
        sheet.breach(pick.choice([rule.id for rule in sheet.rubric.must_nots]), what="past a rope")
    else:
        sheet.undo()


def spoil(file: Path, pick: random.Random, way: int) -> None:
    """One of the things that happen to files, in turn; none of them makes a lock."""
    raw = file.read_bytes()
    at = pick.randrange(len(raw))
    first, _, rest = raw.partition(b"entries:\n")
    ways: tuple[Callable[[], object], ...] = (
        lambda: None,
        lambda: file.write_bytes(raw[:at]),
        lambda: file.write_bytes(raw[:at] + bytes([raw[at] ^ 1]) + raw[at + 1 :]),
        lambda: file.write_bytes(raw + raw.split(b"\n")[-2] + b"\n"),
        lambda: file.write_bytes(raw + b'- {"n": 99'),
        lambda: file.write_bytes(b""),
        lambda: file.unlink(),
        lambda: file.write_bytes(b"# assess ledger 9\n" + rest),
        lambda: file.write_bytes(first.replace(b'"rubric": "sha256:', b'"rubric": "sha256:0')[:400] + b"\nentries:\n"),
        lambda: file.write_bytes(first.replace(b"sha256:", b"sha256:ffff", 1).replace(b'ffff"', b'"') + b"entries:\n"),
        lambda: file.rename(file.with_name(file.name.replace(".yaml", "~3f9c02aa.yaml"))),
        lambda: shutil.copy(file, file.with_name(file.name.replace(".yaml", "~bad-3f9c02aa.yaml"))),
        lambda: file.with_name(f"{file.stem}.torn-3f9c02aa").write_bytes(b"- {"),
        lambda: shutil.copy(file, file.with_name(file.name.replace("a2a2a", "zz2zz"))),
    )
    ways[way % len(ways)]()


def everything_told(root: Path, who: str | None) -> Told:
    """All that is said to one person: by every command, and to every screen."""
    me = ["--as", who] if who else []
    told: Told = {}
    commands: dict[str, list[str | Path]] = {
        "results": ["results", root],
        "check": ["check", root],
        "check files": ["check", root / "course.yaml", root / "people.yaml"],
        "check sheet of another": ["check", root / "sheets" / A2_FILE],
        "check own sheet": ["check", root / "sheets" / "T6.C02.A1.d7h2k.yaml"],
        "verify": ["verify", root],
        "verify with a list": ["verify", root, "--keys", root / "keys.yaml"],
        "keys of mine": ["key", "show"],
        "key of another": ["key", "add", root, root / "course.yaml", "--for", "A2"],
        "open": ["open", root, "--plain"],
        "open own sheet": ["open", root / "T6.C01"],
        "open sheet of another": ["open", root / "sheets" / A2_FILE],
        "export csv": ["export", root, "--to", "csv"],
        "export json": ["export", root, "--to", "json"],
        "mark sheet of another": ["mark", root / "sheets" / "T6.C01.A2", "hazards=4"],
        "mark locked": ["mark", root / "T6.C01", "hazards=4"],
        "mark nonsense": ["mark", root / "T6.C02", "hazards=9", "speed=3"],
        "lock sheet of another": ["lock", root / "sheets" / A2_FILE],
        "lock with holes": ["lock", root / "T6.C02"],
        "lock empty": ["lock", root / "T4.C02"],
        "lock locked": ["lock", root / "T6.C01"],
        "agreement": ["agreement", root],
        "dependability": ["dependability", root],
        "severity": ["severity", root],
        "plan": ["plan", root],
        "plan of the rest": ["plan", root, "--rest"],
        "programme": ["plan", root, "--programme"],
        "assessors": ["assessors", root],
        "page of another": ["assessors", root, "--assessor", "A2"],
        "moderate": ["moderate", root],
        "moderate a slot": ["moderate", root, "T6.C01"],
        "moderate away": ["moderate", root, "T6.C01", "--keep-both", "--reason", "x"],
        "look": ["look", root],
        "look at a module": ["look", root, "C01", "safety"],
        "decide": ["decide", root],
        "breach": ["breach", root, "C01"],
        "letters": ["letters", root, "--to", root.parent / "letters", "--dry-run"],
        "certificate": ["certificate", root, "C01", "--module", "demo", "--to", root.parent / "c.jwt", "--dry-run"],
        "status list": ["certificate", root, "--status", "--to", root.parent / "s.jwt", "--dry-run"],
        "cases": ["case", root],
        "case file": ["case", root, "C01"],
        "quality": ["quality", root, "--on", "2026-11-30", "--replicates", "100"],
        "round": ["round", root],
        "result page": ["page", root, "result"],
        "page of an assessor": ["page", root, "assessor"],
        "page of another assessor": ["page", root, "assessor", "A2"],
        "page of a round": ["page", root, "round"],
        "agreement page": ["page", root, "agreement"],
        "criteria page": ["page", root, "criteria"],
        "quality page": ["page", root, "quality", "--on", "2026-11-30"],
        "season page": ["page", root, "season"],
        "film": ["film", root],
        "lesson of mine": ["lesson", root / "T4.C01"],
        "lesson of another": ["lesson", root / "sheets" / "T4.C01.A2.a2a2a.yaml"],
        "erase, a dry run": ["person", "erase", root, "C01"],
        "due": ["person", "due", root],
        "all tables": ["export", root, "--to", "tables", "--out", root.parent / "out"],
        "calendar": ["export", root, "--to", "calendar", "--out", root.parent / "out"],
        "for research": ["export", root, "--to", "csv", "--for", "research"],
        "versions of a sheet of another": ["merge", root, "--settle", "T6.C01.A2.a2a2a"],
        "keep one of them": ["merge", root, "--settle", "T6.C01.A2.a2a2a", "--keep", "in-use", "--reason", "x"],
        "bundle": ["bundle", root, "--to", root.parent],
        "cards": ["cards", root, "--for", "A1", "--dry-run"],
        "copy for a candidate": ["person", "export", root, "C01", "--to", root.parent / "copy.zip"],
    }
    for name, words in commands.items():
        told[name] = assess(*words, *me).all
        told[f"{name} --json"] = assess(*words, *me, "--json").all
    told["copy for a candidate, a bundle, tables and a calendar"] = written(root.parent)
    # That there is a second copy now is kept on the device, and would be another beginning for the next course.
    (Path(os.environ["ASSESS_STATE_DIR"]) / "copies.json").unlink(missing_ok=True)
    desk = open_desk(root, who)
    told["board"] = asdict(desk.board())
    told["outcomes"] = results_json(desk.outcomes())
    if desk.role == "assessor":
        told["rows"] = desk.run_sheet("T6").rows()
        told["slots"] = [(slot.partners(), slot.holes(), slot.sheet) for slot in desk.run_sheet("T6").slots]
        told["lesson"] = [(desk.lesson("T4", c).partners(), desk.lesson("T4", c).timeline()) for c in CANDIDATES]
    desk.close()
    return told


def written(folder: Path) -> list[bytes]:
    """What a command wrote beside the course; it is taken away."""
    found = [*sorted(folder.glob("*.zip")), *sorted(folder.glob("out/*"))]
    held = [path.read_bytes() for path in found]
    for path in found:
        path.unlink()
    return held


def acts_told(root: Path, other: Path, who: str) -> Told:
    """What is said by the commands that write: a merge of the partner's copy, and a seal."""
    told: Told = {}
    for name, more in (("text", []), ("json", ["--json"])):
        into = root.parent / "into"
        shutil.rmtree(into, ignore_errors=True)
        shutil.copytree(other, into)
        merged = assess("merge", into, root, "--as", who, *more)
        told[f"merge {name}"] = (merged.code, but_for_names(merged.out), merged.err)
        told[f"merge again {name}"] = assess("merge", into, root, "--as", who, *more).all
        told[f"after the merge {name}"] = assess("check", into, "--as", who, *more).all
    told["seal"] = assess("seal", root, "--as", who).all
    told["after the seal"] = assess("check", root, "--as", who).all
    told["verify after the seal"] = assess("verify", root, "--as", who, "--json").all
    return told


def but_for_names(out: str) -> str:
    """What a merge says besides naming the partner's files: that a file is there is all it may tell of them."""
    if out.startswith("{"):
        return json.dumps({key: said for key, said in json.loads(out).items() if key not in ("taken", "came")})
    lines = [line for line in out.split("\n") if not line.startswith("came in from A2: ")]
    return "\n".join(lines).replace("nothing new\n", "")


@pytest.fixture
def base(tmp_path: Path, state: Path) -> Path:
    root = build_course(tmp_path / "base", candidates=2, tasks=TASKS)
    release(root)
    # What is signed and what is not is told here too.
    (root / "keys.yaml").write_text("# assess keys 1\nrevision: 1\nrequired_from: 2026-02-01\nkeys: []\n")
    my_part(root)
    return root


WAYS = count()


def variant(base: Path, seed: int | None, *, damage: bool) -> Path:
    """The course with one possible partner; always in the same place, because messages name it."""
    root = base.parent / "course"
    shutil.rmtree(root, ignore_errors=True)
    shutil.copytree(base, root)
    if seed is not None:
        partner_part(root, random.Random(seed), damage=damage, way=WAYS)
    return root


def differences(one: Told, two: Told) -> dict[str, tuple[Any, Any]]:
    return {name: (one[name], two[name]) for name in one if one[name] != two[name]}


def test_whatever_a_partner_marks_or_loses_everything_i_am_told_stays_the_same(base: Path) -> None:
    untouched = everything_told(variant(base, None, damage=False), "A1")
    assert len(untouched) == 134
    for seed in range(8):
        root = variant(base, seed, damage=seed % 3 != 0)
        assert differences(untouched, everything_told(root, "A1")) == {}, seed


def test_no_assessor_is_told_anything_of_what_candidates_said_of_themselves_or_of_the_quality_file(base: Path) -> None:
    root = variant(base, None, damage=False)
    untouched = everything_told(root, "A1")
    (root / "groups.yaml").write_text(
        '# assess groups 1\nasked: "by form"\npersons:\n'
        "- {id: p1, attempts: [K-TEST/C01], groups: {first-language: secret}}\n- {id: p1, attempts: [], groups: {}}\n"
    )
    (root / "quality.yaml").write_text(
        "# assess quality 1\ninterval_months: 12\nfirst_due: 2020-01-01\nthreats:\n"
        '- {kind: pressure, text: "A2 is to be kept", found: 2020-01-01}\n'
    )
    assert differences(untouched, everything_told(root, "A1")) == {}
    assert everything_told(root, "D1")["board"]["duties"] != ()


@pytest.mark.parametrize("who", ["D1", None])
def test_a_director_and_somebody_without_a_name_learn_nothing_of_open_sheets_either(
    base: Path, who: str | None
) -> None:
    untouched = everything_told(variant(base, None, damage=False), who)
    for seed in range(2):
        assert differences(untouched, everything_told(variant(base, 100 + seed, damage=False), who)) == {}, seed


def test_a_merge_and_a_seal_tell_nothing_of_what_the_partner_marked(base: Path) -> None:
    first = acts_told(variant(base, None, damage=False), base, "A1")
    for seed in range(6):
        root = variant(base, 200 + seed, damage=seed % 2 == 1)
        assert differences(first, acts_told(root, base, "A1")) == {}, seed


def test_a_merge_names_files_of_the_partner_and_never_counts_or_quotes(base: Path) -> None:
    named = set()
    for seed in range(6):
        root = variant(base, 300 + seed, damage=False)
        into = base.parent / "into"
        shutil.rmtree(into, ignore_errors=True)
        shutil.copytree(base, into)
        named |= {line for line in assess("merge", into, root, "--as", "A1").out.split("\n") if "A2" in line}
    came = {line.removeprefix("came in from A2: ") for line in named if line.startswith("came in from A2: ")}
    assert {word for line in came for word in line.replace(";", "").split()} == {*TASKS, *CANDIDATES}
    # Besides those one line, the same whatever A2 has marked: it is told by the locks.
    (still,) = (line for line in named if not line.startswith("came in"))
    assert "A2 has not locked, or was not brought yet: T4 C01 C02; T6 C01 C02." in still


def locked_partner(root: Path, level: int) -> None:
    desk = open_desk(root, "A2", device="a2a2a")
    for task in TASKS:
        for candidate in CANDIDATES:
            sheet = desk.slot(task, candidate)
            for criterion in sheet.criteria:
                sheet.score(criterion, level)
            sheet.lock()
    assert desk.close()


def test_no_module_word_before_my_own_last_lock_for_a_candidate_whatever_the_partner_locked(base: Path) -> None:
    """A2 has locked all, the director has released all: only my own open sheets keep the words from me."""
    seen = []
    for level in (4, 5):
        root = variant(base, None, damage=False)
        locked_partner(root, level)
        desk = open_desk(root, "A1")
        words = [line.words for line in desk.board().candidates]
        seen.append(
            (assess("results", root, "--as", "A1").all, assess("results", root, "--as", "A1", "--json").all, words)
        )
        assert words == [{}, {}]
    assert seen[0] == seen[1]
    modules = [module for candidate in results_of(root, "A1") for module in candidate["modules"].values()]
    assert {module["outcome"] for module in modules} == {None} and {module["mean"] for module in modules} == {None}
    assert {module["outcome"] for c in results_of(root, "D1") for module in c["modules"].values()} == {"open", "passed"}


def test_a_module_word_is_shown_once_it_is_released_and_my_sheets_of_the_candidate_are_locked(base: Path) -> None:
    root = variant(base, None, damage=False)
    locked_partner(root, 4)
    desk = open_desk(root, "A1")
    for task in TASKS:
        if not desk.locked(task, "C01", "A1"):
            sheet = desk.slot(task, "C01")
            for criterion in sheet.criteria:
                sheet.score(criterion, 4)
            sheet.lock()
    assert desk.close()
    first, second = results_of(root, "A1")
    assert {name: module["outcome"] for name, module in first["modules"].items()} == {
        "safety": "passed",
        "teach": "open",
    }
    assert {module["outcome"] for module in second["modules"].values()} == {None}


def results_of(root: Path, who: str) -> list[dict[str, Any]]:
    candidates: list[dict[str, Any]] = assess("results", root, "--as", who, "--json").json["candidates"]
    return candidates


def test_before_the_release_nobody_but_the_director_is_told_a_word(tmp_path: Path, state: Path) -> None:
    root = build_course(tmp_path / "course", candidates=2, tasks=TASKS)
    locked_partner(root, 4)
    desk = open_desk(root, "A1")
    for task in TASKS:
        for candidate in CANDIDATES:
            sheet = desk.slot(task, candidate)
            for criterion in sheet.criteria:
                sheet.score(criterion, 4)
            sheet.lock()
    assert desk.close()
    for who in ("A1", "A2"):
        ran = assess("results", root, "--as", who)
        assert "not released" in ran.out and not any(word in ran.out for word in ("passed", "third look", "mean"))
    assert "passed" in assess("results", root, "--as", "D1").out
