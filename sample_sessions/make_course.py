"""Make the sample course K-2026-01 from the texts and tables in `source/`; the same bytes every time.

    python sample_sessions/make_course.py [--out DIR]

Everything in it is invented. A course that stands at DIR is replaced; anything else there is left alone.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
# This folder is packed as it stands: no compiled copies in it.
sys.dont_write_bytecode = True
# The script works on a checkout: the package beside it, whether it is installed or not.
sys.path[:0] = [str(HERE), str(HERE.parent)]

from making.days import day_acts  # noqa: E402
from making.demonstrations import demonstrations  # noqa: E402
from making.folder import write_folder  # noqa: E402
from making.lessons import lessons  # noqa: E402
from making.locks import locks  # noqa: E402
from making.source import rubric_digests  # noqa: E402
from making.written import write_days  # noqa: E402

__all__ = ["main", "make_course"]


def make_course(root: Path) -> None:
    """Make the course at `root`, where nothing stands yet."""
    digests = rubric_digests()
    write_folder(root)
    sheets = [*demonstrations(), *lessons()]
    write_days(root, [*sheets, *locks(sheets), *day_acts(digests)], digests)


def main(arguments: list[str] | None = None) -> int:
    """Make the course where the command line says; 1 when something else stands there."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--out", type=Path, default=HERE / "course", help="where to put it (default: %(default)s)")
    out: Path = parser.parse_args(arguments).out.absolute()
    if out.exists() and any(out.iterdir()) and not (out / "course.yaml").is_file():
        print(f"{out} is not empty and no course; choose another folder", file=sys.stderr)
        return 1
    out.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=out.parent, prefix=".making-") as folder:
        made = Path(folder) / "course"
        make_course(made)
        if out.exists():
            shutil.rmtree(out)
        made.rename(out)
    print(f"made {out}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
