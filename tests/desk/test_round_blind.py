"""A round is blind: while my own sheets are not all locked, nothing I am told depends on what anybody else gave.

Not even on sheets that others have locked, the panel's among them. Of an assessor who has not locked everything
nobody learns a mark, the director neither.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import assess
from tests.courses import open_desk
from tests.rounds import build_round, mark_all

LESSONS = ("L01", "L02", "L03")
SLOTS = (*LESSONS, "L01-2")
PANEL = ("P1", "P2", "P3", "P4")
Told = dict[str, Any]


@pytest.fixture(autouse=True)
def state(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    folder = tmp_path / "state"
    folder.mkdir()
    (folder / "device").write_text("d7h2k\n")
    monkeypatch.setenv("ASSESS_STATE_DIR", str(folder))


def made(tmp_path: Path, seed: int, *, mine: Sequence[str], others_lock: Sequence[str] = SLOTS) -> Path:
    """A round in the same place each time: others' levels, words and reasons by seed, A1's own always the same."""
    root = tmp_path / "round"
    shutil.rmtree(root, ignore_errors=True)
    build_round(root)
    pick = random.Random(seed)
    (root / "reference.yaml").write_text(
        "# assess reference 1\nround: R-TEST\nrevision: 1\nreasons:\n"
        f"- {{lesson: L01, criterion: diagnosis, reason: \"secret {seed}\"}}\n"
    )  # fmt: skip
    for who in PANEL:
        mark_all(root, who, drawn(pick, LESSONS), text=f"word {seed}")
    for slot, levels in drawn(pick, SLOTS).items():
        mark_all(root, "A2", {slot: levels}, lock=slot in others_lock, text=f"word {seed}")
    mark_all(root, "A1", {slot: (4, 3, 4, 5) for slot in SLOTS if slot in mine})
    mark_all(root, "A1", {slot: (4, 3, 4, 5) for slot in SLOTS[:1] if slot not in mine}, lock=False)
    return root


def drawn(pick: random.Random, slots: Sequence[str]) -> dict[str, tuple[int, ...]]:
    return {slot: tuple(pick.randint(1, 6) for _ in range(4)) for slot in slots}


def everything_told(root: Path, who: str | None) -> Told:
    me = ["--as", who] if who else []
    commands: Mapping[str, list[str | Path]] = {
        "round": ["round", root],
        "round of mine": ["round", root, "--assessor", "A1"],
        "page of the round": ["page", root, "round"],
        "page of another": ["page", root, "round", "A2"],
        "round of another": ["round", root, "--assessor", "A2"],
        "round signed": ["round", root, "--sign"],
        "check": ["check", root],
        "check reference": ["check", root / "reference.yaml"],
        "check sheet of another": ["check", root / "sheets" / "T5.L01.A2.a2x.yaml"],
        "check sheet of the panel": ["check", root / "sheets" / "T5.L01.P1.p1x.yaml"],
        "verify": ["verify", root],
        "results": ["results", root],
        "open": ["open", root, "--plain"],
        "open own sheet": ["open", root / "T5.L01"],
        "export": ["export", root, "--to", "csv"],
        "agreement": ["agreement", root],
        "severity": ["severity", root],
        "dependability": ["dependability", root],
        "assessors": ["assessors", root],
        "page of mine": ["assessors", root, "--assessor", "A1"],
        "moderate": ["moderate", root],
        "moderate a lesson": ["moderate", root, "T5.L01"],
        "look": ["look", root, "L01", "teach"],
        "decide": ["decide", root],
        "breach": ["breach", root, "L01"],
        "cases": ["case", root],
        "case file": ["case", root, "L01"],
        "plan": ["plan", root],
        "quality": ["quality", root],
        "copy for a person": ["person", "export", root, "A1", "--to", root.parent / "copy.zip"],
        "lesson of mine": ["lesson", root / "T5.L01"],
        "lesson of the panel": ["lesson", root / "sheets" / "T5.L01.P1.p1x.yaml"],
    }
    told: Told = {}
    for name, words in commands.items():
        told[name] = assess(*words, *me).all
        told[f"{name} --json"] = assess(*words, *me, "--json").all
    desk = open_desk(root, who)
    told["board"] = asdict(desk.board())
    if desk.role == "assessor":
        told["lesson"] = [(desk.lesson("T5", slot).partners(), desk.lesson("T5", slot).timeline()) for slot in SLOTS]
    desk.close()
    return told


def differences(one: Told, two: Told) -> dict[str, tuple[Any, Any]]:
    return {name: (one[name], two[name]) for name in one if one[name] != two[name]}


@pytest.mark.parametrize("who", ["A1", None])
@pytest.mark.parametrize("mine", [(), ("L02",), SLOTS[1:]])
def test_nothing_i_am_told_depends_on_what_others_gave_while_my_own_is_open(
    tmp_path: Path, who: str | None, mine: tuple[str, ...]
) -> None:
    first = everything_told(made(tmp_path, 1, mine=mine), who)
    assert len(first) >= 60
    assert "secret" not in str(first) and "word 1" not in str(first)
    for seed in (2, 3):
        assert differences(first, everything_told(made(tmp_path, seed, mine=mine), who)) == {}


def test_with_everything_locked_i_see_the_reference_and_myself(tmp_path: Path) -> None:
    first = everything_told(made(tmp_path, 1, mine=SLOTS), "A1")
    second = everything_told(made(tmp_path, 2, mine=SLOTS), "A1")
    assert "round of mine" in differences(first, second)
    assert "secret 1" in str(first["round of mine --json"]) or "A1" in str(first["round of mine"])
    assert first["round of another"][0] == 1 and "A2" not in str(first["round"][1]).split("Locked")[0]


def test_of_another_assessor_i_am_told_nothing_even_when_all_is_locked(tmp_path: Path) -> None:
    """The panel is the same; only A2 differs, who has locked everything."""
    root = made(tmp_path, 1, mine=SLOTS)
    first = {name: assess("round", root, "--as", "A1", *more).all for name, more in ROUND.items()}
    for file in (root / "sheets").glob("T5.*.A2.*"):
        file.unlink()
    mark_all(root, "A2", drawn(random.Random(77), SLOTS), text="word 77")
    assert {name: assess("round", root, "--as", "A1", *more).all for name, more in ROUND.items()} == first


ROUND: dict[str, list[str]] = {"all": [], "json": ["--json"], "mine": ["--assessor", "A1"], "his": ["--assessor", "A2"]}


@pytest.mark.parametrize("who", ["D1", "A1"])
def test_of_an_assessor_with_an_open_sheet_nobody_learns_a_mark(tmp_path: Path, who: str) -> None:
    """A2 has locked two of four; the director sees how many, and no more."""
    told = []
    for seed in (5, 6):
        root = made(tmp_path, 4, mine=SLOTS)
        for file in (root / "sheets").glob("T5.*.A2.*"):
            file.unlink()
        for slot, levels in drawn(random.Random(seed), SLOTS).items():
            mark_all(root, "A2", {slot: levels}, lock=slot in SLOTS[:2], text=f"word {seed}")
        told.append({name: assess("round", root, "--as", who, *more).all for name, more in ROUND.items()})
    assert told[0] == told[1]
    if who == "D1":
        locks = {each["marker"]: each["locked"] for each in json_of(told[0]["json"])["locks"]}
        assert locks["A2"] == 2


def json_of(ran: Sequence[Any]) -> Any:
    import json

    return json.loads(ran[1])


def test_a_director_on_the_panel_sees_nothing_before_their_own_last_lock(tmp_path: Path) -> None:
    root = build_round(tmp_path / "round", panel=(*PANEL, "D1"))
    for who in (*PANEL, "A1"):
        mark_all(root, who, drawn(random.Random(1), SLOTS if who == "A1" else LESSONS))
    mark_all(root, "D1", {"L01": (4, 4, 4, 4)})
    out = " ".join(assess("round", root, "--as", "D1").out.split())
    assert "your own sheets are not all locked yet (1 of 3 are)" in out and "A1 Marker" not in out
    mark_all(root, "D1", dict.fromkeys(LESSONS[1:], (4, 4, 4, 4)))
    assert "A1 Marker A1" in assess("round", root, "--as", "D1").out
