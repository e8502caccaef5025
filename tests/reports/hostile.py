"""Texts that break things: every output is driven with them, and shows them as text or refuses them in a sentence."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

from assess.records.audience import AUDIENCES
from assess.reports.table_file import Column, TableFile, TableSet

__all__ = ["COLUMNS", "DATED", "FORMULAS", "HOSTILE", "LONG", "PATHS", "SCRIPTS", "hostile_set"]

SCRIPTS = (
    "<script>window.__ran = 1</script>",
    '"><img src=x onerror="window.__ran=1">',
    "<svg/onload=window.__ran=1>",
    "<iframe srcdoc='<script>parent.__ran=1</script>'></iframe>",
    "<a href='javascript:window.__ran=1'>press</a>",
    "</style><script>window.__ran=1</script><style>",
    "</title></head><body onload=window.__ran=1>",
    "<meta http-equiv=refresh content='0;url=http://127.0.0.1:9/'>",
    "<link rel=stylesheet href=http://127.0.0.1:9/x.css>",
    "{{ 7 * 7 }} {% for x in y %} ${7*7} <%= 7*7 %>",
    "]]><!--",
    "&lt;script&gt;window.__ran=1&lt;/script&gt;",
)
"""What a page must show as text; `window.__ran` stays undefined."""
FORMULAS = (
    '=HYPERLINK("http://127.0.0.1:9/","press")',
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    "\t=1+1",
    "\r=1+1",
    "＝1+1",
    "＋1",
    "－1",
    "＠x",
    "   =1+1",
    "'=1+1",
    "''-1",
    "http://127.0.0.1:9/",
    "mailto:a@b.example",
    "{=1+1}",
    "0123",
    "1e9",
    "-1.5",
    "TRUE",
    "#REF!",
    "_x000D_",
    "2027-03-28",
)
"""What a spreadsheet must take for text."""
PATHS = (
    "../../outside",
    "/etc/passwd",
    "..\\..\\outside",
    "C:\\outside",
    "CON",
    "a/../../b",
    ".hidden",
    "name\0.csv",
    "file:///etc/passwd",
    "~/outside",
    "$HOME",
    "`id`",
    "; rm -rf x",
    "-rf",
    "%2e%2e%2f",
)
"""What must never become a place on the disk."""
ODD = (
    "".join(map(chr, range(1, 32))) + "\x7f",
    "\x9b31mred",
    "\x1b[2J\x1b]0;title\x07",
    "\u202enotes reversed\u202c",
    "\u2066isolated\u2069",
    "\u200f\u200eמבחן abc",
    "e\u0301\u0302\u0303" * 50,
    "👩‍👩‍👧‍👦 ski",
    "\ufeffmark of order",
    "\u2028line\u2029paragraph",
    "two\nlines\r\nthree",
    "BEGIN:VEVENT\r\nEND:VCALENDAR",
    "a,b;c:d\\n\\,",
    '"quoted" ""twice""',
    'ends with a quote"',
    "﷽" * 40,
)
LONG = "a long note, " * 769 + "end"
"""10,000 characters."""
HOSTILE = (*SCRIPTS, *FORMULAS, *PATHS, *ODD, LONG, "<b>" + "x" * 9_000)

DATED = datetime(2027, 3, 28, 8, 15, tzinfo=UTC)
COLUMNS = (
    Column("words", "text", "what was said"),
    Column("count", "whole", "how many", "things"),
    Column("value", "number", "how much", "level"),
    Column("on", "day", "on which day"),
    Column("at", "instant", "at which moment"),
)


def hostile_set() -> TableSet:
    """A table with one row for each text."""
    rows = tuple((text, 7, Decimal("-1.50"), date(2027, 3, 28), DATED) for text in HOSTILE if "\0" not in text)
    return TableSet(
        course="K-TEST",
        title="<script>window.__ran = 1</script> =1+1",
        audience="panel",
        promise=AUDIENCES["panel"],
        dated=DATED,
        tables=(TableFile("notes", "Notes", COLUMNS, rows), TableFile("empty", "Nothing", COLUMNS, (), "None yet.")),
        left_out=("T1 of C02: not locked by all.",),
    )
