"""Commands for keys: new, show, unlock, lock; and for a course's director: add, revoke."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from assess.cli.options import As, CourseFolderPath, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.records.key_list import ListedKey

__all__ = ["add_to"]

Name = Annotated[str | None, typer.Option("--name", metavar="NAME", help="Which of your keys.")]
Note = Annotated[str, typer.Option("--note", metavar="TEXT", help="A word that stands beside it in the list.")]


def new(
    name: Annotated[str | None, typer.Option("--name", metavar="NAME", help="What to call it on this device.")] = None,
    certificate: Annotated[bool, typer.Option("--certificate", help="A key that signs certificates.")] = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make a key of your own, behind a passphrase.

    It signs your locks, decisions and seals; with --certificate it signs certificates. It stays on this device,
    and no key is ever overwritten. Nobody can help with a passphrase that is forgotten: make a new key then.
    """
    from assess.cli.passphrase import ask_passphrase
    from assess.cli.say import show_json, show_lines
    from assess.desk.keys import make_key

    key = make_key(name, ask_passphrase("a passphrase of several words", twice=True), certificate=certificate)
    if as_json:
        show_json(asdict(key))
        return 0
    public = f"{key.name}.pub.yaml"
    show_lines(
        [
            f"made the key {key.name}, fingerprint {key.fingerprint}: {key.file}",
            f"`assess key show --name {key.name} --to {public}` writes its public half, for the director",
        ]
    )
    return 0


def show(
    name: Name = None,
    to: Annotated[Path | None, typer.Option("--to", metavar="FILE", help="Write the public half there.")] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Show your keys on this device, or write the public half of one for the director.

    The public half holds no secret. Compare its fingerprint by voice when it comes by mail.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.keys import own_keys, write_public

    if to is not None:
        key = write_public(name, to)
        if as_json:
            show_json({**asdict(key), "written": str(to)})
        else:
            show_lines([f"wrote the public half of {key.name}, fingerprint {key.fingerprint}: {to}"])
        return 0
    keys = [key for key in own_keys() if name in (None, key.name)]
    if as_json:
        show_json({"keys": [asdict(key) for key in keys]})
        return 0
    for key in keys:
        state = "  unlocked for today" if key.unlocked else ""
        show_lines([f"{key.name}  {key.kind}  {key.fingerprint}  made {key.made}{state}"])
    if not keys:
        show_lines(["no such key on this device; make one with `assess key new`"])
    return 0


def unlock(name: Name = None, as_id: As = None, as_json: Json = False, plain: Plain = False) -> int:
    """Unlock your key for today, so that what you lock today is signed.

    The passphrase is asked for once; the key locks itself at midnight, or with `assess key lock`. Until then
    whoever can read your files on this device can copy it.
    """
    from assess.cli.passphrase import ask_passphrase
    from assess.cli.say import show_json, show_lines
    from assess.desk.keys import choose_key, unlock_key

    wanted = choose_key(name)
    key, day = unlock_key(wanted.name, ask_passphrase(f"passphrase of {wanted.name}"))
    if as_json:
        show_json({"name": key.name, "fingerprint": key.fingerprint, "day": day})
    else:
        show_lines([f"{key.name} is unlocked until the end of {day}; `assess key lock` locks it before"])
    return 0


def lock(as_id: As = None, as_json: Json = False, plain: Plain = False) -> int:
    """Lock your keys again before the day is over."""
    from assess.cli.say import show_json, show_lines
    from assess.desk.keys import lock_keys

    locked = lock_keys()
    if as_json:
        show_json({"locked": locked})
    else:
        show_lines(["locked" if locked else "no key was unlocked"])
    return 0


def add(
    course: CourseFolderPath,
    file: Annotated[Path, typer.Argument(metavar="KEYFILE", help="The public half, as `key show --to` wrote it.")],
    person: Annotated[str, typer.Option("--for", metavar="ID", help="Whose key it is: A2.")],
    from_day: Annotated[str | None, typer.Option("--from", metavar="DAY", help="First day it counts.")] = None,
    until: Annotated[str | None, typer.Option("--until", metavar="DAY", help="Last day it counts.")] = None,
    note: Note = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Put somebody's public key on the course's list; the director's act.

    Compare the fingerprint with its owner first: what this key signs will count as theirs.
    """
    from assess.desk.key_list import add_key
    from assess.desk.opening import open_course

    desk = open_course(course, as_id, ask=ask_who, act=True)
    try:
        key = add_key(desk, file, person, from_day, until, note)
    finally:
        desk.close()
    _tell(course, key, as_json)
    return 0


def revoke(
    course: CourseFolderPath,
    fingerprint: Annotated[str, typer.Argument(metavar="FINGERPRINT", help="The 16 digits that name the key.")],
    on: Annotated[str | None, typer.Option("--on", metavar="DAY", help="From this day on; today without it.")] = None,
    note: Note = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Let a key count no more from a day on; the director's act.

    What it signed before that day goes on counting. A thief can write any day into an entry: what the heads in
    others' records hold is safe from that, so seal the course when a key is lost.
    """
    from assess.desk.key_list import revoke_key
    from assess.desk.opening import open_course

    desk = open_course(course, as_id, ask=ask_who, act=True)
    try:
        key = revoke_key(desk, fingerprint, on, note)
    finally:
        desk.close()
    _tell(course, key, as_json)
    return 0


def _tell(course: Path, key: ListedKey, as_json: bool) -> None:
    from assess.cli.say import show_json, show_lines

    if as_json:
        said = {"person": key.person, "kind": key.kind, "fingerprint": key.short}
        show_json({**said, "from": key.from_, "until": key.until, "revoked": key.revoked})
        return
    days = f"from {key.from_}" + (f" until {key.until}" if key.until else "")
    ends = f", revoked from {key.revoked} on" if key.revoked else ""
    show_lines([f"{course / 'keys.yaml'}: key {key.short} of {key.person}, {days}{ends}"])


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    key = typer.Typer(
        help="Make, unlock and hand over keys that sign what you lock and decide.",
        rich_markup_mode=None,
        no_args_is_help=True,
    )
    key.command("new")(new)
    key.command("show")(show)
    key.command("unlock")(unlock)
    key.command("lock")(lock)
    key.command("add")(add)
    key.command("revoke")(revoke)
    app.add_typer(key, name="key")
