"""Sealing a course, and verifying it: chains, and the heads that locks and seals recorded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.desk.tellable import Teller
from assess.records.errors import Problem, Refusal

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["Verified", "seal", "verify"]


@dataclass(frozen=True)
class Verified:
    """What verifying found, as far as this person may be told.

    ledgers: how many ledgers were verified that this person may read. not_anchored: those of them with entries
    newer than every recorded head. problems: chains and heads that do not hold.
    """

    ledgers: int
    not_anchored: tuple[str, ...]
    problems: tuple[Problem, ...]

    @property
    def holds(self) -> bool:
        """True when nothing was found that does not hold."""
        return not self.problems


def seal(desk: Desk) -> str:
    """Record the heads of all ledgers of the course; the seal's file, as `seals/...`.

    Raises Refusal when nobody has said who seals or a ledger is open elsewhere, StorageTrouble when it is not saved.
    """
    from assess.store.course_lock import course_lock
    from assess.store.seals import seal_course
    from assess.store.writer import Writer

    if desk.who is None:
        raise Refusal("nobody has said who seals", todo="say who you are with --as ID")
    writer = Writer(clock=desk.clock, signer=desk.signer)
    try:
        with course_lock(desk.folder.root, exclusive=False):
            path = seal_course(desk.folder, desk.who, desk.device, writer, desk.clock)
    finally:
        writer.close()
    return f"seals/{path.name}"


def verify(desk: Desk) -> Verified:
    """Whether every chain fits, and every head a lock or a seal recorded is still there."""
    from assess.store.seals import head_problems

    teller = Teller(desk)
    heads = head_problems(desk.folder)
    damaged = [problem for file in desk.folder.ledgers for problem in file.problems if not problem.doubt]
    unread = [problem for problem in desk.folder.problems if not problem.doubt and _is_ledger(problem.file)]
    told = teller.tell([*damaged, *unread, *(problem for problem in heads if not problem.doubt)])
    readable = [file for file in desk.folder.ledgers if teller.may_tell(f"{file.path.parent.name}/{file.path.name}")]
    loose = teller.tell(problem for problem in heads if problem.doubt)
    return Verified(len(readable), tuple(sorted({problem.file for problem in loose})), told)


def _is_ledger(file: str) -> bool:
    from assess.store.course_files import LEDGER_FOLDERS

    return file.split("/", 1)[0] in LEDGER_FOLDERS and file.endswith(".yaml")
