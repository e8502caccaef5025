"""Which clause asks for which part of a quality report, and which of these references were checked.

ISO/IEC 17024 is cited in its edition of 2012; a later one may be in force. Clause headings were checked against public
contents pages; what a sub-clause asks for, and the numbers of the testing standards, are from memory where it says so.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CLAUSES", "FIRST_LINE", "Clause", "clauses_line"]

FIRST_LINE = (
    "Using this program makes no body conform to a standard. This page gathers what somebody has to look at, judge "
    "and answer for."
)
EDITIONS = (
    "Cited: ISO/IEC 17024:2012 (a revision is on its way and may be in force), and the Standards for Educational and "
    "Psychological Testing of AERA, APA and NCME, 2014. Read the clause itself before you quote it."
)
_ISO, _TESTING = "ISO/IEC 17024:2012", "AERA/APA/NCME 2014"


@dataclass(frozen=True)
class Clause:
    """A reference; from_memory: its content was not checked against the text."""

    source: str
    number: str
    from_memory: bool

    def __str__(self) -> str:
        return f"{self.source} {self.number}" + (", from memory" if self.from_memory else "")


CLAUSES: dict[str, tuple[Clause, ...]] = {
    "due": (Clause(_ISO, "9.3.5", False),),
    "reliability": (Clause(_ISO, "9.3.5", False), Clause(_TESTING, "2.3, 2.7, 2.13, 2.14", True)),
    "again": (Clause(_ISO, "9.3.5", False), Clause(_TESTING, "2.16, 11.14", True)),
    "assessors": (Clause(_ISO, "6.2.2.2", True), Clause(_TESTING, "4.20, 6.9", True)),
    "pass_lines": (Clause(_TESTING, "5.21 to 5.23, 11.16", True),),
    "groups": (Clause(_ISO, "9.3.5", False), Clause("29 CFR", "1607.4 D", False)),
    "separation": (Clause(_ISO, "4.3.6 to 4.3.8, 5.2.3, 6.2.2.3, 9.4.4", True),),
}


def clauses_line(part: str) -> str:
    """The references of one part, in brackets."""
    return f"({'; '.join(map(str, CLAUSES[part]))})"
