"""A ledger is the same to its own reader, to JSON line by line, and to a YAML 1.2 reader over the whole file."""

from __future__ import annotations

import json
import random
from io import BytesIO
from typing import Any

from ruamel.yaml import YAML

from assess.records.facts import Observation, Question, SomeFact
from assess.records.ledger import fact_from
from assess.records.text import typed
from assess.store.chain import CHAIN_DIGITS, chained, first_link, next_link
from assess.store.clock import DeviceTime
from assess.store.ledger_file import parse_ledger
from assess.store.lines import encode_head, encode_line
from assess.store.live import LiveLedger
from tests.store.disks import SetClock, sheet

LEDGERS = 1000
SALT = "5a" * 16
HOSTILE = [
    "", " ", "  two  ", "null", "~", "NO", "yes", "12:34", "0o17", "1e3", "- ", "- {", "# not a comment",
    "a: b", "a #b", "'", '"', '\\"', "\\", "\\n", "\\u0041", "{}", "[x]", "}, ", ": ", ", ",
    '", "chain": "0123456789abcdef"}', "---", "...", "%YAML", "&a", "*a", "!!str x", "| ", "> ", "\u00a0",
    "\u00ad", "\u200b", "\u200f", "\u202e", "\u2066", "\ufeff", "\ufffd", "é", "e\u0301", "ß", "雪", "🎿",
    "👩\u200d🏫", "\U0010fffd", "\ufdfa", "\u0e33", "x" * 200, "[/bold]", "\x1b[2J", "\x7f", "\x85", "\u2028",
    "\u2029", "\ufffe", "\uffff", "\x00", "\x07", "\n", "\t", "\r\n", "\U0001fffe", "\ufdd0",
]  # fmt: skip


def hostile(chance: random.Random) -> str:
    pieces = [chance.choice(HOSTILE) for _ in range(chance.randint(1, 6))]
    pieces += [chr(chance.choice([chance.randrange(0x20, 0x2100), chance.randrange(0xE000, 0x110000)]))]
    chance.shuffle(pieces)
    return "".join(pieces)


def recorded(facts: list[SomeFact]) -> bytes:
    """A ledger as the program records these facts."""
    header = sheet()
    parts = [encode_head(header.payload())]
    live = LiveLedger(
        header, link=first_link(parts[0]), time=DeviceTime(SetClock()), salt=lambda: SALT,
        send=lambda _live, _n, line: parts.append(line),
    )  # fmt: skip
    for fact in facts:
        live.add(fact)
    return b"".join(parts)


def raw_ledger(payloads: list[dict[str, Any]]) -> bytes:
    """A ledger with these payloads as they are, controls and all."""
    head = encode_head(sheet().payload())
    link, parts = first_link(head), [head]
    for n, payload in enumerate(payloads, 1):
        whole = {"n": n, "at": f"2027-02-03T09:00:{n:02d}.000Z", "kind": payload["kind"], "salt": SALT, **payload}
        link = next_link(link, chained(whole))
        parts.append(encode_line({**whole, "chain": link[:CHAIN_DIGITS]}))
    return b"".join(parts)


def plain(value: Any) -> Any:
    """What a YAML reader gave, without its own types."""
    return json.loads(json.dumps(value, ensure_ascii=False))


def read_three_ways(raw: bytes) -> list[Any]:
    """The facts as the ledger reader gives them, after the two others gave the same file."""
    found = parse_ledger(raw, "T1.C04.A2.d7h2k")
    assert found.problems == ()
    lines = raw.split(b"\n")
    by_json = [json.loads(line[2:]) for line in lines[3:-1]]
    header = json.loads(lines[1].removeprefix(b"header: "))
    for kind in ("safe", "rt"):
        by_yaml = YAML(typ=kind).load(BytesIO(raw))
        assert plain(by_yaml) == {"header": header, "entries": by_json}
    said = [{key: value for key, value in item.items() if key not in ("n", "at", "salt", "chain")} for item in by_json]
    assert [entry.fact for entry in found.ledger.entries] == [fact_from(dict(item)) for item in said]
    return [entry.fact for entry in found.ledger.entries]


def test_a_thousand_ledgers_of_hostile_text_read_the_same_three_ways() -> None:
    chance = random.Random(4711)
    for number in range(LEDGERS):
        text, tag, asked = hostile(chance), hostile(chance)[:80], hostile(chance)
        if number % 2:
            facts = read_three_ways(raw_ledger([{"kind": "observation", "text": text, "tags": [tag]}]))
            assert facts == [Observation(text=text, tags=(tag,))]
        else:
            facts = read_three_ways(recorded([Question(asked=asked, answer="full")]))
            assert facts == [Question(asked=typed(asked), answer="full")]


def test_every_character_a_file_can_hold_reads_the_same_three_ways() -> None:
    codes = [
        *range(0x20),
        *range(0x7F, 0x2070),
        *range(0xFDC0, 0xFE10),
        *range(0xFE70, 0x10010),
        *range(0x10FFF0, 0x110000),
    ]
    texts = ["".join(map(chr, codes[start : start + 1500])) for start in range(0, len(codes), 1500)]
    facts = read_three_ways(raw_ledger([{"kind": "observation", "text": text} for text in texts]))
    assert [fact.text for fact in facts] == texts
