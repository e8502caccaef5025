"""Reading ledgers: whole entries always, damage named with its line, nothing hostile taken or repeated."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from assess.records.errors import InputError, Problem
from assess.records.facts import Lock, Observation, Score, SomeFact
from assess.records.ledger import Entry, Header
from assess.store.chain import CHAIN_DIGITS, chained, first_link, next_link
from assess.store.clock import DeviceTime
from assess.store.ledger_file import LARGEST_LEDGER, parse_ledger, read_ledger
from assess.store.lines import encode_head, encode_line
from assess.store.live import LiveLedger
from tests.store.disks import SetClock, facts, sheet

NAME = "T1.C04.A2.d7h2k"
LOCK = Lock(heads={NAME: "2 0123456789abcdef"}, seal="sha256:" + "0" * 64)


def written(given: list[SomeFact], header: Header | None = None) -> tuple[bytes, list[bytes], list[Entry]]:
    """The head, the lines and the entries of a ledger with these facts."""
    header = header or sheet()
    head, lines = encode_head(header.payload()), []
    live = LiveLedger(
        header, link=first_link(head), time=DeviceTime(SetClock()), salt=lambda: "5a" * 16,
        send=lambda _live, _n, line: lines.append(line),
    )  # fmt: skip
    for fact in given:
        live.add(fact)
    return head, lines, live.entries


def chain_up(payloads: list[dict[str, object]]) -> bytes:
    """A ledger whose chain is right, whatever stands in its entries."""
    head = encode_head(sheet().payload())
    link, lines = first_link(head), []
    for payload in payloads:
        link = next_link(link, chained(payload))
        lines.append(encode_line({**payload, "chain": link[:CHAIN_DIGITS]}))
    return head + b"".join(lines)


def score(n: object = 1, at: object = "2027-02-03T09:00:00.000Z", **more: object) -> dict[str, object]:
    return {"n": n, "at": at, "kind": "score", "pass": 1, "criterion": "edging", "status": "scored", "level": 3, **more}


# --- what is whole -----------------------------------------------------------------------------


def test_what_was_added_is_what_is_read_lines_counted_from_one(tmp_path: Path) -> None:
    head, lines, entries = written([*facts(4), LOCK])
    path = tmp_path / f"{NAME}.yaml"
    path.write_bytes(head + b"".join(lines))
    found = read_ledger(path, shown="sheets/x.yaml")
    assert list(found.ledger.entries) == entries
    assert [entry.line for entry in found.ledger.entries] == [4, 5, 6, 7, 8]
    assert (found.path, found.name, found.ledger.name, found.problems) == (path, NAME, NAME, ())
    assert (found.torn, found.bad, found.whole, found.head) == (False, False, len(found.raw), len(head))
    assert found.ledger.locked
    assert found.ledger.header == sheet()


def test_the_same_bytes_are_read_once_and_told_by_the_place_where_they_stand(tmp_path: Path) -> None:
    head, lines, entries = written(facts(3))
    one, two = tmp_path / f"{NAME}.yaml", tmp_path / "other" / f"{NAME}.yaml"
    two.parent.mkdir()
    for path in (one, two):
        path.write_bytes(head + b"".join(lines)[:-9])
    first, again, moved = read_ledger(one, shown="a"), read_ledger(one, shown="a"), read_ledger(two, shown="b")
    assert again == first and again.ledger is first.ledger
    assert (first.path, moved.path) == (one, two)
    assert [[problem.file for problem in file.problems] for file in (first, moved)] == [["a"], ["b"]]
    assert parse_ledger(one.read_bytes(), "T1.C05.A1.d7h2k").name == "T1.C05.A1.d7h2k"
    # One byte more or less is another reading.
    one.write_bytes(head + b"".join(lines))
    assert read_ledger(one, shown="a").ledger.entries == tuple(entries) and not read_ledger(one, shown="a").problems


def test_no_long_ledger_is_kept_in_memory() -> None:
    head, lines, _ = written([Observation(text="x" * 2000) for _ in range(40)])
    raw = head + b"".join(lines)
    assert len(raw) > 64 * 1024
    assert parse_ledger(raw, NAME).ledger is not parse_ledger(raw, NAME).ledger


def test_a_ledger_without_entries_is_a_ledger() -> None:
    found = parse_ledger(encode_head(sheet().payload()), NAME)
    assert (found.ledger.entries, found.problems, found.ledger.head) == ((), (), "0 0000000000000000")


def test_cut_at_every_byte_it_gives_every_whole_entry_and_says_where_an_entry_was_cut() -> None:
    head, lines, entries = written(facts(4, text="é雪"))
    raw = head + b"".join(lines)
    ends = [len(head) + len(b"".join(lines[:count])) for count in range(5)]
    for cut in range(len(raw) + 1):
        if cut < len(head):
            with pytest.raises(InputError, match=r"x\.yaml:[123]: ends inside its header"):
                parse_ledger(raw[:cut], NAME, "x.yaml")
            continue
        found = parse_ledger(raw[:cut], NAME, "x.yaml")
        # The newline is no part of what an entry says.
        whole = sum(1 for end in ends[1:] if cut >= end - 1)
        assert list(found.ledger.entries) == entries[:whole]
        assert not found.bad
        inside = cut not in ends and cut + 1 not in ends[1:]
        assert found.torn == inside
        assert [(p.file, p.line, p.doubt) for p in found.problems] == ([("x.yaml", 4 + whole, True)] if inside else [])
        assert found.whole == (ends[whole] if inside or cut in ends else cut)


def test_zeros_a_file_system_left_behind_are_a_torn_tail() -> None:
    head, lines, entries = written(facts(2))
    found = parse_ledger(head + lines[0] + lines[1] + bytes(5000), NAME)
    assert (list(found.ledger.entries), found.torn, found.bad) == (entries, True, False)


# --- what is damaged ---------------------------------------------------------------------------


def test_a_damaged_line_gives_what_stands_above_it_and_is_named() -> None:
    head, lines, entries = written(facts(5))
    raw = head + lines[0] + lines[1] + lines[2].replace(b"wash", b"push") + lines[3] + lines[4]
    found = parse_ledger(raw, NAME, "sheets/x.yaml")
    assert list(found.ledger.entries) == entries[:2]
    assert (found.bad, found.torn, found.whole) == (True, False, len(head) + len(lines[0]) + len(lines[1]))
    assert found.problems[0] == Problem(
        "sheets/x.yaml", 6,
        "this line does not fit the chain: it, or one above it, is not as it was written; "
        "nothing is read from here on",
        "keep the file as it is and take the entries from a copy on another device",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("change", "whole", "line"),
    [
        (lambda lines: [lines[1], lines[0], *lines[2:]], 0, 4),
        (lambda lines: [lines[0], *lines[2:]], 1, 5),
        (lambda lines: [lines[0], lines[0], *lines[1:]], 1, 5),
        (lambda lines: [lines[0], b"\n", *lines[1:]], 1, 5),
        (lambda lines: [lines[0], b"# a note\n", *lines[1:]], 1, 5),
        (lambda lines: [lines[0], lines[1].replace(b"\n", b"\r\n"), *lines[2:]], 1, 5),
        (lambda lines: [lines[0], b"- \0\0\0\n", *lines[1:]], 1, 5),
        (lambda lines: [lines[0], b"- " + b"x" * 70_000 + b"\n", *lines[1:]], 1, 5),
        (lambda lines: [lines[0], b'- {"text": "' + b"[" * 70_000 + b"\n", *lines[1:]], 1, 5),
        (lambda lines: [lines[0], b"- \xff\xfe\n", *lines[1:]], 1, 5),
    ],
)
def test_lines_moved_dropped_doubled_or_put_between_are_damage_from_there_on(
    change: Callable[[list[bytes]], list[bytes]], whole: int, line: int
) -> None:
    head, lines, entries = written(facts(4))
    found = parse_ledger(head + b"".join(change(lines)), NAME)
    assert (list(found.ledger.entries), found.bad) == (entries[:whole], True)
    assert [problem.line for problem in found.problems] == [line]


def test_nothing_counts_after_a_lock_even_without_its_newline() -> None:
    at = "2027-02-03T09:00:0{}.000Z"
    lock = {"n": 2, "at": at.format(2), **LOCK.payload()}
    raw = chain_up([score(1, at.format(1)), lock, score(3, at.format(3))])
    for ending in (raw, raw[:-1]):
        found = parse_ledger(ending, NAME)
        assert (len(found.ledger.entries), found.ledger.locked, found.bad, found.torn) == (2, True, True, False)
        assert found.problems[0].what.startswith("an entry stands after the lock")


@pytest.mark.parametrize(
    ("payload", "clause"),
    [
        (score(n=2), "is not entry 1"),
        (score(n=True), "is not entry 1"),
        (score(n=1.0), "is not entry 1"),
        ({key: value for key, value in score().items() if key != "n"}, "is not entry 1"),
        (score(at="2027-02-03 09:00"), "has no time"),
        (score(at="2027-02-30T09:00:00.000Z"), "has no time"),
        (score(at="٢٠٢٧-02-03T09:00:00.000Z"), "has no time"),
        (score(at=7), "has no time"),
        (score(kind="weather"), "is of a kind a sheet ledger does not hold"),
        (score(kind=["score"]), "is of a kind a sheet ledger does not hold"),
        (score(kind="morning"), "is of a kind a sheet ledger does not hold"),
        (score(level="high"), r"cannot be used: score\.level"),
        (score(colour="red"), r"cannot be used: score\.colour"),
        (score(erased={"text": "x"}), "erased: not a key"),
        (score(status="maybe"), r"cannot be used: score\.status"),
    ],
)
def test_a_well_chained_entry_no_record_could_hold_is_damage(payload: dict[str, object], clause: str) -> None:
    found = parse_ledger(chain_up([payload]), NAME)
    assert found.bad
    assert found.ledger.entries == ()
    with pytest.raises(ValueError, match=clause):
        raise ValueError(found.problems[0].what)


def test_times_that_repeat_or_go_back_are_damage() -> None:
    for at in ("2027-02-03T09:00:00.000Z", "2027-02-03T08:59:59.999Z"):
        found = parse_ledger(chain_up([score(1), score(2, at)]), NAME)
        assert (len(found.ledger.entries), found.bad) == (1, True)
        assert "not later than the entry before it" in found.problems[0].what


def test_messages_never_repeat_what_an_entry_says() -> None:
    said = "the-level-is-4711"
    lines = [
        score(level=said), score(criterion=f"{said} "), score(status=said), score(kind=said), score(at=said),
        score(why=f"{said}!"), score(evidence=[said]),
        {"n": 1, "at": "2027-02-03T09:00:00.000Z", "kind": "observation", "salt": "00", "text": said * 600},
    ]  # fmt: skip
    for payload in lines:
        found = parse_ledger(chain_up([payload]), NAME)
        assert found.bad
        assert "4711" not in str(found.problems[0])
    torn = chain_up([score(criterion=said)])[:-5]
    assert "4711" not in str(parse_ledger(torn, NAME).problems[0])


# --- what is no ledger -------------------------------------------------------------------------

HEAD = encode_head(sheet().payload())


@pytest.mark.parametrize(
    ("raw", "line", "what"),
    [
        (b"", 1, "ends inside its header"),
        (b"name: x\n", 1, "is not a ledger: its first line is not `# assess ledger 1`"),
        (HEAD.replace(b"ledger 1", b"ledger 2"), 1, "by a newer version of this program (ledger 2, known here 1)"),
        (HEAD.replace(b"ledger 1", b"ledger 0"), 1, "is not a ledger"),
        (HEAD.replace(b"ledger 1", b"ledger " + b"9" * 6000), 1, "is not a ledger"),
        (b"\xef\xbb\xbf" + HEAD, 1, "byte order mark"),
        (HEAD.replace(b"\n", b"\r\n"), 1, "CR LF"),
        (HEAD.decode().encode("utf-16"), 1, "is not UTF-8 text"),
        (HEAD.decode().encode("utf-16-be"), 1, "is not UTF-8 text"),
        (b"\0" * 100, 1, "is not UTF-8 text"),
        (HEAD[:30], 2, "ends inside its header"),
        (HEAD.replace(b"header: ", b"heading: "), 2, "does not begin with `header: `"),
        (HEAD.replace(b"{", b"["), 2, "is not JSON"),
        (HEAD.replace(b'"sheet"', b'"letter"'), 2, "the header cannot be used: kind"),
        (HEAD.replace(b'"task": "T1", ', b""), 2, "a sheet ledger needs task"),
        (HEAD.replace(b'"T1"', b'"../T1"'), 2, "the header cannot be used: task"),
        (HEAD.replace(b'{"kind"', b'{"x": ' + b"[" * 60_000 + b', "kind"'), 2, "is nested deeper than"),
        (HEAD.replace(b'"K-2027-01"', b'"' + b"K" * 70_000 + b'"'), 2, "has a header line over 64 KiB"),
        (HEAD.replace(b"entries:", b"entries: []"), 3, "is not `entries:`"),
    ],
)  # fmt: skip
def test_what_is_no_ledger_is_said_with_its_line(raw: bytes, line: int, what: str) -> None:
    with pytest.raises(InputError) as told:
        parse_ledger(raw, NAME, "sheets/x.yaml")
    assert told.value.problems[0].file == "sheets/x.yaml"
    assert told.value.problems[0].line == line
    assert what in told.value.problems[0].what


def test_a_line_of_50_mb_is_a_quick_sentence(tmp_path: Path) -> None:
    head, lines, entries = written(facts(2))
    path = tmp_path / "big.yaml"
    for middle, bad in ((50_000_000, None), (LARGEST_LEDGER - 4000, True)):
        path.write_bytes(head + lines[0] + b"- " + b"x" * middle + b"\n" + lines[1])
        before = time.process_time()
        if bad is None:
            with pytest.raises(InputError, match="is larger than"):
                read_ledger(path)
        else:
            found = read_ledger(path)
            assert (list(found.ledger.entries), found.bad) == (entries[:1], True)
        # A parser that took the line on would need far longer; reading 32 MiB does not.
        assert time.process_time() - before < 2


def test_a_file_of_newlines_alone_stops_at_the_first() -> None:
    found = parse_ledger(HEAD + b"\n" * 10_000_000, NAME)
    assert (found.bad, [problem.line for problem in found.problems]) == (True, [4])


def test_a_pipe_a_folder_and_a_missing_file_are_sentences(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    (tmp_path / "folder.yaml").mkdir()
    for name in ("pipe.yaml", "folder.yaml", "missing.yaml"):
        with pytest.raises(InputError):
            read_ledger(tmp_path / name)


def test_reading_a_course_of_3480_entries_takes_one_pass_over_its_bytes() -> None:
    given: list[SomeFact] = [
        *(Observation(text=f"seen {i}", tags=("outer-light",)) for i in range(50)),
        *(Score(criterion="edging", level=3, evidence=(i,)) for i in range(1, 9)),
    ]
    head, lines, _ = written(given)
    raw = head + b"".join(lines)
    before = time.process_time()
    for number in range(60):
        assert not parse_ledger(raw, f"{NAME}{number}").problems
    # About 0.07 s on an idle core; a quadratic reader or a YAML parser needs many seconds.
    assert time.process_time() - before < 1.0
