"""Seals and recorded heads: what finds a ledger that was cut or rewritten together with its chain."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assess.records.errors import Problem, Refusal
from assess.records.facts import Interruption, Observation, Seal, Settled
from assess.store import seals
from assess.store.clock import Clock
from assess.store.course_folder import CourseFolder, load_course
from assess.store.ledger_file import read_ledger
from assess.store.seals import head_problems, seal_course, seal_of
from assess.store.writer import Writer
from tests.store.course_maker import heads, ledger_bytes, lock, make_course, other, put, scores, sheet

DAY_MS = 86_400_000
# 2027-02-03T16:00:00Z
EVENING_MS = 1_801_670_400_000
NAME = "T1.C01.A1.d7h2k"
SHEET = f"sheets/{NAME}.yaml"
FIRST = "seals/2027-02-03.D1.d31kq.yaml"
SECOND = "seals/2027-02-04.D1.d31kq.yaml"


class At(Clock):
    """A clock that stands at one time and goes on by a second each time it is read."""

    def __init__(self, ms: int) -> None:
        self.ms = ms

    def now_ms(self) -> int:
        self.ms += 1000
        return self.ms


@pytest.fixture
def root(tmp_path: Path) -> Path:
    course = make_course(tmp_path / "k")
    put(course, sheet(), ledger_bytes(sheet(), scores(3, 4)))
    return course


def seal(root: Path, ms: int = EVENING_MS, *, device: str = "d31kq", who: str = "D1") -> Path:
    writer = Writer(clock=At(ms))
    try:
        return seal_course(load_course(root), who, device, writer, At(ms))
    finally:
        writer.close()


def found(root: Path) -> list[tuple[str, int, str, bool]]:
    return [(each.file, each.line, each.what, each.doubt) for each in sorted(head_problems(load_course(root)))]


def last_seal(path: Path) -> Seal:
    fact = read_ledger(path).ledger.entries[-1].fact
    assert isinstance(fact, Seal)
    return fact


LOOSE = "its newest entries are not yet anchored: no lock or seal records them"


def test_the_digest_of_a_seal_is_that_of_its_sorted_lines() -> None:
    # Source of both values: sha256sum of GNU coreutils, fed by printf 'A 1 00000000000000aa\nB 2 00000000000000bb\n'.
    recorded = {"B": "2 00000000000000bb", "A": "1 00000000000000aa"}
    assert seal_of(recorded) == "sha256:6530e17eeb3cec56ed88a1ac12f0d15978c44c3f2acdb4e59694d912c429f942"
    assert seal_of({}) == "sha256:e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_a_seal_records_the_head_of_every_ledger_but_the_seals_and_names_the_seal_before_it(root: Path) -> None:
    day = other("day", date="2027-02-03")
    put(root, day, ledger_bytes(day, [Interruption(cause="wind")]))
    put(root, sheet(candidate="C02"), ledger_bytes(sheet(candidate="C02"), []))
    first = seal(root)
    assert first == root / FIRST
    said = last_seal(first)
    assert said.heads == {day.name: load_course(root).ledgers[0].ledger.head, NAME: heads(_raw(root))[-1]}
    assert said.seal == seal_of(said.heads)
    assert said.previous is None
    second = seal(root, EVENING_MS + DAY_MS)
    assert second == root / SECOND
    assert last_seal(second).previous == f"{first.stem} {read_ledger(first).ledger.head}"
    # The day ledger of this person and device has the name of the first seal.
    assert last_seal(second).heads == said.heads
    assert found(root) == []


def test_a_second_seal_of_one_day_goes_on_in_the_same_ledger(root: Path) -> None:
    first = seal(root)
    head = read_ledger(first).ledger.head
    assert seal(root, EVENING_MS + 60_000) == first
    entries = read_ledger(first).ledger.entries
    assert [entry.n for entry in entries] == [1, 2]
    assert last_seal(first).previous == f"{first.stem} {head}"
    assert found(root) == []


def test_a_course_of_more_ledgers_than_one_entry_holds_takes_several_seals(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for candidate in ("C02", "C03"):
        put(root, sheet(candidate=candidate), ledger_bytes(sheet(candidate=candidate), scores(3)))
    monkeypatch.setattr(seals, "HEADS_IN_ONE", 2)
    entries = read_ledger(seal(root)).ledger.entries
    assert [len(entry.fact.heads) for entry in entries if isinstance(entry.fact, Seal)] == [2, 1]
    assert found(root) == []


def test_as_many_of_the_longest_names_as_one_seal_takes_fit_into_a_line(root: Path) -> None:
    name = ".".join(["T" * 16, "C" * 16, "A" * 16])
    head = f"{'9' * 9} {'f' * 16}"
    recorded = {f"{name}.{number:012d}~{'0' * 64}": head for number in range(seals.HEADS_IN_ONE)}
    writer = Writer(clock=At(EVENING_MS))
    live = writer.open(root / "seals", other("seal", date="2027-02-03"))
    live.add(Seal(heads=recorded, seal=seal_of(recorded), previous=f"2027-02-03.{'A' * 16}.{'0' * 12} {head}"))
    assert writer.close()


def test_seals_made_apart_from_one_another_are_all_named_by_the_next(root: Path) -> None:
    apart = [seal(root), seal(root, EVENING_MS + 1_000, device="m3npq"), seal(root, EVENING_MS + 2_000, who="A1")]
    # Each was made where the others were not known.
    for path, who, device in zip(apart, ("D1", "D1", "A1"), ("d31kq", "m3npq", "d31kq"), strict=True):
        header = other("seal", date="2027-02-03", by=who, device=device)
        path.write_bytes(ledger_bytes(header, [last_seal(path).model_copy(update={"previous": None})]))
    assert [(file, what) for file, _, what, _ in found(root)] == [
        (f"seals/{path.name}", LOOSE) for path in sorted(apart) if path.stem != "2027-02-03.D1.m3npq"
    ]
    joined = read_ledger(seal(root, EVENING_MS + DAY_MS)).ledger
    facts = [entry.fact for entry in joined.entries if isinstance(entry.fact, Seal)]
    assert sorted(str(fact.previous) for fact in facts) == sorted(
        f"{path.stem} {read_ledger(path).ledger.head}" for path in apart
    )
    assert [bool(fact.heads) for fact in facts] == [True, False, False]
    assert found(root) == []
    for path in apart:
        raw = path.read_bytes()
        path.unlink()
        assert [(file, what.split(" in ")[0]) for file, _, what, _ in found(root)] == [
            (f"seals/{path.name}", "is sealed")
        ]
        path.write_bytes(raw)


def test_a_seal_that_goes_on_names_the_one_made_meanwhile_in_one_entry(root: Path) -> None:
    mine = seal(root)
    header = other("seal", date="2027-02-03", device="m3npq")
    elsewhere = put(root, header, ledger_bytes(header, [last_seal(mine)]))
    seal(root, EVENING_MS + 60_000)
    assert len(read_ledger(mine).ledger.entries) == 2
    assert last_seal(mine).previous == f"{elsewhere.stem} {read_ledger(elsewhere).ledger.head}"


def test_a_version_kept_aside_is_sealed_too_and_missed_when_it_goes(root: Path) -> None:
    fork = put(root, sheet(), ledger_bytes(sheet(), scores(6)), suffix="~0123abcd")
    put(root, sheet(), ledger_bytes(sheet(), scores(2, 6))[:-9], suffix="~bad-89abcdef")
    path = seal(root)
    assert sorted(last_seal(path).heads) == [NAME, fork.stem]
    assert found(root) == []
    # Whatever name a merge gives it, it is still here.
    fork.rename(fork.with_name(f"{NAME}~4567abcd.yaml"))
    assert found(root) == []
    fork.with_name(f"{NAME}~4567abcd.yaml").unlink()
    assert found(root) == [(f"sheets/{fork.name}", 0, f"is sealed in {FIRST}:4 and is not here", False)]


def test_a_ledger_open_elsewhere_is_not_sealed_into(root: Path) -> None:
    seal(root)
    writer = Writer()
    writer.open(root / "seals", other("seal", date="2027-02-03"))
    with pytest.raises(Refusal, match="open in another window"):
        seal(root)
    writer.close()


# --- what recorded heads find --------------------------------------------------------------------------


def _raw(root: Path) -> bytes:
    return (root / SHEET).read_bytes()


def test_a_ledger_that_is_whole_and_shorter_than_its_seal_was_cut(root: Path) -> None:
    seal(root)
    (root / SHEET).write_bytes(ledger_bytes(sheet(), scores(3)))
    what = f"cut below a recorded head: entry 2 was sealed in {FIRST}:4 and is missing"
    assert load_course(root).problems == ()
    assert (SHEET, 0, what, False) in found(root)


def test_a_ledger_rewritten_with_a_fitting_chain_is_found(root: Path) -> None:
    seal(root)
    (root / SHEET).write_bytes(ledger_bytes(sheet(), scores(3, 5, 6)))
    what = f"its history was changed under a recorded head: entry 2 is not the one sealed in {FIRST}:4"
    assert load_course(root).problems == ()
    assert (SHEET, 5, what, False) in found(root)


@pytest.mark.parametrize(
    ("header", "place"),
    [
        (sheet(), SHEET),
        (other("day", date="2027-02-03", device="m3npq"), "days/2027-02-03.D1.m3npq.yaml"),
        (other("decision", candidate="C01"), "decisions/C01.D1.d31kq.yaml"),
    ],
)
def test_a_sealed_ledger_that_is_gone_is_missed_in_its_place(root: Path, header: object, place: str) -> None:
    from assess.records.ledger import Header

    assert isinstance(header, Header)
    facts = scores(3, 4) if header.kind == "sheet" else [Settled(kept={}, aside={}, reason="x")]
    path = put(root, header, ledger_bytes(header, facts))
    seal(root)
    path.unlink()
    assert (place, 0, f"is sealed in {FIRST}:4 and is not here", False) in found(root)


def test_a_ledger_that_only_grew_is_not_yet_anchored_and_says_so_once(root: Path) -> None:
    assert found(root) == [(SHEET, 0, LOOSE, True)]
    seal(root)
    assert found(root) == []
    (root / SHEET).write_bytes(ledger_bytes(sheet(), scores(3, 4, 5, 6)))
    assert found(root) == [(SHEET, 0, LOOSE, True)]


def test_a_lock_anchors_its_own_sheet_and_the_ones_of_other_devices(root: Path) -> None:
    other_device = sheet(device="m3npq")
    raw = ledger_bytes(other_device, scores(5))
    put(root, other_device, raw)
    locked = [*scores(3, 4), lock(**{NAME: heads(_raw(root))[-1], other_device.name: heads(raw)[-1]})]
    (root / SHEET).write_bytes(ledger_bytes(sheet(), locked))
    assert found(root) == []
    put(root, other_device, ledger_bytes(other_device, scores(4)))
    what = "its history was changed under a recorded head: entry 1 is not the one sealed in "
    expected = [
        (f"sheets/{other_device.name}.yaml", 0, LOOSE, True),
        (f"sheets/{other_device.name}.yaml", 4, f"{what}{SHEET}:6", False),
    ]
    assert found(root) == expected
    # A seal that records the same head need not say the same again.
    put(root, other_device, raw)
    seal(root)
    put(root, other_device, ledger_bytes(other_device, scores(4)))
    assert [(file, what.rsplit(" ", 1)[0]) for file, _, what, _ in found(root)] == [
        (file, what.rsplit(" ", 1)[0]) for file, _, what, _ in expected
    ]


def test_a_sheet_rewritten_together_with_its_own_lock_is_found_by_a_seal_alone(root: Path) -> None:
    def locked(level: int) -> bytes:
        return ledger_bytes(sheet(), [*scores(level), lock(**{NAME: heads(ledger_bytes(sheet(), scores(level)))[-1]})])

    (root / SHEET).write_bytes(locked(3))
    (root / SHEET).write_bytes(locked(5))
    assert found(root) == []
    (root / SHEET).write_bytes(locked(3))
    seal(root)
    (root / SHEET).write_bytes(locked(5))
    what = f"its history was changed under a recorded head: entry 2 is not the one sealed in {FIRST}:4"
    assert (SHEET, 5, what, False) in found(root)


def test_a_lock_that_does_not_fit_the_entries_above_it_is_found(root: Path) -> None:
    (root / SHEET).write_bytes(ledger_bytes(sheet(), [*scores(3), lock(**{NAME: "1 " + "0" * 16})]))
    what = f"its history was changed under a recorded head: entry 1 is not the one sealed in {SHEET}:5"
    assert (SHEET, 4, what, False) in found(root)


def test_the_head_of_an_empty_ledger_is_nothing_that_could_be_missed(root: Path) -> None:
    (root / SHEET).write_bytes(
        ledger_bytes(sheet(), [lock(**{NAME: "0 " + "0" * 16, "T9.C9.A9.xxx": "0 " + "0" * 16})])
    )
    assert found(root) == []


def test_a_lock_may_name_a_version_kept_aside_which_is_found_wherever_it_went(root: Path) -> None:
    mine = ledger_bytes(sheet(device="m3npq"), scores(5))
    named = f"{sheet(device='m3npq').name}~0123abcd"
    (root / SHEET).write_bytes(ledger_bytes(sheet(), [lock(**{named: heads(mine)[-1]})]))
    missing = (f"sheets/{named}.yaml", 0, f"is sealed in {SHEET}:4 and is not here", False)
    assert missing in found(root)
    for suffix in ("~0123abcd", "~4567abcd", ""):
        path = put(root, sheet(device="m3npq"), mine, suffix=suffix)
        assert missing not in found(root)
        path.unlink()


@pytest.mark.parametrize("name", ["../../etc/passwd", "seals/../course", "\x1b[2J", "", "a/b/c", "x" * 300])
def test_a_name_no_ledger_has_is_a_sentence_that_is_safe_to_show(root: Path, name: str) -> None:
    (root / SHEET).write_bytes(ledger_bytes(sheet(), [lock(**{name: "1 " + "0" * 16})]))
    told = [str(problem) for problem in head_problems(load_course(root))]
    assert any("is not here" in text for text in told)
    assert all(text.isprintable() for text in told)


def test_a_seal_that_does_not_fit_its_heads_is_found_though_its_chain_fits(root: Path) -> None:
    header = other("seal", date="2027-02-03")
    recorded = {NAME: heads(_raw(root))[-1]}
    put(root, header, ledger_bytes(header, [Seal(heads=recorded, seal="sha256:" + "0" * 64)]))
    assert found(root) == [(FIRST, 4, "the seal does not fit the heads it names", False)]


def test_a_seal_that_is_taken_away_is_missed_by_the_next(root: Path) -> None:
    first = seal(root)
    seal(root, EVENING_MS + DAY_MS)
    first.unlink()
    assert (FIRST, 0, f"is sealed in {SECOND}:4 and is not here", False) in found(root)


def test_a_seal_that_is_rewritten_is_found_by_the_next(root: Path) -> None:
    first = seal(root)
    seal(root, EVENING_MS + DAY_MS)
    header = read_ledger(first).ledger.header
    first.write_bytes(ledger_bytes(header, [Seal(heads={}, seal=seal_of({}))]))
    assert any(file == FIRST and "history was changed" in what for file, _, what, _ in found(root))


def test_a_previous_seal_that_is_no_name_and_head_is_a_sentence(root: Path) -> None:
    header = other("seal", date="2027-02-03")
    for previous in ("", "x", "../../etc 1 " + "0" * 16, "a 1 b"):
        put(root, header, ledger_bytes(header, [Seal(heads={}, seal=seal_of({}), previous=previous)]))
        what = "the seal before this one is not named as a name and a head"
        assert (FIRST, 4, what, False) in found(root)


def test_a_day_and_a_seal_of_the_same_name_are_told_apart(root: Path) -> None:
    day = other("day", date="2027-02-03")
    path = put(root, day, ledger_bytes(day, [Interruption(cause="wind")]))
    assert seal(root).stem == path.stem
    seal(root, EVENING_MS + DAY_MS)
    assert found(root) == []
    path.write_bytes(ledger_bytes(day, [Interruption(cause="fog")]))
    assert {file for file, _, what, _ in found(root) if "history was changed" in what} == {f"days/{path.name}"}
    path.unlink()
    assert found(root) == [(f"days/{path.name}", 0, f"is sealed in {FIRST}:4 and is not here", False)]
    (root / FIRST).unlink()
    path.write_bytes(ledger_bytes(day, [Interruption(cause="wind")]))
    assert found(root) == [(FIRST, 0, f"is sealed in {SECOND}:4 and is not here", False)]


def test_a_head_that_stands_in_a_version_kept_aside_points_there_until_it_is_settled(root: Path) -> None:
    mine = _raw(root)
    seal(root)
    fork = put(root, sheet(), mine, suffix="~0123abcd")
    (root / SHEET).write_bytes(ledger_bytes(sheet(), scores(6)))
    what = f"this version, kept aside, and not the one in use is sealed in {FIRST}:4"
    assert (f"sheets/{fork.name}", 0, what, False) in found(root)
    assert not any("history was changed" in told for _, _, told, _ in found(root))
    day = other("day", date="2027-02-03", device="m3npq")
    settled = Settled(kept={NAME: heads(_raw(root))[-1]}, aside={fork.stem: heads(mine)[-1]})
    put(root, day, ledger_bytes(day, [settled]))
    assert not any(told == what for _, _, told, _ in found(root))


def test_what_heads_tell_holds_no_level_and_no_text(root: Path) -> None:
    put(root, sheet(candidate="C02"), ledger_bytes(sheet(candidate="C02"), [Observation(text="secret words")]))
    seal(root)
    put(root, sheet(candidate="C02"), ledger_bytes(sheet(candidate="C02"), [Observation(text="other words")]))
    folder: CourseFolder = load_course(root)
    told = json.dumps([str(problem) for problem in head_problems(folder)])
    assert "history was changed" in told
    assert "words" not in told
    assert all(isinstance(problem, Problem) and problem.todo for problem in head_problems(folder))
