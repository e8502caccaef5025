"""Changing a file that people edit: comments stay, the result is read back and compared before it takes the place."""

from __future__ import annotations

from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import Any

from assess.records.errors import StorageTrouble
from assess.store.atomic import replace_file
from assess.store.yaml_file import read_yaml, yaml_doc

__all__ = ["edit_yaml"]


def edit_yaml(path: Path, what: str, change: Callable[[Any], None]) -> None:
    """Apply `change` to the parsed file (maps and lists that keep their comments) and replace it whole.

    what: `course`, `people` or `rubric`. Raises InputError when the file cannot be read and
    StorageTrouble when what would be written does not read back as what was meant; the file is untouched then.
    """
    from ruamel.yaml import YAML

    before = read_yaml(path, shown=path.name, what=what)
    editor = YAML(typ="rt")
    editor.preserve_quotes = True
    editor.width = 4096
    editor.indent(mapping=2, sequence=2, offset=0)
    tree = editor.load(before.raw.decode("utf-8"))
    change(tree)
    paper = StringIO()
    editor.dump(tree, paper)
    written = paper.getvalue().encode("utf-8")
    meant = _plain(before.data)
    change(meant)
    after = yaml_doc(written, path, shown=path.name, what=what)
    if _plain(after.data) != meant:
        raise StorageTrouble(
            f"{path.name} would not read back as it was meant", todo="make the change by hand; nothing was written"
        )
    replace_file(path, written)


def _plain(value: Any) -> Any:
    """A deep copy as plain maps and lists, so that a change can be made to it and compared."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value
