"""What the writer refuses, in a sentence and before anything is touched."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from assess.records.errors import Refusal, StorageTrouble
from assess.records.facts import Lock, Morning, Observation, Score
from assess.store.ledger_file import parse_ledger, read_ledger
from assess.store.writer import Writer
from tests.store.disks import FOLDER, MemoryDisk, SetClock, facts, sheet

NAME = "T1.C04.A2.d7h2k"
FILE = f"{NAME}.yaml"
LOCK = Lock(heads={NAME: "2 0123456789abcdef"}, seal="sha256:" + "0" * 64)
SCORE = Score(criterion="edging", level=3)
NOON = 1_801_645_200_000


def test_nothing_is_added_after_a_lock_also_when_opened_again(tmp_path: Path) -> None:
    for _ in range(2):
        writer = Writer()
        live = writer.open(tmp_path, sheet())
        if not live.locked:
            live.add(SCORE)
            live.add(LOCK)
        with pytest.raises(Refusal, match="is locked"):
            live.add(SCORE)
        assert writer.close()
    assert len(read_ledger(tmp_path / FILE).ledger.entries) == 2


@pytest.mark.parametrize(
    ("fact", "sentence"),
    [
        (Morning(weather="fine"), "a sheet ledger holds no morning"),
        (Observation(text="\U0001d160" * 8000), "text: at most 8000 characters are wanted"),
        (Observation(tags=("x" * 80,) * 900), "more than fits into one entry"),
        (Observation(text="x", tags=("\ufeff" * 80,) * 136), "more than fits into one entry"),
    ],
)
def test_what_no_reader_would_take_is_refused_before_anything_is_recorded(fact: Observation, sentence: str) -> None:
    disk = MemoryDisk()
    clock = SetClock(NOON)
    writer = Writer(disk=disk, clock=clock)
    live = writer.open(FOLDER, sheet())
    live.add(SCORE)
    clock.ms -= 10_000
    with pytest.raises(Refusal, match=sentence):
        live.add(fact)
    assert len(live.entries) == 1
    live.add(SCORE)
    assert writer.close()
    assert parse_ledger(disk.file(FOLDER / FILE), NAME).problems == ()


def test_a_closed_writer_takes_nothing_more(tmp_path: Path) -> None:
    writer = Writer()
    live = writer.open(tmp_path, sheet())
    assert writer.close()
    assert writer.close()
    with pytest.raises(Refusal, match="closed"):
        live.add(SCORE)
    with pytest.raises(Refusal, match="closed"):
        writer.open(tmp_path, sheet("C05"))


def test_a_damaged_ledger_is_never_continued_and_not_touched(tmp_path: Path) -> None:
    writer = Writer()
    live = writer.open(tmp_path, sheet())
    for fact in facts(3):
        live.add(fact)
    assert writer.close()
    path = tmp_path / FILE
    damaged = path.read_bytes().replace(b"wash", b"push", 1)
    for raw, where in ((damaged, "4"), (damaged.replace(b"ledger 1", b"ledger 2"), "1"), (b"something\n" * 9, "1")):
        path.write_bytes(raw)
        again = Writer()
        with pytest.raises(Refusal, match=rf"{NAME}\.yaml:{where}: is ") as told:
            again.open(tmp_path, sheet())
        assert str(tmp_path.parent) not in str(told.value)
        assert again.close()
        assert path.read_bytes() == raw


@pytest.mark.parametrize("change", [{"course": "K-2027-02"}, {"assessor": "A3"}, {"device": "x9x9x"}, {"task": "T2"}])
def test_a_file_about_something_else_than_its_name_says_is_refused(tmp_path: Path, change: dict[str, str]) -> None:
    writer = Writer()
    live = writer.open(tmp_path, sheet(**change))
    live.add(SCORE)
    assert writer.close()
    (tmp_path / f"{live.name}.yaml").rename(tmp_path / FILE)
    again = Writer()
    with pytest.raises(Refusal, match="about something else than its name says"):
        again.open(tmp_path, sheet())
    assert again.close()


def test_what_is_no_file_of_ours_is_refused_at_once(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.write_bytes(b"")
    sheets = tmp_path / "sheets"
    sheets.mkdir()
    for make in (lambda p: p.symlink_to(elsewhere), lambda p: p.mkdir(), lambda p: os.mkfifo(p)):
        make(sheets / FILE)
        writer = Writer()
        with pytest.raises(StorageTrouble, match="not a plain file"):
            writer.open(sheets, sheet())
        assert writer.close()
        (sheets / FILE).rename(tmp_path / f"done-{len(list(tmp_path.iterdir()))}")


# --- another window ---------------------------------------------------------------------------

OTHER_WINDOW = """
import sys
from pathlib import Path
from tests.store.disks import sheet
from assess.records.errors import Refusal
from assess.records.facts import Score
from assess.store.writer import Writer
writer = Writer(first_rest=0.01, longest_rest=0.02)
try:
    live = writer.open(Path(sys.argv[1]), sheet())
except Refusal as refusal:
    print(refusal)
    sys.exit()
print("open", flush=True)
sys.stdin.readline()
live.add(Score(criterion="edging", level=2))
print(writer.drain(0.3), writer.state.why, flush=True)
sys.stdin.readline()
print(writer.drain(10), flush=True)
writer.close()
"""


def other_window(folder: Path) -> subprocess.Popen[str]:
    here = Path(__file__).resolve().parents[2]
    return subprocess.Popen(
        [sys.executable, "-c", OTHER_WINDOW, str(folder)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(here)},
    )  # fmt: skip


def test_a_second_window_on_the_same_sheet_is_refused_in_a_sentence(tmp_path: Path) -> None:
    writer = Writer()
    writer.open(tmp_path, sheet()).add(SCORE)
    assert writer.drain(10)
    said, _ = other_window(tmp_path).communicate(timeout=30)
    assert said == (
        f"{tmp_path.name}/{FILE}: is open in another window; close it there; "
        "until then it can be read here, not written\n"
    )
    assert writer.close()
    with other_window(tmp_path) as process:
        assert process.communicate("\n\n", timeout=30)[0].startswith("open\nTrue")


def test_a_second_window_that_comes_first_to_a_new_sheet_keeps_it_and_nothing_is_lost(tmp_path: Path) -> None:
    with other_window(tmp_path) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        assert process.stdout.readline() == "open\n"
        writer = Writer()
        ours = writer.open(tmp_path, sheet(opened="2027-02-03T08:59:00.000Z"))
        ours.add(SCORE)
        assert writer.drain(10)
        process.stdin.write("\n")
        process.stdin.flush()
        assert process.stdout.readline() == "False open in another window\n"
        assert writer.close()
        process.stdin.write("\n")
        process.stdin.flush()
        assert process.stdout.readline() == "True\n"
    found = [read_ledger(path) for path in sorted(tmp_path.iterdir())]
    assert [file.name[: len(NAME) + 1] for file in found] == [NAME, f"{NAME}~"]
    assert [[entry.fact for entry in file.ledger.entries] for file in found] == [
        [SCORE], [Score(criterion="edging", level=2)],
    ]  # fmt: skip
