"""Ledgers without their texts: the same entries, the same chain, no text; and a merge that brings none back."""

from __future__ import annotations

import random
import shutil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.facts import FREE_TEXT, Erasure, Observation, Score, SomeFact
from assess.records.lesson_facts import LessonPlan
from assess.store.erasing import erased_heads, with_erasures, without_texts, without_unread
from assess.store.ledger_file import parse_ledger
from tests.store.course_maker import ledger_bytes, other, sheet, tree
from tests.store.test_invariant_18_merge_order import device, joined

NAME = sheet().name
texts = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30)
facts: st.SearchStrategy[SomeFact] = st.one_of(
    st.builds(Observation, text=texts, tags=st.just(("outer-light",))),
    st.builds(LessonPlan, goal=texts, steps=texts, plan_b=st.none() | texts),
    st.builds(Score, criterion=st.just("edging"), level=st.integers(1, 6)),
)


def heads_of(raw: bytes) -> list[str]:
    return [f"{entry.n} {entry.chain}" for entry in parse_ledger(raw, NAME).ledger.entries]


@given(st.lists(facts, max_size=8), st.sets(st.integers(1, 8)), st.integers(0, 40))
def test_without_texts_every_entry_and_its_chain_stand_as_before(
    said: list[SomeFact], numbers: set[int], cut: int
) -> None:
    raw = ledger_bytes(sheet(), said)
    whole = raw[: len(raw) - cut] if len(raw) - cut > raw.index(b"entries:\n") + 9 else raw
    before = parse_ledger(whole, NAME)
    after = parse_ledger(without_texts(before, numbers), NAME)
    assert [(e.n, e.at, e.chain, e.fact.kind) for e in after.ledger.entries] == [
        (e.n, e.at, e.chain, e.fact.kind) for e in before.ledger.entries
    ]
    assert (after.link, after.torn, after.bad, after.raw[after.whole :]) == (
        before.link, before.torn, before.bad, before.raw[before.whole :],
    )  # fmt: skip
    for entry, was in zip(after.ledger.entries, before.ledger.entries, strict=True):
        if entry.n not in numbers:
            assert entry == was
            continue
        assert all(getattr(entry.fact, key, None) is None for key in FREE_TEXT)
        assert set(entry.fact.erased) == {key for key in FREE_TEXT if getattr(was.fact, key, None) is not None}
    clean = without_unread(after.raw, after)
    assert parse_ledger(clean, NAME).ledger.entries == after.ledger.entries and not parse_ledger(clean, NAME).torn


@given(st.lists(facts, min_size=1, max_size=5), st.data())
def test_what_stands_behind_a_damage_leaves_digests_and_the_damage_stays(
    said: list[SomeFact], data: st.DataObject
) -> None:
    lines = ledger_bytes(sheet(), [*said, Observation(text="a secret")]).split(b"\n")
    at = data.draw(st.integers(3, len(lines) - 3)) if len(lines) > 5 else 3
    raw = b"\n".join([*lines[:at], lines[at].replace(b'"n"', b'"m"'), *lines[at + 1 :]])
    before = parse_ledger(raw, NAME)
    assert before.bad
    after = parse_ledger(without_unread(without_texts(before, set(range(20))), before), NAME)
    assert after.bad and after.problems[0].line == before.problems[0].line
    assert b"a secret" not in after.raw and b"salt" not in after.raw
    assert len(after.raw.split(b"\n")) == len(raw.split(b"\n"))


def test_an_erasure_touches_the_entries_it_names_and_no_other() -> None:
    raw = ledger_bytes(sheet(), [Observation(text="one"), Observation(text="two"), Observation(text="three")])
    first, second, _ = heads_of(raw)
    after = with_erasures(raw, NAME, {second, first[:-1] + "0"})
    assert b"one" in after and b"two" not in after and b"three" in after
    assert with_erasures(after, NAME, {second}) == after
    assert with_erasures(b"no ledger at all", NAME, {second}) == b"no ledger at all"


def test_an_erasure_that_was_taken_back_still_counts() -> None:
    from assess.records.facts import Undo

    day = other("day", date="2027-02-03")
    erasure = Erasure(person="C01", role="candidate", entries={NAME: ("1 0123456789abcdef",)})
    ledger = parse_ledger(ledger_bytes(day, [erasure, Undo(of=1)]), day.name).ledger
    assert erased_heads([ledger]) == {NAME: frozenset({"1 0123456789abcdef"})}


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.lists(facts, max_size=4), min_size=1, max_size=3),
    st.sets(st.integers(1, 4), min_size=1),
    st.randoms(use_true_random=False),
)
def test_a_text_that_was_erased_on_one_device_comes_back_from_none(
    tmp_path_factory: pytest.TempPathFactory, versions: list[list[SomeFact]], numbers: set[int], chance: random.Random
) -> None:
    base = tmp_path_factory.mktemp("erased")
    raws = [ledger_bytes(sheet(), said) for said in versions]
    gone = {head for raw in raws for head in heads_of(raw) if int(head.split()[0]) in numbers}
    day = other("day", date="2027-02-03")
    told = ledger_bytes(day, [Erasure(person="C01", role="candidate", entries={NAME: tuple(sorted(gone))})])
    held = [[(f"sheets/{NAME}.yaml", raw)] for raw in raws] + [[(f"days/{day.name}.yaml", told)]]
    roots = [device(base / f"device{number}", files) for number, files in enumerate(held)]
    ends = []
    for number, root in enumerate(roots):
        into = base / f"into{number}"
        shutil.copytree(root, into)
        ends.append(joined(into, [each for each in roots if each != root], chance))
    assert all(end == ends[0] for end in ends)
    for path, raw in ends[0].items():
        if path.startswith("sheets/"):
            for entry in parse_ledger(raw, path).ledger.entries:
                erased = f"{entry.n} {entry.chain}" in gone
                assert not erased or all(getattr(entry.fact, key, None) is None for key in FREE_TEXT)
    assert len(tree(base / "into0")) == len(ends[0])
    shutil.rmtree(base)
