"""Erasing what a course folder holds about one person. The one act that takes anything out of a record.

The course is held alone; first it is written down that, why and of which entries the text goes, then every file is
replaced whole, the names last. Whatever interrupts it leaves files that verify, and the same act finishes the work.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from pathlib import Path

from assess.records.errors import InputError, Problem, Refusal, StorageTrouble
from assess.records.facts import Erasure
from assess.records.ledger import Header
from assess.records.naming import Names
from assess.store.atomic import replace_file
from assess.store.course_files import base_stem
from assess.store.course_folder import CourseFolder
from assess.store.course_lock import course_lock
from assess.store.disk import Disk, why
from assess.store.erasing import erased_heads
from assess.store.erasure_plan import ErasurePlan, Place, plan_erasure
from assess.store.ledger_file import LedgerFile, parse_ledger
from assess.store.merge import forget_names, refuse_if_open
from assess.store.round_folder import load_folder
from assess.store.writer import Writer

__all__ = ["erase_person"]

HEADS_IN_ONE = 1500
"""Heads listed in one entry, so that it fits into one line of a ledger."""
_LAST = ("course.yaml", "people.yaml")


def erase_person(
    root: Path, fact: Erasure, header: Header, names: Names, keep: Collection[Place], writer: Callable[[], Writer],
    *, disk: Disk | None = None,
) -> ErasurePlan:  # fmt: skip
    """Erase a person from the course at `root`; what was done.

    fact: who, why, in spite of what; its entries are filled in. header: of the director's ledger it is written into.
    Raises Refusal when versions of a record have to be compared first or the course is open elsewhere, InputError
    for a course that cannot be used, StorageTrouble when the disk gives up: then the same act finishes the work.
    """
    disk = disk or Disk()
    with course_lock(root, exclusive=True):
        folder = load_folder(root)
        plan = plan_erasure(folder, fact.person, names, keep)
        _refuse_unsettled(plan)
        for shown in sorted({*plan.writes, *plan.removes}):
            if "/" in shown and shown.endswith(".yaml"):
                refuse_if_open(root / shown, disk)
        _write_down(folder, plan, fact, header, writer)
        again = plan_erasure(load_folder(root), fact.person, names, keep)
        _act(root, again, disk)
        forget_names()
    return plan


def _refuse_unsettled(plan: ErasurePlan) -> None:
    if plan.unsettled:
        names = ", ".join(sorted({base_stem(each.file) for each in plan.unsettled}))
        what = f"there are several versions of {names}, and what differs cannot be compared any more afterwards"
        raise Refusal(what, todo="settle them first with `assess merge COURSE --settle`")


def _write_down(
    folder: CourseFolder, plan: ErasurePlan, fact: Erasure, header: Header, writer: Callable[[], Writer]
) -> None:
    """Record the erasure, unless an earlier try has recorded all of it."""
    facts = [entry.fact for file in folder.ledgers for entry in file.ledger.entries]
    before = [each for each in facts if isinstance(each, Erasure) and each.person == fact.person]
    known = erased_heads(file.ledger for file in folder.ledgers)
    new = {record: sorted(heads - known.get(record, frozenset())) for record, heads in sorted(plan.entries.items())}
    parts = list(_parts({record: heads for record, heads in new.items() if heads}))
    if plan.empty or (before and not parts):
        return
    at_work = writer()
    try:
        live = at_work.open(folder.root / "days", header)
        for part in parts or [{}]:
            live.add(fact.model_copy(update={"entries": part}))
        if not at_work.drain(10):
            todo = "make room on the disk and try again; nothing was erased"
            raise StorageTrouble(f"the erasure cannot be recorded: {at_work.state.why}", todo=todo)
    finally:
        at_work.close()


def _parts(heads: dict[str, list[str]]) -> Iterator[dict[str, tuple[str, ...]]]:
    """The lists in pieces that fit into one line."""
    part: dict[str, tuple[str, ...]] = {}
    room = HEADS_IN_ONE
    for record, listed in heads.items():
        at = 0
        while at < len(listed):
            taken = listed[at : at + max(room, 1)]
            part[record] = (*part.get(record, ()), *taken)
            at, room = at + len(taken), room - len(taken) - 3
            if room <= 0:
                yield part
                part, room = {}, HEADS_IN_ONE
    if part:
        yield part


def _act(root: Path, plan: ErasurePlan, disk: Disk) -> None:
    for shown, raw in plan.writes.items():
        _same_but_for_texts(root / shown, shown, raw)
    first = sorted(shown for shown in plan.writes if shown not in _LAST)
    try:
        for shown in first:
            replace_file(root / shown, plan.writes[shown], disk=disk)
        for shown in sorted(plan.removes):
            disk.unlink(root / shown)
            disk.sync_folder((root / shown).parent)
        # The names are looked for by what people.yaml says: as long as it says it, an interrupted act can go on.
        for shown in (each for each in _LAST if each in plan.writes):
            replace_file(root / shown, plan.writes[shown], disk=disk)
    except OSError as trouble:
        todo = "put that right and erase again: every file is whole, and what is gone stays gone"
        raise StorageTrouble(f"cannot be erased from ({why(trouble)})", where=shown, todo=todo) from trouble


def _same_but_for_texts(path: Path, shown: str, raw: bytes) -> None:
    """Every entry, its chain value and its damage stand as before: nothing but text is taken out."""
    if "/" not in shown:
        return
    before, after = (parse_ledger(each, base_stem(path.name), shown) for each in (path.read_bytes(), raw))
    if _but_texts(before) != _but_texts(after):
        what = "would not verify afterwards; nothing was erased"
        raise InputError([Problem(shown, 0, what, "check the course, and tell what `assess verify` says")])


def _but_texts(file: LedgerFile) -> object:
    entries = [(each.n, each.at, each.fact.kind, each.chain, each.sig) for each in file.ledger.entries]
    return (file.ledger.header, file.bad, file.link, entries)
