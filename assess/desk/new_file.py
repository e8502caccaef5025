"""A file that leaves the tool: written whole, and never over one that is there."""

from __future__ import annotations

from pathlib import Path

__all__ = ["write_new"]


def write_new(path: Path, raw: bytes, *, private: bool = False) -> None:
    """Write a file that is not there yet; `private`: for its owner alone (0600).

    Raises Refusal when something stands there (it might be a record), StorageTrouble when it cannot be written.
    """
    from assess.records.errors import Refusal, StorageTrouble
    from assess.store.atomic import create_file
    from assess.store.disk import why

    try:
        if private:
            create_file(path, raw, mode=0o600)
        else:
            create_file(path, raw)
    except FileExistsError as trouble:
        raise Refusal("is there already", where=str(path), todo="name a file that does not exist yet") from trouble
    except OSError as trouble:
        what = f"cannot be written: {why(trouble)}"
        raise StorageTrouble(what, where=str(path), todo="look at the folder") from trouble
