"""Make the sample calibration round R-2026-11 from the texts in `source/calibration/`; the same bytes every time.

    python sample_sessions/make_calibration.py [--out DIR]

Everything in it is invented: twelve lessons, a panel of five, and five assessors, of whom one is mild, one drifts and
one gives one level on a whole sheet. A round that stands at DIR is replaced; anything else there is left alone.
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

from making.round_written import write_round  # noqa: E402

__all__ = ["main"]


def main(arguments: list[str] | None = None) -> int:
    """Make the round where the command line says; 1 when something else stands there."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--out", type=Path, default=HERE / "calibration", help="where to put it (default: %(default)s)")
    out: Path = parser.parse_args(arguments).out.absolute()
    if out.exists() and any(out.iterdir()) and not (out / "round.yaml").is_file():
        print(f"{out} is not empty and no calibration round; choose another folder", file=sys.stderr)
        return 1
    out.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=out.parent, prefix=".making-") as folder:
        made = Path(folder) / "round"
        write_round(made)
        if out.exists():
            shutil.rmtree(out)
        made.rename(out)
    print(f"made {out}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
