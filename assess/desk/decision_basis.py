"""What a decision rests on: the heads of the ledgers it read; and the same result worked out again from them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.desk.course_view import CourseView
from assess.desk.shelf import Shelf
from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.desk.deciding import Signed
    from assess.marking.results import ModuleResult
    from assess.records.ledger import Ledger

__all__ = ["as_signed", "basis", "still_gives", "worked_out_again"]


def basis(desk: CourseView, candidate: str) -> dict[str, str]:
    """Name -> head of every ledger a decision on a candidate reads: about the candidate, or of a day."""
    return {name: ledger.head for name, ledger in _ledgers(desk, candidate).items() if ledger.entries}


def _ledgers(desk: CourseView, candidate: str) -> dict[str, Ledger]:
    from assess.store.course_files import folder_of, recorded_name

    found = {}
    for kind in ("sheet", "day", "moderation", "decision"):
        for ledger in desk.shelf.of_kind(kind):
            if kind == "day" or ledger.header.candidate == candidate:
                found[recorded_name(folder_of(kind), ledger.name)] = ledger
    return found


def worked_out_again(desk: CourseView, signed: Signed) -> ModuleResult:
    """The result from the entries the decision names, and from nothing written later.

    Raises Refusal when a ledger it names is not here, is shorter than that head, or was changed below it.
    """
    from assess.desk.outcomes import module_case
    from assess.marking.outcome import module_result

    return module_result(module_case(as_signed(desk, signed), signed.candidate, signed.fact.module))


def as_signed(desk: CourseView, signed: Signed) -> CourseView:
    """The course as far as the decision names its entries. Raises Refusal as `worked_out_again` does."""
    return CourseView(desk.folder, desk.who, Shelf.of(_as_it_was(desk, signed)), now=desk)


def _as_it_was(desk: CourseView, signed: Signed) -> list[Ledger]:
    from dataclasses import replace

    here = _ledgers(desk, signed.candidate)
    cut = []
    for name, head in signed.fact.heads.items():
        number, chain = head.split()
        ledger = here.get(name)
        entries = ledger.entries[: int(number)] if ledger else ()
        if ledger is None or len(entries) < int(number) or entries[-1].chain != chain:
            raise Refusal(f"{name} is not as it was when it was signed", todo=_where_it_may_be(desk, name))
        cut.append(ledger if len(entries) == len(ledger.entries) else replace(ledger, entries=entries))
    return cut


def _where_it_may_be(desk: CourseView, name: str) -> str:
    from assess.store.course_files import base_stem, recorded_name

    for other in desk.folder.aside:
        folder, _, file = other.rpartition("/")
        if ".torn" not in file and recorded_name(folder, base_stem(file)) == name:
            return f"it was written in two ways: `assess merge COURSE --settle {folder}/{base_stem(file)}` shows both"
    return "get it from another copy and merge it"


def still_gives(desk: CourseView, signed: Signed) -> bool:
    """True when the same rules on the same entries give the same result, byte for byte.

    True as well for a decision that rests on no numbers. Raises Refusal as `worked_out_again` does.
    """
    import hashlib

    from assess.desk.deciding import result_bytes

    if signed.fact.result is None:
        return True
    return signed.fact.result == "sha256:" + hashlib.sha256(result_bytes(worked_out_again(desk, signed))).hexdigest()
