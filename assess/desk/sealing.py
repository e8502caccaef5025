"""Sealing a course: the heads of all its ledgers are recorded in another file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["seal"]


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
