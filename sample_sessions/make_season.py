"""Make the sample season S-2026-KW from the texts in `source/season/`; the same bytes every time.

    python sample_sessions/make_season.py [--out DIR] [--films]

Everything in it is invented: a trainee who films four lessons over a winter, and a mentor who looks at each. A season
that stands at DIR is replaced; anything else there is left alone. --films makes stand-ins for the films too.
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

from making.season_written import write_films, write_season  # noqa: E402

__all__ = ["main"]


def main(arguments: list[str] | None = None) -> int:
    """Make the season where the command line says; 1 when something else stands there."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--out", type=Path, default=HERE / "season", help="where to put it (default: %(default)s)")
    parser.add_argument("--films", action="store_true", help="make films of test pictures in it; needs ffmpeg")
    wanted = parser.parse_args(arguments)
    out: Path = wanted.out.absolute()
    if out.exists() and any(out.iterdir()) and not (out / "season.yaml").is_file():
        print(f"{out} is not empty and no season; choose another folder", file=sys.stderr)
        return 1
    out.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=out.parent, prefix=".making-") as folder:
        made = Path(folder) / "season"
        write_season(made)
        if wanted.films:
            write_films(made / "films")
        if out.exists():
            shutil.rmtree(out)
        made.rename(out)
    print(f"made {out}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
