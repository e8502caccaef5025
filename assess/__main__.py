"""`python -m assess`: the same as the command `assess`."""

from __future__ import annotations

from assess.cli import main

if __name__ == "__main__":
    main()
