"""Invariant 4: nothing recorded is ever overwritten or deleted; what was once in a file stays its beginning.

That a merge of files in any state loses no byte is tested with the order of merging (invariant 18).
"""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from assess.desk.importing import import_scores
from assess.desk.pinning import pin_rubric
from assess.desk.sealing import seal
from assess.desk.verifying import verify
from assess.records.errors import Refusal
from assess.records.facts import BreachAccount, BreachFinding, Observation, Score
from assess.records.ledger import Header
from assess.records.times import milliseconds
from assess.store.clock import Clock
from assess.store.ledger_file import read_ledger
from assess.store.merge import merge
from assess.store.writer import Writer
from tests.courses import ROOT, build_course, open_desk
from tests.store.course_maker import QUICK, ledger_bytes, scores, sheet

ACTS = st.lists(st.tuples(st.integers(0, 8), st.integers(0, 3), st.integers(1, 6)), max_size=25)


def act(desk, what: int, who: int, level: int) -> None:
    sheet = desk.run_sheet("T1")
    candidate = f"C0{who % 3 + 1}"
    slot = sheet.slot(candidate)
    criterion = slot.criteria[who % 4]
    acts = (
        lambda: slot.score(criterion, level),
        lambda: slot.not_observed(criterion, "fog"),
        lambda: slot.note("tails wash", (criterion,)),
        sheet.undo,
        lambda: sheet.give_to(candidate, 20 + level % 3),
        lambda: sheet.order(candidate, "late"),
        lambda: slot.breach(),
        slot.lock,
        lambda: desk.day_book.record_morning(weather="clear"),
    )
    acts[what]()


def files(root: Path) -> dict[str, bytes]:
    folders = ("sheets", "days", "decisions", "seals")
    return {f"{f}/{p.name}": p.read_bytes() for f in folders for p in sorted((root / f).iterdir()) if p.is_file()}


@given(ACTS)
@settings(max_examples=40, deadline=None)
def test_invariant_4_after_every_act_each_file_begins_with_what_it_was(acts: list[tuple[int, int, int]]) -> None:
    with tempfile.TemporaryDirectory() as place:
        root = build_course(Path(place) / "course")
        desk = open_desk(root)
        before: dict[str, bytes] = {}
        for what, who, level in acts:
            with contextlib.suppress(Refusal):
                act(desk, what, who, level)
            assert desk.drain()
            now = files(root)
            for name, was in before.items():
                assert now[name].startswith(was), name
            before = now
        desk.close()


def test_invariant_4_a_merge_keeps_every_version_that_is_no_beginning_of_another(tmp_path: Path) -> None:
    base = build_course(tmp_path / "base")
    copies = []
    for number, level in enumerate((3, 4, 5)):
        copy = tmp_path / f"copy{number}"
        shutil.copytree(base, copy)
        desk = open_desk(copy)
        desk.slot("T1", "C01").score("edging", level)
        desk.close()
        copies.append(copy)
    kept = {raw for copy in copies for raw in files(copy).values()}
    merge(base, copies, disk=QUICK)
    assert kept <= set(files(base).values())


class Watched:
    """A course of which every file is looked at after every act."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.before = files(root)

    def does(self, *acts: Callable[[], object]) -> None:
        for act in acts:
            act()
            now = files(self.root)
            assert now != self.before, "an act that writes nothing tests nothing"
            for name, was in self.before.items():
                assert name in now, name
                assert now[name].startswith(was), name
            self.before = now


def test_invariant_4_every_kind_of_act_leaves_each_file_its_beginning(tmp_path: Path) -> None:
    course = Watched(build_course(tmp_path / "course", tasks=("T1", "T4")))
    root = course.root

    def saved(desk, act: Callable[[], object]) -> Callable[[], object]:
        return lambda: (act(), desk.drain())

    desk = open_desk(root, "A1")
    rows, slot, lesson, day = desk.run_sheet("T1"), desk.slot("T1", "C01"), desk.lesson("T4", "C01"), desk.day_book
    rest = slot.criteria[1:]
    marked = (
        lambda: slot.view("side"),
        lambda: slot.score(slot.criteria[0], 2),
        lambda: slot.note("tails wash", (slot.criteria[0],)),
        lambda: slot.score(slot.criteria[0], 5),
        slot.undo,
        lambda: slot.breach("beyond-a-closure", "past a rope", "top", "nobody"),
        lambda: slot.rerun("obstructed"),
        lambda: rows.give_to("C01", 21),
        lambda: rows.undo(),
        *(lambda criterion=criterion: slot.not_observed(criterion, "fog") for criterion in rest),
        lambda: rows.slot("C02").score(slot.criteria[0], 4),
        lambda: rows.order("C03", "late"),
        lambda: lesson.start(1),
        lambda: lesson.seen(lesson.criteria[0], "for"),
        lambda: lesson.drill("one ski"),
        lambda: lesson.practise(True),
        lambda: lesson.name_fault("sits back"),
        lambda: lesson.plan("patience", "slower", "the flat"),
        lambda: lesson.question(None, "why here?", "full"),
        lambda: lesson.end("time"),
        lambda: day.record_morning(weather="fog"),
        lambda: day.interruption("wind", ("T1",)),
        lambda: day.bib_change("C03", 77),
        lambda: rows.slot("C01").lock(),
    )
    course.does(*(saved(desk, act) for act in marked))
    assert desk.close()

    director = open_desk(root, "D1", device="d1d1d")
    live = director.live(
        Header(kind="decision", course="K-TEST", candidate="C01", by="D1", device="d1d1d", opened=director.now())
    )
    standard = "more likely than not"
    finding = BreachFinding(
        must_not="beyond-a-closure", state="not-confirmed", modules=("demo",), reports=(), standard=standard
    )
    course.does(
        saved(director, lambda: director.day_book.change_allocation("T4", "C02", "A2", None, "ill")),
        saved(director, lambda: director.append(live, BreachAccount(must_not="beyond-a-closure", declined=True))),
        saved(director, lambda: director.append(live, finding)),
    )
    assert director.close()

    table = tmp_path / "table.csv"
    head = "day,task,order,candidate,assessor,criterion,score,status,rubric\n"
    table.write_text(head + f"1,T1,2,C02,A2,{slot.criteria[0]},4,scored,r-2026.1\n")
    course.does(
        lambda: import_scores(open_desk(root, "A2", device="a2a2a"), table),
        lambda: seal(open_desk(root, "D1", device="d1d1d")),
        lambda: seal(open_desk(root, "D1", device="d1d1d")),
    )
    assert verify(open_desk(root, "D1", device="d1d1d")).holds
    assert files(root) == course.before


def test_invariant_4_a_rubric_put_in_force_touches_no_record(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", tasks=("T1", "T4"))
    desk = open_desk(root)
    desk.slot("T1", "C01").score("edging", 4)
    assert desk.close()
    before = files(root)
    rubrics = {path: path.read_bytes() for path in (root / "rubrics").iterdir()}
    newer = ROOT / "rubrics" / "alpine-ski" / "r-2026.2.yaml"
    pin_rubric(open_desk(root, "D1"), newer, "teach", 1, "two descriptors were read in two ways")
    assert files(root) == before
    [(path, raw)] = rubrics.items()
    assert path.read_bytes() == raw
    assert len(list((root / "rubrics").iterdir())) == 2


class Later(Clock):
    """An hour after the ledger was opened."""

    def now_ms(self) -> int:
        return milliseconds(sheet().opened) + 3_600_000


def test_invariant_4_a_ledger_cut_at_any_byte_goes_on_and_what_was_cut_is_kept_beside_it(tmp_path: Path) -> None:
    header = sheet()
    whole = ledger_bytes(header, [*scores(3, 4), Observation(text="äußerer Ski")])
    ends = [place + 1 for place, byte in enumerate(whole) if byte == 0x0A][2:]
    for kept in range(len(whole)):
        folder = tmp_path / str(kept)
        folder.mkdir()
        path = folder / f"{header.name}.yaml"
        path.write_bytes(whole[:kept])
        writer = Writer(disk=QUICK, clock=Later(), salt=lambda: "0" * 32)
        live = writer.open(folder, header)
        # A last line without its newline is whole when its chain fits.
        entries = sum(end - 1 <= kept for end in ends[1:])
        assert live.acknowledged == entries
        live.add(Score(criterion="line", level=5))
        assert writer.close()
        standing = path.read_bytes()
        sound = whole[: ends[entries]] if kept >= ends[0] else b""
        assert standing.startswith(sound)
        assert len(read_ledger(path).ledger.entries) == entries + 1
        torn = b"".join(file.read_bytes() for file in folder.glob("*.torn-*"))
        assert (sound + torn).startswith(whole[:kept])
