"""Changing a file that people edit: comments stay, the result is read back and compared before it takes the place."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from assess.records.errors import InputError, StorageTrouble
from assess.store.atomic import replace_file
from assess.store.disk import Disk, why
from assess.store.reading import whole_file
from assess.store.yaml_file import LARGEST, YamlDoc, read_yaml, yaml_doc
from assess.store.yaml_splice import plain, same, spliced

__all__ = ["edit_yaml", "edited_bytes"]


def edit_yaml(path: Path, what: str, change: Callable[[Any], None], *, disk: Disk | None = None) -> None:
    """Apply `change` to what the file says (plain maps and lists) and replace the file whole.

    what: `course`, `people` or `rubric`. Lines the change does not touch keep their bytes, and every comment
    stays but those on a line that is taken out. Raises InputError when the file cannot be read, StorageTrouble
    when it cannot be written, was changed meanwhile, or would not read back as what was meant; it is untouched then.
    """
    before = read_yaml(path, shown=path.name, what=what)
    meant = plain(before.data)
    change(meant)
    if same(meant, before.data):
        return
    written = edited_bytes(before, meant, what)
    if whole_file(path, path.name, LARGEST) != before.raw:
        todo = "save it there, then make the change again"
        raise StorageTrouble(f"{path.name} was changed by another program meanwhile", todo=todo)
    try:
        replace_file(path, written, disk=disk or Disk())
    except OSError as trouble:
        todo = "put that right and make the change again; nothing was changed"
        raise StorageTrouble(f"{path.name} cannot be written ({why(trouble)})", todo=todo) from trouble


def edited_bytes(before: YamlDoc, meant: Any, what: str) -> bytes:
    """The new bytes of a file that is to say `meant`, once they have been read back as that.

    Raises StorageTrouble when they would not read back so.
    """
    trouble = StorageTrouble(
        f"{before.path.name} would not read back as it was meant", todo="make the change by hand; nothing was written"
    )
    try:
        written = spliced(before, meant).encode("utf-8")
        after = yaml_doc(written, before.path, shown=before.shown, what=what)
    except (InputError, UnicodeEncodeError) as error:
        raise trouble from error
    if not same(after.data, meant):
        raise trouble
    return written
