"""The result sheet of a course: what is open first, then all candidates by module, with the reasons in words."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from assess.reports.document import Block, Document, Listing, Note, Section, Table, Text

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["OUTCOME_WORDS", "newest_day", "result_document", "still_missing"]

OUTCOME_WORDS = {
    "passed": "\u2713 passed",
    "not_passed": "\u2717 not passed",
    "third_look": "? third look",
    "open": "\u2026 open",
    "void": "- void",
    None: "\u2026 not shown",
}
"""A sign and a word for every outcome."""


def result_document(desk: Desk) -> Document:
    """The page. Raises Refusal to all but a director, and in a season."""
    from assess.desk.later_ledgers import need_director
    from assess.desk.outcomes import outcome_board, results_json

    need_director(desk, "makes the result sheet")
    found = results_json(outcome_board(desk))
    return Document(
        title=f"Result sheet: {desk.course.title}",
        about=f"{desk.course.id}; {_many(len(found['candidates']), 'candidate')}, {_signed_share(desk, found)}",
        audience=_for_directors(),
        dated=newest_day(desk),
        sections=(
            Section("What is still open", tuple(_open(found))),
            Section("Outcomes by module", (_overview(desk, found),)),
            *(_module(desk, found, name) for name in _modules(found)),
            Section("Waivers", tuple(_waivers(found))),
        ),
        closing=(
            "People decide: an outcome is what the written rules give on the marks as they stand; a decision is what"
            " a named person signed.",
        ),
    )


def _for_directors() -> str:
    from assess.records.audience import AUDIENCES

    return AUDIENCES["director"].capitalize()


def newest_day(desk: Desk) -> str:
    """The day of the newest lock of a turn that everybody has locked, or of a later step; else the first day.

    So a page is dated by the record, and by nothing that is not locked.
    """
    times = [
        ledger.entries[-1].at
        for key in desk.shelf.sheet_keys()
        if desk.sight.slot_open(*key[:2])
        for ledger in desk.shelf.sheet(key)
        if ledger.locked
    ]
    times += [entry.at for kind in ("moderation", "decision") for _, entry in desk.shelf.entries(kind)]
    return max(times, default=desk.course.days[0])[:10]


def still_missing(desk: Desk) -> tuple[str, ...]:
    """What the sheet cannot say yet, in short."""
    from assess.desk.outcomes import outcome_board, results_json

    found = results_json(outcome_board(desk))
    n = sum(module["outcome"] in (None, "open") for one in found["candidates"] for module in one["modules"].values())
    unsigned = len(_pairs(found)) - _signed(desk, found)
    told = [f"{_many(n, 'module')} of a candidate open or not shown"] if n else []
    return (*told, *([f"{_many(unsigned, 'module')} of a candidate without a signed decision"] if unsigned else ()))


def _pairs(found: dict[str, Any]) -> list[tuple[str, str]]:
    return [(one["id"], name) for one in found["candidates"] for name in one["modules"]]


def _signed(desk: Desk, found: dict[str, Any]) -> int:
    from assess.desk.deciding import decisions

    return sum(bool(decisions(desk, *pair)) for pair in _pairs(found))


def _signed_share(desk: Desk, found: dict[str, Any]) -> str:
    return f"{_signed(desk, found)} of {len(_pairs(found))} modules signed"


def _modules(found: dict[str, Any]) -> list[str]:
    return list(dict.fromkeys(name for one in found["candidates"] for name in one["modules"]))


def _open(found: dict[str, Any]) -> Iterator[Block]:
    due: dict[str, list[str]] = {}
    unseen: dict[str, list[str]] = {}
    for one in found["candidates"]:
        for name, module in one["modules"].items():
            if module["moderation_due"]:
                due.setdefault(one["id"], []).append(f"{name} {', '.join(module['moderation_due'])}")
            if module["outcome"] in (None, "open", "third_look"):
                why = f"{name}, {'; '.join(module['reasons']) or 'no reason told'}"
                unseen.setdefault(why, []).append(one["id"])
    if due:
        yield Note("! Due for moderation, before anything is signed:", "missing")
        yield Listing(tuple(f"{who}: {'; '.join(slots)}" for who, slots in due.items()))
    if unseen:
        yield Note("! Without an outcome that could be signed:", "missing")
        yield Listing(tuple(f"{why}: {', '.join(who)}" for why, who in unseen.items()))
    if not due and not unseen:
        yield Text("Nothing is open.")


def _overview(desk: Desk, found: dict[str, Any]) -> Table:
    names = _modules(found)
    rows = tuple(
        (_who(desk, one["id"]), *(OUTCOME_WORDS[one["modules"][name]["outcome"]] for name in names))
        for one in found["candidates"]
    )
    return Table("What the rules give, by candidate and module", ("Candidate", *names), rows)


def _who(desk: Desk, candidate: str) -> str:
    return f"{desk.bib(candidate)} {desk.name(candidate)} ({candidate})"


def _module(desk: Desk, found: dict[str, Any], name: str) -> Section:
    rows = tuple(_row(desk, one["id"], name, one["modules"][name]) for one in found["candidates"])
    columns = ("Candidate", "Outcome", "Mean", "Sheets", "Band", "Signed", "Why, and what would change it")
    table = Table(f"{name}: outcomes with their reasons", columns, rows, frozenset({2, 3, 4}))
    lines = dict.fromkeys(one["modules"][name]["line"] for one in found["candidates"])
    told = ", ".join(f"{float(Fraction(line)):g}" for line in lines if line)
    return Section(
        f"Module {name}", (Text(f"Pass line {told or 'not shown'}, in levels, as the mean and the band."), table)
    )


def _row(desk: Desk, candidate: str, name: str, module: dict[str, Any]) -> tuple[str, ...]:
    return (
        _who(desk, candidate),
        OUTCOME_WORDS[module["outcome"]],
        module["mean"] or "-",
        str(module["n_sheets"] or "-"),
        module["band"] or "-",
        _decided(desk, candidate, name, module["outcome"] is None),
        "; ".join(_why(module)) or "-",
    )


def _decided(desk: Desk, candidate: str, name: str, hidden: bool) -> str:
    """What was signed, by whom and when; that the record has changed since, or that two decisions stand."""
    from assess.desk.deciding import proposal, standing_decision
    from assess.records.errors import Refusal

    try:
        signed = standing_decision(desk, candidate, name)
        stale = not hidden and signed is not None and proposal(desk, candidate, name).stale
    except Refusal as refusal:
        return f"! {refusal.what}"
    if signed is None:
        return "not signed"
    since = "; ! the record gives another result since" if stale else ""
    return f"{signed.fact.decision.replace('-', ' ')}, {signed.by}, {signed.at[:10]}{since}"


def _why(module: dict[str, Any]) -> Iterator[str]:
    from assess.desk.waiving import beside_lines

    yield from module["reasons"]
    if module["outcome"] is None:
        return
    yield from beside_lines(module)
    if module["open_needs"]:
        yield f"would be closed by {', '.join(module['open_needs'])}"
    if module["breach"]:
        yield f"{module['breach']['must_not']}, {module['breach']['state'].replace('-', ' ')}"
    if module["reach"]:
        yield f"a third look can lead to {module['reach'][0]} to {module['reach'][1]}"
    if module["flips_with"]:
        yield module["flips_with"].rstrip(".")


def _waivers(found: dict[str, Any]) -> Iterator[Block]:
    told = tuple(item["sentence"] for item in found["waivers"])
    if not told:
        yield Text("No waiver counts in this course.")
        return
    yield Note(f"{_many(len(told), 'waiver')}: somebody marks although something stands against it.", "caution")
    yield Listing(told)


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"
