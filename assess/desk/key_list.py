"""The key list of a course, changed by its director: a key is added, a key is revoked."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.records.errors import Refusal, UsageError

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.key_list import ListedKey, PublicKey

__all__ = ["add_key", "revoke_key"]

_EMPTY = """\
# assess keys 1
# Who signs with which key: it counts from the day `from`, to the day `until`, and no more from the day `revoked` on.
# With `required_from: 2027-02-03` every lock, decision and seal from that day on has to be signed.
revision: 1
keys: []
"""


def add_key(desk: Desk, file: Path, person: str, from_day: str | None, until: str | None, note: str = "") -> ListedKey:
    """Put the public key in `file` on the course's list, as `person`'s; without from_day from today on.

    Refused to anybody but a director, for somebody the course does not have, and for a key that is listed already.
    Raises InputError for a file that is no public key, UsageError for a day that is none.
    """
    from assess.records.key_list import ListedKey, PublicKey
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    _may_change(desk)
    if person not in (*desk.course.assessors, *desk.course.directors):
        raise Refusal(f"{person} is nobody of this course", todo="use an id of its assessors or directors")
    key: PublicKey = as_model(read_yaml(file, shown=str(file), what="public-key"), PublicKey)
    listed = desk.folder.keys.keys if desk.folder.keys else ()
    for known in listed:
        if known.public == key.public:
            raise Refusal(f"this key is listed already, as {known.person}'s", todo="change its days in keys.yaml")
    item = {
        "person": person,
        **({} if key.kind == "ed25519" else {"kind": key.kind}),
        "fingerprint": key.short,
        "public": key.public,
        "from": _day(from_day) if from_day else desk.today(),
        **({"until": _day(until)} if until else {}),
        **({"note": note} if note else {}),
    }
    added = _valid(item, ListedKey)
    _change(desk, lambda keys: keys["keys"].append(item))
    return added


def revoke_key(desk: Desk, short: str, day: str | None, note: str = "") -> ListedKey:
    """Let a key count no more from a day on, today without one; the key is named by its fingerprint.

    Refused to anybody but a director and for a key the course does not list.
    """
    from assess.records.key_list import ListedKey

    _may_change(desk)
    revoked = _day(day) if day else desk.today()
    found = [key for key in (desk.folder.keys.keys if desk.folder.keys else ()) if key.short == short]
    if not found:
        raise Refusal(f"no key {short} is listed in this course", todo="see keys.yaml")

    def change(keys: Any) -> None:
        for item in keys["keys"]:
            if item["public"] == found[0].public:
                item["revoked"] = revoked
                if note:
                    item["note"] = note

    _change(desk, change)
    return _valid({**found[0].model_dump(by_alias=True, exclude_defaults=True), "revoked": revoked}, ListedKey)


def _may_change(desk: Desk) -> None:
    if desk.who not in desk.course.directors:
        raise Refusal("only a director changes the list of keys", todo="say who you are with --as ID")


def _valid(item: dict[str, Any], model: type[ListedKey]) -> ListedKey:
    from pydantic import ValidationError

    from assess.records.ledger import why_invalid

    try:
        return model.model_validate(item)
    except ValidationError as error:
        raise UsageError("; ".join(why_invalid(error)), todo="look at the days") from None


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise UsageError(f"{text} is no day", todo="write it like 2027-02-03") from None


def _change(desk: Desk, change: Any) -> None:
    """Change keys.yaml, made first where there is none, and raise its revision."""
    from assess.store.atomic import replace_file
    from assess.store.course_lock import course_lock
    from assess.store.yaml_edit import edit_yaml

    path = desk.folder.root / "keys.yaml"

    def whole(keys: Any) -> None:
        keys.setdefault("keys", [])
        change(keys)
        keys["revision"] += 1

    with course_lock(desk.folder.root, exclusive=False):
        if not path.exists():
            # The folder is locked here already, which is what making a new file would do too.
            replace_file(path, _EMPTY.encode("utf-8"))
        edit_yaml(path, "keys", whole)
