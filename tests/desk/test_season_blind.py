"""No way, by any key or command, to see a mentor's scores before locking one's own.

Two seasons that differ only in what the mentor has written, locked or not, must look alike to the trainee, byte for
byte and exit code for exit code, through every command, every screen's text and whatever the trainee does in between.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assess.desk.film_compare import compared_films
from assess.desk.season_view import season_json, season_view
from assess.records.errors import AssessError
from tests.cli.commands import assess
from tests.seasons import CRITERIA, build_season, film_desk, mark_film

Told = dict[str, Any]
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("film",), ("film", "{}", "F1"), ("film", "{}", "F1", "--to-vtt", "{}/../out.vtt"), ("open",), ("check",),
    ("film", "{}", "F1", "--stills", "{}/../stills"), ("film", "{}", "--beside", "F1", "F2", "--to", "{}/../o.mp4"),
    ("film", "{}", "--shots"), ("film", "{}", "F1", "--able", "3"), ("film", "{}", "F1", "--title", "x"),
    ("verify",), ("results",), ("export", "{}", "--to", "csv"), ("export", "{}", "--to", "json"), ("agreement",),
    ("dependability",), ("severity",), ("plan",), ("assessors",), ("assessors", "{}", "--assessor", "M1"),
    ("moderate",), ("moderate", "{}", "T5.F1"), ("moderate", "{}", "T5.F1", "--keep-both", "--reason", "x"),
    ("look",), ("look", "{}", "F1", "teach"), ("decide",), ("breach", "{}", "F1"), ("case",), ("case", "{}", "F1"),
    ("quality", "{}", "--on", "2026-11-30", "--replicates", "100"), ("lesson", "{}/T5.F1"), ("lesson", "{}/T5.F1.M1"),
    ("open", "{}/T5.F1"), ("open", "{}/sheets/T5.F1.M1"), ("mark", "{}/sheets/T5.F1.M1", "diagnosis=4"),
    ("lock", "{}/T5.F1"), ("lock", "{}/sheets/T5.F1.M1.m1m.yaml"), ("check", "{}/sheets/T5.F1.M1.m1m.yaml"),
    ("person", "export", "{}", "F1", "--to", "{}/../copy.zip"), ("person", "export", "{}", "M1", "--to", "{}/../c.zip"),
    ("release", "{}", "--to", "assessors"), ("round",),
    ("talk", "{}", "F1", "--minutes", "5", "--said", "T5.F1.M1.m1m 1"),
    ("page", "{}", "season"), ("page", "{}", "result"), ("page", "{}", "round"), ("page", "{}", "assessor"),
    ("evidence", "{}"), ("again", "{}"), ("action", "{}", "F1"), ("resit", "{}", "F1", "teach"),
)  # fmt: skip


@pytest.fixture(autouse=True)
def state(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    folder = tmp_path / "state"
    folder.mkdir()
    (folder / "device").write_text("ttt\n")
    monkeypatch.setenv("ASSESS_STATE_DIR", str(folder))


def variant(base: Path, seed: int | None, *, lock: bool) -> Path:
    """The season with one possible mentor; always in the same place, because messages name it."""
    root = base.parent / "course"
    shutil.rmtree(root, ignore_errors=True)
    shutil.copytree(base, root)
    if seed is not None:
        pick = random.Random(seed)
        levels = [pick.randint(1, 6) for _ in CRITERIA]
        words = pick.choice(("tails wash", "[x] too steep 6", "arms"))
        mark_film(root, "M1", "F1", levels, lock=lock, text=words, at_ms=pick.randrange(1000, 90_000))
    return root


def everything(root: Path, who: str | None) -> Told:
    told: Told = {}
    for number, words in enumerate(COMMANDS):
        line = [word.format(root) for word in (words if "{}" in "".join(words) else (words[0], "{}", *words[1:]))]
        me = ["--as", who] if who else []
        for form in ([], ["--json"]):
            told[f"{number} {' '.join(words)} {form}"] = assess(*line, *me, *form).all
            told[f"{number} written {form}"] = [(f.name, f.read_bytes()) for f in sorted(root.parent.glob("*.[zv]*"))]
            for made in root.parent.glob("*.[zv]*"):
                made.unlink()
    desk = film_desk(root, who)
    told["season"] = season_json(season_view(desk))
    told["board"] = asdict(desk.board())
    told["compared"] = compared_films(desk, "F1")
    if who is not None:
        sheet = desk.film("T5", "F1")
        told["sheet"] = (sheet.holes(), sheet.asked(), sheet.noted(), sheet.timeline(), sheet.sheet, sheet.steps())
        told["rows"] = desk.run_sheet("T5").rows()
    desk.close()
    return told


def but_locks(told: Told) -> str:
    """Whether a mentor has locked may be seen, and only that."""
    text = repr(told)
    for yes, no in (("Person M1 locked", "Person M1 not locked"), ("'M1': True", "'M1': False"),
                    ('\\"M1\\": true', '\\"M1\\": false'), ('"M1": true', '"M1": false')):  # fmt: skip
        text = text.replace(yes, no)
    return text.replace("3 records", "N records").replace("2 records", "N records").replace("1 record)", "N records)")


@pytest.mark.parametrize("lock", [False, True])
@pytest.mark.parametrize("mine", ["nothing", "begun"])
def test_whatever_a_mentor_has_written_the_trainee_is_told_the_same(tmp_path: Path, lock: bool, mine: str) -> None:
    base = build_season(tmp_path / "base")
    if mine == "begun":
        mark_film(base, "TR", "F1", (3, 3, 4), lock=False)
    shown = [but_locks(everything(variant(base, seed, lock=lock), "TR")) for seed in (1, 2)]
    assert shown[0] == shown[1]


@pytest.mark.parametrize("who", [None, "M2"])
def test_nobody_else_learns_of_it_either(tmp_path: Path, who: str | None) -> None:
    base = build_season(tmp_path / "base", mentors=("M1", "M2"))
    shown = [but_locks(everything(variant(base, seed, lock=True), who)) for seed in (1, 2)]
    assert shown[0] == shown[1]


def test_the_same_ways_show_it_once_both_are_locked(tmp_path: Path) -> None:
    """The test above could not fail if nothing were ever shown."""
    base = build_season(tmp_path / "base")
    mark_film(base, "TR", "F1", (3, 3, 4, 4))
    shown = [but_locks(everything(variant(base, seed, lock=True), "TR")) for seed in (1, 2)]
    assert shown[0] != shown[1]


ACTS: dict[str, Callable[[Any], Any]] = {
    "fault": lambda s: s.name_fault("late", whose="assessor"),
    "plan": lambda s: s.plan(goal="earlier"),
    "score": lambda s: s.score("build-up", 3),
    "all scores": lambda s: [s.score(name, 4) for name in CRITERIA],
    "unseen": lambda s: [s.not_observed(name) for name in CRITERIA],
    "note": lambda s: s.note("seen", CRITERIA, film_ms=5000),
    "note without time": lambda s: s.note("seen", CRITERIA, film_ms=None),
    "drill": lambda s: s.drill("traverse"),
    "undo": lambda s: s.undo(),
    "end": lambda s: s.end("unsafe"),
    "lock": lambda s: s.lock(),
    "breach": lambda s: s.breach(),
}


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts=st.lists(st.sampled_from(sorted(ACTS)), min_size=1, max_size=12))
def test_no_row_of_acts_opens_the_mentors_sheet_before_an_honest_lock(
    tmp_path_factory: pytest.TempPathFactory, acts: list[str]
) -> None:
    root = build_season(tmp_path_factory.mktemp("s") / "season")
    mark_film(root, "M1", "F1", (1, 6, 1, 6))
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    for name in acts:
        try:
            ACTS[name](sheet)
        except AssessError as refused:
            assert "6" not in str(refused) or "levels go" in str(refused)
        assert desk.sight.sheet("T5", "F1", "M1") is sheet.locked
        assert bool(compared_films(desk, "F1")) is sheet.locked
        if sheet.locked:
            state = sheet.sheet
            timed = {seen.ref for seen in state.observations if seen.fact.film_ms is not None}
            scored = [mark for mark in state.marks if mark.value is not None]
            assert state.named_faults and state.plan and scored
            assert all(timed.intersection(mark.evidence) for mark in scored)
            break
    desk.close()
