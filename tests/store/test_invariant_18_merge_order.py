"""Invariant 18: the order of a merge does not matter, and merging twice changes nothing."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Iterable, Sequence
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assess.records.facts import Observation, Settled, SomeFact, Undo
from assess.records.ledger import Header
from assess.store.merge import MergeReport, merge
from assess.store.merge_rules import Group, Outcome, judged, resolved
from assess.store.versions import Settlement
from tests.courses import build_course, open_desk
from tests.store.course_maker import (
    COURSE,
    PEOPLE,
    QUICK,
    RUBRIC,
    RUBRIC_NAME,
    by_digest,
    hash8,
    heads,
    ledger_bytes,
    lock,
    make_course,
    other,
    put,
    scores,
    sheet,
    tree,
)

SAMPLE = Path(__file__).resolve().parents[2] / "sample_sessions" / "course"
DAY = other("day", date="2027-02-03")
Found = tuple[str, bytes]

# --- versions as they come about ---------------------------------------------------------------------


def spoilt(draw: st.DrawFn, header: Header, facts: Sequence[SomeFact]) -> bytes:
    """A ledger in one of the states a file is found in: whole, torn, damaged, gone on after a lock, no ledger."""
    raw = ledger_bytes(header, facts)
    match draw(st.sampled_from(["whole"] * 5 + ["torn", "damaged", "after a lock", "locked", "cut", "strange"])):
        case "torn":
            return raw[: -draw(st.integers(1, 60))]
        case "cut":
            return raw[: draw(st.integers(0, len(raw)))]
        case "damaged":
            place = draw(st.integers(0, len(raw) - 1))
            return raw[:place] + bytes([raw[place] ^ draw(st.integers(1, 127))]) + raw[place + 1 :]
        case "locked":
            return ledger_bytes(header, [*facts, lock()])
        case "after a lock":
            return ledger_bytes(header, [*facts, lock(), *scores(1)])
        case "strange":
            return ledger_bytes(sheet(candidate="C03"), facts)
    return raw


@st.composite
def records(draw: st.DrawFn, *more: Header) -> Found:
    """A file of a course: a short alphabet, so that versions begin alike and part later."""
    header = draw(st.sampled_from([sheet(), *more]))
    raw = spoilt(draw, header, scores(*draw(st.lists(st.integers(3, 4), max_size=3))))
    # Versions also lie there under the names an earlier merge gave them.
    suffix = draw(st.sampled_from(["", "", "", "~0123abcd", f"~{hash8(raw)}", "~bad-89abcdef"]))
    return f"sheets/{header.name}{suffix}.yaml", raw


ONE, TWO = by_digest(ledger_bytes(sheet(), scores(3)), ledger_bytes(sheet(), scores(4)))


@st.composite
def days(draw: st.DrawFn) -> Found:
    """The director's day: which of two versions of a sheet is kept, perhaps taken back."""
    kept, aside = draw(st.permutations([ONE, TWO]))
    settled = Settled(kept={sheet().name: heads(kept)[-1]}, aside={f"{sheet().name}~{hash8(aside)}": heads(aside)[-1]})
    facts: list[SomeFact] = [settled, Undo(of=1), Observation(text="x")]
    return f"days/{DAY.name}.yaml", spoilt(draw, DAY, facts[: draw(st.integers(0, 3))])


@st.composite
def hand_edited(draw: st.DrawFn) -> Found:
    """course.yaml, people.yaml and a rubric, in several revisions, some of them spoilt where they lie aside."""
    name, text = draw(st.sampled_from([("course", COURSE), ("people", PEOPLE), (RUBRIC_NAME[:-5], RUBRIC.decode())]))
    text = text.replace("revision: 1", f"revision: {draw(st.integers(1, 2))}")
    text += draw(st.sampled_from(["", "# a\n", "# a\n# b\n", "# c\n"]))
    if draw(st.booleans()):
        folder = "" if name in ("course", "people") else "rubrics/"
        return f"{folder}{name}.yaml", text.encode()
    if name not in ("course", "people"):
        return f"rubrics/{name}~bad-0123abcd.yaml", text.encode()
    return f"{name}~0123abcd.yaml", text.encode()[: draw(st.sampled_from([None, 40, 60]))]


SOME = records(sheet(assessor="A2"), sheet(device="m3npq"))
FILES = st.one_of(SOME, SOME, SOME, days(), hand_edited())


def device(root: Path, files: Iterable[Found]) -> Path:
    """A device's copy: of two versions under one name the later one stands, as on a disk."""
    for path, body in [("course.yaml", COURSE.encode()), *files]:
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(body)
    return root


def joined(into: Path, froms: Sequence[Path], chance: random.Random) -> dict[str, bytes]:
    """Merge in some order, some of them twice, some in one go, some by way of another device."""
    order = [*froms, *chance.sample(froms, chance.randint(0, len(froms)))]
    chance.shuffle(order)
    while order:
        several = [order.pop() for _ in range(min(len(order), chance.randint(1, 2)))]
        if len(several) == 2 and several[0] != several[1] and chance.random() < 0.5:
            by_way = Path(tempfile.mkdtemp(dir=into.parent))
            shutil.copytree(several[0], by_way, dirs_exist_ok=True)
            merge(by_way, several[1:], disk=QUICK)
            several = [by_way]
        merge(into, several, disk=QUICK)
    return tree(into)


def assert_nothing_lost(held: Iterable[Found], end: dict[str, bytes]) -> None:
    """Every version of a ledger or rubric is still there, or is the beginning of one that is."""
    for path, body in held:
        if "/" in path:
            stem = path.removesuffix(".yaml").split("~")[0]
            group = [kept for name, kept in end.items() if name == f"{stem}.yaml" or name.startswith(f"{stem}~")]
            assert any(kept.startswith(body) for kept in group), path


@settings(max_examples=70, deadline=None)
@given(st.lists(st.lists(FILES, max_size=5), min_size=2, max_size=4), st.randoms(use_true_random=False))
def test_any_order_any_repetition_and_any_way_round_give_the_same_bytes_and_lose_none(
    tmp_path_factory: pytest.TempPathFactory, devices: list[list[Found]], chance: random.Random
) -> None:
    base = tmp_path_factory.mktemp("merge")
    roots = [device(base / f"device{number}", files) for number, files in enumerate(devices)]
    held = {found for root in roots for found in tree(root).items()}
    ends = []
    for number, root in enumerate(roots):
        into = base / f"into{number}"
        shutil.copytree(root, into)
        ends.append(joined(into, [each for each in roots if each != root], chance))
        report = merge(into, roots, disk=QUICK)
        assert tree(into) == ends[-1]
        assert report.taken == ()
    assert all(end == ends[0] for end in ends)
    assert_nothing_lost(held, ends[0])
    shutil.rmtree(base)


# --- one record --------------------------------------------------------------------------------------


def resolve(bodies: Iterable[bytes], settled: Settlement) -> Outcome:
    return resolved(judged(Group("sheets", sheet().name, "K-1"), set(bodies)), settled)


SHEETS = st.sets(records().map(lambda found: found[1]), max_size=6)
SETTLED = Settlement(frozenset({(sheet().name, heads(TWO)[-1])}), frozenset({(sheet().name, heads(ONE)[-1])}))


@settings(max_examples=150, deadline=None)
@given(SHEETS, SHEETS, st.sampled_from([Settlement(), SETTLED]))
def test_the_outcome_of_a_union_is_the_outcome_of_the_outcomes(
    some: set[bytes], more: set[bytes], settled: Settlement
) -> None:
    whole = resolve(some | more, settled)
    parts = {*resolve(some, settled).files.values(), *resolve(more, Settlement()).files.values()}
    assert resolve(parts, settled) == whole
    assert resolve(whole.files.values(), settled) == whole
    rivals = [whole.files[name] for name in sorted({sheet().name, *whole.forks} & set(whole.files))]
    if rivals and settled == Settlement():
        assert by_digest(*rivals)[0] == whole.files[sheet().name]
    assert {name.split("~")[0] for name in whole.files} <= {sheet().name}
    assert all("~bad-" in name for name in whole.bad)


# --- a course over several devices -----------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(0, 2), min_size=12, max_size=12), st.permutations([0, 1, 2]))
def test_any_split_of_a_courses_sheets_over_devices_is_the_whole_course_again(
    tmp_path_factory: pytest.TempPathFactory, places: list[int], order: list[int]
) -> None:
    base = tmp_path_factory.mktemp("split")
    whole = make_course(base / "whole")
    parts = [make_course(base / f"part{number}") for number in range(3)]
    slots = [(task, who, by) for task in ("T1", "T4") for who in ("C01", "C02", "C03") for by in ("A1", "A2")]
    for place, (task, who, by) in zip(places, slots, strict=True):
        about = sheet(task=task, candidate=who, assessor=by)
        raw = ledger_bytes(about, scores(place + 1, 4))
        put(whole, about, raw)
        put(parts[place], about, raw)
        # Another device has an older copy of it.
        put(parts[(place + 1) % 3], about, ledger_bytes(about, scores(place + 1)))
    into, *froms = (parts[number] for number in order)
    for root in froms:
        merge(into, [root], disk=QUICK)
    assert tree(into) == tree(whole)
    assert merge(into, froms, disk=QUICK) == MergeReport((), (), (), ())
    shutil.rmtree(base)


def test_the_sample_course_taken_apart_by_devices_is_the_same_again_in_any_order(tmp_path: Path) -> None:
    whole = tree(SAMPLE)
    ledgers = sorted(path for path in whole if "/" in path and not path.startswith("rubrics/"))
    devices = sorted({path.split(".")[-2] for path in ledgers})
    assert len(devices) > 5
    groups = [devices[number::3] for number in range(3)]
    for number, devices in enumerate(groups):
        shutil.copytree(SAMPLE, tmp_path / f"part{number}")
        for path in ledgers:
            if path.split(".")[-2] not in devices:
                (tmp_path / f"part{number}" / path).unlink()
    for order in list(permutations(range(3)))[::2]:
        into = tmp_path / "-".join(map(str, order))
        shutil.copytree(tmp_path / f"part{order[0]}", into)
        merge(into, [tmp_path / f"part{number}" for number in order[1:]], disk=QUICK)
        assert tree(into) == whole


# --- as people write them ----------------------------------------------------------------------------

DEVICES = ("d7h2k", "b3n8x", "k4r9t")


@pytest.fixture
def marked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Two copies of a course marked on three devices; one sheet went on differently, another was damaged on one."""
    base = tmp_path_factory.mktemp("marked")
    whole = build_course(base / "whole")
    for number, name in enumerate(DEVICES):
        for who in ("A1", "A2"):
            desk = open_desk(whole, who, device=name)
            for candidate in ("C01", "C02", "C03")[number:]:
                slot = desk.slot("T1", candidate)
                slot.score("edging", 4)
                slot.note("grips late")
            desk.close()
    shutil.copytree(whole, base / "other")
    for root, level in ((whole, 5), (base / "other", 6)):
        desk = open_desk(root, "A2", device=DEVICES[0])
        desk.slot("T1", "C01").score("line", level)
        desk.close()
    damaged = min((base / "other" / "sheets").iterdir())
    damaged.write_bytes(damaged.read_bytes().replace(b"grips late", b"grips soon"))
    return whole, base / "other"


# The two copies are only read.
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_any_split_of_what_people_marked_gives_the_same_folder_in_any_order(
    tmp_path_factory: pytest.TempPathFactory, marked: tuple[Path, Path], data: st.DataObject
) -> None:
    base = tmp_path_factory.mktemp("parts")
    parts = [Path(shutil.copytree(source, base / f"part{n}")) for n, source in enumerate((*marked, marked[0]))]
    for part in parts[:2]:
        for sheet_file in sorted((part / "sheets").iterdir()):
            if data.draw(st.booleans(), label=f"{part.name} lacks {sheet_file.name}"):
                sheet_file.unlink()
    ends = []
    for turn in range(2):
        into = Path(shutil.copytree(parts[0], base / f"into{turn}"))
        order = data.draw(st.permutations(parts), label=f"order {turn}")
        for part in [*order, data.draw(st.sampled_from(parts), label=f"again {turn}")]:
            merge(into, [part], disk=QUICK)
        ends.append(tree(into))
    merge(parts[0], parts, disk=QUICK)
    assert ends == [tree(parts[0])] * 2
    shutil.rmtree(base)
