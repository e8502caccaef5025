"""Where the rubrics and sample sessions that come with the program stand."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from assess.records.errors import StorageTrouble

__all__ = ["shipped"]

_PACKAGE = Path(__file__).resolve().parent.parent


def shipped(name: Literal["rubrics", "sample_sessions"], package: Path = _PACKAGE) -> Path:
    """The folder `name`: inside an installed package under `shipped/`, in a checkout beside the package.

    Raises StorageTrouble when it is in neither place.
    """
    installed = package / "shipped" / name
    if installed.is_dir():
        return installed
    beside = package.parent / name
    # Beside an installed package stand other people's packages; only a checkout has its project file there.
    if beside.is_dir() and (package.parent / "pyproject.toml").is_file():
        return beside
    raise StorageTrouble(f"{name} is not part of this installation", todo="install the program again")
