"""The command `verify`: is everything as it was written, and who vouches for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from assess.cli.options import As, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.verifying import EntryVerdict, Verified

__all__ = ["add_to"]


def verify(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="The course's folder, or a certificate.")],
    keys: Annotated[
        Path | None, typer.Option("--keys", metavar="FILE", help="Believe this list of keys, kept elsewhere.")
    ] = None,
    status: Annotated[
        Path | None, typer.Option("--status", metavar="LIST.jwt", help="Of a certificate: its issuer's status list.")
    ] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say whether everything is as it was written, and who vouches for it.

    Entry by entry: intact, altered, missing, unsigned, unknown key, or not yet anchored (written after the newest
    heads that another file records; `assess seal` anchors it). A chain finds damage; somebody who rewrites a whole
    record is found by a head in another file or by a signature. Ends with 1 when something is altered or missing,
    or a signature is missing that the list of keys asks for. Only a director is told everything.
    Of a certificate (FILE.jwt, with --keys from its issuer): whose, what, and valid, altered, expired or unknown key;
    with --status LIST.jwt from the same issuer also whether it is withdrawn as of the list's date.
    """
    if path.suffix == ".jwt":
        return _certificate(path, keys, status, as_json=as_json)
    from assess.desk.opening import open_course, place_of
    from assess.desk.verifying import verify as verify_course
    from assess.records.errors import InputError, Problem, UsageError

    if status is not None:
        raise UsageError("a status list speaks of a certificate alone", todo="name the certificate: FILE.jwt")
    place = place_of(path)
    if place.course is None or place.path != place.course:
        what = "is nothing that carries seals or signatures of its own"
        raise InputError([Problem(str(path), 0, what, "name the folder of a course")])
    desk = open_course(place.course, as_id, ask=ask_who)
    try:
        found = verify_course(desk, keys)
    finally:
        desk.close()
    _show(desk.course.id, found, as_json)
    return 0 if found.holds else 1


def _certificate(path: Path, keys: Path | None, status: Path | None, *, as_json: bool) -> int:
    from datetime import UTC, datetime

    from assess.cli.say import show_json, show_lines
    from assess.desk.certificate_check import check_certificate
    from assess.records.errors import UsageError

    if keys is None:
        todo = "give the list of keys you have from its issuer: --keys keys.yaml"
        raise UsageError("a certificate alone proves nothing", todo=todo)
    found = check_certificate(path, keys, int(datetime.now(UTC).timestamp()), status)
    if as_json:
        show_json(asdict(found))
    else:
        show_lines([f"{found.state}: {found.why}"])
        if found.whose:
            until = f" until {found.until}" if found.until else ""
            show_lines([f"{found.whose}: {found.what}", f"by {found.issuer}, from {found.begins}{until}"])
    return 0 if found.state == "valid" else 1


def _show(course: str, found: Verified, as_json: bool) -> None:
    from assess.cli.problem_lines import problem_line
    from assess.cli.say import show_json, show_lines

    if as_json:
        show_json(_json(course, found))
        return
    show_lines(_summary(found))
    show_lines(problem_line(problem) for problem in found.problems)
    show_lines(f"not yet anchored: {name}" for name in found.not_anchored)
    show_lines(_details(found))


def _summary(found: Verified) -> Iterator[str]:
    word = "every record you may read is as it was written" if found.holds else "not everything holds"
    entries = sum(found.counts.values())
    yield f"{word} ({found.ledgers} records, {entries} entries)"
    yield "entries: " + ", ".join(f"{number} {state}" for state, number in found.counts.items() if number)
    if found.missing:
        yield f"missing records: {len(found.missing)}"
    if found.erased:
        yield f"in {found.erased} entries a text was erased; its digest is left"
    yield f"copies of rubrics as pinned: {found.copies}"
    yield from _signatures(found)
    yield "course.yaml, people.yaml and tables are edited by hand: nothing here vouches for them"


def _signatures(found: Verified) -> Iterator[str]:
    entries = [entry for record in found.records for entry in record.entries]
    carried = sum(bool(entry.key) for entry in entries)
    if found.keys is None:
        word = f"{carried}, and no list of keys tells whose they are" if carried else "none; the course lists no keys"
        yield f"signatures: {word}"
        return
    yield f"signatures that count: {found.signed}; entries that could have one and have none: {found.unsigned}"
    where = "a list kept elsewhere" if found.keys.elsewhere else "the course's own list"
    asked = f"; required from {found.keys.required_from} on" if found.keys.required_from else ""
    yield f"keys: {found.keys.keys} of {found.keys.people} people in {where} ({found.keys.sha256[:16]}){asked}"


def _details(found: Verified) -> Iterator[str]:
    """Record by record, entries of one state together; those with nothing to tell of in one line at the end."""

    def state_of(entry: EntryVerdict) -> str:
        if entry.state != "unsigned" or found.keys is not None:
            return entry.state
        # Where no key is listed nobody could sign: what there is to tell is whether another record holds it.
        return "intact" if entry.anchored else "not yet anchored"

    whole = 0
    for record in found.records:
        if all(state_of(entry) == "intact" for entry in record.entries) and not record.torn:
            whole += 1
            continue
        runs = []
        for (state, by), entries in groupby(record.entries, key=lambda entry: (state_of(entry), entry.by)):
            numbers = [entry.n for entry in entries]
            span = f"{numbers[0]}-{numbers[-1]}" if len(numbers) > 1 else f"{numbers[0]}"
            runs.append(f"{span} {state}" + (f", signed by {by}" if by and state == "intact" else ""))
        tail = ["a line cut short, not read"] if record.torn else []
        yield f"{record.file}: {'; '.join([*runs, *tail])}"
    if whole:
        other, each = ("other " if whole < found.ledgers else ""), ("record is" if whole == 1 else "records are")
        yield f"{whole} {other}{each} intact, and recorded elsewhere to the last entry"


def _json(course: str, found: Verified) -> dict[str, Any]:
    from assess.cli.problem_lines import problem_json

    return {
        "course": course,
        "holds": found.holds,
        "ledgers": found.ledgers,
        "entries": found.counts,
        "signed": found.signed,
        "unsigned": found.unsigned,
        "erased": found.erased,
        "copies": found.copies,
        "keys": asdict(found.keys) if found.keys else None,
        "missing": list(found.missing),
        "not_anchored": list(found.not_anchored),
        "findings": [problem_json(problem) for problem in found.problems],
        "records": [
            {"file": record.file, "author": record.author, "torn": record.torn,
             "entries": [_entry(entry) for entry in record.entries]}
            for record in found.records
        ],
    }  # fmt: skip


def _entry(entry: EntryVerdict) -> dict[str, Any]:
    """As other programs read it; who it is told to knows when they wrote it."""
    told = asdict(entry)
    del told["day"], told["unsigned"]
    return told


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("verify")(verify)
